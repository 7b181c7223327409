// Flights as strips: the way to the target, enlarged across, the same in true size, and the arrow close up.
const TALL = 150;
const TRUE_TALL = 26;
const CLOSE_TALL = 110;
const CLOSE_MOST = 10;
const STEEPEST = 0.45;
const REACH = 0.065;
const BEFORE = 0.8;
const AFTER = 0.5;
const dashes = { low: "", still: "12 4", high: "3 4", fletched: "", bare: "8 4" };

let sideways = false;
let leftHanded = numbers.leftHanded;

// Across the way on the screen, positive up: height above the drop's path, or to the archer's left.
function across(lane, state, ahead) {
  const at = tipOf(state, ahead);
  if (sideways) { return (leftHanded ? -1 : 1) * at.z; }
  return at.y - alongPath(lane.path, at.x).y;
}

// Angles against the line: where it points and where it goes [rad], positive up on the screen.
function angles(lane, state) {
  if (sideways) {
    const turn = leftHanded ? -1 : 1;
    return { points: turn * state[8], goes: turn * Math.atan2(state[7], Math.hypot(state[2], state[3])) };
  }
  const slope = Math.atan(alongPath(lane.path, state[0]).slope);
  return { points: state[4] - slope, goes: Math.atan2(state[3], state[2]) - slope };
}

function furthest(lane) {
  let most = 0;
  for (const state of lane.flight.states) {
    for (const ahead of [numbers.nose, -numbers.tail]) { most = Math.max(most, Math.abs(across(lane, state, ahead))); }
  }
  return most;
}

// How much strips so wide are enlarged: alike for all lanes that stand together.
function enlargedBy(lanes, width) {
  const most = Math.max(...lanes.map(furthest));
  let reach = REACH;
  while (reach < most) { reach *= 2; }
  return enlargement(0.46 * TALL / (width / (numbers.distance + BEFORE + AFTER) * reach));
}

// How much the close-ups' angles are enlarged, alike for all lanes that stand together.
function angledBy(lanes) {
  let most = 1e-6;
  for (const lane of lanes) {
    for (const state of lane.flight.states) {
      const turn = angles(lane, state);
      most = Math.max(most, Math.abs(turn.points), Math.abs(turn.goes));
    }
  }
  return enlargement(Math.min(CLOSE_MOST, STEEPEST / most));
}

function drawStrip(svg, lane, times, height) {
  const width = sized(svg, height);
  const perMetre = width / (numbers.distance + BEFORE + AFTER);
  const X = (x) => (x + BEFORE) * perMetre;
  const Y = (y) => 0.5 * height - y * perMetre * times;
  const place = (state, ahead) => [X(tipOf(state, ahead).x), Y(across(lane, state, ahead))];
  line(svg, [[0, Y(0)], [width, Y(0)]], color.line, 1.5, { "stroke-dasharray": "8 5" });
  const end = X(numbers.distance);
  line(svg, [[end, 0], [end, height]], color.ink, 5);
  if (times > 1) { put(svg, "circle", { cx: end, cy: Y(0), r: 6, fill: "#ffffff", stroke: color.ink, "stroke-width": 2 }); }
  if (times > 1) { padlock(svg, 5, 6); }
  const way = lane.flight.states.map((state) => place(state, 0));
  line(svg, way, lane.color, 1.2, { opacity: 0.5, "stroke-dasharray": dashes[lane.look] });
  const moving = put(svg, "g", {});
  return { svg, moving, place, times, way, perMetre };
}

function moveStrip(strip, lane, time, ghosts) {
  strip.moving.replaceChildren();
  const count = lane.flight.times.filter((one) => one <= time).length;
  line(strip.moving, strip.way.slice(0, count), lane.color, 2.5, { "stroke-dasharray": dashes[lane.look] });
  const state = stateAt(lane.flight, time);
  const large = strip.times > 1;
  if (large && ghosts) {
    const step = Math.max(1.6, 70 / strip.perMetre);
    for (let x = step; x < numbers.distance; x += step) {
      const old = lane.flight.states.slice(0, count).find((one) => one[0] >= x);
      if (old && x < state[0] - 0.6 * step) {
        line(strip.moving, [strip.place(old, -numbers.tail), strip.place(old, numbers.nose)], lane.color, 3, { opacity: 0.35 });
      }
    }
  }
  const tail = strip.place(state, -numbers.tail);
  const nose = strip.place(state, numbers.nose);
  shaft(strip.moving, tail, nose, lane.color, large ? 5 : 3, large && !lane.bare);
  if (!large || !ghosts) { return; }
  const turn = angles(lane, state);
  const drawn = (angle) => Math.atan(strip.times * Math.tan(angle));
  const [x, y] = strip.place(state, 0);
  pointer(strip.moving, nose[0], nose[1], 26, Math.atan2(tail[1] - nose[1], nose[0] - tail[0]), lane.color, false);
  pointer(strip.moving, x, y, nose[0] - x + 44, drawn(turn.goes), color.ink, true);
}

