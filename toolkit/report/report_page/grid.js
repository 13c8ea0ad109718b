/* The grid: a table whose cells tell what passes, or what binds. */

/** An element with attributes and words. */
function element(name, attributes = {}, words = "") {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    made.setAttribute(key, value);
  }
  made.append(words);
  return made;
}

/** Classes by which a cell or a swatch shows a verdict. */
function lookOf(kind) {
  return kind.code === 0 ? "pass" : `pattern-${kind.pattern}${kind.ended ? " ended" : ""}`;
}

/** Words of where a cell stands, such as "barge displacement 800 t, bollard pull 20 t". */
function whereWords(data, state, row, column) {
  const parts = [[state.rows, row], [state.columns, column]].filter(([axis]) => axis >= 0);
  return parts.map(([axis, place]) => valueWords(data, axis, place)).join(", ");
}

/** Draw the grid anew; the verdicts by row and column. */
function drawGrid(data, state) {
  const table = document.getElementById("grid");
  const rows = data.axes[state.rows];
  const columns = state.columns < 0 ? { label: "verdict", values: [""] } : data.axes[state.columns];
  const head = element("thead");
  const titles = element("tr", { role: "row" });
  titles.append(element("th", { role: "columnheader", scope: "col", rowspan: "2" }, rows.label));
  titles.append(element("th", { role: "columnheader", scope: "colgroup", colspan: columns.values.length }, columns.label));
  const values = element("tr", { role: "row" });
  for (const value of columns.values) {
    values.append(element("th", { role: "columnheader", scope: "col" }, value));
  }
  head.append(titles, values);
  const body = element("tbody");
  const verdicts = rows.values.map((rowValue, row) => {
    const line = element("tr", { role: "row" });
    line.append(element("th", { role: "rowheader", scope: "row" }, rowValue));
    body.append(line);
    return columns.values.map((_, column) => {
      const places = data.axes.map((__, axis) => (
        axis === state.rows ? row : axis === state.columns ? column : state.at[axis]
      ));
      const found = judge(data, entriesAt(data, places));
      line.append(cellOf(data, state, found, row, column));
      return found;
    });
  });
  table.setAttribute("aria-label", `Envelope over ${rows.label}${state.columns < 0 ? "" : ` and ${columns.label}`}`);
  table.replaceChildren(head, body);
  return verdicts;
}

/** One cell. */
function cellOf(data, state, found, row, column) {
  const more = moreWords(found);
  const told = found.kind.code === 0 ? "passes" : found.kind.words;
  const cell = element("td", {
    role: "gridcell",
    class: `cell ${lookOf(found.kind)}`,
    tabindex: row === state.focus[0] && column === state.focus[1] ? "0" : "-1",
    "aria-selected": String(state.chosen === found.entry),
    "aria-label": `${whereWords(data, state, row, column)}: ${told}${more === "" ? "" : `; ${more}`}`,
    "data-row": row,
    "data-column": column,
  });
  cell.append(element("span", { class: "verdict" }, found.kind.short));
  if (more !== "") {
    cell.append(element("br"), element("span", { class: "more" }, more));
  }
  return cell;
}

/** Tell what the grid shows in a sentence, and what its patterns mean. */
function drawWords(data, state, verdicts) {
  const all = verdicts.flat();
  const counts = new Map();
  for (const { kind } of all) {
    counts.set(kind.code, (counts.get(kind.code) ?? 0) + 1);
  }
  const told = data.axes.map((axis, number) => {
    if (number === state.rows || number === state.columns) {
      return "";
    }
    const place = state.at[number];
    return place < 0 ? `the worst of all ${axis.values.length} values of ${axis.label}` : valueWords(data, number, place);
  }).filter((words) => words !== "");
  const binds = [...counts].filter(([code]) => code !== 0).sort((a, b) => b[1] - a[1]).slice(0, 3)
    .map(([code, count]) => `${data.kinds.get(code).short} ${count}`);
  document.getElementById("summary").textContent = `${counts.get(0) ?? 0} of ${all.length} cells pass`
    + `${binds.length === 0 ? "" : `; what binds in the others: ${binds.join(", ")}`}.`
    + `${told.length === 0 ? "" : ` With ${told.join(", ")}.`}`;
  document.getElementById("legend").replaceChildren(...[...counts.keys()].sort((a, b) => counts.get(b) - counts.get(a)).map((code) => {
    const kind = data.kinds.get(code);
    const item = element("li");
    item.append(element("span", { class: `swatch ${lookOf(kind)}`, "aria-hidden": "true" }));
    item.append(element("span", {}, `${kind.short}: ${kind.words} (${counts.get(code)} of ${all.length} cells)`));
    return item;
  }));
}
