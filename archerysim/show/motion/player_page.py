"""The player's page: text, style and script, all of it our own and without anything from outside."""

PAGE_TEXT = """<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy"
 content="default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'">
<title>@@TITLE@@</title>
<style>@@STYLE@@</style>
</head>
<body>
<main>
<canvas id="picture" role="img" aria-label="@@TITLE@@"></canvas>
<div class="row">
<button id="play" type="button">Play</button>
<button id="back" type="button" aria-label="one picture back">&#8722;1</button>
<button id="on" type="button" aria-label="one picture on">+1</button>
<input id="place" type="range" min="0" value="0" step="1" aria-label="time">
<select id="speed" aria-label="speed"></select>
</div>
<p class="keys">Space: play or pause. Left and right arrow: one picture. Up and down arrow: faster, slower.
Home, End: first and last picture.</p>
<ul class="notes">@@NOTES@@</ul>
</main>
<script id="scene" type="application/json">@@NUMBERS@@</script>
<script>@@SCRIPT@@</script>
</body>
</html>
"""

STYLE = """
:root { color-scheme: light; }
body { margin: 0; background: #ffffff; color: $ink; font: 1.25rem/1.4 "DejaVu Sans", Verdana, sans-serif; }
main { width: min(96vw, calc((100vh - 9rem) * 1.7778)); min-width: 20rem; margin: 0.5rem auto; }
canvas { display: block; width: 100%; aspect-ratio: 16 / 9; }
.row { display: flex; flex-wrap: wrap; gap: 0.6rem; align-items: center; margin-top: 0.4rem; }
button, select { font: inherit; color: $ink; background: #ffffff; border: 2px solid $ink; border-radius: 0.3rem;
  padding: 0.25rem 0.8rem; }
#play { color: #ffffff; background: $accent; border-color: $accent; min-width: 6.5rem; }
#place { flex: 1 1 12rem; height: 2rem; accent-color: $accent; }
:focus-visible { outline: 3px solid $accent; outline-offset: 2px; }
.keys { margin: 0.4rem 0; font-size: 0.9rem; color: $faint; }
.notes { margin: 0; padding-left: 1.2rem; font-size: 1.1rem; }
"""

