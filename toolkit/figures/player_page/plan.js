/* Plan view: metres east and south in the drawing's own units, so that a hull is turned by her heading as it stands. */

const NAMESPACE = "http://www.w3.org/2000/svg";

/** Make an SVG element with attributes inside a parent. */
function add(parent, name, attributes, text) {
  const made = document.createElementNS(NAMESPACE, name);
  for (const [key, value] of Object.entries(attributes)) {
    made.setAttribute(key, String(value));
  }
  if (text !== undefined) {
    made.textContent = text;
  }
  parent.append(made);
  return made;
}

/** A length of 1, 2 or 5 times a power of ten, at least a given one. */
function roundLength(least) {
  const power = 10 ** Math.floor(Math.log10(least));
  return power * ([1, 2, 5].find((step) => step * power >= least) ?? 10);
}

/** Points [east, north] or [ahead, starboard] as the text of a path or polygon. */
const onGround = (points) => points.map(([east, north]) => `${east},${-north}`).join(" ");
const onHull = (points) => points.map(([ahead, starboard]) => `${starboard},${-ahead}`).join(" ");

/** A point of a hull, [ahead, starboard], on the ground: [east, south]. */
function pointOf(hull, place, [ahead, starboard]) {
  const heading = (hull.heading[place] * Math.PI) / 180;
  const [c, s] = [Math.cos(heading), Math.sin(heading)];
  return [hull.east[place] + ahead * s + starboard * c, -hull.north[place] - ahead * c + starboard * s];
}

const isKnown = (hull, place) =>
  hull.north[place] !== null && hull.east[place] !== null && hull.heading[place] !== null;

const placedAt = (hull, place) =>
  `translate(${hull.east[place]} ${-hull.north[place]}) rotate(${hull.heading[place]})`;

