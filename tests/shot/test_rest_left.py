"""When and where the rest was left, and a second strike on it, against the shot's own trace."""

from __future__ import annotations

import numpy as np
import pytest

from archerysim.shot.launch import Launch
from archerysim.shot.shoot import shoot
from tests.support.shot.example_bows import NAMES, built, changed, traced


def travel_at(launch: Launch, time: float) -> float:
    """The throat's travel along the riser's x since full draw, between the trace's rows [mm]."""
    trace = launch.trace
    assert trace is not None
    angle = np.radians(launch.aim_angle)
    x = np.cos(angle) * trace.nock_x - np.sin(angle) * trace.nock_y
    return float(1e3 * (np.interp(time, trace.time, x) - x[0]))


@pytest.mark.parametrize("name", NAMES)
def test_travel_when_the_rest_was_left_and_struck(name: str) -> None:
    launch = traced(name)
    passage = launch.passage
    again = np.isfinite(launch.second_strike_at)
    assert bool(again) is (name != "junior")  # it rises, and goes off sideways before it could come down again
    assert bool(launch.rest_left_at == passage.arm_left_at) is bool(again)
    for time, travel in (
        (launch.rest_left_at, launch.rest_left_travel),
        (passage.arm_left_at, passage.arm_left_travel),
        (passage.side_left_at, passage.side_left_travel),
        *([(launch.second_strike_at, launch.second_strike_travel)] if again else []),
    ):
        assert travel == pytest.approx(travel_at(launch, time), abs=0.2)  # rows of the trace lie 2 mm apart
        assert 0.0 < travel < 220.0


def test_depth_of_a_second_strike_is_how_far_the_rest_gave() -> None:
    """Without damping the rest's force is its stiffness times the depth."""
    stiffness = 800.0
    setup = built("club-outdoor").with_si(**{
        "rest.stiffness": stiffness, "rest.damping": "0 N s/m", "rest.unlimited_support": True,
    })  # fmt: skip
    launch = shoot(setup, "default", trace=True, planes=1)
    assert launch.trace is not None
    later = launch.trace.time >= launch.second_strike_at
    deepest = 1e3 * launch.trace.rest[later].max() / stiffness
    assert launch.second_strike_depth > 0.5
    assert launch.second_strike_depth == pytest.approx(deepest, rel=1e-3)
    assert np.isnan(launch.suppressed_strike)  # nothing is suppressed where the support does not end
    assert np.isnan(launch.least_gap)


def test_nothing_is_told_of_what_did_not_happen() -> None:
    once = changed(built("barebow"), planes=1, rest__stiffness="300 N/m")
    assert "shaft touched the rest again" not in once.events
    for value in (once.second_strike_at, once.second_strike_travel, once.second_strike_depth, once.suppressed_strike):
        assert np.isnan(value)
    assert np.isfinite(once.rest_left_travel)
    assert once.least_gap > 0.0

    never = changed(built("barebow"), planes=1, rest__support_travel="20 mm")
    assert never.events[:1] == ("support ended with the shaft on the rest",)
    assert np.isnan(never.rest_left_at)
    assert np.isnan(never.rest_left_travel)
