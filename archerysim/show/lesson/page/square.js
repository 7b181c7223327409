// The square on the braced string: heights to scale; readings marked as the bow's file tells them.
const SQUARE_TALL = 320;
const SEEN_ABOVE = 26;
const SEEN_BELOW = 10;

function drawSquare(svg, mine, marks) {
  const width = sized(svg, SQUARE_TALL);
  const above = SEEN_ABOVE + told(0) / MM;
  const perMm = SQUARE_TALL / (above + SEEN_BELOW);
  const Y = (mm) => (above - mm) * perMm;
  const string = 0.4 * width;
  const rest = 0.72 * width;
  const nock = numbers.nockHeight / MM;
  const thick = numbers.shaft / MM;
  const low = mine / MM;
  area(svg, [[string, Y(0)], [width, Y(0)], [width, Y(7)], [string, Y(7)]], color.pale);
  line(svg, [[string, Y(0)], [width, Y(0)]], color.line, 2);
  for (let mm = -5; mm <= 20; mm += 1) {
    const long = mm % 5 === 0 ? 16 : 8;
    line(svg, [[string - long, Y(mm)], [string, Y(mm)]], color.faint, mm === 0 ? 3 : 1);
    if (mm % 5 === 0) {
      put(svg, "text", { x: string - 20, y: Y(mm) + 5, "text-anchor": "end", "font-size": 15, fill: color.ink })
        .textContent = (mm < 0 ? MINUS : "") + Math.abs(mm) + (mm === 20 ? " mm" : "");
    }
  }
  for (let count = -4; count <= 14; count += 1) {
    const y = Y(count * 25.4 / 16);
    line(svg, [[width - (count % 4 === 0 ? 16 : 8), y], [width, y]], color.faint, count === 0 ? 3 : 1);
    if (count > 0 && count % 4 === 0) {
      put(svg, "text", { x: width - 20, y: y + 5, "text-anchor": "end", "font-size": 15, fill: color.ink })
        .textContent = { 4: "1/4", 8: "1/2", 12: "3/4 in" }[count];
    }
  }
  const from = low + 0.5 * nock;
  area(svg, [[string, Y(from - 0.5 * thick)], [rest + 20, Y(0)], [rest + 20, Y(thick)], [string, Y(from + 0.5 * thick)]],
    "#cfd8d4", { stroke: color.still, "stroke-width": 1.5 });
  area(svg, [[rest - 14, Y(0)], [rest + 14, Y(0)], [rest + 14, Y(-3)], [rest - 14, Y(-3)]], color.ink);
  line(svg, [[string, 0], [string, SQUARE_TALL]], color.ink, 3);
  area(svg, [[string - 5, Y(low)], [string + 22, Y(low)], [string + 22, Y(low + nock)], [string - 5, Y(low + nock)]],
    "#ffffff", { stroke: color.ink, "stroke-width": 2 });
  for (const [bottom, top] of [[low - 3, low - 0.2], [low + nock + 0.2, low + nock + 3]]) {
    area(svg, [[string - 7, Y(bottom)], [string + 7, Y(bottom)], [string + 7, Y(top)], [string - 7, Y(top)]], color.ink);
  }
  const bold = Y(told(mine) / MM);
  line(svg, [[string - 70, bold], [string - 52, bold]], color.ink, 5);
  for (const one of marks) {
    const y = Y(told(one.reading) / MM);
    area(svg, [[string - 96, y - 8], [string - 78, y], [string - 96, y + 8]], one.color, { stroke: color.ink });
  }
}
