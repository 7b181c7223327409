// One page to print: three strips, their numbers, questions with room to answer.
const PAPER = 680;
const PAPER_TALL = 62;
const PAPER_TRUE = 14;

function cell(row, name, text) {
  const made = document.createElement(name);
  made.textContent = text;
  row.appendChild(made);
}

function drawHandout(lanes) {
  const box = document.getElementById("handout-strips");
  box.replaceChildren();
  const most = Math.max(...lanes.map(furthest), 1e-3);
  const times = enlargement(0.46 * PAPER_TALL / (PAPER / (numbers.distance + BEFORE + AFTER) * most));
  document.getElementById("handout-lead").textContent = say("handout_lead", { times });
  for (const lane of lanes) {
    const words = document.createElement("p");
    words.textContent = lane.name + ", " + lane.value;
    box.append(words);
    for (const [enlarged, tall] of [[times, PAPER_TALL], [1, PAPER_TRUE]]) {
      const svg = document.createElementNS("http://www.w3.org/2000/svg", "svg");
      box.append(svg);
      moveStrip(drawOnPaper(svg, lane, enlarged, tall), lane, 0.55 * lane.flight.end, enlarged > 1);
    }
  }
  const table = document.getElementById("handout-table");
  table.replaceChildren();
  const head = table.insertRow();
  for (const key of ["handout_arrow", "handout_reading", "handout_leaves"]) { cell(head, "th", texts[key]); }
  cell(head, "th", say("handout_bare", { distance: numbers.distanceWords }));
  for (const lane of lanes) {
    const row = table.insertRow();
    for (const text of [lane.name, lane.value, lane.leaves, lane.bareWords]) { cell(row, "td", text); }
  }
}

function drawOnPaper(svg, lane, times, tall) {
  const box = document.createElement("div");
  box.style.cssText = "position:absolute;visibility:hidden;width:" + PAPER + "px";
  document.body.appendChild(box);
  const parent = svg.parentElement;
  const after = svg.nextSibling;
  box.appendChild(svg);
  svg.style.width = PAPER + "px";
  svg.style.display = "block";
  const strip = drawStrip(svg, lane, times, tall);
  svg.removeAttribute("style");
  parent.insertBefore(svg, after);
  box.remove();
  return strip;
}
