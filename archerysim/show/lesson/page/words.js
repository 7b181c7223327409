// Texts and numbers as they are read: both units, sixteenths of an inch.
const MM = 1e-3;
const INCH = 0.0254;
const MINUS = "\u2212";

function fixed(value, digits) {
  const text = Math.abs(value).toFixed(digits);
  return (value < 0 && Number(text) !== 0 ? MINUS : "") + text;
}

function sixteenths(length) {
  let count = Math.round(Math.abs(length) / INCH * 16);
  if (count === 0) { return texts.under_inch; }
  const whole = Math.floor(count / 16);
  count -= 16 * whole;
  let below = 16;
  while (count > 0 && count % 2 === 0) { count /= 2; below /= 2; }
  const parts = [whole > 0 ? String(whole) : "", count > 0 ? count + "/" + below : ""].filter(Boolean);
  return (length < 0 ? MINUS : "") + parts.join(" ") + " in";
}

function small(length) { return fixed(length / MM, 1) + " mm (" + sixteenths(length) + ")"; }

function onTarget(length) {
  const mm = Math.abs(length) / MM;
  return mm.toFixed(0) + " mm (" + (mm / 25.4).toFixed(mm < 2.5 ? 2 : 1) + " in)";
}

function degrees(angle) { return Math.abs(angle * 180 / Math.PI).toFixed(2) + "\u00b0"; }

// A reading by the underside as this bow's file tells it.
function told(underside) { return numbers.convention === "top" ? underside + numbers.nockHeight : underside; }

function reading(underside) { return small(told(underside)) + " " + texts["reading_" + numbers.convention]; }

const valueWords = {
  reading: reading,
  split: small,
  slope: (v) => fixed(v * 180 / Math.PI, 1) + "\u00b0",
  spine: (v) => (v / INCH).toFixed(3) + " in (" + (v / MM).toFixed(1) + " mm)",
  rest: (v) => Number(v.toPrecision(3)) + " N/m (" + Number((v * 0.0057101).toPrecision(2)) + " lb/in)",
  preload: (v) => v.toFixed(1) + " N (" + (v / 4.44822).toFixed(2) + " lb)",
};
