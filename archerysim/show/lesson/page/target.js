// The target's face, to scale, with where fletched and bare shafts hit.
const FACE = 0.2;
const SEEN = 0.32;
const HIGH = 320;

function drawTarget(svg, hits) {
  const width = sized(svg, HIGH);
  const scale = 0.5 * HIGH / SEEN;
  const X = (z) => 0.5 * width + (leftHanded ? z : -z) * scale;
  const Y = (y) => 0.5 * HIGH - y * scale;
  for (const [share, fill] of [[1, "#ffffff"], [0.8, "#f0f0ec"], [0.6, "#e2e2dc"], [0.4, "#ffffff"], [0.2, "#f0f0ec"]]) {
    put(svg, "circle", {
      cx: 0.5 * width, cy: 0.5 * HIGH, r: share * FACE * scale, fill, stroke: color.line, "stroke-width": 1,
    });
  }
  const [x, y] = [X(0), Y(0)];
  line(svg, [[x - 9, y], [x + 9, y]], color.ink, 1.5);
  line(svg, [[x, y - 9], [x, y + 9]], color.ink, 1.5);
  const held = (value, most) => Math.min(Math.max(value, 12), most - 12);
  for (const one of hits) {
    const [a, b] = [held(X(sideways ? one.z : 0), width), held(Y(one.y), HIGH)];
    const r = one.small ? 6 : 10;
    const edge = { stroke: color.ink, "stroke-width": one.small ? 1 : 2 };
    if (one.bare) {
      area(svg, [[a - r, b], [a, b - r], [a + r, b], [a, b + r]], one.color, edge);
    } else {
      put(svg, "circle", { cx: a, cy: b, r: 0.8 * r, fill: one.color, ...edge });
    }
  }
}
