"""A shot explained: sums, a neutral bow that has nothing to explain, directions, failures told."""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import pytest

from archerysim.equipment import NO_CHANGES, Setup, SetupError, with_si
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.shoot import shoot
from archerysim.show.explanation.table import explain_table
from archerysim.study.explanation.explain import Explained, explain, numbers
from archerysim.study.explanation.instants import FRAMES, frames, instant, story
from archerysim.study.explanation.neutral_bow import parts_of
from tests.support.shot.example_bows import NAMES, READING, built, measured, shot

MESH = "coarse"
PARTS = ("reading", "tiller", "fingers", "hand", "rest", "slope", "stabilisers")


@cache
def explained(name: str) -> Explained:
    return explain(measured(name), mesh=MESH)


def other(**changes: Any) -> Explained:
    return explain(
        built("club-outdoor", MESH).with_si(**{k.replace("__", "."): v for k, v in changes.items()}), mesh=MESH
    )


def neutral_setup() -> Setup:
    base = FittedBow.of(built("club-outdoor", MESH), MESH)
    changes = NO_CHANGES
    for part in parts_of(base):
        changes = changes | part.changes
    return base.with_changes(changes).setup


@pytest.mark.parametrize("name", NAMES)
def test_the_parts_and_the_remainder_make_the_whole(name: str) -> None:
    found = explained(name)
    assert tuple(one.part.name for one in found.contributions) == PARTS
    total = found.base + sum(one.value for one in found.contributions) + found.remainder
    np.testing.assert_allclose(total, found.actual, atol=1e-12)
    np.testing.assert_allclose(found.actual, numbers(found.launch))
    np.testing.assert_allclose(found.base, numbers(found.neutral))
    np.testing.assert_allclose(found.actual, numbers(shot(name, mesh=MESH)), atol=2e-4)
    for one in found.contributions:
        assert not one.reason
        np.testing.assert_allclose(one.value, 0.5 * (one.on_neutral + one.on_actual))
    # nose up with the nock axis at square: undone by some millimetres above it, which is where bows are tuned:
    # 3 to 10 mm [common practice, equipment/typical.py]
    per_mm = found.of("reading").on_neutral[0] / shot(name, mesh=MESH).axis_above_square
    assert 3.0 < found.base[0] / -per_mm < 10.0
    # the parts act on one another by less than on the arrow
    assert abs(found.remainder[0]) < 0.1 * abs(found.actual - found.base)[0]


@pytest.mark.parametrize("name", ["reading", "tiller", "fingers", "rest", "stabilisers"])
def test_the_halves_of_a_part_are_differences_of_shots(name: str) -> None:
    """Neutral but for the part against the neutral bow; the bow itself against the bow with this part neutral."""
    base = FittedBow.of(built("club-outdoor", MESH), MESH)
    parts = {part.name: part.changes for part in parts_of(base)}
    same = with_si({READING: base.reading, "nock.locators.convention": "underside"})  # set again on a changed bow
    rest = same
    for other_name, changes in parts.items():
        rest = rest | changes if other_name != name else rest
    actual, alone, without, neutral = (
        numbers(shoot(one, MESH))
        for one in (base, base.with_changes(rest), base.with_changes(same | parts[name]), neutral_setup())
    )
    found = explained("club-outdoor").of(name)
    np.testing.assert_allclose(found.on_neutral, alone - neutral, atol=1e-4)
    np.testing.assert_allclose(found.on_actual, actual - without, atol=1e-4)
    assert np.abs(found.on_neutral).max() > 0.01
    assert np.abs(found.on_neutral - found.on_actual).max() > 1e-3  # not one for the other


def test_a_neutral_bow_has_nothing_to_explain() -> None:
    found = explain(neutral_setup(), mesh=MESH)
    for one in found.contributions:
        np.testing.assert_allclose(one.value, 0.0, atol=2e-5)
    np.testing.assert_allclose(found.base, found.actual, atol=2e-5)
    np.testing.assert_allclose(found.actual, explained("club-outdoor").base, atol=2e-5)


