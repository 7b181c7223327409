// A clock that is played, paused and stepped: two buttons, a slider, speeds. Where the system asks for less motion,
// playing goes to the end at once.
//   end()          when it ends [s of the real course]
//   show(time)     draws an instant and returns its words
//   next(time, by) the instant one step on or back
//   rest(ended)    called whenever it stops: at the end, or by hand
//   slow           how many times slower than real it plays at first; by default so that it lasts about 8 s
//   place(time), instant(value)  the slider's value at an instant, and back; by default as the time goes
const LASTS = 8;
const FACTORS = [4, 2, 1, 0.5, 0.25];
const still = window.matchMedia("(prefers-reduced-motion: reduce)").matches;

function makeClock({ end, show, next, rest, slow, place, instant }) {
  const [play, slider, speed] = ["play", "time", "speed"].map(byId);
  const placed = place || ((one) => Math.round(slider.max * one / end()));
  const chosen = instant || ((value) => value / slider.max * end());
  let time = 0;
  let playing = false;
  let last = 0;

  function go(to) {
    time = Math.min(Math.max(to, 0), end());
    slider.value = String(placed(time));
    slider.setAttribute("aria-valuetext", show(time));
  }

  function run(on) {
    if (on && time >= end()) { go(0); }
    if (on && still) { go(end()); on = false; }
    playing = on;
    play.textContent = playing ? texts.pause : time >= end() ? texts.again : texts.play;
    if (playing) {
      last = performance.now();
      window.requestAnimationFrame(tick);
    } else { rest(time >= end()); }
  }

  function tick(now) {
    if (!playing) { return; }
    go(time + Math.max(now - last, 0) / 1000 / Number(speed.value));
    last = now;
    if (time >= end()) { run(false); } else { window.requestAnimationFrame(tick); }
  }

  function stopAt(to) {
    go(to);
    run(false);
  }

  function pace(by) {
    speed.selectedIndex = Math.min(FACTORS.length - 1, Math.max(0, speed.selectedIndex + by));
  }

  const usual = slow || Number((LASTS / end()).toPrecision(1));
  for (const factor of FACTORS) {
    const option = document.createElement("option");
    option.value = String(factor * usual);
    option.textContent = say("times_slower", { times: Number((factor * usual).toPrecision(3)) });
    option.selected = factor === 1;
    speed.appendChild(option);
  }
  play.addEventListener("click", () => run(!playing));
  byId("back").addEventListener("click", () => stopAt(next(time, -1)));
  byId("on").addEventListener("click", () => stopAt(next(time, 1)));
  slider.addEventListener("input", () => stopAt(chosen(Number(slider.value))));
  byId("little-motion").hidden = !still;
  byId("little-motion").textContent = say("little_motion", { play: texts.play });
  return {
    again: () => go(time), toggle: () => run(!playing), step: (by) => stopAt(next(time, by)), to: stopAt, pace,
    now: () => time,
  };
}
