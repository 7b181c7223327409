"""What a range has an archer do, and what a move does at the butt."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest

from archerysim.equipment import filled
from archerysim.equipment.readings import READING
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.flight.bare_shaft import bare_difference
from archerysim.study.notes.group_means import spread_of
from archerysim.study.tuning.at_the_butt import SCATTER, at_the_butt, needed
from archerysim.study.tuning.first_move import FirstMove, ends_of, first_move
from tests.support.shot.example_bows import NAMES, built, measured
from tests.support.study.made_ranges import made_range

MESH = "coarse"


@cache
def bow(reading: float = 8.0, name: str = "club-outdoor") -> FittedBow:
    """With its locators at a reading by the underside [mm]."""
    return FittedBow.of(measured(name).replace(**{READING: f"{reading} mm"}), MESH)


def moved(today: float, low: float, high: float, **fields: Any) -> FirstMove:
    """By a range of readings that lie evenly between two ends [mm], its 5 % and 95 % points."""
    part = (high - low) / 0.9
    sample = np.linspace(low - 0.05 * part, high + 0.05 * part, 101)
    return first_move(bow(today), replace(made_range(sample), **fields))


def test_a_first_tie_goes_to_the_top_of_the_range() -> None:
    for today in (2.0, 8.0, 14.0):
        move = moved(today, 2.0, 9.0)
        assert move.tie == pytest.approx(9.0)
        assert (move.low, move.high, move.cut) == (pytest.approx(2.0), pytest.approx(9.0), ("", ""))


@pytest.mark.parametrize(
    ("today", "way", "to"),
    [
        (14.0, "down", 11.0),  # 3 mm at most
        (10.5, "down", 9.0),  # no farther than the top of the range
        (8.6, "down", 5.6),  # nine of ten bows want them lower: towards the best estimate
        (6.5, "hold", 6.5),  # too few agree
        (5.5, "hold", 5.5),
        (2.4, "up", 5.4),
        (-3.0, "up", 0.0),
    ],
)
def test_the_move_to_make_now(today: float, way: str, to: float) -> None:
    move = moved(today, 2.0, 9.0)
    assert (move.way, move.to) == (way, pytest.approx(to, abs=1e-6))
    assert move.reading == pytest.approx(today, abs=1e-6)


def test_no_move_passes_the_best_estimate() -> None:
    assert moved(8.6, 2.0, 9.0, best=7.5).to == pytest.approx(7.5)
    assert moved(8.6, 2.0, 9.0, best=8.5).way == "hold"  # less than a square can tell


def test_nothing_leads_below_square_or_out_of_the_readings_searched() -> None:
    move = moved(1.0, -6.0, 0.5, best=-4.0)
    assert (move.low, move.cut, move.to) == (0.0, ("square", ""), pytest.approx(0.5))
    assert moved(0.5, -6.0, -1.0, best=-4.0).to == pytest.approx(0.0)
    assert moved(0.5, -6.0, -1.0, best=-4.0).tie == 0.0
    fat = FittedBow.of(measured("longbow"), MESH)  # its shaft is fatter than its nock is high
    full = filled(fat.setup)
    assert full.arrow.diameter > full.nock.height
    assert ends_of(fat)[0] == pytest.approx(500.0 * (full.arrow.diameter - full.nock.height))
    high = moved(24.0, 20.0, 30.0, best=24.5)
    assert (high.high, high.cut) == (25.0, ("", "end"))


def test_what_touches_is_told_of_both_places() -> None:
    """The outdoor arrow strikes the arm from the side by more than a graze where the locators are low."""
    low = moved(2.0, 5.0, 12.0)
    assert (low.way, low.touches_today, low.touches_there) == ("up", True, False)
    high = moved(9.0, 5.0, 12.0)
    assert (high.touches_today, high.touches_there) == (False, False)


@pytest.mark.parametrize("name", NAMES)
def test_a_millimetre_is_worth_what_two_shots_show(name: str) -> None:
    fitted = FittedBow.of(built(name, MESH), MESH)
    found = at_the_butt(fitted, 0.007, 18.0)
    ends = [bare_difference(fitted.at_reading((0.007 + by, "m")), "18 m").height for by in (-0.5e-3, 0.5e-3)]
    assert found.per_mm == pytest.approx(ends[0] - ends[1], rel=5e-3)
    assert found.scatter == pytest.approx(0.03)


def test_near_the_bow_bare_shafts_hardly_react() -> None:
    """Some 4 mm for 1 mm at 10 m; and there two ends tell no move shorter than the longest."""
    near, far = (at_the_butt(bow(), 0.005, distance) for distance in (10.0, 30.0))
    assert 0.003 < near.per_mm < 0.006
    assert near.least > 2.5
    assert far.per_mm > 8.0 * near.per_mm
    assert far.least < 0.8
    assert near.tells_from == far.tells_from


def test_from_where_two_ends_tell_a_millimetre() -> None:
    found = at_the_butt(bow(), 0.005, 18.0)
    there, nearer = (at_the_butt(bow(), 0.005, found.tells_from - by) for by in (0.0, 1.0))
    assert there.least <= 1.0 < nearer.least
    assert needed(18.0) == pytest.approx(1.0364 * spread_of(18.0, SCATTER, 6, 12), rel=1e-4)  # 85 %, one-sided
    assert 1e3 * found.least * found.per_mm == pytest.approx(1e3 * needed(18.0))


def test_hits_drawn_by_chance_tell_it_85_times_in_a_hundred() -> None:
    """Medians of six bare and twelve fletched hits, as `read-group` takes them."""
    rng, size = np.random.default_rng(0), 18.0 * SCATTER
    bare = np.median(rng.normal(needed(18.0), 1.5 * size, (20000, 6)), axis=1)
    fletched = np.median(rng.normal(0.0, size, (20000, 12)), axis=1)
    assert (bare > fletched).mean() == pytest.approx(0.85, abs=0.01)


def test_six_arrows_of_a_club_archer_lie_over_some_8_cm_at_18_m() -> None:
    hits = np.random.default_rng(0).normal(0.0, 18.0 * SCATTER, (20000, 6))
    assert np.ptp(hits, axis=1).mean() == pytest.approx(0.08, abs=0.005)