def test_the_neutral_bow_is_the_one_stated() -> None:
    launch = explained("club-outdoor").neutral
    assert launch.axis_above_square == pytest.approx(0.0, abs=1e-6)
    # the arrow, now lower on the string, moves both by some hundredths of a millimetre
    assert launch.upper_tiller - launch.lower_tiller == pytest.approx(0.0, abs=0.05)
    assert launch.brace_height == pytest.approx(220.0, abs=0.05)
    rods = launch.setup.riser.rods
    assert sum(rod.end_mass + (rod.rod_mass or 0.0) for rod in rods) == 0.0
    fingers = launch.setup.archer
    assert fingers.finger_places is not None
    assert fingers.finger_shares is not None
    assert np.dot(fingers.finger_places, fingers.finger_shares) == pytest.approx(0.0)


def test_lowering_the_locator_turns_the_nose_up() -> None:
    high, low = other(**{READING: "10 mm"}), other(**{READING: "6 mm"})
    assert (low.of("reading").value > high.of("reading").value).all()
    assert (low.base == pytest.approx(high.base, abs=2e-5)) is True


def test_opposite_slopes_and_torques_turn_opposite_ways() -> None:
    """Mirrored parts of a bow that is otherwise the same: odd while they are small and no contact comes or goes."""
    parts = ({"nock__slope": f"{k * 0.5} deg", "archer__grip_torque": k * 0.3} for k in (1, -1))
    up, down = (other(**one) for one in parts)
    for name in ("slope", "hand"):
        assert np.isnan([one.neutral.timeline.on_rest_again for one in (up, down)]).all()
        one, two = up.of(name).on_neutral[0], down.of(name).on_neutral[0]
        assert one > 0.0
        assert one == pytest.approx(-two, rel=0.05)


def test_a_part_that_is_neutral_already_does_nothing() -> None:
    found = explained("junior")  # no stabilisers, no slope, no torque
    for name in ("stabilisers", "slope", "hand"):
        assert not found.of(name).part.changes
        assert (found.of(name).value == 0.0).all()
    assert (explained("club-outdoor").of("stabilisers").value != 0.0).all()


def test_a_part_without_a_neutral_state_is_told_and_the_rest_still_explained(monkeypatch: pytest.MonkeyPatch) -> None:
    """Fingers whose neutral state would lift the arrow off the rest."""
    from archerysim.errors import ShotError
    from archerysim.shot import fitted_bow as module

    real = module.shoot_drawn

    def refusing(setup: Setup, *rest: Any, **more: Any) -> Any:
        if setup.archer.finger_shares == (0.5, 0.5, 0.0):
            raise ShotError("draw", 7)
        return real(setup, *rest, **more)

    monkeypatch.setattr(module, "shoot_drawn", refusing)
    found = explain(built("club-outdoor", MESH), mesh=MESH)
    fingers = found.of("fingers")
    assert fingers.reason.startswith("draw:")
    assert np.isnan(fingers.value).all()
    assert not fingers.known
    others = [one for one in found.contributions if one.part.name != "fingers"]
    assert all(one.known for one in others)
    np.testing.assert_allclose(
        found.base + sum(one.value for one in others) + found.remainder, found.actual, atol=1e-12
    )
    # the reading does about the same with these fingers as with neutral ones
    assert found.of("reading").value[0] == pytest.approx(explained("club-outdoor").of("reading").value[0], rel=0.1)


def test_a_launch_is_explained_as_its_setup() -> None:
    found = explain(explained("club-outdoor").launch, mesh=MESH)
    np.testing.assert_allclose(found.actual, explained("club-outdoor").actual, atol=1e-6)


