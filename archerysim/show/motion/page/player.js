// The page's pictures, and the clock that moves them.
const lastOne = numbers.time.length - 1;
const box = byId("pictures");
const flying = numbers.way.length > 0;
box.className = flying ? "flight" : "release";
const made = numbers.panels.map((panel) => makePanel(box, panel));

// Which panels stand beside each other where there is room.
made.forEach((one, k) => {
  if (flying && k > 0) { one.figure.className = "of-" + (made.length - 1); }
  if (!flying && k < 3) { one.figure.className = k === 0 ? "tall" : "half"; }
  if (one.panel.course) { one.figure.className = (made.length - k) % 2 ? "course" : "course left"; }
});

// Which picture is shown at an instant.
function frameAt(time) {
  let k = 0;
  while (k < lastOne && numbers.time[k + 1] <= time * numbers.second + 1e-9) { k += 1; }
  return k;
}

function wordsAt(k) {
  const values = { time: numbers.told[k], unit: numbers.unit, way: numbers.way[k] };
  return [say(flying ? "now_far" : "now", values), numbers.phases[k]].filter(Boolean).join(": ");
}

let shown = -1;

function show(time) {
  const k = frameAt(time);
  if (k !== shown) {
    shown = k;
    for (const one of made) { movePanel(one, k); }
    byId("clock").textContent = wordsAt(k);
  }
  return wordsAt(k) + ", " + say("of_pictures", { number: k + 1, count: lastOne + 1 });
}

function draw() {
  for (const one of made) { drawPanel(one); }
  shown = -1;
}

const at = (k) => numbers.time[Math.min(Math.max(k, 0), lastOne)] / numbers.second;
draw();
const clock = makeClock({
  end: () => at(lastOne), slow: numbers.slow, show, next: (time, by) => at(frameAt(time) + by),
  place: frameAt, instant: at,
  rest: () => { byId("live").textContent = wordsAt(frameAt(clock.now())); },
});
byId("time").max = String(lastOne);
clock.again();

const keys = {
  ArrowLeft: () => clock.step(-1), ArrowRight: () => clock.step(1), "+": () => clock.pace(1), "-": () => clock.pace(-1),
  Home: () => clock.to(0), End: () => clock.to(at(lastOne)), " ": () => clock.toggle(),
};
document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.altKey || event.metaKey || !keys[event.key]) { return; }
  const on = event.target.tagName;
  if (on === "SELECT" || on === "A" || (on === "BUTTON" && event.key === " ")) { return; }
  event.preventDefault();
  keys[event.key]();
});

function redraw() {
  draw();
  clock.again();
}
window.addEventListener("resize", redraw);
window.addEventListener("beforeprint", () => { document.body.classList.add("paper"); redraw(); });
window.addEventListener("afterprint", () => { document.body.classList.remove("paper"); redraw(); });
if (!document.querySelector(".notes li")) { byId("minded").hidden = true; }
