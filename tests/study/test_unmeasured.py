"""The unmeasured inputs: fingers that are off the string, and what the fields allow."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from archerysim.equipment import Setup, field_info, filled, with_si
from archerysim.shot.fitted_bow import FittedBow
from archerysim.study.notes.cause_estimate import cause_estimate
from archerysim.study.notes.posterior import SCALE, SQUARE, Answer
from archerysim.study.notes.priors import Cause, causes_of, changes_of
from archerysim.study.notes.read_group import diagnose
from archerysim.study.notes.response_surface import STEP, Place, allowed, expect, launch_at
from archerysim.study.uncertainty.inputs import usual_inputs
from tests.support.shot.example_bows import built, measured
from tests.support.study.noted_cases import LOW, MESH, NOW, expected, group, notes


def causes(**archer: Any) -> tuple[Any, tuple[Cause, ...]]:
    setup = built("club-outdoor", MESH).with_si(**{f"archer.{name}": value for name, value in archer.items()})
    return setup, causes_of(setup, 1)


@pytest.mark.parametrize(
    ("shares", "fingers"),
    [
        ((0.5, 0.5, 0.0), ["index"]),
        ((0.0, 0.6, 0.4), ["ring"]),
        ((0.5, 0.0, 0.5), ["index", "ring"]),
        ((0.0, 1.0, 0.0), []),
        ((1.0, 0.0, 0.0), []),
        ((0.3, 0.5, 0.2), ["index", "ring"]),
        ((0.5, 0.49, 0.01), ["index", "ring"]),
    ],
)
def test_a_finger_off_the_string_is_no_cause_and_stays_off(
    shares: tuple[float, float, float], fingers: list[str]
) -> None:
    setup, found = causes(finger_shares=shares)
    assert [one.name.split()[-2] for one in found if "finger" in one.name] == fingers
    for z in ([one.low for one in found], [one.high for one in found]):
        moved = changes_of(setup, found, np.array(z))["archer.finger_shares"]
        assert sum(moved) == pytest.approx(1.0)
        assert [after > 0.0 for after, share in zip(moved, shares, strict=True) if share == 0.0] == [False] * (
            shares.count(0.0)
        )


def test_two_fingers_the_notes_speak_for_no_third() -> None:
    setup, _ = causes(finger_shares=(0.5, 0.5, 0.0))
    setup = setup.replace(**{"riser.rods.0.rigid": True, "limbs.hysteresis": 0.0})
    some = notes(group(-0.1), group(-0.1))
    found = diagnose(setup, some, expected=expect(setup, (Place(NOW, 18.0),), shots=22, mesh=MESH), further=False)
    assert "load on the index finger" in [one.cause.name for one in found.causes]
    assert not any("ring finger" in one.cause.name or "ring finger" in one.words for one in found.causes)


def test_an_interval_that_ends_with_the_prior_says_nothing() -> None:
    """A prior that lies all above the usual value, its whole interval, and an interval that stands off it."""
    cause = Cause("load", "archer.release_time", "ms", 0.005, 0.001, 0.2, 2.5, "more", "less", "")

    def words(low: float) -> str:
        ends = [np.array([one]) for one in (0.5, low, 1.6, 0.2, 1.645)]
        z, first, last, prior_first, prior_last = ends
        drawn = np.zeros((1, 1)), np.ones(1)
        found = Answer(z, np.eye(1), *drawn, z, first, last, prior_first, prior_last, 0.0, (np.zeros((2, 2)),))
        return cause_estimate(cause, found, 0).words

    assert "point to" not in words(0.2)
    assert words(0.3) == "the notes point to more"


@pytest.mark.parametrize(
    "archer",
    [
        {"release_time": "0.1 ms"},
        {"release_time": "25 ms"},
        {"release_time": "50 ms"},
        {"release_time": ("0.1 ms", "5 ms", "40 ms")},
        {"pressure_point": "58 mm"},
        {"pressure_point": "-60 mm"},
        {"grip_torque": "20 N m"},
    ],
)
def test_values_stay_within_what_the_fields_allow(archer: dict[str, Any]) -> None:
    setup, found = causes(**archer)
    assert all(one.low <= 0.0 <= one.high and one.high - one.low > 1.0 for one in found)
    ranges = {one.path: field_info(one.path) for one in found}
    for one in found:
        least, most = (getattr(ranges[one.path], end) for end in ("low", "high"))
        assert least - 1e-9 <= one.mean + one.low * one.spread
        assert one.mean + one.high * one.spread <= most + 1e-9
    for z in (np.array([one.low for one in found]), np.array([one.high for one in found])):
        full: Any = filled(setup.replace(changes_of(setup, found, z)))  # refused if out of range
        least, most = (getattr(field_info("archer.release_time"), end) for end in ("low", "high"))
        assert all(least <= one <= most for one in full.archer.release_time)
    same: Any = filled(setup.replace(changes_of(setup, found, np.zeros(len(found)))))
    assert same.archer.release_time == pytest.approx(filled(setup).archer.release_time)  # type: ignore[attr-defined]


TIPS = "limbs.side_stiffness"
SIDEWAYS = ["archer.side_roll", "archer.side_hold", "rest.reach", TIPS]


def paths(setup: Setup, planes: int) -> list[str]:
    return [one.path for one in causes_of(setup, planes)]


def test_in_both_planes_nobody_is_asked_when_the_shaft_leaves_the_rest() -> None:
    setup = built("club-outdoor", MESH)
    flat, both = paths(setup, 1), paths(setup, 2)
    assert flat[-1] == "rest.support_travel"
    assert both == [*flat[:-1], *SIDEWAYS]
    shelf = setup.replace(**{"rest.kind": "shelf"})
    assert paths(shelf, 2) == [path for path in both if path != "rest.reach"]
    assert [one.path for one in expected(2).causes] == both


def test_an_arm_carries_the_shaft_whatever_its_reach() -> None:
    for reach in (None, "4 mm", "3.1 mm", "5.5 mm"):
        setup = built("club-outdoor", MESH).replace(**({} if reach is None else {"rest.reach": reach}))
        arm = next(one for one in causes_of(setup, 2) if one.path == "rest.reach")
        assert arm.low <= 0.0 < arm.high
        least = arm.mean + arm.low * arm.spread
        assert least > 0.5 * filled(setup).number("arrow.diameter")
        bow = FittedBow.of(setup, MESH, planes=2)
        assert bow.launch(with_si({"rest.reach": least})).passage.arm_left_travel > 10.0


def test_tips_that_differ_are_moved_by_one_factor() -> None:
    setup = built("club-outdoor", MESH).replace(
        **{"upper_limb.side_stiffness": "800 N/m", "lower_limb.side_stiffness": "1200 N/m"}
    )
    found = causes_of(setup, 2)
    tips = next(one for one in found if one.path == TIPS)
    assert (tips.mean, tips.spread) == (pytest.approx(1000.0), pytest.approx(400.0))
    z = np.array([float(one.path == TIPS) for one in found])
    moved = changes_of(setup, found, z)
    assert moved["upper_limb.side_stiffness"] == pytest.approx(1.4 * 800.0)
    assert moved["lower_limb.side_stiffness"] == pytest.approx(1.4 * 1200.0)
    for end in ("low", "high"):
        z = np.array([getattr(one, end) for one in found])
        setup.replace(changes_of(setup, found, z))  # refused if out of range


def test_more_roll_and_less_reach_let_the_shaft_off_the_arm_sooner() -> None:
    bow, found = expected(2).bow, expected(2).causes

    def left(path: str, z: float) -> float:
        return launch_at(bow, found, NOW, np.array([z * (one.path == path) for one in found])).passage.arm_left_travel

    for path, sign in (("archer.side_roll", 1.0), ("rest.reach", -1.0)):
        assert left(path, sign) < left(path, 0.0) < left(path, -sign)


def test_usual_bounds_are_left_alone() -> None:
    by_path = {one.path: (one.low, one.high) for one in expected().causes}
    assert by_path["archer.release_time"] == (-1.7, 2.5)
    assert by_path["archer.grip_torque"] == (-2.5, 2.5)
    assert by_path["archer.finger_shares.2"] == (pytest.approx(-1.8), 2.5)


def test_spreads_are_those_of_the_usual_inputs() -> None:
    setup = measured("club-outdoor")
    usual = {one.path: one.size(filled(setup)) for one in usual_inputs(setup, 1)}
    spreads = {one.path: one.spread for one in expected().causes}
    assert usual["archer.finger_shares.0"] == spreads["archer.finger_shares.0"]
    assert usual["archer.release_time"] == pytest.approx(spreads["archer.release_time"])
    assert usual["archer.grip_torque"] == spreads["archer.grip_torque"]
    sideways = {one.path: one.size(filled(setup)) for one in usual_inputs(setup, 2)}
    spreads_of_both = {one.path: one.spread for one in expected(2).causes}
    for path in ("archer.side_roll", "archer.side_hold", TIPS):
        assert sideways[path] == pytest.approx(spreads_of_both[path])
    assert spreads_of_both["rest.reach"] == 0.001
    assert usual["nock.locators.reading"] == SQUARE
    assert usual["bow.draw_weight"] == SCALE


@pytest.mark.parametrize(("reading", "inward"), [(0.060, -1.0), (-0.030, 1.0)])
def test_readings_at_the_ends_of_their_range_are_read(reading: float, inward: float) -> None:
    setup = built("club-outdoor", MESH)
    e = expect(setup, (Place(reading, 18.0),), shots=22, mesh=MESH)
    sides = [e.gap(e.launch(one), 18.0).height for one in (reading, reading + inward * STEP)]
    assert e.per_reading[0] == pytest.approx((sides[1] - sides[0]) / (inward * STEP), rel=1e-3)
    found = diagnose(setup, notes(group(-0.1, reading=reading)), expected=e, further=False, mesh=MESH)
    assert found.move is not None
    assert all(np.all(readings == [allowed(one) for one in readings]) for readings, _ in found.curves.values())


def test_within_the_range_the_slope_is_taken_from_both_sides() -> None:
    e = expected()
    low, high = (e.gap(e.launch(LOW + side * STEP), 18.0).height for side in (-1.0, 1.0))
    assert e.per_reading[0] == pytest.approx((high - low) / (2.0 * STEP), rel=1e-2)  # by the sight of another reading
