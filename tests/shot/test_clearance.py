"""Gaps of shaft and vanes over time: of the trace and of hand-made places."""

from __future__ import annotations

import math

import numpy as np
import pytest

from archerysim.equipment import filled
from archerysim.shot.clearance import to_arm, to_side, vanes
from archerysim.shot.launch import Launch
from tests.support.show.shots_in_both_planes import sideways_shot

GAPS = ("arm_gap", "side_gap", "vane_arm_gap", "vane_side_gap")


@pytest.fixture(scope="module")
def launch() -> Launch:
    return sideways_shot("as it is")


def test_the_least_are_those_of_the_passage(launch: Launch) -> None:
    trace, passage = launch.traced(), launch.passage
    assert 1e3 * np.nanmin(trace.vane_arm_gap) == pytest.approx(passage.vane_arm_gap)
    assert 1e3 * np.nanmin(trace.vane_side_gap) == pytest.approx(passage.vane_side_gap)
    after = trace.time > launch.separation.time  # the shaft's rear half is there
    assert 1e3 * np.nanmin(trace.side_gap[after]) == pytest.approx(passage.side_gap)
    assert 1e3 * np.nanmin(trace.arm_gap[after]) == pytest.approx(passage.arm_gap)


def test_there_are_none_once_the_tail_is_past(launch: Launch) -> None:
    trace, past = launch.traced(), launch.passage.tail_past_at
    assert past == trace.time[np.isfinite(trace.side_gap) | np.isfinite(trace.arm_gap)].max()
    for name in (*GAPS, "shaft_by_side_z", "shaft_over_rest_z", "shaft_over_rest_y"):
        assert np.isnan(getattr(trace, name)[trace.time > past]).all(), name
    for name in GAPS[:2]:
        assert np.isfinite(getattr(trace, name)[trace.time < past]).all(), name
    passing = np.isfinite(trace.vane_side_gap)
    full = filled(launch.setup)
    way = np.ptp(np.interp(trace.time[passing], trace.time, trace.nock_x))
    assert way == pytest.approx(full.arrow.fletching_length, rel=0.1)


def test_they_press_where_they_push(launch: Launch) -> None:
    trace = launch.traced()
    pushed = trace.side_support > 0.02
    assert pushed.sum() > 50
    assert (trace.side_gap[pushed] < 1e-9).all()
    pushed = trace.rest > 0.01
    assert (trace.arm_gap[pushed] < 1e-6).all()  # they may come to touch within the step


def test_the_shaft_is_where_its_nodes_are(launch: Launch) -> None:
    """At the instants of the pictures, over the rest's place, which moves with the riser."""
    trace, a = launch.traced(), launch.braced.marks.tail
    rest = filled(launch.setup).rest
    for k in (0, 40, 80, 110):
        time = trace.frame_time[k]
        x, y, turn = (np.interp(time, trace.time, row) for row in (trace.riser_x, trace.riser_y, trace.riser_pitch))
        sine, cosine = math.sin(math.radians(turn)), math.cos(math.radians(turn))
        at = x + cosine * rest.forward - sine * rest.height
        top = y + sine * rest.forward + cosine * rest.height
        for name, places in (("shaft_over_rest_z", trace.frame_z[k, a:]), ("shaft_over_rest_y", trace.frame_y[k, a:])):
            there = float(np.interp(at, trace.frame_x[k, a:], places)) - (top if name.endswith("y") else 0.0)
            assert np.interp(time, trace.time, getattr(trace, name)) == pytest.approx(there, abs=2e-5), (name, k)


def test_vanes_by_hand() -> None:
    """One vane straight out 5 mm from the axis, over an arm that ends at z = 3 mm."""
    z, y = np.array([[1e-3, 5e-3]]), np.zeros((1, 2))
    assert to_arm(np.array([-1e-3]), np.array([2e-3]), z, y, 3e-3) == pytest.approx(2e-3)  # over it
    assert to_arm(np.array([6e-3]), np.array([0.0]), z, y, 3e-3) == pytest.approx(4e-3)  # beyond its end
    down = -np.array([[1e-3, 5e-3]])
    assert to_arm(np.array([1e-3]), np.array([3e-3]), 0.0 * z, down, 3e-3) == pytest.approx(-2e-3)  # crosses it
    assert to_arm(np.array([0.0]), np.array([3e-3]), 0.0 * z, down, math.inf) == pytest.approx(-2e-3)  # a shelf
    assert to_side(np.array([4e-3]), np.array([0.0]), -z, y, 3e-3) == pytest.approx(-1e-3)
    assert to_side(np.array([4e-3]), np.array([7e-3]), 0.0 * z, y, 3e-3) == pytest.approx(math.hypot(4e-3, 4e-3))


def test_vanes_stand_as_they_are_told() -> None:
    full = filled(sideways_shot("as it is").setup.with_si(**{"arrow.fletching_angle": 0.5 * math.pi}))
    z, y = vanes(full)
    assert z[0] == pytest.approx(0.0, abs=1e-12)
    assert y[0, -1] == pytest.approx(0.5 * full.arrow.diameter + full.arrow.fletching_height)
    assert np.hypot(z, y)[:, -1] == pytest.approx(y[0, -1])
