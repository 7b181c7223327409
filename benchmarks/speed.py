"""How long a shot takes, and beside what: prints a table with the machine's name.

python benchmarks/speed.py            # everything; the cold start compiles anew (about a minute)
python benchmarks/speed.py --quick    # without the cold start and the NumPy integration
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import recurved
from machine import machine
from numpy_forces import NumpyRightHandSide
from problem import PLAIN, STRAIGHT
from yardstick import VECTORS, Yardstick

import archerysim
from archerysim.equipment import filled
from archerysim.shot.arrays.mesh import MESHES
from archerysim.shot.release.release import loose
from archerysim.shot.release.scipy_check import check
from archerysim.shot.shoot import draw, shoot
from archerysim.shot.statics.brace import brace_with_string
from archerysim.shot.statics.draw import draw_to, full_draw_x
from archerysim.shot.statics.fit import fit

HERE = Path(__file__).parent
SETUP = HERE.parent / "examples" / "club-outdoor.toml"
FIRST_SHOT = f"import archerysim as a; a.shoot(a.load({str(SETUP)!r}), trace=False)"


def least(run: Callable[[], object], times: int = 15) -> float:
    """Least time of several runs [ms]."""
    best = np.inf
    for _ in range(times):
        start = time.perf_counter()
        run()
        best = min(best, time.perf_counter() - start)
    return 1e3 * best


def process(cache: str | None) -> float:
    """A new Python process up to the end of its first shot [s]."""
    env = dict(os.environ)
    if cache is not None:
        env["ARCHERYSIM_CACHE"] = cache
    start = time.perf_counter()
    subprocess.run([sys.executable, "-c", FIRST_SHOT], check=True, env=env)
    return time.perf_counter() - start


def main(quick: bool) -> None:
    """Measure and print."""
    print(machine())
    setup = archerysim.load(SETUP).replace(STRAIGHT)  # as the C program has it; a recurve stands below
    built = fit(setup).setup.replace(PLAIN)
    full, mesh = filled(built), MESHES["default"]
    braced = brace_with_string(full, full.number("string.length"), mesh)
    drawing, drawn = draw_to(full, braced, full_draw_x(full))
    ours = loose(drawing, drawn)
    steps = int(ours.notes.steps)
    yard, vectors = Yardstick(drawing, drawn), Yardstick(drawing, drawn, VECTORS)
    rows = [
        ("whole shot: brace, draw, release to clear", least(lambda: shoot(built, mesh, trace=False))),
        ("brace", least(lambda: brace_with_string(full, full.number("string.length"), mesh))),
        ("draw to full draw", least(lambda: draw_to(full, braced, full_draw_x(full)))),
        ("draw curve of 25 points, brace and fit done", least(lambda: draw(built, 25), 5)),
        ("fit of the measured bow", least(lambda: fit(setup), 5)),
        ("fit, brace and draw curve of 25 points together", least(lambda: draw(setup, 25), 5)),
        (f"release alone ({steps} steps, {drawn.x.size} nodes, energy account)", least(lambda: loose(drawing, drawn))),
        ("the same in plain C (benchmarks/leapfrog.c), -O3 -march=native", least(lambda: yard.run(steps, ours.dt))),
        (f"the same with {VECTORS} besides", least(lambda: vectors.run(steps, ours.dt))),
    ]
    for name, value in rows:
        print(f"{name:72s} {value:9.2f} ms")
    release = rows[-3][1]
    print(f"{'release against plain C':72s} {release / rows[-2][1]:9.2f} times")
    print(f"{'release against plain C with ' + VECTORS:72s} {release / rows[-1][1]:9.2f} times")
    exact = check(drawing, drawn, rtol=1e-9, atol=1e-11)
    tail = braced.marks.tail
    quarter = loose(drawing, drawn, step_factor=0.25)
    for name, run in (("our step", ours), ("a quarter of it", quarter)):
        miss = np.abs(run.states[1][:2, tail:] - exact.clear[:2, tail:]).max()
        print(f"{'arrow node at clear against DOP853 at 1e-9, ' + name:72s} {1e6 * miss:9.2f} um")
    recurved.print_table()
    if quick:
        return
    start = time.perf_counter()
    loosely = check(drawing, drawn, rtol=1e-3, atol=1e-5, rates=NumpyRightHandSide)
    scipy_time = 1e3 * (time.perf_counter() - start)
    miss = np.abs(loosely.clear[:2, tail:] - exact.clear[:2, tail:]).max()
    print(f"{'SciPy DOP853 with a NumPy right-hand side (rtol 1e-3)':72s} {scipy_time:9.0f} ms")
    print(f"{'  its arrow node at clear':72s} {1e6 * miss:9.2f} um")
    print(f"{'  against our release':72s} {scipy_time / release:9.0f} times")
    with tempfile.TemporaryDirectory() as cache:
        print(f"{'first shot of a first process: compiles everything':72s} {process(cache):9.1f} s")
        print(f"{'first shot of the next process':72s} {process(cache):9.2f} s")


if __name__ == "__main__":
    main("--quick" in sys.argv[1:])
