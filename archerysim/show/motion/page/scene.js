// A scene's panels, each a picture of its own with its words around it, so that letters stay large on a small screen.
const LEAST = 15;
const TICKS = 26;
const FLATTEST = 0.3;
const NARROW = 620;
const COURSE = 40;

function own(values, k) { return values.length ? values[values.length > 1 ? k : 0] : ""; }

function element(parent, name, kind) {
  const made = document.createElement(name);
  if (kind) { made.className = kind; }
  parent.appendChild(made);
  return made;
}

function keyOf(list, key) {
  const item = element(list, "li");
  const svg = put(item, "svg", { width: 34, height: 14, viewBox: "0 0 34 14", "aria-hidden": "true" });
  if (key.o) {
    put(svg, "circle", { cx: 17, cy: 7, r: 6, fill: key.c, stroke: color.ink, "stroke-width": 1 });
  } else { line(svg, [[1, 7], [33, 7]], key.c, 4, { "stroke-dasharray": key.d.join(" ") }); }
  element(item, "span").textContent = key.t;
}

// A panel's elements, made once.
function makePanel(parent, panel) {
  const figure = element(parent, "figure");
  const caption = element(figure, "figcaption");
  const [title, told] = ["title", "told"].map((kind) => element(caption, "span", kind));
  const made = { panel, figure, title, told };
  made.svg = put(figure, "svg", { role: "img" });
  if (panel.note.length) { element(figure, "p", "small").textContent = own(panel.note, 0); }
  if (panel.keys.length) {
    const list = element(figure, "ul", "key");
    panel.keys.forEach((key) => keyOf(list, key));
  }
  return made;
}

// Room for it, its scales, its fixed words. A flat panel that is enlarged across is drawn twice as high where it is
// narrow; one that has no scale of lengths, the course of a force, is always so high.
function drawPanel(made) {
  const { panel, svg } = made;
  const [wide, high] = panel.b;
  const [x0, x1, y0, y1] = panel.w;
  const ticks = panel.t.some((one) => one.k);
  const width = svg.clientWidth || made.figure.clientWidth || 640;
  made.stretch = panel.times && high / wide < FLATTEST && width < NARROW ? 2 : 1;
  const tall = panel.course ? COURSE : Math.round(width * high / wide * made.stretch);
  sized(svg, tall + (ticks ? TICKS : 0));
  made.scale = panel.course ? 1 : width / wide;
  made.X = (x) => (x - x0) / (x1 - x0) * width;
  made.Y = (y) => (y1 - y) / (y1 - y0) * tall;
  made.inside = put(svg, "svg", { x: 0, y: 0, width, height: tall, overflow: "hidden" });
  if (panel.f) {
    const frame = { x: 1, y: 1, width: width - 2, height: tall - 2, fill: "none", stroke: color.pale };
    put(svg, "rect", { ...frame, "stroke-width": 2 });
  }
  made.lines = panel.l.map((one) => makeLine(made, one));
  const taken = [];
  for (const one of panel.t) { putWord(made, one, width, tall, taken); }
}

// A scale's words above its bar, or a tick's below the picture; a tick that would lie over another is left out.
function putWord(made, word, width, tall, taken) {
  const y = word.k ? tall + 19 : made.Y(word.y) - (word.a === "center" ? 2 : 0);
  const anchor = { left: "start", right: "end", center: "middle" }[word.a];
  const x = made.X(word.x);
  const text = put(made.svg, "text", { x, y, "text-anchor": anchor, "font-size": LEAST, fill: color.ink });
  text.textContent = word.t;
  const box = text.getBBox();
  const shift = Math.max(2 - box.x, 0) - Math.max(box.x + box.width + 2 - width, 0);
  text.setAttribute("x", x + shift);
  const [from, to] = [box.x + shift, box.x + box.width + shift];
  if (!word.k) { return; }
  if (taken.some(([a, b]) => from < b + 8 && to > a - 8)) { text.remove(); } else { taken.push([from, to]); }
}

function makeLine(made, one) {
  const dash = one.d ? { "stroke-dasharray": one.d.map((x) => x * made.scale).join(" ") } : {};
  const width = Math.max(one.w * made.scale, Math.min(one.w, 1.2));
  const edge = { "stroke-linejoin": "round", ...dash, "data-name": one.n };
  if (one.r) { return put(made.inside, "g", { "data-name": one.n }); }
  return one.f ? area(made.inside, [], one.c, edge) : line(made.inside, [], one.c, width, edge);
}

function moveLine(made, one, drawn, k) {
  const points = own(one.p, k);
  const strength = one.a ? own(one.a, k) : 1;
  const count = one.u ? one.u[k] : points.length / 2;
  drawn.setAttribute("opacity", strength);
  drawn.setAttribute("visibility", strength > 0 && count > 0 ? "visible" : "hidden");
  const places = [];
  for (let i = 0; i < count; i += 1) {
    places.push([made.X(points[2 * i] * one.s), made.Y(points[2 * i + 1] * one.s)]);
  }
  if (one.r) {
    drawn.replaceChildren();
    for (const [cx, cy] of places) {
      const r = Math.max(one.r * made.scale, 3);
      put(drawn, "circle", { cx, cy, r, fill: one.c, stroke: color.ink, "stroke-width": 1 });
    }
  } else { drawn.setAttribute("points", places.map(([x, y]) => x.toFixed(1) + "," + y.toFixed(1)).join(" ")); }
}

function movePanel(made, k) {
  const { panel } = made;
  const title = own(panel.title, k).replace("{times}", panel.times * made.stretch);
  if (made.title.textContent !== title) { made.title.textContent = title; }
  made.told.textContent = own(panel.told, k);
  made.svg.setAttribute("aria-label", [title, own(panel.told, k), own(panel.note, k)].filter(Boolean).join(". "));
  panel.l.forEach((one, i) => moveLine(made, one, made.lines[i], k));
}
