"""When the shaft leaves side support and arm, the nock is furthest out and the tail has passed, against the trace."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from archerysim.shot.launch import Launch
from archerysim.shot.shoot import shoot
from archerysim.shot.timeline import rest_force
from tests.support.shot.example_bows import NAMES, built, shot, traced

SIDEWAYS = ("off_side_support", "off_arm", "nock_furthest", "arm_struck", "tail_touches", "tail_past")


def beside(launch: Launch, forward: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Times of the pictures, the shaft's place z at a place along the riser [m], and whether it reaches there."""
    trace, tail = launch.traced(), launch.braced.marks.tail
    moved = np.interp(trace.frame_time, trace.time, trace.riser_x)
    x, z = trace.frame_x[:, tail:], trace.frame_z[:, tail:]
    there = np.array([np.interp(at + forward, row, over) for at, row, over in zip(moved, x, z, strict=True)])
    return trace.frame_time, there, x[:, 0] < moved + forward


@pytest.mark.parametrize("name", NAMES)
def test_the_shaft_is_off_side_support_and_arm_before_the_string_leaves(name: str) -> None:
    """Filmed: the shaft touches the bow no more when the string leaves (Kooi, J. Sports Sciences 16 (1998) 721-731)."""
    launch = traced(name)
    at = launch.timeline
    assert 0.0 < at.off_side_support < at.separation < at.tail_past < at.clear
    assert at.off_side_support < at.off_arm < at.separation
    assert at.fingers.half_open < at.nock_furthest < at.separation
    assert np.isnan((at.support_ends, at.tail_touches)).all()


@pytest.mark.parametrize("name", NAMES)
def test_the_side_support_pushes_until_it_is_left(name: str) -> None:
    launch = traced(name)
    left, trace = launch.timeline.off_side_support, launch.traced()
    assert not trace.side_support[trace.time > left].any()
    pushed = trace.time[trace.side_support > 0.0]
    assert left - pushed[-1] < 2.0 * np.diff(trace.time).max()


@pytest.mark.parametrize("name", NAMES)
def test_the_arm_carries_until_the_shaft_is_beyond_its_end(name: str) -> None:
    launch = traced(name)
    full, left = launch.drawing.setup, launch.timeline.off_arm
    time, z, reaches = beside(launch, full.rest.forward)
    end = full.side.offset - 0.5 * full.arrow.diameter + full.rest.reach
    assert np.interp(left, time, z) == pytest.approx(end, abs=2e-5)
    assert (z[time < left] < end).all()
    assert (z[(time > left) & reaches & (time < left + 1e-3)] > end).all()
    after = np.linspace(left + 1e-4, launch.clear.time, 50)
    assert not rest_force(launch, after).any()


@pytest.mark.parametrize("name", NAMES)
def test_the_nock_is_furthest_and_the_tail_past_when_the_trace_says_so(name: str) -> None:
    launch = traced(name)
    at, trace = launch.timeline, launch.traced()
    row = float(np.diff(trace.time).max())
    assert at.nock_furthest == pytest.approx(trace.time[np.argmax(trace.nock_z)], abs=row)
    full = launch.drawing.setup
    time, _, reaches = beside(launch, full.rest.forward + max(full.side.forward, 0.0))
    assert at.tail_past == pytest.approx(time[np.argmin(reaches)], abs=2.0 * float(np.diff(time).max()))


@pytest.mark.parametrize("name", NAMES)
def test_it_is_the_same_without_a_trace(name: str) -> None:
    np.testing.assert_equal(dataclasses.astuple(shot(name).timeline), dataclasses.astuple(traced(name).timeline))


def test_one_plane_knows_nothing_of_it() -> None:
    at = shoot(built("club-outdoor", "coarse"), "coarse", planes=1, trace=False).timeline
    assert np.isnan([getattr(at, name) for name in SIDEWAYS]).all()


def test_a_shelf_has_no_end_that_the_shaft_goes_past() -> None:
    setup = built("club-outdoor", "coarse").replace(**{"rest.kind": "shelf"})
    at = shoot(setup, "coarse", trace=False).timeline
    assert np.isnan(at.off_arm)
    assert np.isfinite(at.off_side_support)


def test_strikes_have_their_times() -> None:
    """Locators far too low, and a shaft too stiff for the bow."""
    setup = built("club-outdoor", "coarse").replace(**{"nock.locators.reading": "0 mm", "arrow.spine": "0.4 in"})
    launch = shoot(setup, "coarse", trace=False)
    at = launch.timeline
    assert at.off_arm < at.arm_struck < at.tail_past
    assert 0.5 * at.separation < at.tail_touches < at.tail_past
    assert {"arm struck from the side", "tail touches the side support"} <= set(launch.events)
