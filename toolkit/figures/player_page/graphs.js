/* Curves along time, drawn anew for the width at hand, with one cursor through all of them. */

const LEFT = 52;
const RIGHT = 12;
const TOP = 24;

/** Ticks at round steps within an interval. */
function ticksOf(low, high, count) {
  const step = roundLength((high - low) / count);
  const ticks = [];
  for (let tick = Math.ceil(low / step) * step; tick <= high + 1e-9 * step; tick += step) {
    ticks.push(Math.abs(tick) < 1e-9 * step ? 0 : Number(tick.toPrecision(6)));
  }
  return ticks;
}

/** Curve as the text of a path; it breaks where a value is missing. */
function pathOf(times, values, x, y) {
  const parts = [];
  let down = false;
  values.forEach((value, place) => {
    if (value === null) {
      down = false;
      return;
    }
    parts.push(`${down ? "L" : "M"}${x(times[place]).toFixed(1)} ${y(value).toFixed(1)}`);
    down = true;
  });
  return parts.join("");
}

/** Draw all curves; returns what moves the cursor. `onPick` is called with a time [s]. */
function makeGraphs(holders, phaseStrip, data, onPick) {
  let cursors = [];
  let x = () => 0;
  let now = data.time[0];
  const [begin, end] = [data.time[0], Math.max(data.time.at(-1), data.time[0] + 1)];

  function drawOne(svg, strip, last) {
    const [width, height] = [svg.clientWidth, svg.clientHeight];
    const bottom = height - (last ? 34 : 8);
    const y = (value) => bottom - ((value - strip.low) / (strip.high - strip.low)) * (bottom - TOP);
    svg.replaceChildren();
    svg.setAttribute("viewBox", `0 0 ${width} ${height}`);
    add(svg, "path", { class: "axis", d: `M${LEFT} ${TOP}V${bottom}H${width - RIGHT}` });
    for (const tick of ticksOf(strip.low, strip.high, 4)) {
      add(svg, "path", { class: tick === 0 ? "zero" : "axis", d: `M${LEFT - 4} ${y(tick)}H${tick === 0 ? width - RIGHT : LEFT}` });
      add(svg, "text", { x: LEFT - 7, y: y(tick) + 4, "text-anchor": "end" }, String(tick));
    }
    for (const tick of ticksOf(begin / 60, end / 60, Math.max(2, width / 110))) {
      add(svg, "path", { class: "axis", d: `M${x(60 * tick)} ${bottom}v4` });
      if (last) {
        add(svg, "text", { x: x(60 * tick), y: bottom + 17, "text-anchor": "middle" }, String(tick));
      }
    }
    if (last) {
      add(svg, "text", { x: (LEFT + width - RIGHT) / 2, y: height - 3, "text-anchor": "middle" }, "time [min]");
    }
    drawMoments(svg, bottom);
    for (const level of strip.levels) {
      add(svg, "path", { class: "level", d: `M${LEFT} ${y(level.value)}H${width - RIGHT}`, "stroke-dasharray": level.dashes });
    }
    add(svg, "path", { class: "curve", d: pathOf(data.time, strip.values, x, y) });
    for (const level of strip.levels.filter((one) => one.value >= 0)) {
      add(svg, "text", { class: "halo", x: width - RIGHT - 4, y: y(level.value) - 3, "text-anchor": "end" }, level.words);
    }
    return add(svg, "line", { class: "cursor", y1: TOP, y2: bottom });
  }

  /** Upright lines with their numbers; those that would overlap are written as one. */
  function drawMoments(svg, bottom) {
    let [words, reached] = [null, -Infinity];
    for (const moment of data.moments.filter((one) => one.marked)) {
      const at = x(moment.time);
      add(svg, "path", { class: "moment", d: `M${at} ${TOP}V${bottom}` });
      if (at < reached) {
        words.textContent += `, ${moment.number}`;
      } else {
        words = add(svg, "text", { x: at, y: 11, "text-anchor": "middle" }, String(moment.number));
      }
      reached = at + 12 + 7 * words.textContent.length;
    }
  }

  function drawPhases() {
    const [width, height] = [phaseStrip.clientWidth, phaseStrip.clientHeight];
    phaseStrip.replaceChildren();
    phaseStrip.setAttribute("viewBox", `0 0 ${width} ${height}`);
    data.phases.forEach((phase, number) => {
      const [from, to] = [x(phase.start), x(phase.end)];
      const box = add(phaseStrip, "rect", {
        class: "phase-box", x: from, y: 0, width: Math.max(to - from, 0), height, fill: number % 2 ? "#ffffff" : "#dedede",
      });
      add(box, "title", {}, phase.words);
      const words = add(phaseStrip, "text", { x: (from + to) / 2, y: height - 8, "text-anchor": "middle" }, phase.words);
      if (words.getComputedTextLength() > to - from - 4) {
        words.remove();
      }
    });
  }

  function draw() {
    const width = holders[0].clientWidth;
    x = (time) => LEFT + ((time - begin) / (end - begin)) * (width - LEFT - RIGHT);
    drawPhases();
    cursors = holders.map((svg, number) => drawOne(svg, data.strips[number], number === holders.length - 1));
    show(now);
  }

  function show(time) {
    now = time;
    for (const cursor of cursors) {
      cursor.setAttribute("x1", x(time));
      cursor.setAttribute("x2", x(time));
    }
  }

  function pick(event) {
    const box = event.currentTarget.getBoundingClientRect();
    const share = (event.clientX - box.left - LEFT) / (box.width - LEFT - RIGHT);
    onPick(begin + Math.min(Math.max(share, 0), 1) * (end - begin));
  }

  for (const svg of holders) {
    svg.addEventListener("pointerdown", pick);
    svg.addEventListener("pointermove", (event) => {
      if (event.buttons === 1) {
        pick(event);
      }
    });
  }
  new ResizeObserver(draw).observe(holders[0]);
  draw();
  return { show };
}
