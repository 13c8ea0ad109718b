/* Time: what is shown now, and what moves it on. */

const PACES = [1, 2, 5, 10, 20, 40, 80, 160];

/** Time the whole may take to play at the pace set at first [s]. */
const PLAYS_FOR = 40;

/** Seconds in words, as everywhere on the page. */
function clockWords(seconds) {
  const whole = Math.round(seconds);
  return `${Math.floor(whole / 60)} min ${String(whole % 60).padStart(2, "0")} s`;
}

/** Last entry that is not after a time. */
function entryAt(times, time) {
  let [low, high] = [0, times.length - 1];
  while (low < high) {
    const middle = Math.ceil((low + high) / 2);
    if (times[middle] <= time) {
      low = middle;
    } else {
      high = middle - 1;
    }
  }
  return low;
}

/** Scroll what has got the focus out from behind the controls, which stay at the bottom of the window. */
function uncover(event) {
  const controls = document.getElementById("controls");
  const [bar, box] = [controls, event.target].map((element) => element.getBoundingClientRect());
  if (!controls.contains(event.target) && box.bottom > bar.top && box.top < bar.bottom) {
    scrollBy(0, box.bottom - bar.top + 16);
  }
}

/** Put the columns of the data where their names stand. */
function withColumns(data) {
  const { columns, scene } = data;
  for (const one of [...data.strips, ...data.readings]) {
    one.values = columns[one.column];
  }
  if (scene !== null) {
    for (const hull of [scene.barge, scene.tug]) {
      Object.assign(hull, { north: columns[hull.north], east: columns[hull.east], heading: columns[hull.heading] });
    }
    for (const drive of scene.drives) {
      Object.assign(drive, { thrust: columns[drive.thrust], direction: columns[drive.direction] });
    }
    if (scene.line !== null) {
      scene.line.taut = columns.line_taut;
    }
  }
  return data;
}

/** A value with its unit; zero bears no sign. */
function valueWords(value, { unit, decimals }) {
  if (value === null) {
    return "none";
  }
  const text = value.toFixed(decimals);
  return `${Number(text) === 0 ? text.replace("-", "") : text} ${unit}`;
}

function start() {
  const data = withColumns(JSON.parse(document.getElementById("history").textContent));
  if (data.time.length === 0) {
    return;
  }
  const [slider, play, pace, phase, clock, announced] =
    ["time", "play", "pace", "phase", "clock", "announced"].map((id) => document.getElementById(id));
  const cells = [...document.querySelectorAll("[data-reading]")];
  const plan = data.scene === null
    ? { show() {}, choose() {} }
    : makePlan(document.getElementById("plan"), document.getElementById("grid-note"), data.scene);
  const graphs = makeGraphs([...document.querySelectorAll("svg[data-strip]")], document.getElementById("phases"), data, goTo);
  const calm = matchMedia("(prefers-reduced-motion: reduce)");
  const [begin, end] = [data.time[0], data.time.at(-1)];
  let now = begin;
  let playing = false;
  let seen = null;
  let told = "";

  const phaseAt = (time) => data.phases.findLast((one) => one.start <= time)?.words ?? "not recorded";

  function show(time) {
    now = Math.min(Math.max(time, begin), end);
    const place = entryAt(data.time, now);
    plan.show(place);
    graphs.show(data.time[place]);
    const words = place === data.time.length - 1 ? `ended: ${data.outcome}` : `phase: ${phaseAt(data.time[place])}`;
    clock.textContent = clockWords(data.time[place]);
    phase.textContent = words;
    for (const cell of cells) {
      const reading = data.readings[Number(cell.dataset.reading)];
      cell.textContent = valueWords(reading.values[place], reading);
    }
    slider.value = String(place);
    slider.setAttribute("aria-valuetext", `${clock.textContent}, ${words}`);
  }

  /** Say aloud what has come about since the last picture, while it plays. */
  function announce(before) {
    const passed = data.moments.filter((one) => one.time > before && one.time <= now);
    const words = passed.map((one) => `${clockWords(one.time)}: ${one.words}`).join("; ");
    if (words && words !== told) {
      announced.textContent = words;
      told = words;
    }
  }

  function goTo(time) {
    pause();
    show(time);
  }

  function pause() {
    playing = false;
    play.textContent = "Play";
  }

  function advance(seconds) {
    const before = now;
    show(now + seconds * Number(pace.value));
    announce(before);
    if (now >= end) {
      pause();
    }
  }

  function tick(moment) {
    if (!playing) {
      return;
    }
    const passed = (moment - (seen ?? moment)) / 1000;
    if (!calm.matches || passed >= 1) {
      seen = moment;
      advance(Math.min(passed, 1));
    } else {
      seen = seen ?? moment;
    }
    requestAnimationFrame(tick);
  }

  play.addEventListener("click", () => {
    if (playing) {
      pause();
      return;
    }
    if (now >= end) {
      show(begin);
    }
    playing = true;
    seen = null;
    play.textContent = "Pause";
    requestAnimationFrame(tick);
  });
  document.getElementById("back").addEventListener("click", () => goTo(now - 10));
  document.getElementById("forward").addEventListener("click", () => goTo(now + 10));
  document.addEventListener("focusin", uncover);
  slider.max = String(data.time.length - 1);
  slider.addEventListener("input", () => goTo(data.time[Number(slider.value)]));
  for (const button of document.querySelectorAll("[data-moment]")) {
    button.addEventListener("click", () => goTo(data.moments[Number(button.dataset.moment)].time));
  }
  for (const [id, what] of [["show-track", "track"], ["show-swept", "swept"], ["show-thrust", "thrust"], ["follow", "follow"]]) {
    const box = document.getElementById(id);
    box.addEventListener("change", () => plan.choose(what, box.checked));
    plan.choose(what, box.checked);
  }
  const usual = PACES.find((one) => (end - begin) / one <= PLAYS_FOR) ?? PACES.at(-1);
  for (const one of PACES) {
    pace.add(new Option(one === 1 ? "as it happens" : `${one} times as fast`, String(one), one === usual, one === usual));
  }
  const note = document.getElementById("calm");
  note.hidden = !calm.matches;
  calm.addEventListener("change", () => { note.hidden = !calm.matches; });
  show(begin);
}

start();
