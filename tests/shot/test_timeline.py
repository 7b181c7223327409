"""When things happened in a shot, against the shot's own trace and the release's own law of the fingers."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from archerysim.mechanics.release.forces import finger_fade
from archerysim.shot.launch import Launch
from archerysim.shot.shoot import shoot
from archerysim.shot.timeline import fading, rest_force
from tests.support.shot.example_bows import NAMES, READING, built, changed, flat, shot, traced


def finger_force(launch: Launch, time: float) -> float:
    """As the release's kernel has it [N]."""
    fingers = launch.drawing.fingers
    return sum(
        launch.draw_force * fingers.weight[k].sum() * finger_fade.py_func(fingers, k, time) for k in range(3)
    )  # fmt: skip


@pytest.mark.parametrize("name", NAMES)
def test_the_fingers_hold_until_they_are_off(name: str) -> None:
    launch = traced(name)
    all_of_them = launch.timeline.fingers
    assert finger_force(launch, all_of_them.begins) == pytest.approx(launch.draw_force)
    assert finger_force(launch, all_of_them.half_open) == pytest.approx(0.5 * launch.draw_force)
    assert finger_force(launch, all_of_them.off - 1e-5) > 0.0
    assert finger_force(launch, all_of_them.off) == 0.0


def test_each_finger_by_its_own_delay_and_an_unloaded_one_not_at_all() -> None:
    launch = changed(
        built("club-outdoor", "coarse"), "coarse", archer__finger_shares=(0.6, 0.4, 0.0),
        archer__release_time=("4 ms", "6 ms", "9 ms"), archer__release_delays=("2 ms", "1 ms", "5 ms"),
    )  # fmt: skip
    at = launch.timeline
    assert dataclasses.astuple(at.index) == pytest.approx((0.002, 0.004, 0.006))
    assert dataclasses.astuple(at.middle) == pytest.approx((0.001, 0.004, 0.007))
    assert np.isnan(dataclasses.astuple(at.ring)).all()
    assert dataclasses.astuple(at.fingers) == pytest.approx((0.001, 0.004, 0.007))
    assert finger_force(launch, 0.00699) > 0.0
    assert finger_force(launch, 0.007) == 0.0


def test_fading_is_the_release_s_own() -> None:
    fingers = traced("club-outdoor").drawing.fingers._replace(delay=np.array([0.0, 1e-3, 2e-3]))
    times = np.linspace(0.0, 0.01, 41)
    expected = [[finger_fade.py_func(fingers, k, t) for k in range(3)] for t in times]
    np.testing.assert_allclose(fading(times, fingers.time, fingers.delay), expected, atol=1e-12)


@pytest.mark.parametrize("name", NAMES)
def test_the_order_of_a_shot_and_what_its_trace_says(name: str) -> None:
    launch = traced(name)
    at, trace = launch.timeline, launch.trace
    assert trace is not None
    assert at is launch.timeline  # made once
    assert 0.0 < at.fingers.half_open < at.fingers.off < at.string_straight < at.separation < at.clear
    assert np.isnan(at.support_ends)
    assert at.fingers.off < flat(name).timeline.support_ends < flat(name).timeline.string_straight
    assert at.separation == launch.separation.time
    assert at.clear == launch.clear.time
    push = trace.edge_upper + trace.edge_lower
    assert push[trace.time == at.greatest_push] == push.max()
    assert at.left_again is bool(launch.rest_left_at > launch.second_strike_at)


@pytest.mark.parametrize("name", NAMES)
def test_the_timeline_is_the_same_without_a_trace(name: str) -> None:
    for bare, full in ((shot(name), traced(name)), (flat(name), flat(name, True))):
        np.testing.assert_equal(dataclasses.astuple(bare.timeline), dataclasses.astuple(full.timeline))
    bare = flat(name).timeline
    assert bare.supported(bare.support_ends)
    assert not bare.supported(bare.support_ends + 1e-9)


@pytest.mark.parametrize("name", NAMES)
def test_the_timeline_is_what_the_trace_shows(name: str) -> None:
    """Read off the trace's rows and pictures once more, on straight lines between them."""
    launch = flat(name, True)
    at, trace, marks = launch.timeline, launch.traced(), launch.braced.marks
    assert at.greatest_push == trace.time[np.argmax(trace.edge_upper + trace.edge_lower)]
    angle = np.radians(launch.aim_angle)
    x = np.cos(angle) * trace.nock_x - np.sin(angle) * trace.nock_y
    travel = np.maximum.accumulate(x - x[0])
    assert at.support_ends == np.interp(launch.drawing.support.travel, travel, trace.time)
    upper, lower, above, below = (
        np.column_stack((trace.frame_x[:, k], trace.frame_y[:, k]))
        for k in (marks.tip_u + min(marks.reach_u, 1), marks.tip_l - min(marks.reach_l, 1), marks.edge_u, marks.edge_l)
    )
    along, way = upper - lower, 0.5 * (above + below) - lower
    ahead = along[:, 1] * way[:, 0] - along[:, 0] * way[:, 1]
    k = int(np.flatnonzero(ahead >= 0.0)[0])
    share = -ahead[k - 1] / (ahead[k] - ahead[k - 1])
    assert at.string_straight == trace.frame_time[k - 1] + share * (trace.frame_time[k] - trace.frame_time[k - 1])


@pytest.mark.parametrize("name", NAMES)
def test_the_rest_pushes_until_its_support_ends_and_not_after(name: str) -> None:
    """Its force lives to within a step of the end where the shaft still lay there, and the travel is the support's."""
    launch = shoot(built(name), changes={READING: "7 mm"}, planes=1)
    ends, trace = launch.timeline.support_ends, launch.trace
    assert trace is not None
    after = trace.time > ends + launch.step
    assert not trace.rest[after].any()
    assert after.any()
    lay = "support ended with the shaft on the rest" in launch.events
    last = trace.rest[trace.time <= ends - launch.step][-1]
    assert bool(last > 0.0) is lay
    before, beyond = rest_force(launch, np.array([ends, ends + 1e-9]))
    assert before == last
    assert beyond == 0.0
    x = trace.frame_x[:, launch.braced.marks.tail]
    travel = np.interp(ends, trace.frame_time, x - x[0])
    assert travel == pytest.approx(launch.drawing.support.travel, abs=2e-4)


def test_a_support_that_does_not_end() -> None:
    setup = built("club-outdoor", "coarse")
    for change in ({"rest.unlimited_support": True}, {"rest.support_travel": "0.9 m"}):
        launch = shoot(setup.replace(**change), "coarse", trace=True, planes=1)
        assert np.isnan(launch.timeline.support_ends)
        assert launch.timeline.supported(np.array([0.0, launch.clear.time])).all()
