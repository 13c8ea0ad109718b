/* What the reader sets: two axes of the grid, and the value of every other one. */

/** A labelled menu; calls back with the place chosen. */
function menu(label, id, choices, chosen, then) {
  const around = element("label", { class: "row" }, label);
  const select = element("select", { id });
  for (const [value, words] of choices) {
    select.append(element("option", { value }, words));
  }
  select.value = String(chosen);
  select.addEventListener("change", () => then(Number(select.value)));
  around.append(select);
  return around;
}

/** Slider, or menu for a choice, of one axis that is not in the grid. */
function controlOf(data, state, number, redraw) {
  const axis = data.axes[number];
  const group = element("fieldset", { class: "control", "data-axis": axis.name });
  group.append(element("legend", {}, axis.label));
  if (axis.kind === "choice") {
    const choices = [...axis.values.map((words, place) => [place, words]), [-1, "every one must pass"]];
    group.append(menu("value", `set-${number}`, choices, state.at[number], (place) => {
      state.at[number] = place;
      redraw();
    }));
    return group;
  }
  const row = element("div", { class: "row" });
  const output = element("output", { for: `set-${number}` });
  const slider = element("input", {
    type: "range", id: `set-${number}`, min: "0", max: axis.values.length - 1, step: "1", "aria-label": axis.label,
  });
  const every = element("input", { type: "checkbox", id: `every-${number}` });
  const around = element("label", {}, " the worst of all");
  around.prepend(every);
  row.append(output, around);
  group.append(row, slider);
  const tell = () => {
    const words = state.at[number] < 0 ? `all ${axis.values.length}` : axis.values[state.at[number]];
    output.textContent = words;
    slider.setAttribute("aria-valuetext", words);
    slider.disabled = state.at[number] < 0;
  };
  slider.value = state.at[number] < 0 ? state.last[number] : state.at[number];
  every.checked = state.at[number] < 0;
  slider.addEventListener("input", () => {
    state.at[number] = state.last[number] = Number(slider.value);
    tell();
    redraw();
  });
  every.addEventListener("change", () => {
    state.at[number] = every.checked ? -1 : Number(slider.value);
    tell();
    redraw();
  });
  tell();
  return group;
}

/** Both menus of the grid, then the controls of all other axes. */
function drawControls(data, state, redraw) {
  const form = document.getElementById("controls");
  const names = data.axes.map((axis, place) => [place, axis.label]);
  const grid = element("fieldset", { class: "control" });
  grid.append(element("legend", {}, "the grid"));
  const set = (which, other) => (place) => {
    if (place === state[other]) {
      state[other] = state[which];
    }
    state[which] = place;
    state.focus = [0, 0];
    drawControls(data, state, redraw);
    redraw();
    document.getElementById(`grid-${which}`).focus();
  };
  grid.append(menu("down", "grid-rows", names, state.rows, set("rows", "columns")));
  if (state.columns >= 0) {
    grid.append(menu("across", "grid-columns", names, state.columns, set("columns", "rows")));
  }
  const free = names.filter(([place]) => place !== state.rows && place !== state.columns);
  form.replaceChildren(grid, ...free.map(([place]) => controlOf(data, state, place, redraw)));
}

/** Move within the grid by keys; true where the key was one of them. */
function moveIn(table, cell, key) {
  const steps = { ArrowRight: [0, 1], ArrowLeft: [0, -1], ArrowDown: [1, 0], ArrowUp: [-1, 0] };
  let [row, column] = [Number(cell.dataset.row), Number(cell.dataset.column)];
  if (key in steps) {
    [row, column] = [row + steps[key][0], column + steps[key][1]];
  } else if (key === "Home") {
    column = 0;
  } else if (key === "End") {
    column = cell.parentElement.querySelectorAll(".cell").length - 1;
  } else {
    return null;
  }
  return table.querySelector(`.cell[data-row="${row}"][data-column="${column}"]`) ?? cell;
}

function begin() {
  const data = JSON.parse(document.getElementById("cells").textContent);
  if (data.axes.length === 0) {
    const nothing = document.getElementById("nothing");
    nothing.textContent = data.why;
    nothing.hidden = false;
    return;
  }
  data.strides = stridesOf(data.axes);
  let pattern = 0;
  data.kinds = new Map(data.codes.map((kind) => {
    const own = kind.code === 0 ? 0 : pattern++ % 10;
    return [kind.code, { ...kind, pattern: own }];
  }));
  const order = data.axes.map((axis, place) => [axis.grid, place]).sort((a, b) => a[0] - b[0]).map(([, place]) => place);
  const state = {
    rows: order[0],
    columns: order.length > 1 ? order[1] : -1,
    at: data.axes.map((axis) => axis.start),
    last: data.axes.map((axis) => Math.max(axis.start, 0)),
    focus: [0, 0],
    chosen: -1,
  };
  const table = document.getElementById("grid");
  let verdicts = [];
  const redraw = () => {
    verdicts = drawGrid(data, state);
    drawWords(data, state, verdicts);
  };
  const choose = (cell) => {
    state.focus = [Number(cell.dataset.row), Number(cell.dataset.column)];
    const found = verdicts[state.focus[0]][state.focus[1]];
    state.chosen = found.entry;
    for (const other of table.querySelectorAll(".cell")) {
      other.setAttribute("aria-selected", String(other === cell));
      other.tabIndex = other === cell ? 0 : -1;
    }
    showCase(data, found.entry, found);
  };
  table.addEventListener("click", (event) => {
    const cell = event.target.closest(".cell");
    if (cell !== null) {
      cell.focus();
      choose(cell);
    }
  });
  table.addEventListener("keydown", (event) => {
    const cell = event.target.closest(".cell");
    if (cell === null) {
      return;
    }
    if (event.key === "Enter" || event.key === " ") {
      event.preventDefault();
      choose(cell);
      return;
    }
    const next = moveIn(table, cell, event.key);
    if (next !== null) {
      event.preventDefault();
      cell.tabIndex = -1;
      next.tabIndex = 0;
      state.focus = [Number(next.dataset.row), Number(next.dataset.column)];
      next.focus();
    }
  });
  for (const button of document.querySelectorAll("button[data-go]")) {
    button.addEventListener("click", () => {
      const wanted = Number(button.dataset.go);
      const entry = data.binding.findIndex((_, place) => caseNumber(data, place) === wanted);
      if (entry < 0) {
        button.replaceWith("This case is not in the thinned grid.");
        return;
      }
      const places = placesOf(data, entry);
      state.at = [...places];
      state.last = [...places];
      state.focus = [places[state.rows], state.columns < 0 ? 0 : places[state.columns]];
      drawControls(data, state, redraw);
      redraw();
      const cell = table.querySelector(`.cell[data-row="${state.focus[0]}"][data-column="${state.focus[1]}"]`);
      choose(cell);
      cell.focus();
    });
  }
  document.getElementById("controls").addEventListener("submit", (event) => event.preventDefault());
  document.getElementById("grid-notes").replaceChildren(...data.notes.map((words) => element("li", {}, words)));
  document.getElementById("moving").hidden = false;
  drawControls(data, state, redraw);
  redraw();
}

begin();
