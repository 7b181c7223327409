// What the page does: sliders, the flights that follow from them, the player.
const APART = 4e-3;
const STIFFER = 0.1;

let values = today();
let lanes = [];
let pair = [];
let end = 1;
let clock = null;
const madeLanes = [];
const madePair = [];
const base = { todaySide: gap(today()).side };

function flownLane(look, name, value, settings, bare) {
  const start = leaving(settings);
  const flight = fly(start, bare);
  return { look, name, value, color: color[look], bare, flight, settings, path: null, start };
}

// How much further left or right a bare shaft hits, beside its fletched one, than with today's bow.
function changeWords(side) {
  const more = (leftHanded ? -1 : 1) * (side - base.todaySide);
  return Math.abs(more) < 0.5 * MM ? texts.change_none
    : say(more > 0 ? "change_left" : "change_right", { length: onTarget(more) });
}

function bareWords(height) {
  if (Math.abs(height) < 0.5 * MM) { return texts.level_with; }
  return say(height > 0 ? "above" : "below", { length: onTarget(height) });
}

function attackWords(state) {
  const left = (leftHanded ? -1 : 1) * (state[8] - Math.atan2(state[7], Math.hypot(state[2], state[3])));
  const angle = sideways ? left : state[4] - Math.atan2(state[3], state[2]);
  if (Math.abs(angle) < 0.005 * Math.PI / 180) { return texts.attack_none; }
  const way = sideways ? (angle > 0 ? "left" : "right") : angle > 0 ? "up" : "down";
  return say("attack_" + way, { angle: degrees(angle) });
}

function threeReadings(found) {
  const range = sliderOf("reading");
  const ends = [range.low, range.high];
  const miss = (at) => Math.abs(gap({ ...values, reading: at }).height - numbers.dragAndMass);
  const middle = found === null ? ends.sort((a, b) => miss(a) - miss(b))[0] : found;
  const held = (at) => Math.min(Math.max(at, range.low), range.high);
  return [["low", held(middle - APART)], ["still", middle], ["high", held(middle + APART)]];
}

function threeShafts() {
  const range = sliderOf("spine");
  const held = (at) => Math.min(Math.max(at, range.low), range.high);
  return [["low", "lane_stiff", held((1 - STIFFER) * values.spine)], ["still", "lane_today", values.spine],
    ["high", "lane_weak", held((1 + STIFFER) * values.spine)]];
}

function computeLanes(found) {
  const byReading = threeReadings(found).map(([look, at]) => {
    const name = look === "still" && found === null ? texts.lane_still_least : texts["lane_" + look];
    return flownLane(look, name, reading(at), { ...values, reading: at }, false);
  });
  const byShaft = threeShafts().map(([look, name, at]) => ({
    ...flownLane(look, texts[name], valueWords.spine(at), { ...values, spine: at }, false), nameKey: name,
  }));
  lanes = sideways ? byShaft : byReading;
  pair = [false, true].map((bare) => flownLane(
    bare ? "bare" : "fletched", texts[bare ? "lane_bare" : "lane_fletched"], sideways ? valueWords.spine(values.spine) : reading(values.reading), values, bare));
  const path = quietPath(byReading[1].start);
  for (const lane of [...byReading, ...byShaft, ...pair]) { lane.path = path; }
  for (const lane of [...lanes, ...byReading]) {
    const bare = fly(lane.start, true).hit;
    lane.bareHit = bare;
    lane.leaves = attackWords(lane.start);
    lane.bareWords = bareWords(bare.y - lane.flight.hit.y);
  }
  end = Math.max(...[...lanes, ...pair].map((one) => one.flight.end));
  return byReading;
}

function fact(list, key, text, id, value) {
  const name = document.createElement("dt");
  name.textContent = texts[key];
  const told = document.createElement("dd");
  told.textContent = text;
  if (id) { told.id = id; told.dataset.value = value; }
  list.append(name, told);
}

// Which way the locators go; a bare shaft whose tail strikes the rest says the wrong way.
function moveFor(apart, found) {
  if (Math.abs(apart) < 5 * MM) { return "move_none"; }
  if (found !== null && (values.reading < found) !== (apart > 0)) { return "move_lies"; }
  return apart > 0 ? "move_up" : "move_down";
}