function drawClose(svg, lane, time, times, height) {
  const width = sized(svg, height);
  const turn = angles(lane, stateAt(lane.flight, time));
  const long = 0.5 * width;
  const behind = numbers.tail / (numbers.tail + numbers.nose) * long;
  const [x, y] = [0.12 * width + behind, 0.5 * height];
  const drawn = (angle) => Math.atan(times * Math.tan(angle));
  const p = drawn(turn.points);
  const tail = [x - behind * Math.cos(p), y + behind * Math.sin(p)];
  const nose = [x + (long - behind) * Math.cos(p), y - (long - behind) * Math.sin(p)];
  line(svg, [[0, y], [width, y]], color.line, 1.5, { "stroke-dasharray": "8 5" });
  shaft(svg, tail, nose, lane.color, 6, !lane.bare);
  pointer(svg, nose[0], nose[1], 0.16 * width, p, lane.color, false);
  pointer(svg, x, y, 0.92 * width - x, drawn(turn.goes), color.ink, true);
}

function motionWords(lane, time) {
  const turn = angles(lane, stateAt(lane.flight, time));
  const lean = turn.points - turn.goes;
  const sides = sideways ? ["left", "right"] : ["up", "down"];
  const least = 0.05 * Math.PI / 180;
  const nose = lean > least ? "nose_" + sides[0] : lean < -least ? "nose_" + sides[1] : "nose_along";
  const way = turn.goes > least ? "goes_" + sides[0] : turn.goes < -least ? "goes_" + sides[1] : "goes_along";
  const when = time <= 0 ? "when_leaves" : time >= lane.flight.end ? "when_lands" : "when_flies";
  return say(when, { nose: say(nose, { angle: degrees(lean) }), way: texts[way] });
}

// A lane's elements, made once.
function makeLane(parent) {
  const figure = document.createElement("figure");
  figure.className = "lane";
  figure.innerHTML = '<figcaption><svg width="40" height="14" aria-hidden="true"></svg><span class="name"></span>'
    + '<span class="value"></span></figcaption><div class="row"><div class="strip"><svg class="large" role="img"></svg>'
    + '<div class="scale"><span class="from"></span><span class="times"></span><span class="to"></span></div>'
    + '<svg class="true" aria-hidden="true"></svg><div class="scale"><span class="true-words"></span></div></div>'
    + '<div class="views"><div><svg class="close" aria-hidden="true"></svg><div class="scale"><span class="close-words">'
    + '</span></div></div><div><svg class="close-true" aria-hidden="true"></svg><div class="scale">'
    + '<span class="close-true-words"></span></div></div></div></div><p class="caption"></p>';
  parent.appendChild(figure);
  const find = (name) => figure.querySelector(name);
  find(".from").textContent = texts.at_bow;
  find(".to").textContent = texts.at_target;
  find(".true-words").textContent = texts.true_size;
  find(".close-true-words").textContent = texts.close_true;
  return { figure, find };
}

function drawLane(made, lane, times, angled) {
  const key = made.find("figcaption svg");
  key.replaceChildren();
  line(key, [[1, 7], [39, 7]], lane.color, 4, { "stroke-dasharray": dashes[lane.look] });
  made.find(".name").textContent = lane.name;
  made.find(".value").textContent = lane.value;
  made.find(".times").textContent = say(sideways ? "enlarged_side" : "enlarged_up", { times });
  made.large = drawStrip(made.find(".large"), lane, times, TALL);
  made.true = drawStrip(made.find(".true"), lane, 1, TRUE_TALL);
  made.lane = lane;
  made.angled = angled;
  made.find(".close-words").textContent = say("close", { times: angled });
}

function moveLane(made, time) {
  const lane = made.lane;
  moveStrip(made.large, lane, time, true);
  moveStrip(made.true, lane, time, false);
  drawClose(made.find(".close"), lane, time, made.angled, CLOSE_TALL);
  drawClose(made.find(".close-true"), lane, time, 1, CLOSE_TALL);
  const words = motionWords(lane, time);
  made.find(".caption").textContent = words;
  made.find(".large").setAttribute("aria-label", lane.name + ", " + lane.value + ". " + words);
}
