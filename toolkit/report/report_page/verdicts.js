/* Verdicts of cases: where they stand in the data, and the worst of several. */

/** Steps in the data from one value of each axis to the next, in C order. */
function stridesOf(axes) {
  const strides = new Array(axes.length);
  let size = 1;
  for (let place = axes.length - 1; place >= 0; place -= 1) {
    strides[place] = size;
    size *= axes[place].values.length;
  }
  return strides;
}

/** Entries of the data at a place of each axis, where -1 stands for all of them. */
function entriesAt(data, places) {
  return data.axes.reduce((found, axis, number) => {
    const here = places[number] < 0 ? axis.values.map((_, place) => place) : [places[number]];
    return found.flatMap((entry) => here.map((place) => entry + place * data.strides[number]));
  }, [0]);
}

/** Place on each axis of one entry. */
function placesOf(data, entry) {
  return data.axes.map((axis, number) => Math.floor(entry / data.strides[number]) % axis.values.length);
}

/** Number of the case of one entry in the results. */
function caseNumber(data, entry) {
  return placesOf(data, entry).reduce((sum, place, number) => sum + data.axes[number].offsets[place], data.first);
}

/** How bad an entry is: passing below not run, below limits by how far, below how a case ended. */
function badness(data, entry) {
  const code = data.binding[entry];
  if (code === 0) {
    return (data.used[entry] ?? 0) - 1e9;
  }
  if (code === data.notRun) {
    return -1;
  }
  return data.kinds.get(code).ended ? 1e9 + code : data.used[entry] ?? 0;
}

/** The worst of several entries, and how many pass. */
function judge(data, entries) {
  let worst = entries[0];
  let passing = 0;
  for (const entry of entries) {
    passing += data.binding[entry] === 0 ? 1 : 0;
    worst = badness(data, entry) > badness(data, worst) ? entry : worst;
  }
  const kind = data.kinds.get(data.binding[worst]);
  return { entry: worst, passing, count: entries.length, kind, used: kind.ended ? null : data.used[worst] };
}

/** A value with its axis; "from" and "to" are said once where the name of a bearing ends in them. */
function valueWords(data, number, place) {
  const { label, values } = data.axes[number];
  return `${label} ${values[place]}`.replace("from from ", "from ").replace("to to ", "to ");
}

/** Share of a limit that is used; what breaks it by less than half a percent is not called 100 %. */
function usedWords(kind, used) {
  const whole = Math.round(used);
  return kind.code !== 0 && whole <= 100 ? "just beyond it" : `${whole} % of limit`;
}

/** Words below the verdict of a cell. */
function moreWords(found) {
  const used = found.used === null ? "" : usedWords(found.kind, found.used);
  const share = found.count > 1 ? `${found.passing} of ${found.count} pass` : "";
  return [share, used].filter((words) => words !== "").join(", ");
}