function tellFacts(found) {
  const list = byId("facts");
  list.replaceChildren();
  const [fletched, bare] = pair.map((one) => one.flight.hit);
  const [height, side] = [bare.y - fletched.y, bare.z - fletched.z];
  const under = values.reading;
  fact(list, "fact_reading", small(under) + " " + texts.fact_underside + "; " + small(under + numbers.nockHeight) + " "
    + texts.fact_top + "; " + texts.fact_axis + " " + small(under - 0.5 * (numbers.shaft - numbers.nockHeight)),
  "fact-reading", under / MM);
  fact(list, "fact_attack", attackWords(pair[0].start), "fact-attack",
    (pair[0].start[4] - Math.atan2(pair[0].start[3], pair[0].start[2])) * 180 / Math.PI);
  const lands = sideways ? (leftHanded ? -1 : 1) * fletched.z : fletched.y;
  const where = Math.abs(lands) < 0.5 * MM ? texts.at_centre
    : say((sideways ? (lands > 0 ? "left_of" : "right_of") : lands > 0 ? "above" : "below") + "_centre",
      { length: onTarget(lands) });
  fact(list, "fact_lands", where, "fact-lands", (sideways ? fletched.z : fletched.y) / MM);
  if (sideways) {
    fact(list, "fact_side", changeWords(side), "fact-side", side / MM);
    for (const lane of [lanes[0], lanes[2]]) {
      fact(list, lane.nameKey, changeWords(lane.bareHit.z - lane.flight.hit.z));
    }
    return changeWords(side);
  }
  fact(list, "fact_height", bareWords(height), "fact-height", height / MM);
  const apart = height - numbers.dragAndMass;
  fact(list, "fact_move", texts[moveFor(apart, found)], "fact-move", apart / MM);
  return bareWords(height);
}

function stillWords(found) {
  const range = sliderOf("reading");
  return found === null
    ? say("still_none", { low: small(told(range.low)), high: small(told(range.high)) })
    : say("still_now", { reading: reading(found) });
}

function update() {
  const found = stillReading(values);
  const byReading = computeLanes(found);
  const bare = tellFacts(found);
  const head = byId("still");
  head.textContent = sideways ? say("bare_now", { bare }) : stillWords(found);
  head.dataset.value = found === null ? "" : found / MM;
  byId("heading").textContent = texts[sideways ? "heading_side" : "heading"];
  byId("lead").textContent = texts[sideways ? "lead_side" : "lead"];
  byId("not-climbing").textContent = texts[sideways ? "not_drifting" : "not_climbing"];
  byId("means").textContent = texts[sideways ? "side_doubt" : "still_means"];
  byId("square-key").textContent = say("square_key", { edge: texts["reading_" + numbers.convention] });
  byId("up-only").hidden = sideways;
  byId("live").textContent = say("live", { still: stillWords(found), reading: reading(values.reading), bare });
  redraw(byReading);
}

function redraw(byReading) {
  for (const [made, some] of [[madeLanes, lanes], [madePair, pair]]) {
    const wide = made[0].find(".large").clientWidth || 600;
    const times = enlargedBy(some, wide);
    const angled = angledBy(some);
    made.forEach((one, k) => drawLane(one, some[k], times, angled));
  }
  const hits = [];
  for (const lane of lanes) {
    hits.push({ y: lane.flight.hit.y, z: lane.flight.hit.z, color: lane.color, small: true });
    hits.push({ y: lane.bareHit.y, z: lane.bareHit.z, color: lane.color, small: true, bare: true });
  }
  for (const lane of pair) { hits.push({ y: lane.flight.hit.y, z: lane.flight.hit.z, color: lane.color, bare: lane.bare }); }
  drawTarget(byId("target"), hits);
  drawSquare(byId("square"), values.reading,
    (byReading || []).map((one) => ({ reading: one.settings.reading, color: one.color })));
  if (!sideways && byReading) { drawHandout(byReading); }
  if (clock) { clock.again(); }
}

// The pictures at an instant, and its words.
function move(time) {
  for (const made of [...madeLanes, ...madePair]) { moveLane(made, time); }
  const way = Math.min(stateAt(lanes[1].flight, time)[0] + numbers.nose, numbers.distance);
  const words = say("time_now", { time: time.toFixed(3), way: Math.max(way, 0).toFixed(1),
    yards: (Math.max(way, 0) / 0.9144).toFixed(1) });
  byId("clock").textContent = words;
  return words;
}

function landed(ended) {
  if (ended) { byId("live").textContent = texts.landed + " " + lanes.map((one) => one.name + ": "
    + (sideways ? changeWords(one.bareHit.z - one.flight.hit.z) : one.bareWords)).join(". "); }
}