/** Draw the plan; returns what shows an entry and what changes the view. */
function makePlan(svg, note, scene) {
  const grid = add(svg, "path", { class: "grid" });
  for (const shoal of scene.shoals) {
    add(svg, "polygon", { class: "shoal", points: onGround(shoal) });
  }
  const sweptGroup = add(svg, "g", {});
  const swept = scene.swept.map((place) => ({ place, shapes: sweptShapes(sweptGroup, place) }));
  let sweptSoFar = swept.length;
  if (scene.radius !== null) {
    add(svg, "circle", { class: "edge", r: scene.radius });
  }
  if (scene.edge !== null) {
    add(svg, "polygon", { class: "edge", points: onGround(scene.edge) });
  }
  if (scene.berth !== null) {
    add(svg, "polyline", { class: "berth", points: onGround(scene.berth) });
  }
  const track = add(svg, "polyline", { class: "track" });
  const trackPoints = [];
  const stride = Math.max(1, Math.floor(scene.barge.east.length / 900));
  for (let place = 0; place < scene.barge.east.length; place += stride) {
    if (isKnown(scene.barge, place)) {
      trackPoints.push({ place, text: `${scene.barge.east[place]},${-scene.barge.north[place]}` });
    }
  }
  const barge = add(svg, "g", {});
  add(barge, "polygon", { class: "barge", points: onHull(scene.barge.outline) });
  add(barge, "polyline", { class: "barge", points: onHull(scene.bow) });
  const line = add(svg, "line", { class: "line slack" });
  const tug = add(svg, "g", {});
  add(tug, "polygon", { class: "tug", points: onHull(scene.tug.outline) });
  const arrows = scene.drives.map(() => add(tug, "polygon", { class: "thrust" }));
  const shown = { track: true, swept: true, thrust: true, follow: false };
  let current = 0;

  function sweptShapes(parent, place) {
    return [scene.barge, scene.tug]
      .filter((hull) => isKnown(hull, place))
      .map((hull) =>
        add(parent, "polygon", { class: "swept", points: onHull(hull.outline), transform: placedAt(hull, place) }));
  }

  function look() {
    let [west, south, east, north] = scene.view;
    if (shown.follow && isKnown(scene.barge, current)) {
      const both = isKnown(scene.tug, current) ? [scene.barge, scene.tug] : [scene.barge];
      const middle = (key) => both.reduce((sum, hull) => sum + hull[key][current], 0) / both.length;
      const half = 0.5 * scene.close;
      [west, south] = [middle("east") - half, middle("north") - half];
      [east, north] = [middle("east") + half, middle("north") + half];
    }
    const [wide, tall] = [east - west, north - south];
    svg.setAttribute("viewBox", `${west} ${-north} ${wide} ${tall}`);
    const step = roundLength(Math.max(wide, tall) / 8);
    const lines = [];
    for (let x = Math.ceil((west - wide) / step) * step; x < east + wide; x += step) {
      lines.push(`M${x} ${-north - tall}V${-south + tall}`);
    }
    for (let y = Math.ceil((south - tall) / step) * step; y < north + tall; y += step) {
      lines.push(`M${west - wide} ${-y}H${east + wide}`);
    }
    grid.setAttribute("d", lines.join(""));
    note.textContent = `Squares of the grid: ${step} m.`;
  }

  function showArrows(place) {
    scene.drives.forEach((drive, number) => {
      const length = (scene.arrow * (drive.thrust[place] ?? 0)) / (scene.largest || 1);
      const drawn = shown.thrust && length > 0.02 * scene.arrow && drive.direction[place] !== null;
      arrows[number].setAttribute("visibility", drawn ? "inherit" : "hidden");
      if (drawn) {
        const head = Math.min(0.5 * length, 2.4);
        const [shaft, wide] = [0.16 * head + 0.15, 0.45 * head + 0.2];
        const neck = length - head;
        arrows[number].setAttribute("points", onHull([
          [0, -shaft], [neck, -shaft], [neck, -wide], [length, 0], [neck, wide], [neck, shaft], [0, shaft]]));
        arrows[number].setAttribute("transform",
          `translate(${drive.starboard} ${-drive.ahead}) rotate(${drive.direction[place]})`);
      }
    });
  }

  /** Only what has changed since the last picture is touched. */
  function showSwept(place) {
    sweptGroup.setAttribute("visibility", shown.swept ? "visible" : "hidden");
    const wanted = swept.filter((one) => one.place <= place).length;
    const [from, to] = [Math.min(sweptSoFar, wanted), Math.max(sweptSoFar, wanted)];
    for (const shape of swept.slice(from, to).flatMap((one) => one.shapes)) {
      shape.setAttribute("visibility", wanted > sweptSoFar ? "inherit" : "hidden");
    }
    sweptSoFar = wanted;
  }

  function show(place) {
    current = place;
    for (const [group, hull] of [[barge, scene.barge], [tug, scene.tug]]) {
      const known = isKnown(hull, place);
      group.setAttribute("visibility", known ? "visible" : "hidden");
      if (known) {
        group.setAttribute("transform", placedAt(hull, place));
      }
    }
    const fast = scene.line !== null && scene.line.taut[place] !== null;
    const drawn = fast && isKnown(scene.barge, place) && isKnown(scene.tug, place);
    line.setAttribute("visibility", drawn ? "visible" : "hidden");
    if (drawn) {
      const [x1, y1] = pointOf(scene.barge, place, scene.line.barge);
      const [x2, y2] = pointOf(scene.tug, place, scene.line.tug);
      for (const [key, value] of Object.entries({ x1, y1, x2, y2 })) {
        line.setAttribute(key, value);
      }
      line.setAttribute("class", scene.line.taut[place] ? "line taut" : "line slack");
    }
    showArrows(place);
    track.setAttribute("visibility", shown.track ? "visible" : "hidden");
    const passed = trackPoints.filter((point) => point.place <= place).map((point) => point.text);
    if (isKnown(scene.barge, place)) {
      passed.push(`${scene.barge.east[place]},${-scene.barge.north[place]}`);
    }
    track.setAttribute("points", passed.join(" "));
    showSwept(place);
    if (shown.follow) {
      look();
    }
  }

  function choose(what, value) {
    shown[what] = value;
    look();
    show(current);
  }

  look();
  return { show, choose };
}
