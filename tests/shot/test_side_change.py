"""What changes do sideways: against which bow they are told, and where there is nothing to tell."""

from __future__ import annotations

import pytest

from archerysim.equipment import Setup
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.side_change import SideChange, side_change
from tests.support.shot.example_bows import built, fitted, measured

MESH = "coarse"
STIFF = {"arrow.spine": "0.6 in"}


def test_it_is_the_difference_of_two_shots() -> None:
    bow = fitted("club-outdoor")
    before, now = bow.launch().clear, bow.launch(STIFF).clear
    found = side_change(bow.with_changes(STIFF))
    assert found == SideChange.between(bow.launch(), bow.launch(STIFF))
    assert found is not None
    assert found.yaw == now.yaw - before.yaw
    assert found.sideways_velocity == now.sideways_velocity - before.sideways_velocity
    assert found.side_angle_of_attack == now.side_angle_of_attack - before.side_angle_of_attack
    assert not found.touches
    assert not found.touched_before
    assert found.side_angle_of_attack > 0.05  # common practice: a stiffer shaft sends bare shafts away from the window


def test_several_changes_are_told_against_the_bow_before_all_of_them() -> None:
    bow = fitted("club-outdoor", MESH)
    once = bow.with_changes({**STIFF, "side.preload": "3 N"})
    twice = bow.with_changes(STIFF).with_changes({"side.preload": "3 N"})
    assert side_change(once) == side_change(twice)
    back = bow.with_changes(STIFF).with_changes({"arrow.spine": "0.7 in"})
    assert side_change(back) == SideChange(0.0, 0.0, 0.0, False, False)


@pytest.mark.parametrize("hold", [None, "refit"])
def test_a_change_that_has_the_bow_fitted_anew_is_told_against_the_one_given(hold: str | None) -> None:
    changes = {"bow.draw_weight": "36 lb"}
    bow = FittedBow.of(measured("club-outdoor"), MESH, changes, hold)
    heavy = FittedBow.of(measured("club-outdoor").replace(changes), MESH)
    assert side_change(bow) == SideChange.between(fitted("club-outdoor", MESH).launch(), heavy.launch())


@pytest.mark.parametrize("turns", ["1 turn", "-1 turn"])
def test_bolts_that_stand_turned_in_the_file_stay_turned_before_the_changes(turns: str) -> None:
    turned = FittedBow.of(measured("club-outdoor").replace({"limbs.bolt_turns": turns}), MESH)
    assert side_change(turned) is None
    assert side_change(turned.with_changes(STIFF)) == SideChange.between(turned.launch(), turned.launch(STIFF))


def test_a_tail_that_begins_or_ceases_to_touch_is_told() -> None:
    bow, far = fitted("longbow"), {"side.offset": "3 mm"}
    found = side_change(bow.with_changes(far))
    assert found is not None
    assert (found.touched_before, found.touches) == (False, True)
    out = FittedBow.of(bow.setup.replace(far), bow.mesh)
    cleared = side_change(out.with_changes({"side.offset": "1 mm"}))
    assert cleared is not None
    assert (cleared.touched_before, cleared.touches) == (True, False)


def test_without_changes_and_in_one_plane_there_is_nothing_to_tell() -> None:
    bow = fitted("junior", MESH)
    assert side_change(bow) is None
    assert side_change(FittedBow.of(bow, changes=STIFF, planes=1)) is None
    assert side_change(FittedBow.of(bow, changes=STIFF)) is not None


@pytest.mark.parametrize(("bow", "hold"), [(measured("club-outdoor"), "refit"), (built("club-outdoor", MESH), None)])
def test_a_bow_that_could_not_be_shot_before_is_nothing_to_tell_against(bow: Setup, hold: str | None) -> None:
    short = bow.replace({"arrow.length": "500 mm"})  # does not reach the rest
    assert side_change(FittedBow.of(short, MESH, {"arrow.length": "29 in"}, hold)) is None
