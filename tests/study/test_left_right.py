"""Left and right of bare shafts: signs for both hands, when it is told, and when contact forbids it."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from archerysim.equipment import SetupError
from archerysim.study.notes.contact import contact_of
from archerysim.study.notes.group_means import SCATTER, away_from_window, read_groups
from archerysim.study.notes.left_right import FIXED, LeftRight, left_right_of
from archerysim.study.notes.posterior import Answer
from archerysim.study.notes.read_group import Diagnosis, diagnose
from archerysim.study.notes.response_surface import Expected, Setting
from tests.support.shot.example_bows import built
from tests.support.study.noted_cases import MESH, NOW, PLACES, expected, group, noted, notes

ROW = 2


def told(
    beside: float, sigma: float = 0.03, count: int = 2, contact: str = "", spread: float = 0.1,
    explained: bool = True,
) -> LeftRight:  # fmt: skip
    """What groups say that lie ``beside`` off the window [m]; draws by the model within a share of the prior's."""
    e = expected()
    z = spread * np.random.default_rng(0).normal(size=(500, len(e.causes)))
    weights = np.full(500, 1.0 / 500)
    nothing = np.zeros(len(e.causes))
    found = Answer(nothing, np.eye(len(nothing)), z, weights, *[nothing] * 5, 0.0, ())
    groups = (noted(0.0, sigma, beside=beside),) * count
    some = left_right_of(e, groups, -1.0, contact, found, SCATTER, explained)
    assert some is not None
    return some


def test_off_the_window_is_left_for_a_right_handed_archer_and_a_stiff_shaft() -> None:
    assert away_from_window(built("club-outdoor", MESH)) == -1.0
    some = told(0.12)
    assert some.gap == pytest.approx(-0.12)
    assert "12 cm left of fletched ones at 18 m" in some.words
    assert "too stiff" in some.words
    assert "too weak" in told(-0.12).words
    left_handed = built("club-outdoor", MESH).replace(**{"archer.handed": "left"})
    assert away_from_window(left_handed) == 1.0


def test_groups_are_turned_from_right_to_off_the_window() -> None:
    some = notes(group(0.0, bare_right=(0.04, 0.05, 0.09), fletched_right=(0.0,) * 6))
    for handed, sign in (("right", -1.0), ("left", 1.0)):
        setup = built("club-outdoor", MESH).replace(**{"archer.handed": handed})
        (one,) = read_groups(setup, some)
        assert one.beside == pytest.approx(sign * 0.05)
        assert one.beside_sigma == one.sigma
    (old,) = read_groups(built("club-outdoor", MESH), notes(group(0.0, sideways="4 cm")))
    assert old.beside == pytest.approx(-0.04)
    assert np.isnan(read_groups(built("club-outdoor", MESH), notes(group(0.0)))[0].beside)


def test_far_aside_is_not_used_and_said() -> None:
    found = diagnose(
        built("club-outdoor", MESH), notes(group(-0.05, sideways="2 m")), expected=expected(), further=False, mesh=MESH
    )  # fmt: skip
    assert found.groups[0].used
    assert found.left_right is None
    assert any("200 cm to one side, too far to be used" in line for line in found.remarks)


def test_it_is_told_when_it_is_sure_repeated_and_the_roll_is_fixed() -> None:
    assert told(0.12).told
    assert told(0.12).low < -0.12 < told(0.12).high < 0.0
    few = told(0.12, count=1)
    assert (few.told, "repeat before acting" in few.words) == (False, True)
    among = told(0.035, sigma=0.005)
    assert (among.told, "within the scatter" in among.words) == (False, True)
    unsure = told(0.05, sigma=0.1)
    assert (unsure.told, "within the scatter" in unsure.words) == (False, True)
    strange = told(0.12, explained=False)
    assert (strange.told, "no hands explain" in strange.words) == (False, True)
    loose = told(0.12, spread=0.9)
    assert loose.fixed > FIXED > told(0.12).fixed
    assert (loose.told, "do not fix how the string rolls" in loose.words) == (False, True)


def test_with_contact_there_is_no_left_or_right() -> None:
    some = told(0.12, contact="the tail touches")
    assert not some.told
    assert some.words == "no left or right advice: clear the contact first (the tail touches)"


def read(e: Expected, *beside: float) -> Diagnosis:
    high = float(e.heights.value[ROW])
    groups = [group(high, bare_right=(-one,) * 3, fletched_right=(0.0,) * 6) for one in beside]
    return diagnose(built("club-outdoor", MESH), notes(*groups), expected=e, further=False, mesh=MESH)


def test_contact_by_the_computed_clearance_is_enough() -> None:
    e = expected()
    usual = float(e.sides.value[ROW])
    free = read(e, *[usual] * 4)
    assert free.left_right is not None
    assert free.left_right.contact == ""
    assert free.left_right.gap == pytest.approx(-usual)
    touched = dataclasses.replace(e, contact={**e.contact, Setting(NOW): "the tail touches"})
    found = read(touched, *[usual] * 4)
    assert found.left_right is not None
    assert found.left_right.contact == "the tail touches"


def test_contact_by_the_groups_is_enough() -> None:
    """Groups that go up with the locators: the lower of them is left out, and left and right too."""
    e = expected()
    beside = {"bare_right": (-0.1,) * 3, "fletched_right": (0.0,) * 6}
    some = notes(group(-0.10, reading=0.005, **beside), group(0.02, **beside))
    found = diagnose(built("club-outdoor", MESH), some, expected=e, further=False, mesh=MESH)
    assert found.left_right is not None
    assert "clear the contact first" in found.left_right.words


def test_contact_of_a_shot() -> None:
    e = expected()
    assert contact_of(e.launch(NOW)) == ""
    assert "deep in the rest" in contact_of(e.launch(0.0))
    straight = np.array([-2.5 * (cause.path == "archer.side_roll") for cause in e.causes])
    assert "lie on the rest to the end" in contact_of(e.launch(NOW, straight))
    far_in = e.launch(NOW, extra=with_offset(6.0))
    assert np.isfinite(far_in.passage.tail_touch_force)
    assert "touch the side support" in contact_of(far_in)


def with_offset(mm: float):  # type: ignore[no-untyped-def]
    from archerysim.equipment import with_si

    return with_si({"side.offset": 1e-3 * mm})


def test_a_wider_gap_speaks_for_more_roll() -> None:
    """Places sideways, and nothing else, by more than the hits' scatter."""
    e = expected()
    usual = float(e.sides.value[ROW])
    rolls = []
    for gap in (usual - 0.05, usual, usual + 0.05):
        shown = {one.cause.path: one for one in read(e, *[gap] * 6).causes}
        rolls.append(shown["archer.side_roll"].value)
    assert np.all(np.diff(rolls) > 0.3)
    assert {place.distance for place in PLACES} == {18.0, 30.0}


def test_in_one_plane_nothing_is_said_of_left_and_right() -> None:
    e = expected(1)
    found = read(e, 0.1, 0.1)
    assert found.left_right is None
    with pytest.raises(SetupError, match="planes"):
        diagnose(built("club-outdoor", MESH), notes(group(0.0)), expected=e, planes=2, mesh=MESH)
