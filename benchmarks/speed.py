"""How long a shot takes in one plane and in both, and beside what: prints a table with the machine's name.

python benchmarks/speed.py            # everything; the cold start compiles anew (some minutes)
python benchmarks/speed.py --quick    # without the cold start and the NumPy integration

What is compared is timed in turns, each the least processor time of many runs: read the ratios.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

import numpy as np
import recurved
from machine import machine
from numpy_forces import NumpyRightHandSide
from problem import PLAIN, STRAIGHT
from turns import in_turns
from yardstick import VECTORS, Yardstick

import archerysim
from archerysim.equipment import filled
from archerysim.mechanics.release.layout import AT_X, AT_Y, CLEAR
from archerysim.mechanics.release.side_layout import AT_Z
from archerysim.shot.arrays.mesh import MESHES
from archerysim.shot.release.release import Loosed, loose
from archerysim.shot.release.scipy_check import check
from archerysim.shot.shoot import draw, shoot
from archerysim.shot.statics.brace import brace_with_string
from archerysim.shot.statics.draw import draw_to, full_draw_x
from archerysim.shot.statics.fit import fit

SETUP = Path(__file__).parents[1] / "examples" / "club-outdoor.toml"
FIRST_SHOT = f"import archerysim as a; a.shoot(a.load({str(SETUP)!r}), trace=False)"
PLANES = (1, 2)
MOST = 1.5  # times as long as in one plane a release in both may take
LONG = 6.0  # [s] for what is timed in turns
PLACES = [0, 1, 4]  # rows of x, y, z in what the check tells


def process(cache: str) -> float:
    """A new Python process up to the end of its first shot [s]."""
    start = time.perf_counter()
    subprocess.run([sys.executable, "-c", FIRST_SHOT], check=True, env={**os.environ, "ARCHERYSIM_CACHE": cache})
    return time.perf_counter() - start


def row(name: str, *cells: str) -> None:
    """A line of the table."""
    print(f"{name:60s}" + "".join(f"{cell:>14s}" for cell in cells))


def off(ours: Loosed, exact: np.ndarray, tail: int) -> float:
    """The worst coordinate of any of the arrow's nodes when it is clear [um]."""
    told = [ours.states[CLEAR][AT_X], ours.states[CLEAR][AT_Y]]
    if ours.sideways is not None:
        told.append(ours.sideways.states[CLEAR][AT_Z])
    return 1e6 * float(np.abs(np.array(told) - exact[PLACES[: len(told)]])[:, tail:].max())


def statics_table(setup: Any, built: Any) -> None:
    """What comes before the release and does not know of planes."""
    full, mesh = filled(built), MESHES["default"]
    braced = brace_with_string(full, full.number("string.length"), mesh)
    runs = {
        "brace": lambda: brace_with_string(full, full.number("string.length"), mesh),
        "draw to full draw": lambda: draw_to(full, braced, full_draw_x(full)),
        "draw curve of 25 points, brace and fit done": lambda: draw(built, 25),
        "fit of the measured bow": lambda: fit(setup),
        "fit, brace and draw curve of 25 points together": lambda: draw(setup, 25),
    }
    for name, value in zip(runs, in_turns(list(runs.values()), LONG), strict=True):
        row(name, f"{value:.2f} ms")


def release_table(built: Any, drawing: Any, drawn: Any) -> np.ndarray:
    """Shot, release and plain C in one plane and in both; returns the releases' times [ms]."""
    ours = [loose(drawing, drawn, planes=planes) for planes in PLANES]
    yards = [[Yardstick(drawing, drawn, *more, planes=planes) for planes in PLANES] for more in ((), (VECTORS,))]
    worst = max(yard.miss(done) for kind in yards for yard, done in zip(kind, ours, strict=True))
    steps = np.array([int(done.notes.steps) for done in ours])
    names = [
        "whole shot: brace, draw, release to clear",
        "release alone, with the energy account",
        "the same in plain C (benchmarks/leapfrog.c)",
        f"the same with {VECTORS} besides",
    ]
    runs = [lambda planes=planes: shoot(built, trace=False, planes=planes) for planes in PLANES]
    runs += [lambda planes=planes: loose(drawing, drawn, planes=planes) for planes in PLANES]
    for kind in yards:
        runs += [
            lambda yard=yard, n=int(n), dt=done.dt: yard.run(n, dt)
            for yard, n, done in zip(kind, steps, ours, strict=True)
        ]
    times = in_turns(runs, 3.0 * LONG).reshape(-1, 2)
    row(f"{drawn.x.size} nodes, {steps[0]} and {steps[1]} steps", "one plane", "both planes", "ratio")
    for name, (one, both) in zip(names, times, strict=True):
        bar = [f"at most {MOST:g}"] if name.startswith("release") else []
        row(name, f"{one:.2f} ms", f"{both:.2f} ms", f"{both / one:.2f}", *bar)
    each = 1e3 * times[1] / steps
    row("  one of the release's steps", *(f"{t:.3f} us" for t in each), f"{each[1] / each[0]:.2f}")
    for k, name in ((2, "release against plain C"), (3, f"release against plain C with {VECTORS}")):
        row(name, *(f"{ratio:.2f} times" for ratio in times[1] / times[k]))
    row("C's nodes from ours when the arrow is clear, at most", f"{worst:.0e} m")
    return np.asarray(times[1])


def main(quick: bool) -> None:
    """Measure and print."""
    print(machine())
    setup = archerysim.load(SETUP).replace(STRAIGHT)  # as the C program has it; a recurve stands below
    built = fit(setup).setup.replace(PLAIN)
    full = filled(built)
    braced = brace_with_string(full, full.number("string.length"), MESHES["default"])
    drawing, drawn = draw_to(full, braced, full_draw_x(full))
    releases = release_table(built, drawing, drawn)
    statics_table(setup, built)
    tail = braced.marks.tail
    exact = [check(drawing, drawn, rtol=1e-9, atol=1e-11, planes=planes).clear for planes in PLANES]
    print("\narrow's nodes at clear against SciPy's DOP853 at 1e-9")
    for name, factor in (("our step", 1.0), ("a quarter of it", 0.25)):
        done = [loose(drawing, drawn, step_factor=factor, planes=planes) for planes in PLANES]
        row(name, *(f"{off(one, right, tail):.2f} um" for one, right in zip(done, exact, strict=True)))
    if not quick:
        took, missed = [], []
        for planes, right in zip(PLANES, exact, strict=True):
            start = time.process_time()
            done = check(drawing, drawn, rtol=1e-3, atol=1e-5, rates=NumpyRightHandSide, planes=planes)
            took.append(1e3 * (time.process_time() - start))
            places = PLACES[: planes + 1]
            missed.append(1e6 * np.abs(done.clear[places] - right[places])[:, tail:].max())
        row("SciPy's DOP853 with a NumPy right-hand side (rtol 1e-3)", *(f"{miss:.2f} um" for miss in missed))
        row("  its time against our release", *(f"{ratio:.0f} times" for ratio in np.array(took) / releases))
    print()
    recurved.print_table()
    if quick:
        return
    with tempfile.TemporaryDirectory() as cache:
        row("first shot of a first process: compiles everything", f"{process(cache):.1f} s")
        row("first shot of the next process", f"{process(cache):.2f} s")


if __name__ == "__main__":
    main("--quick" in sys.argv[1:])