def test_told_in_time() -> None:
    found = explained("club-outdoor")
    times = [one.time for one in found.instants]
    assert times == sorted(times)
    assert times[0] == 0.0
    named = {one.name: one for one in found.instants}
    assert named["full draw"].finger_force == pytest.approx(found.launch.draw_force)
    assert named["full draw"].travel == 0.0
    assert named["fingers half open"].finger_force == pytest.approx(0.5 * found.launch.draw_force)
    assert named["fingers off"].time == pytest.approx(5e-3)
    assert named["fingers off"].finger_force == pytest.approx(0.0, abs=1e-9)
    assert "rest's support ends" not in named
    assert "rest left" not in named  # it lay there when it went off the arm's end: told once
    assert found.launch.timeline.rest_left == found.launch.timeline.off_arm
    passage = found.launch.passage
    for name, travel in (("off the arm", passage.arm_left_travel), ("off the side support", passage.side_left_travel)):
        assert 1e3 * named[name].travel == pytest.approx(travel, abs=0.5)  # that along the riser's x
        assert f"after {travel:.0f} mm" in explain_table(found)
    assert named["nock furthest sideways"].time == passage.nock_furthest_at
    assert named["separation"].time < named["tail past"].time < named["clear"].time
    assert named["greatest push"].side_support == pytest.approx(2.5, abs=0.1)
    assert named["nock furthest sideways"].side_support == 0.0
    assert named["greatest push"].push > named["fingers off"].push
    for limb in ("upper", "lower"):
        at = getattr(found.launch.timeline, f"string_on_{limb}")
        assert named["fingers off"].time < at < named["string straight"].time
        assert named[f"string on the {limb} limb"].time == at
        assert f"on the {limb} limb at {getattr(found.launch, f'slap_speed_{limb}'):.1f} m/s" in explain_table(found)
    assert named["separation"].time == found.launch.separation.time
    assert named["clear"].pitch == pytest.approx(found.launch.clear.pitch, abs=1e-3)
    assert named["string straight"].travel == pytest.approx(0.4515, abs=0.005)  # from 28 in - 1.75 in to about brace
    assert tuple(one.name for one in frames(found.instants)) == FRAMES


def test_told_in_time_in_one_plane() -> None:
    found = explain(built("club-outdoor", MESH), mesh=MESH, planes=1)
    named = {one.name: one for one in found.instants}
    assert named["rest's support ends"].time == found.launch.timeline.support_ends
    assert named["rest's support ends"].travel == pytest.approx(0.220, abs=5e-4)  # that of the support: the riser's x
    assert not {"off the arm", "off the side support", "nock furthest sideways", "tail past"} & {*named}
    assert all(np.isnan(one.side_support) for one in found.instants)
    assert frames(found.instants)[2].name == "rest's support ends"
    assert "after 220 mm" in explain_table(found)
    endless = found.launch.setup.replace(**{"rest.unlimited_support": True})
    told = story(shoot(endless, MESH, planes=1, trace=True))
    assert "rest's support ends" not in [one.name for one in told]
    assert frames(told)[2].name == "string straight"


def test_a_struck_arm_and_a_tail_on_the_side_support_are_told() -> None:
    """Locators far too low, and a shaft too stiff for the bow."""
    found = other(**{READING: "0 mm", "arrow.spine": "0.4 in"})
    passage, named = found.launch.passage, {one.name: one for one in found.instants}
    assert named["arm struck from the side"].time == passage.arm_strike_at
    text = " ".join(explain_table(found).split())
    assert f"strikes the rest's arm from the side, {passage.arm_strike_place:.0f} mm in front of the nock" in text
    assert named["tail on the side support"].time == passage.tail_touch_at
    assert f"with up to {passage.tail_touch_force:.1f} N" in text


def test_a_canted_bow_has_its_cant_made_neutral() -> None:
    """A canted bow makes some of what turns the arrow sideways up or down; one plane does not know of it."""
    canted = built("club-outdoor", MESH).replace(**{"archer.cant": "10 deg"})
    found = explain(canted, mesh=MESH)
    assert tuple(one.part.name for one in found.contributions) == (*PARTS, "cant")
    total = found.base + sum(one.value for one in found.contributions) + found.remainder
    np.testing.assert_allclose(total, found.actual, atol=1e-12)
    np.testing.assert_allclose(found.base, explained("club-outdoor").base, atol=2e-5)
    assert abs(found.of("cant").value[0]) > 0.02
    assert found.of("cant").part.here == "bow canted by +10.0 deg"
    assert tuple(part.name for part in parts_of(FittedBow.of(canted, MESH, planes=1))) == PARTS


def test_fingers_one_after_the_other() -> None:
    found = other(archer__release_delays=("0 ms", "1 ms", "2 ms"))
    at = instant(found.launch, "", 1e-3)
    index, middle, ring = (f / s for f, s in zip(at.fingers, (0.3, 0.5, 0.2), strict=True))
    assert index < middle == ring  # a half cosine, begun by the index finger alone
    assert index == pytest.approx(found.launch.draw_force * 0.5 * (1.0 + np.cos(0.2 * np.pi)))


def test_requests_that_make_no_sense() -> None:
    with pytest.raises(SetupError, match="is not one of the parts"):
        explained("club-outdoor").of("wind")
    with pytest.raises(ValueError, match="no trace"):
        story(shot("club-outdoor", mesh=MESH))
