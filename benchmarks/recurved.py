"""How much longer a recurve takes than a straight bow, whose string meets its limbs at the tips only.

python benchmarks/recurved.py

The club bow with straight limbs, and with limbs curved forward over their outer third, which the string lies on, shot
in one plane. Both are timed in turns, so that a machine that slows down slows both; each is the least processor time of
many runs.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
from machine import machine
from turns import in_turns

import archerysim
from archerysim.equipment import Setup, filled
from archerysim.shot.arrays.mesh import MESHES
from archerysim.shot.release.release import loose
from archerysim.shot.shoot import draw, shoot
from archerysim.shot.statics.brace import brace_with_string
from archerysim.shot.statics.draw import draw_to, full_draw_x
from archerysim.shot.statics.fit import fit

SETUP = Path(__file__).parents[1] / "examples" / "club-outdoor.toml"
AT = (0.0, 0.6, 0.68, 1.0)  # of a limb's length, from the root on
CURVED = (0.0, 0.0, 6.0, 6.0)  # natural curvature there, forward [1/m]
POCKETS = ("12 deg", "2 deg")  # straight, curved
MOST = {"whole shot": 1.3, "fit": 1.5}  # times as long, at most


def bows() -> tuple[Setup, Setup]:
    """The measured bow with straight limbs and with curved ones, their stiffness told at the same places."""
    measured = archerysim.load(SETUP)
    limb = filled(measured).upper_limb
    stiffness = tuple(np.interp(AT, limb.at, limb.bending_stiffness).tolist())
    straight, curved = (
        measured.replace(**{"bow.pocket_angle": pocket}).with_si(**{
            "limbs.at": AT, "limbs.bending_stiffness": stiffness, "limbs.natural_curvature": natural,
        })
        for pocket, natural in zip(POCKETS, ((0.0,) * len(AT), CURVED), strict=True)
    )  # fmt: skip
    return straight, curved


def jobs(setup: Setup) -> tuple[dict[str, Callable[[], Any]], int, str]:
    """What is timed of a bow; its release's steps, and these in words."""
    built = fit(setup).setup
    full, mesh = filled(built), MESHES["default"]
    length = full.number("string.length")
    braced = brace_with_string(full, length, mesh)
    drawing, drawn = draw_to(full, braced, full_draw_x(full))
    loosed = loose(drawing, drawn)
    steps, marks = int(loosed.notes.steps), braced.marks
    words = (
        f"{steps} steps of {1e6 * loosed.dt:.2f} us, {drawn.x.size} nodes; the string may lie on "
        f"{marks.reach_u + marks.reach_l} of the limbs' nodes"
    )
    timed: dict[str, Callable[[], Any]] = {
        "whole shot": lambda: shoot(built, mesh, trace=False, planes=1),
        "brace": lambda: brace_with_string(full, length, mesh),
        "draw to full draw": lambda: draw_to(full, braced, full_draw_x(full)),
        "release": lambda: loose(drawing, drawn),
        "fit": lambda: fit(setup),
        "fit, brace and draw curve of 25 points": lambda: draw(setup, 25),
    }
    return timed, steps, words


def print_table(seconds: float = 2.0) -> None:
    """Measure and print."""
    (straight, steps, words), (curved, other_steps, other_words) = map(jobs, bows())
    print(f"straight: {words}\nrecurved: {other_words}")
    print(f"{'':48s} {'straight':>12s} {'recurved':>12s} {'ratio':>8s}")
    for name in straight:
        times = in_turns((straight[name], curved[name]), seconds)
        most = f"  at most {MOST[name]:g}" if name in MOST else ""
        print(f"{name:48s} {times[0]:9.2f} ms {times[1]:9.2f} ms {times[1] / times[0]:8.2f}{most}")
        if name == "release":
            each = 1e3 * times / (steps, other_steps)
            print(f"{'  one of its steps':48s} {each[0]:9.3f} us {each[1]:9.3f} us {each[1] / each[0]:8.2f}")


if __name__ == "__main__":
    print(machine())
    print_table()
