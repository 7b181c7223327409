"""What a page for a class is made of: sliders within limits, a curve through shots, and how well it is checked."""

from __future__ import annotations

import math

import numpy as np
import pytest

from archerysim.equipment import SetupError, with_si
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.flight.bare_shaft import gap_at, leaving_at_sight
from archerysim.study.lesson.lesson import Lesson, lesson
from archerysim.study.lesson.response import left_out, response
from archerysim.study.lesson.rounds import ROUNDS
from archerysim.study.lesson.shots import spread
from archerysim.study.lesson.sliders import Slider, sliders_of, with_split
from tests.support.shot.example_bows import fitted, measured


@pytest.fixture(scope="module")
def made() -> Lesson:
    return lesson(measured("club-outdoor"), mesh="coarse", shots=100, workers=1)


def test_a_response_meets_what_it_was_shown_and_a_smooth_law_between() -> None:
    draws = np.random.default_rng(3)
    places, others = draws.uniform(-1.0, 1.0, (240, 3)), draws.uniform(-1.0, 1.0, (60, 3))

    def law(x: np.ndarray) -> np.ndarray:
        return np.column_stack((np.sin(2.0 * x[:, 0]) * (1.0 + x[:, 1]), 5.0 + x[:, 2] ** 2 - x[:, 0] * x[:, 1]))

    found = response(places, law(places))
    size = np.ptp(law(places), axis=0)
    assert np.all(np.abs(found.at(places) - law(places)).max(axis=0) < 1e-3 * size)
    assert np.all(np.abs(found.at(others) - law(others)).max(axis=0) < 0.01 * size)


def test_a_place_left_out_is_told_as_by_a_response_without_it() -> None:
    places = np.random.default_rng(6).uniform(-1.0, 1.0, (60, 2))
    seen = np.column_stack((np.abs(places[:, 0] - 0.3), np.sin(3.0 * places[:, 1])))
    found = response(places, seen)
    told = left_out(seen, found)
    for k in (0, 17, 59):
        without = np.delete(np.arange(60), k)
        assert response(places[without], seen[without], found).at(places[[k]])[0] == pytest.approx(told[k], abs=1e-6)


def test_more_is_shot_where_a_curve_misses_and_only_there() -> None:
    """A longbow's shaft comes down on the shelf again with low locators: its shots have a kink there."""
    bow = lesson(measured("longbow"), mesh="coarse", shots=60, workers=1)
    assert bow.shots == 60 * ROUNDS
    low, further = (bow.up.places[some, 0] for some in (slice(60), slice(60, None)))
    assert np.mean(further < 0.3) > np.mean(low < 0.3) + 0.1


def test_a_quantity_that_never_changes_stays_as_it_is() -> None:
    places = np.random.default_rng(4).uniform(-1.0, 1.0, (40, 2))
    seen = np.column_stack((np.full(40, 3.0), places[:, 0]))
    assert response(places, seen).at(np.array([[0.1, 0.9]]))[0] == pytest.approx([3.0, 0.1], abs=1e-6)


def test_sliders_of_a_recurve() -> None:
    names = [one.name for one in sliders_of(fitted("club-outdoor", "coarse"), 4.3e-3)]
    assert names == ["reading", "split", "slope", "spine", "rest", "preload"]


def test_a_one_piece_bow_has_no_tiller_to_set_and_a_plate_no_preload() -> None:
    names = [one.name for one in sliders_of(fitted("longbow", "coarse"), None)]
    assert names == ["reading", "slope", "spine", "rest"]


def test_sliders_stay_in_what_a_setup_may_have() -> None:
    bow = fitted("club-outdoor", "coarse").with_changes({"nock.slope": "28 deg"})
    slope = next(one for one in sliders_of(bow, None) if one.name == "slope")
    assert math.degrees(slope.high) == pytest.approx(30.0)
    assert math.degrees(slope.low) == pytest.approx(24.0)


@pytest.mark.parametrize("slider", [Slider("split", 2e-3, 8e-3, 5e-3), Slider("rest", 400.0, 1600.0, 800.0, True)])
def test_a_slider_reads_back_its_value(slider: Slider) -> None:
    assert slider.part(slider.low) == pytest.approx(-1.0)
    assert slider.part(slider.high) == pytest.approx(1.0)
    assert slider.value(slider.part(slider.today)) == pytest.approx(slider.today)


def test_another_split_keeps_weight_and_brace_height() -> None:
    bow = fitted("club-outdoor", "coarse")
    moved = with_split(bow, 7e-3)
    assert moved.given.bow.upper_tiller == pytest.approx(0.196)
    assert moved.given.bow.lower_tiller == pytest.approx(0.189)
    assert moved.brace_height == pytest.approx(bow.brace_height, abs=1e-5)
    assert moved.statics.drawn.weight == pytest.approx(bow.statics.drawn.weight, rel=1e-3)
    assert with_split(bow, 5e-3) is bow


def test_places_are_spread_and_the_split_has_few_levels() -> None:
    sliders = sliders_of(fitted("club-outdoor", "coarse"), None)
    places = spread(sliders, 100, 1)
    assert sorted(set(places[:, 1])) == [-1.0, -0.5, 0.0, 0.5, 1.0]
    for k in (0, 2, 3, 4, 5):
        assert np.histogram(places[:, k], 10, (-1.0, 1.0))[0].tolist() == [10] * 10


def test_a_lesson_tells_today_s_bow(made: Lesson) -> None:
    launch = FittedBow.of(measured("club-outdoor"), "coarse").launch()
    gap = gap_at(launch, 18.0, leaving_at_sight(launch, 18.0))
    ranges = {one.name: one.range for one in made.missed}
    told = made.gap({})
    assert abs(told.height - gap.height) < 0.03 * ranges["height"]
    assert abs(told.side - gap.side) < 0.03 * ranges["side"]


def test_the_stated_error_is_that_of_shots_it_has_not_seen(made: Lesson) -> None:
    """Other fresh shots than those that the error was stated from, up and down, of today's tillers."""
    bow, draws, missed = FittedBow.of(measured("club-outdoor"), "coarse"), np.random.default_rng(11), []
    stated = next(one for one in made.missed if one.name == "attack")
    for _ in range(30):
        place = draws.uniform(-1.0, 1.0, len(made.sliders))
        values = {one.name: one.value(part) for one, part in zip(made.sliders, place, strict=True)}
        values["split"] = 5e-3
        launch = bow.launch(
            with_si(
                {"nock.locators.reading": values["reading"], "nock.slope": values["slope"],
                 "arrow.spine": values["spine"], "rest.stiffness": values["rest"], "side.preload": values["preload"]}
            )
        )  # fmt: skip
        state = made.states(made.place(values))[0]
        told = math.degrees(state[4] - math.atan2(state[3], state[2]))
        missed.append(abs(told - launch.clear.angle_of_attack) / stated.range)
    assert np.quantile(missed, 0.8) < 1.5 * stated.usual
    assert max(missed) < 3.0 * stated.worst


def test_the_locked_sight_brings_the_arrow_without_swing_to_the_centre(made: Lesson) -> None:
    height, side = made.lands({"reading": 1e-3 * made.still})
    assert abs(height) < 5e-3
    assert abs(side) < 5e-3


def test_too_few_shots_for_a_curve_are_refused() -> None:
    for shots in (24, 39, 640.0):
        with pytest.raises(SetupError, match="40"):
            lesson(measured("club-outdoor"), mesh="coarse", shots=shots)  # type: ignore[arg-type]