function settings(slider) {
  if (slider.times) {
    return { min: 0, max: slider.step, step: 1, to: (v) => slider.low * (slider.high / slider.low) ** (v / slider.step),
      from: (v) => Math.round(slider.step * Math.log(v / slider.low) / Math.log(slider.high / slider.low)) };
  }
  const low = Math.ceil((slider.low - slider.today) / slider.step - 1e-6);
  const high = Math.floor((slider.high - slider.today) / slider.step + 1e-6);
  return { min: low, max: high, step: 1, to: (v) => slider.today + v * slider.step,
    from: (v) => Math.round((v - slider.today) / slider.step) };
}

const shown = {};

function makeSlider(slider) {
  const box = document.createElement("div");
  box.className = "slider";
  const id = "slider-" + slider.name;
  box.innerHTML = '<div class="head"><label></label><output></output></div><input type="range">'
    + '<div class="ends" aria-hidden="true"><span></span><span></span></div>';
  const [head, input, ends] = box.children;
  const [label, output] = head.children;
  label.htmlFor = id;
  label.textContent = texts["slider_" + slider.name];
  const set = settings(slider);
  Object.assign(input, { id, min: set.min, max: set.max, step: set.step });
  output.htmlFor = id;
  texts["ends_" + slider.name].split("|").forEach((text, k) => { ends.children[k].textContent = text; });
  const show = () => {
    input.value = String(set.from(values[slider.name]));
    const text = valueWords[slider.name](values[slider.name]);
    output.textContent = text;
    output.dataset.value = values[slider.name];
    input.setAttribute("aria-valuetext", text);
  };
  input.addEventListener("input", () => {
    values[slider.name] = set.to(Number(input.value));
    show();
    update();
  });
  byId("sliders").appendChild(box);
  shown[slider.name] = show;
  show();
}

function choose(side) {
  sideways = side;
  byId("lesson-up").setAttribute("aria-pressed", String(!side));
  byId("lesson-side").setAttribute("aria-pressed", String(side));
  update();
}

function fillQuestions() {
  const drop = 0.5 * numbers.body.gravity * pair[0].flight.end ** 2;
  for (let k = 1; texts["question_" + k]; k += 1) {
    const asked = say("question_" + k, { drop: (100 * drop).toFixed(0) + " cm (" + (drop / INCH).toFixed(0) + " in)" });
    const item = document.createElement("li");
    item.innerHTML = "<div></div><details><summary></summary><p></p></details>";
    item.children[0].textContent = asked;
    item.querySelector("summary").textContent = texts.show_answer;
    item.querySelector("p").textContent = texts["answer_" + k];
    byId("asked").appendChild(item);
    if (k <= 3) { cell(byId("handout-asked"), "li", asked); }
  }
}

function fillChecked() {
  byId("checked").textContent = say("about", { shots: numbers.shots, fresh: numbers.fresh });
  const table = byId("missed");
  const head = table.insertRow();
  for (const key of ["about_number", "about_range", "about_usual", "about_worst"]) { cell(head, "th", texts[key]); }
  for (const one of numbers.missed) {
    const row = table.insertRow();
    cell(row, "td", texts["missed_" + one.name]);
    cell(row, "td", one.unit === "m" ? onTarget(one.range) : one.range.toFixed(2) + "\u00b0");
    cell(row, "td", (100 * one.usual).toFixed(1) + " %");
    cell(row, "td", (100 * one.worst).toFixed(1) + " %");
  }
}

for (let k = 0; k < 3; k += 1) { madeLanes.push(makeLane(byId("lanes"))); }
for (let k = 0; k < 2; k += 1) { madePair.push(makeLane(byId("pair"))); }
byId("left-handed").checked = leftHanded;
byId("only-sides").hidden = !leftHanded;
sliders.forEach(makeSlider);
update();
clock = makeClock({ end: () => end, show: move, next: (time, by) => time + by * end / 40, rest: landed });
clock.again();
fillQuestions();
fillChecked();
byId("lesson-up").addEventListener("click", () => choose(false));
byId("lesson-side").addEventListener("click", () => choose(true));
byId("reset").addEventListener("click", () => {
  values = today();
  for (const show of Object.values(shown)) { show(); }
  update();
});
byId("left-handed").addEventListener("change", (event) => {
  leftHanded = event.target.checked;
  byId("only-sides").hidden = !leftHanded;
  update();
});
byId("print").addEventListener("click", () => window.print());
window.addEventListener("resize", update);
