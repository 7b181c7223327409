"""Groups shot with another bow than now: each place is shot with the bow as it was then."""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest

from archerysim.equipment import SetupError, with_si
from archerysim.study.notes.group_means import read_groups, states_of
from archerysim.study.notes.noted_records import NotedChange
from archerysim.study.notes.notes_file import Notes
from archerysim.study.notes.read_group import Diagnosis, diagnose, places_of
from archerysim.study.notes.response_surface import Expected, Place, expect
from tests.support.shot.example_bows import built
from tests.support.study.noted_cases import MESH, NOW, group

POINT = with_si({"arrow.point_mass": 0.008})
HEAVIER = NotedChange(what="arrow.point_mass", to="8 g", after=1)
SPINE = NotedChange(what="arrow.spine", to="600", after=1)


def notes(*groups: object, change: tuple[NotedChange, ...] = (HEAVIER,)) -> Notes:
    return Notes(name="made up", group=groups, change=change)  # type: ignore[arg-type]


@cache
def expected() -> Expected:
    """With the point as it was, and with a heavier one."""
    places = Place(NOW, 18.0, 0), Place(NOW, 18.0, 1)
    return expect(built("club-outdoor", MESH), places, (with_si({}), POINT), mesh=MESH)


def read(some: Notes) -> Diagnosis:
    return diagnose(built("club-outdoor", MESH), some, expected=expected(), further=False, mesh=MESH)


def test_states_and_places_follow_from_the_changes() -> None:
    some = notes(group(0.0), group(0.0), group(0.0))
    assert states_of(some) == ({}, POINT)
    groups = read_groups(built("club-outdoor", MESH), some)
    assert [one.state for one in groups] == [0, 1, 1]
    assert places_of(groups) == expected().places
    with pytest.raises(SetupError, match="other places"):
        read(notes(group(0.0), group(0.0), change=()))
    back = NotedChange(what="arrow.point_mass", to="90 gr", after=2)
    twice = notes(group(0.0), group(0.0), group(0.0), change=(HEAVIER, back))
    assert len(states_of(twice)) == 3


def test_each_place_is_shot_with_the_bow_of_then() -> None:
    e = expected()
    setup = built("club-outdoor", MESH)
    for state, mass in enumerate((setup.arrow.point_mass, 0.008)):
        launch = e.launch(NOW, state=state)
        assert launch.drawing.setup.arrow.point_mass == pytest.approx(mass)
        gap = e.gap(launch, 18.0)
        z = np.zeros(len(e.causes))
        assert e.shot_gaps(z)[0][:, state] == pytest.approx(gap, abs=1e-3)
        assert float(e.heights.value[state]) == pytest.approx(gap.height, abs=3.0 * e.heights.error[state])
        assert float(e.sides.value[state]) == pytest.approx(gap.side, abs=3.0 * e.sides.error[state])
    assert e.bow.setup.arrow.point_mass == 0.008
    assert e.launch(NOW).drawing.setup.arrow.point_mass == 0.008  # as it is now
    assert math.dist(*(e.shot_gaps(np.zeros(8))[0].T)) > 0.003


def test_the_move_goes_by_groups_of_the_bow_as_it_is_now() -> None:
    e = expected()
    level = float(e.wanted[1])
    low, high = level - 0.08, level + 0.08
    found = read(notes(group(low), group(high), group(high)))
    assert found.move is not None
    assert found.move.way == "up"
    assert found.causes  # for these all groups are asked
    otherwise = read(notes(group(-low), group(high), group(high)))
    assert otherwise.move == found.move


def test_without_a_group_since_the_change_there_is_no_move() -> None:
    found = read(notes(group(0.05), group(0.05, wind="4 m/s")))
    assert found.move is None
    assert found.remarks[0] == "no advice on the reading: no usable group was shot since the last change"


def test_locators_moved_since_the_last_group_are_to_be_shot_with_first() -> None:
    moved = NotedChange(what="nock.locators.reading", to="10 mm", after=2)
    found = read(notes(group(0.05), group(0.05), change=(HEAVIER, moved)))
    assert (found.move, found.next_end) == (None, None)
    assert "moved to 10.0 mm (3/8 in) by the underside since the last group: shoot with them" in found.remarks[0]
    same = NotedChange(what="nock.locators.reading", to="8 mm", after=2)
    assert read(notes(group(0.05), group(0.05), change=(HEAVIER, same))).move is not None


def test_the_arrow_of_now_is_the_one_that_is_warned_of() -> None:
    light = (
        NotedChange(what="arrow.mass_per_length", to="2.2 gr/in", after=1),
        NotedChange(what="arrow.point_mass", to="40 gr", after=1),
    )
    found = diagnose(built("club-outdoor", MESH), notes(group(0.0), group(0.0), change=light), mesh=MESH)
    assert found.warnings[0].startswith("DO NOT SHOOT")
    assert found.move is None


def test_another_archer_or_rest_wants_notes_of_its_own() -> None:
    shelf = NotedChange(what="rest.kind", to="shelf", after=1)
    with pytest.raises(SetupError, match="Begin new notes"):
        diagnose(built("club-outdoor", MESH), notes(group(0.0), group(0.0), change=(shelf,)), mesh=MESH)
