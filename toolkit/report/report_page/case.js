/* One case: its inputs, how it went, and its pictures or the command that makes them. */

/** Table of the outcomes of an entry. */
function outcomeTable(data, entry) {
  const table = element("table");
  table.append(element("caption", {}, "Outcomes of this case"));
  const head = element("tr");
  head.append(...["outcome", "value", "limit"].map((words) => element("th", { scope: "col" }, words)));
  const body = element("tbody");
  for (const outcome of data.outcomes) {
    const value = outcome.values[entry];
    const line = element("tr");
    line.append(
      element("th", { scope: "row" }, outcome.label),
      element("td", { class: "number" }, value === null ? "none" : `${value} ${outcome.unit}`.trim()),
      element("td", {}, outcome.limit),
    );
    body.append(line);
  }
  const thead = element("thead");
  thead.append(head);
  table.append(thead, body);
  return table;
}

/** Show one entry; `found` tells of how many cases it is the worst. */
function showCase(data, entry, found) {
  const number = caseNumber(data, entry);
  const kind = data.kinds.get(data.binding[entry]);
  const used = data.used[entry];
  const inputs = placesOf(data, entry).map((place, axis) => valueWords(data, axis, place));
  document.getElementById("case-heading").textContent = `Case ${number}: ${kind.short}`;
  const parts = [element("p", {}, `${inputs.join(", ")}.`)];
  const told = used === null ? "" : ` Of the limit that it comes closest to, or breaks most: ${usedWords(kind, used)}.`;
  parts.push(element("p", {}, `The case ${kind.words}.${told}`));
  if (found !== null && found.count > 1) {
    parts.push(element("p", {}, `It is the worst of the ${found.count} cases of its cell, of which ${found.passing} pass.`));
  }
  const around = element("div", { class: "wide" });
  around.append(outcomeTable(data, entry));
  parts.push(around);
  const drawn = document.querySelector(`.one-case[data-case="${number}"]`);
  if (drawn === null) {
    parts.push(element("p", {}, "Its ground swept and its courses in time, with a page that plays it, are made by:"));
    parts.push(element("pre", {}, `towage history ${data.source} --case ${number}`));
  } else {
    parts.push(...[...drawn.querySelectorAll("figure")].map((figure) => figure.cloneNode(true)));
  }
  document.getElementById("case").classList.remove("empty");
  document.getElementById("case-body").replaceChildren(...parts);
}
