// The arrow in flight: a rigid body that pitches and yaws, the air's force summed along its sections.
const STEP = 0.002;

function shaftDrag(speed, b) {
  const across = Math.max(speed * b.diameter / b.viscosity, 1);
  const along = across * b.length / b.diameter;
  const laminar = 1.328 / Math.sqrt(along) + 2.777 / across;
  const turbulent = 0.074 * along ** -0.2;
  let share = Math.min(Math.max((across - b.laminar_to) / (b.turbulent_from - b.laminar_to), 0), 1);
  share = share * share * (3 - 2 * share);
  return b.drag_factor * (b.form_drag + b.wetted * ((1 - share) * laminar + share * turbulent));
}

function normalForce(along, up, aside, turnUp, turnAside, b) {
  let forceUp = 0;
  let forceAside = 0;
  let momentUp = 0;
  let momentAside = 0;
  for (let i = 0; i < b.at.length; i += 1) {
    const at = b.at[i];
    const wUp = up + turnUp * at;
    const wAside = aside + turnAside * at;
    const size = Math.sqrt(wUp * wUp + wAside * wAside);
    const slender = b.density * along * b.growth[i];
    const turning = b.density * along * b.section[i];
    const cross = 0.5 * b.density * b.wide[i]
      * (b.cross_drag * size + b.cross_friction * Math.sqrt(b.viscosity * size / b.wide[i]));
    const fUp = b.weight[i] * ((slender - cross) * wUp + turning * turnUp);
    const fAside = b.weight[i] * ((slender - cross) * wAside + turning * turnAside);
    forceUp += fUp;
    forceAside += fAside;
    momentUp += fUp * at;
    momentAside += fAside * at;
  }
  const fin = -0.5 * b.density * b.fin_lift * Math.abs(along);
  const finUp = fin * (up + turnUp * b.fin_at);
  const finAside = fin * (aside + turnAside * b.fin_at);
  return [forceUp + finUp, forceAside + finAside, momentUp + finUp * b.fin_at, momentAside + finAside * b.fin_at];
}

function rates(s, b) {
  const c = Math.cos(s[4]);
  const n = Math.sin(s[4]);
  const cy = Math.cos(s[8]);
  const sy = Math.sin(s[8]);
  const ux = s[2] + b.head_wind;
  const uy = s[3];
  const uz = s[7];
  const level = c * ux + n * uy;
  const along = cy * level + sy * uz;
  const up = c * uy - n * ux;
  const aside = cy * uz - sy * level;
  const speed = Math.sqrt(ux * ux + uy * uy + uz * uz);
  const drag = 0.5 * b.density * along * Math.abs(along) * (b.area * shaftDrag(speed, b) + b.fin_drag);
  const [lift, side, moment, momentAside] = normalForce(along, up, aside, cy * s[5], s[9], b);
  const back = drag * cy + side * sy;
  return [
    s[2], s[3], (-back * c - lift * n) / b.mass, (-back * n + lift * c) / b.mass - b.gravity,
    s[5], (moment / b.inertia + 2 * sy * s[5] * s[9]) / cy,
    s[7], (side * cy - drag * sy) / b.mass, s[9], momentAside / b.inertia - sy * cy * s[5] * s[5],
  ];
}

// The same for an arrow that always keeps to its path: drag and weight, no lift.
function pathRates(s, b) {
  const ux = s[2] + b.head_wind;
  const speed = Math.sqrt(ux * ux + s[3] * s[3] + s[7] * s[7]);
  const pull = 0.5 * b.density * speed * (b.area * shaftDrag(speed, b) + b.fin_drag) / b.mass;
  return [s[2], s[3], -pull * ux, -pull * s[3] - b.gravity, 0, 0, s[7], -pull * s[7], 0, 0];
}

// One step of the classical method of order four.
function stepped(s, h, b, law) {
  const mix = (k, f) => s.map((one, i) => one + f * k[i]);
  const k1 = law(s, b);
  const k2 = law(mix(k1, h / 2), b);
  const k3 = law(mix(k2, h / 2), b);
  const k4 = law(mix(k3, h), b);
  return s.map((one, i) => one + h / 6 * (k1[i] + 2 * k2[i] + 2 * k3[i] + k4[i]));
}

function tipOf(s, ahead) {
  return {
    x: s[0] + ahead * Math.cos(s[8]) * Math.cos(s[4]),
    y: s[1] + ahead * Math.cos(s[8]) * Math.sin(s[4]),
    z: s[6] + ahead * Math.sin(s[8]),
  };
}

// From a state until the tip, so far ahead of the mass centre, is in a plane so far away.
function flown(start, b, ahead, distance, law) {
  const times = [0];
  const states = [start];
  for (let k = 0; k < 4000; k += 1) {
    const here = states[states.length - 1];
    let next = stepped(here, STEP, b, law);
    let over = tipOf(next, ahead).x - distance;
    if (over >= 0) {
      let h = STEP;
      for (let again = 0; again < 4; again += 1) {
        h -= over / next[2];
        next = stepped(here, h, b, law);
        over = tipOf(next, ahead).x - distance;
      }
      times.push(times[times.length - 1] + h);
      states.push(next);
      break;
    }
    times.push(times[times.length - 1] + STEP);
    states.push(next);
  }
  return { times, states, end: times[times.length - 1], hit: tipOf(states[states.length - 1], ahead) };
}

function fly(start, bare) { return flown(start, bare ? numbers.bare : numbers.body, numbers.nose, numbers.distance, rates); }

function gap(values) {
  const start = leaving(values);
  const fletched = fly(start, false).hit;
  const bare = fly(start, true).hit;
  return { height: bare.y - fletched.y, side: bare.z - fletched.z };
}

// State of a flight at an instant; at rest in the target after its end.
function stateAt(flight, time) {
  if (time >= flight.end) { return flight.states[flight.states.length - 1]; }
  const k = Math.min(Math.floor(time / STEP), flight.states.length - 2);
  const share = (time - flight.times[k]) / (flight.times[k + 1] - flight.times[k]);
  return flight.states[k].map((one, i) => one + share * (flight.states[k + 1][i] - one));
}

// The way to the target's centre by weight and drag alone: height and slope by the place.
function quietPath(start) {
  const first = [...start];
  const go = (slope) => {
    const speed = Math.hypot(start[2], start[3]);
    first[2] = speed * Math.cos(slope);
    first[3] = speed * Math.sin(slope);
    return flown(first, numbers.body, 0, numbers.distance, pathRates);
  };
  let slope = Math.atan2(start[3], start[2]);
  let path = go(slope);
  for (let k = 0; k < 6; k += 1) {
    slope -= path.hit.y / (numbers.distance - start[0]);
    path = go(slope);
  }
  return path;
}

function alongPath(path, x) {
  const s = path.states;
  let k = Math.min(Math.max(Math.floor((x - s[0][0]) / (s[s.length - 1][0] - s[0][0]) * (s.length - 1)), 0), s.length - 2);
  while (k > 0 && s[k][0] > x) { k -= 1; }
  while (k < s.length - 2 && s[k + 1][0] < x) { k += 1; }
  const slope = (s[k + 1][1] - s[k][1]) / (s[k + 1][0] - s[k][0]);
  return { y: s[k][1] + slope * (x - s[k][0]), slope };
}
