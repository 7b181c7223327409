"""Bare against fletched with its band, and flights of several readings."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from archerysim.equipment import SetupError
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.flight.bare_shaft import bare_difference
from archerysim.study.bare_shaft.bare_shaft import STEPS, bare_against_fletched
from archerysim.study.bare_shaft.flights import Flights, flights, readings_of
from archerysim.study.bare_shaft.result import BareAgainstFletched, points_of_band
from archerysim.study.tuning.honest_range import honest_range
from archerysim.study.uncertainty.even_draws import even_normal
from tests.support.shot.example_bows import built, measured

MESH = "coarse"
UNSURE = {"nock.locators.reading": "0.5 mm", "rest.height": "0.5 mm", "arrow.point_mass": "0.1 g"}
READINGS = ("4 mm", "7 mm", "10 mm")


@cache
def found() -> BareAgainstFletched:
    return bare_against_fletched(
        measured("club-outdoor"), READINGS, ("18 m", "50 m"), draws=4, uncertainty=UNSURE, mesh=MESH, workers=1,
        progress=False,
    )  # fmt: skip


@cache
def flown() -> Flights:
    return flights(measured("club-outdoor"), ["4 mm", "10 mm", "2 m"], distance="18 m", mesh=MESH)


def test_the_bow_as_given_is_that_of_bare_difference() -> None:
    launch = FittedBow.of(built("club-outdoor", MESH), MESH).at_reading("7 mm")
    both = bare_difference(launch, "18 m")
    assert found().value[1, 0] == pytest.approx(both.height, rel=1e-3)
    far = bare_difference(FittedBow.of(built("club-outdoor", MESH), MESH).at_reading("4 mm"), "50 m")
    assert found().value[0, 1] == pytest.approx(far.height, rel=1e-3)
    assert found().drag_and_mass[0] == pytest.approx(both.drag_and_mass, rel=1e-3)
    assert found().today == pytest.approx(8.0, abs=1e-6)


def test_band_holds_the_median_and_higher_locators_bring_the_bare_shaft_down() -> None:
    result = found()
    assert (result.lower < result.median).all()
    assert (result.median < result.upper).all()
    assert (np.diff(result.value, axis=0) < 0.0).all()
    assert (np.diff(result.sample, axis=1) < 0.0).all()


def test_default_readings_reach_down_to_square_and_no_further() -> None:
    setup = measured("club-outdoor")
    assert readings_of(setup, None, 0.008, STEPS) == pytest.approx((0.002, 0.004, 0.006, 0.008, 0.010, 0.012))
    assert readings_of(setup, None, 0.003, STEPS) == pytest.approx((0.0, 0.001, 0.003, 0.005, 0.007))
    assert readings_of(setup, None, -0.001, STEPS) == pytest.approx((-0.001, 0.001, 0.003))


def test_flights_know_their_bow_and_reading() -> None:
    row = flown().rows[0]
    assert row.bare is not None
    assert (row.bare.name, row.bare.reading) == (flown().name, pytest.approx(4.0))


def test_the_wanted_difference_grows_with_the_distance() -> None:
    """Some millimetres at 18 m, several times that beyond 30 m (docs/flight.md)."""
    assert 0.0 < 5.0 * found().wanted("18 m") < found().wanted("50 m")


def test_the_move_leads_to_the_wanted_difference() -> None:
    result = found()
    high, low = result.move("4 mm", "18 m"), result.move("10 mm", "18 m")
    assert high.median > 0.0 > low.median  # bare high: locators up
    assert high.median - low.median == pytest.approx(6.0)
    assert low.low < low.median < low.high
    there = result.together("18 m").median
    band = result.height_at((there, "mm"), "18 m")
    assert band.low < result.wanted("18 m") < band.high
    launch = FittedBow.of(built("club-outdoor", MESH), MESH).at_reading((1e-3 * there, "m"))
    left = bare_difference(launch, "18 m").swing
    assert abs(left) < 0.25 * abs(found().value[1, 0] - found().drag_and_mass[0])


def test_a_slip_of_the_square_alone_moves_the_line_sideways() -> None:
    """A draw of the reading only: each height is that of the reading where the locators really stand."""
    only = bare_against_fletched(
        built("club-outdoor", MESH), READINGS, "18 m", draws=2, uncertainty={"nock.locators.reading": "0.5 mm"},
        mesh=MESH, workers=1, progress=False,
    )  # fmt: skip
    slips = 0.5e-3 * even_normal(2, 2, 0)[:, 0]
    assert (np.abs(slips) > 1e-5).all()
    for slip, sample in zip(slips, only.sample[:, 2, 0], strict=True):
        launch = FittedBow.of(built("club-outdoor", MESH), MESH).at_reading((0.010 + slip, "m"))
        assert sample == pytest.approx(bare_difference(launch, "18 m").height, abs=1e-4)


def test_the_ranges_are_those_of_the_honest_range() -> None:
    """To the bit: one computation, whatever else is shot."""
    for one, distance in zip(found().ranges, ("18 m", "50 m"), strict=True):
        alone = honest_range(
            measured("club-outdoor"), distance=distance, draws=4, uncertainty=UNSURE, mesh=MESH, workers=1
        )
        np.testing.assert_array_equal(one.sample, alone.sample)
        assert (one.best, one.low, one.high) == (alone.best, alone.low, alone.high)
        there = found().together(distance)
        assert (there.median, there.low, there.high) == (one.best, one.low, one.high)


def test_seed_and_workers() -> None:
    def sample(**options: int) -> np.ndarray:
        return bare_against_fletched(
            built("club-outdoor", MESH), READINGS[:2], "12 m", draws=4, uncertainty={"arrow.point_mass": "0.5 g"},
            mesh=MESH, progress=False, **options,
        ).sample  # fmt: skip

    one = sample(workers=1)
    np.testing.assert_array_equal(sample(workers=2), one)
    assert not np.array_equal(sample(workers=1, seed=1), one)


def test_what_fails_is_told_and_loses_nothing_else() -> None:
    result = bare_against_fletched(
        measured("club-outdoor"), ["7 mm", "8 mm", "2 m"], "18 m", draws=2, uncertainty=UNSURE, mesh=MESH, workers=1,
        progress=False,
    )  # fmt: skip
    assert np.isnan(result.sample[:, 2]).all()
    assert np.isfinite(result.sample[:, :2]).all()
    assert [(one.draw, one.reading) for one in result.missing] == [(-1, 2000.0), (0, 2000.0), (1, 2000.0)]
    assert "nock.locators.reading" in result.missing[0].reason
    assert np.isfinite(result.together("18 m").median)


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ({"draws": 1}, "draws: 1 is not a number of draws"),
        ({"draws": "8"}, "draws: '8' is not a number of draws"),
        ({"draws": 8.0}, r"draws: 8\.0 is not a number of draws"),
        ({"seed": -1}, "seed: -1 is not a seed"),
        ({"distances": None}, "distances: None is not a number"),
        ({"workers": 1.5}, r"workers: 1\.5 is not a number of processes"),
        ({"distances": ()}, "none is given"),
        ({"distances": ("18 m", (18.0, "m"))}, "one twice"),
        ({"distances": "1 km"}, "distances"),
        ({"readings": "8 mm"}, "two or more"),
        ({"readings": []}, "no reading"),
        ({"workers": 0}, "workers: 0 is not a number of processes"),
    ],
)
def test_bad_requests(options: dict[str, object], words: str) -> None:
    given = {"draws": 2, "mesh": MESH, **options}
    with pytest.raises(SetupError, match=words):
        bare_against_fletched(measured("club-outdoor"), **given)  # type: ignore[arg-type]


def test_questions_outside_what_was_shot() -> None:
    with pytest.raises(SetupError, match=r"outside those shot, 4\.0 to 10\.0 mm"):
        found().height_at("12 mm", "18 m")
    with pytest.raises(SetupError, match="only to 18 m, 50 m"):
        found().move("8 mm", "30 m")


def test_points_of_a_band_leave_out_what_failed() -> None:
    sample = np.column_stack((np.arange(101.0), np.full(101, np.nan)))
    sample[50, 0] = np.nan
    points = points_of_band(sample)
    np.testing.assert_allclose(points[:, 0], np.quantile(np.delete(np.arange(101.0), 50), (0.05, 0.5, 0.95)))
    assert np.isnan(points[:, 1]).all()


def test_flights_share_the_sight_and_a_failed_reading_is_a_row() -> None:
    low, high, failed = flown().rows
    assert low.fletched is not None
    assert low.bare is not None
    assert low.bare.elevation == pytest.approx(low.fletched.elevation)
    assert abs(low.fletched.impact_height) < 1e-6
    assert low.apart > high.apart
    assert 0.0 < low.wanted < 0.01
    assert failed.launch is None
    assert failed.fletched is None
    assert np.isnan(failed.apart)
    assert "nock.locators.reading" in failed.reason


def test_flights_around_today() -> None:
    result = flights(built("club-outdoor", MESH), distance="12 m", mesh=MESH)
    assert [row.reading for row in result.rows] == pytest.approx([5.0, 8.0, 11.0], abs=1e-6)
    assert result.today == pytest.approx(8.0, abs=1e-6)
    assert not any(row.reason for row in result.rows)
