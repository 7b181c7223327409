// Arrows, shafts with vanes, the locked sight; plain enlargements.
const plain = [1, 2, 5, 10, 20, 50, 100];

// An arrow from a place, so long, turned up by an angle on the screen: solid with a full head, or dashed with an open one.
function pointer(parent, x, y, long, angle, stroke, open) {
  const c = Math.cos(angle);
  const s = Math.sin(angle);
  const at = (along, across) => [x + along * c - across * s, y - along * s - across * c];
  const head = open ? 11 : 12;
  const half = open ? 5 : 6;
  line(parent, [at(0, 0), at(long - head, 0)], stroke, open ? 2 : 3.5, open ? { "stroke-dasharray": "4 3" } : {});
  area(parent, [at(long - head, half), at(long, 0), at(long - head, -half)], open ? "#ffffff" : stroke,
    open ? { stroke, "stroke-width": 2 } : {});
}

// A shaft by the places of its tail and its nose; with vanes where it carries them.
function shaft(parent, tail, nose, stroke, width, vanes) {
  line(parent, [tail, nose], stroke, width);
  if (!vanes) { return; }
  const long = Math.hypot(nose[0] - tail[0], nose[1] - tail[1]);
  const c = (nose[0] - tail[0]) / long;
  const s = (nose[1] - tail[1]) / long;
  const size = Math.min(Math.max(long / 6, 5), 18);
  for (const side of [1, -1]) {
    const at = (along, across) => [tail[0] + along * c - side * across * s, tail[1] + along * s + side * across * c];
    area(parent, [at(0.2 * size, 0), at(0.2 * size, 0.5 * size), at(0.6 * size, 0.5 * size), at(1.4 * size, 0)], stroke);
  }
}

// The locked sight.
function padlock(parent, x, y) {
  put(parent, "path", {
    d: "M" + (x + 3) + " " + (y + 9) + "v-3a4 4 0 0 1 8 0v3", fill: "none", stroke: color.ink, "stroke-width": 2,
  });
  put(parent, "rect", { x, y: y + 8, width: 14, height: 11, rx: 1.5, fill: color.ink });
}

function enlargement(fits) { return plain.filter((one) => one <= fits).pop() || 1; }
