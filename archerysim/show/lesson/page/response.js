// How the arrow leaves with the sliders' values: the smooth curve through the shots.
const sliders = numbers.sliders;

function part(slider, value) {
  return slider.times
    ? 2 * Math.log(value / slider.low) / Math.log(slider.high / slider.low) - 1
    : 2 * (value - slider.low) / (slider.high - slider.low) - 1;
}

function evaluate(response, at) {
  const basis = [1, ...at];
  for (let i = 0; i < at.length; i += 1) { for (let j = i; j < at.length; j += 1) { basis.push(at[i] * at[j]); } }
  const count = response.trend[0].length;
  const out = new Array(count).fill(0);
  for (let k = 0; k < basis.length; k += 1) {
    for (let m = 0; m < count; m += 1) { out[m] += basis[k] * response.trend[k][m]; }
  }
  for (let n = 0; n < response.places.length; n += 1) {
    let apart = 0;
    for (let d = 0; d < at.length; d += 1) {
      const one = (at[d] - response.places[n][d]) * response.narrow[d];
      apart += one * one;
    }
    const r = Math.sqrt(5 * apart);
    const bump = (1 + r + r * r / 3) * Math.exp(-r);
    for (let m = 0; m < count; m += 1) { out[m] += bump * response.bumps[n][m]; }
  }
  return out;
}

// State at clear: x, y, velocity x, velocity y, pitch, pitch rate, z, velocity z, yaw, yaw rate.
function leaving(values) {
  const at = sliders.map((one) => part(one, values[one.name]));
  return [...evaluate(numbers.up, at), ...evaluate(numbers.side, at)];
}

function today() {
  const values = {};
  for (const one of sliders) { values[one.name] = one.today; }
  return values;
}

function sliderOf(name) { return sliders.find((one) => one.name === name); }

// The reading at which bare and fletched shafts hit at one height, the first from the top down, as one ties locators:
// where the tail strikes the rest there may be another further down. Null if none of the range does.
const LOOKS_AT = 9;

function stillReading(values) {
  const range = sliderOf("reading");
  const miss = (at) => gap({ ...values, reading: at }).height - numbers.dragAndMass;
  let high = range.high;
  let above = miss(high);
  for (let k = 1; k < LOOKS_AT; k += 1) {
    const low = range.high + k / (LOOKS_AT - 1) * (range.low - range.high);
    const below = miss(low);
    if (above * below <= 0) { return between(miss, low, below, high, above); }
    high = low;
    above = below;
  }
  return null;
}

function between(miss, low, below, high, above) {
  let [a, atA, b, atB] = [low, below, high, above];
  for (let k = 0; k < 40 && Math.abs(b - a) > 1e-6; k += 1) {
    const middle = k % 3 === 2 ? 0.5 * (a + b) : a + (b - a) * atA / (atA - atB);
    const there = miss(middle);
    if (Math.abs(there) < 1e-5) { return middle; }
    if (there * atA > 0) { a = middle; atA = there; } else { b = middle; atB = there; }
  }
  return 0.5 * (a + b);
}
