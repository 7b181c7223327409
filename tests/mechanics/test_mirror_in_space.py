"""The shot in both planes and its mirror images: left for right, and upside down.

Left for right the side support would have to pull and the arm to end on the other side, which their kernels' numbers
do not say: there the shaft lies on a shelf, with nothing beside it.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from archerysim.mechanics.arrays import Arm
from archerysim.status import OK
from tests.support.mechanics import upside_down as mirror
from tests.support.mechanics.release_of_arrays import End, Start, run, start_of
from tests.support.shot.reference_in_space import shot_in_space

DT = 4e-6  # [s]


def aside(end: End) -> np.ndarray:
    """z, vz of all nodes at separation and at clear (2, 2, n)."""
    assert end.side is not None
    return end.side.kept.states


def left_for_right(start: Start) -> Start:
    assert start.sideways is not None
    own = start.sideways
    return replace(start, z=-start.z, sideways=own._replace(weight=-own.weight, roll=-own.roll, hold=-own.hold))


@pytest.mark.parametrize("changes", [{}, {"archer__side_hold": 0.005, "archer__cant": 0.2}])
def test_left_for_right(changes: dict[str, Any]) -> None:
    """The bow's plane sees no difference, and every z changes its sign: to the bit."""
    start = start_of(shot_in_space(cells=12, **changes))
    assert start.sideways is not None
    nothing = start.sideways.support._replace(offset=-1.0)
    start.sideways = start.sideways._replace(support=nothing, arm=Arm(np.inf, 0.0))
    one, other = run(start, DT, every=20), run(left_for_right(start), DT, every=20)
    assert one.status == other.status == OK
    assert np.abs(aside(one)[:, 0]).max() > 1e-3
    np.testing.assert_array_equal(other.states, one.states)
    np.testing.assert_array_equal(aside(other), -aside(one))
    assert one.side is not None
    assert other.side is not None
    assert other.side.kept.notes.nock_most != one.side.kept.notes.nock_most
    rows = slice(0, one.notes.rows)
    for name in ("groove", "tail_z", "centre_z", "velocity_z", "yaw", "yaw_rate", "tip_u_z", "tip_l_z"):
        np.testing.assert_array_equal(other.side.kept.trace[name][rows], -one.side.kept.trace[name][rows])
    np.testing.assert_array_equal(other.trace[rows], one.trace[rows])


@pytest.mark.parametrize("changes", [
    {}, {"rest__reach": 9e-3, "rest__fold_force": 0.3}, {"side__stiffness": 2e5, "side__preload": 0.0},
    {"archer__side_hold": -0.004, "archer__cant": 0.3},
])  # fmt: skip
def test_upside_down(changes: dict[str, Any]) -> None:
    """With side support and arm: every z stays as it is."""
    start = start_of(shot_in_space(cells=12, **changes))
    up, down = run(start, DT), run(mirror.start(start), DT)
    assert up.status == down.status == OK
    tail = start.marks.tail
    for k in (0, 1):
        for line, sign in enumerate((1.0, -1.0, 1.0, -1.0)):
            expected = mirror.nodes(up.states[k, line], tail, sign, sign)
            assert np.abs(down.states[k, line] - expected).max() <= 1e-9 * np.abs(expected).max()
        for line in (0, 1):
            expected = mirror.nodes(aside(up)[k, line], tail)
            assert np.abs(aside(down)[k, line] - expected).max() <= 1e-9 * np.abs(expected).max()
    assert up.side is not None
    assert down.side is not None
    for name in ("touches", "arm_strikes", "arm_left_time", "side_left_time", "nock_most", "greatest_support"):
        assert down.side.kept.notes[name] == pytest.approx(up.side.kept.notes[name], rel=1e-9, nan_ok=True)
    if "rest__fold_force" in changes:
        assert up.side.kept.notes.arm_strikes > 0
        assert up.moments[1].folding != 0.0