SCRIPT = """
"use strict";
(function () {
  const scene = JSON.parse(document.getElementById("scene").textContent);
  const canvas = document.getElementById("picture");
  const play = document.getElementById("play");
  const place = document.getElementById("place");
  const speed = document.getElementById("speed");
  const pen = canvas.getContext("2d");
  const last = scene.time.length - 1;
  const factors = [4, 2, 1, 0.5, 0.25];
  let frame = 0;
  let playing = false;
  let begun = 0;

  function slow() { return scene.slow * factors[speed.selectedIndex]; }

  function own(values, k) { return values[values.length > 1 ? k : 0]; }

  function trace(points, count, scale, X, Y) {
    pen.beginPath();
    for (let i = 0; i < count; i += 1) {
      const x = X(points[2 * i] * scale);
      const y = Y(points[2 * i + 1] * scale);
      if (i === 0) { pen.moveTo(x, y); } else { pen.lineTo(x, y); }
    }
  }

  function drawLine(line, k, X, Y) {
    const points = own(line.p, k);
    const strength = line.a ? own(line.a, k) : 1;
    const count = line.u ? line.u[k] : points.length / 2;
    if (strength <= 0 || count === 0) { return; }
    pen.globalAlpha = strength;
    pen.fillStyle = line.c;
    pen.strokeStyle = line.c;
    pen.lineWidth = line.w;
    pen.setLineDash(line.d || []);
    if (line.r) {
      pen.strokeStyle = "$ink";
      pen.lineWidth = 1;
      for (let i = 0; i < count; i += 1) {
        pen.beginPath();
        pen.arc(X(points[2 * i] * line.s), Y(points[2 * i + 1] * line.s), line.r, 0, 2 * Math.PI);
        pen.fill();
        pen.stroke();
      }
    } else {
      trace(points, count, line.s, X, Y);
      if (line.f) { pen.closePath(); pen.fill(); } else { pen.stroke(); }
    }
    pen.globalAlpha = 1;
  }

  function drawPanel(panel, k) {
    const [left, top, width, height] = panel.b;
    const [x0, x1, y0, y1] = panel.w;
    const X = (x) => left + (x - x0) / (x1 - x0) * width;
    const Y = (y) => top + (y1 - y) / (y1 - y0) * height;
    pen.save();
    pen.beginPath();
    pen.rect(left, top, width, height);
    pen.clip();
    pen.lineJoin = "round";
    for (const line of panel.l) { drawLine(line, k, X, Y); }
    pen.restore();
    pen.setLineDash([]);
    if (panel.f) {
      pen.strokeStyle = "$pale";
      pen.lineWidth = 2;
      pen.strokeRect(left, top, width, height);
    }
    for (const word of panel.t) {
      pen.font = (word.b ? "bold " : "") + word.s + "px 'DejaVu Sans', Verdana, sans-serif";
      pen.fillStyle = word.c;
      pen.textAlign = word.a;
      pen.fillText(own(word.t, k), X(word.x), Y(word.y));
    }
  }

  function draw() {
    const wide = Math.max(1, Math.round(canvas.clientWidth * (window.devicePixelRatio || 1)));
    const high = Math.round(wide * scene.page[1] / scene.page[0]);
    if (canvas.width !== wide || canvas.height !== high) { canvas.width = wide; canvas.height = high; }
    pen.setTransform(wide / scene.page[0], 0, 0, high / scene.page[1], 0, 0);
    pen.fillStyle = "#ffffff";
    pen.fillRect(0, 0, scene.page[0], scene.page[1]);
    for (const panel of scene.panels) { drawPanel(panel, frame); }
    place.value = String(frame);
    place.setAttribute("aria-valuetext", (scene.time[frame] + " " + scene.unit + " " + scene.phases[frame]).trim());
  }

  function seconds(k) { return scene.time[k] / scene.second * slow(); }

  function anchor() { begun = performance.now() / 1000 - seconds(frame); }

  function go(to) {
    frame = Math.min(last, Math.max(0, to));
    anchor();
    draw();
  }

  function tick() {
    if (!playing) { return; }
    const now = performance.now() / 1000 - begun;
    let k = frame;
    while (k < last && seconds(k + 1) <= now) { k += 1; }
    if (k !== frame) { frame = k; draw(); }
    if (frame === last) { run(false); } else { window.requestAnimationFrame(tick); }
  }

  function run(on) {
    if (on && frame === last) { frame = 0; draw(); }
    playing = on;
    play.textContent = on ? "Pause" : "Play";
    if (on) { anchor(); window.requestAnimationFrame(tick); }
  }

  function step(by) { run(false); go(frame + by); }

  function pace(by) {
    speed.selectedIndex = Math.min(factors.length - 1, Math.max(0, speed.selectedIndex + by));
    anchor();
  }

  for (const factor of factors) {
    const option = document.createElement("option");
    option.textContent = Number((scene.slow * factor).toPrecision(3)) + " times slower than real";
    speed.appendChild(option);
  }
  speed.selectedIndex = 2;
  place.max = String(last);
  play.addEventListener("click", () => run(!playing));
  document.getElementById("back").addEventListener("click", () => step(-1));
  document.getElementById("on").addEventListener("click", () => step(1));
  place.addEventListener("input", () => { run(false); go(Number(place.value)); });
  speed.addEventListener("change", anchor);
  const keys = {
    ArrowLeft: () => step(-1), ArrowRight: () => step(1), ArrowUp: () => pace(1), ArrowDown: () => pace(-1),
    Home: () => step(-last), End: () => step(last), " ": () => run(!playing),
  };
  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey || !keys[event.key]) { return; }
    const on = event.target.tagName;
    if (on === "SELECT" || (on === "BUTTON" && event.key === " ")) { return; }
    event.preventDefault();
    keys[event.key]();
  });
  window.addEventListener("resize", draw);
  draw();
}());
"""
