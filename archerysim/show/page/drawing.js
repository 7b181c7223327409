// Lines, arrows and shapes in SVG, in pixels.
const color = numbers.colors;

function put(parent, name, attributes) {
  const made = document.createElementNS("http://www.w3.org/2000/svg", name);
  for (const [key, value] of Object.entries(attributes)) { made.setAttribute(key, value); }
  parent.appendChild(made);
  return made;
}

function sized(svg, height) {
  const width = Math.max(120, Math.round(svg.clientWidth || svg.parentElement.clientWidth || 640));
  svg.setAttribute("viewBox", "0 0 " + width + " " + height);
  svg.setAttribute("height", height);
  svg.replaceChildren();
  return width;
}

function line(parent, points, stroke, width, more) {
  const text = points.map(([x, y]) => x.toFixed(1) + "," + y.toFixed(1)).join(" ");
  return put(parent, "polyline", { points: text, fill: "none", stroke, "stroke-width": width, ...more });
}

function area(parent, points, fill, more) {
  const text = points.map(([x, y]) => x.toFixed(1) + "," + y.toFixed(1)).join(" ");
  return put(parent, "polygon", { points: text, fill, ...more });
}
