// Runs a player's page without a browser: a canvas that writes down what is drawn, a clock that is turned by hand.
// node stub_browser.js PAGE.html prints as JSON what was drawn at each picture and after each key.
"use strict";
const fs = require("fs");
const vm = require("vm");

const page = fs.readFileSync(process.argv[2], "utf8");
const numbers = page.match(/<script id="scene" type="application\/json">([^]*?)<\/script>/)[1];
const script = page.match(/<script>([^]*?)<\/script>/)[1];

let drawn = [];
let clock = 0;
let waiting = [];
const numeric = new Set(["moveTo", "lineTo", "arc", "rect", "fillRect", "strokeRect", "setTransform"]);
const known = new Set([...numeric, "beginPath", "closePath", "fill", "stroke", "clip", "save", "restore", "setLineDash",
  "fillText"]);
const set = {};
const pen = new Proxy({}, {
  get: (_, name) => {
    if (!known.has(name)) { throw new Error("the canvas has no " + String(name)); }
    return (...values) => {
      const count = name === "fillText" ? values.slice(1) : values;
      if (numeric.has(name) || name === "fillText") {
        if (!count.every(Number.isFinite)) { throw new Error(name + " of " + values); }
      }
      drawn.push([name, ...values]);
    };
  },
  set: (_, name, value) => {
    if (value === undefined || Number.isNaN(value)) { throw new Error(name + " set to " + value); }
    set[name] = value;
    drawn.push(["=" + name, value]);
    return true;
  },
});

function element(tagName) {
  const one = { tagName, textContent: "", value: "0", selectedIndex: 0, clientWidth: 1280, heard: {}, children: [] };
  one.getContext = () => pen;
  one.setAttribute = (name, value) => { one[name] = value; };
  one.appendChild = (child) => { one.children.push(child); };
  one.addEventListener = (name, then) => { one.heard[name] = then; };
  return one;
}

const elements = {
  scene: element("SCRIPT"), picture: element("CANVAS"), play: element("BUTTON"), back: element("BUTTON"),
  on: element("BUTTON"), place: element("INPUT"), speed: element("SELECT"),
};
elements.scene.textContent = numbers;
const document = element("DOCUMENT");
document.getElementById = (name) => elements[name];
document.createElement = (name) => element(name.toUpperCase());
const window = element("WINDOW");
window.devicePixelRatio = 1;
window.requestAnimationFrame = (then) => { waiting.push(then); };
vm.runInNewContext(script, { document, window, performance: { now: () => clock } });

function texts() { return drawn.filter((one) => one[0] === "fillText").map((one) => one[1]); }
function key(name, target = document) {
  document.heard.keydown({ key: name, target, preventDefault: () => {} });
}
function taken() {
  const out = { frame: Number(elements.place.value), calls: drawn.length, texts: texts() };
  if (process.argv.length > 3) { out.drawn = drawn; }
  drawn = [];
  return out;
}

const last = Number(elements.place.max);
const frames = [taken()];
for (let k = 0; k < last; k += 1) { key("ArrowRight"); frames.push(taken()); }
key("ArrowRight");
const pastEnd = taken().frame;
key("ArrowLeft");
const back = taken().frame;
key("Home");
const home = taken().frame;
elements.place.value = String(Math.floor(last / 2));
elements.place.heard.input();
const slid = taken().frame;
key("Home");

function played() {
  key(" ");
  const begun = clock;
  let turns = 0;
  while (waiting.length > 0 && turns < 1e6) {
    clock += 10;
    turns += 1;
    const now = waiting;
    waiting = [];
    now.forEach((one) => one());
  }
  const out = { seconds: (clock - begun) / 1000, frame: Number(elements.place.value), button: elements.play.textContent };
  drawn = [];
  return out;
}
const plain = played();
key("ArrowUp");
const faster = played();
process.stdout.write(JSON.stringify({
  frames, pastEnd, back, home, slid, plain, faster, speeds: elements.speed.children.map((one) => one.textContent),
}));
