"""The search for a value that meets an aim: where looks are too coarse, where shots fail, where there is no answer."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from archerysim.errors import ShotError
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.launch import Launch
from archerysim.status import NO_CONVERGENCE
from archerysim.study.tuning.aims import Aim
from archerysim.study.tuning.search import LOOKS, Best, NoShot, Response, best, slope_at, stays_within
from tests.support.shot.example_bows import READING, measured

MESH = "coarse"
LOW, HIGH = 0.0, 0.025


def searched(
    of: Callable[[float], float], least: bool = False, prefer: Callable[[list[float]], float] = max
) -> tuple[Best, Response, Aim]:
    """The search by a measure that is a plain function of the reading [mm], on real shots."""

    def measure(launch: Launch, _: float) -> float:
        return of(launch.reading)

    aim = Aim("made up", "", "mm", measure, least)
    response = Response(FittedBow.of(measured("club-outdoor"), MESH), READING, 18.0, ())
    return best(response, aim, LOW, HIGH, prefer), response, aim


def failing(low: float, high: float, of: Callable[[float], float]) -> Callable[[float], float]:
    """A measure without a shot between two readings [mm]."""

    def measure(reading: float) -> float:
        if low <= reading <= high:
            raise ShotError("release", NO_CONVERGENCE, f"{reading:.1f} mm")
        return of(reading)

    return measure


def test_a_straight_measure_takes_few_shots() -> None:
    found, response, _ = searched(lambda h: 7.0 - h)
    assert found == Best(pytest.approx(0.007, abs=1e-6), True)
    assert len(response.shot_at) <= LOOKS + 3


def test_two_crossings_between_looks_are_found() -> None:
    """No look of the first five, nor of the next, sees the other sign."""
    found, _, _ = searched(lambda h: (h - 8.6) ** 2 - 0.04)
    assert found.met
    assert found.value == pytest.approx(8.8e-3, abs=1e-6)
    assert found.also == (pytest.approx(8.4e-3, abs=1e-6),)
    nearest, _, _ = searched(lambda h: (h - 8.6) ** 2 - 0.04, prefer=min)
    assert nearest.value == pytest.approx(8.4e-3, abs=1e-6)


def test_a_failing_end_is_left_out() -> None:
    found, response, aim = searched(failing(-1.0, 4.0, lambda h: 7.0 - h))
    assert found == Best(pytest.approx(0.007, abs=1e-6), True)
    assert [1e3 * value for _, value in response.failed] == pytest.approx([0.0])
    assert np.isnan(response.looked(aim, "mm")[0, 1])


def test_an_answer_beside_what_fails_is_found() -> None:
    """The only change of sign lies between a look that fails and the next."""
    found, _, _ = searched(failing(-1.0, 6.5, lambda h: 6.9 - h))
    assert found.met
    assert found.value == pytest.approx(6.9e-3, abs=1e-6)


def test_a_gap_in_the_middle_is_stepped_over() -> None:
    found, _, _ = searched(failing(6.0, 6.6, lambda h: 5.0 - h))
    assert found.value == pytest.approx(5.0e-3, abs=1e-6)
    lost, response, _ = searched(failing(6.0, 6.6, lambda h: 6.3 - h))
    assert not lost.met  # what would meet it cannot be shot
    assert 5.5 < 1e3 * lost.value < 7.0
    assert response.failed


def test_a_jump_over_zero_is_no_answer_and_told() -> None:
    for before, after in ((5.0, -4.0), (-5.0, 4.0)):
        found, _, _ = searched(lambda h, ends=(before, after): ends[h >= 9.3])
        assert not found.met
        (jump,) = found.jumps
        assert 1e3 * jump.value == pytest.approx(9.3, abs=1e-3)
        assert (jump.below, jump.above) == (before, after)


def test_an_answer_beside_a_jump_is_found_and_the_jump_told() -> None:
    found, _, _ = searched(lambda h: 17.0 - h if h > 9.3 else -5.0)
    assert found.met
    assert found.value == pytest.approx(17e-3, abs=1e-6)
    (jump,) = found.jumps
    assert (jump.below, jump.above) == (-5.0, pytest.approx(7.7, abs=1e-2))


@pytest.mark.parametrize(
    ("of", "way", "at"),
    [
        (lambda h: 40.0 - h, "higher", 25.0),
        (lambda h: -10.0 - h, "lower", 0.0),
        (lambda h: 10.0 + h, "lower", 0.0),
        (lambda h: (h - 12.0) ** 2 + 1.0, "", 12.0),  # comes near zero within, and grows both ways
        (lambda h: 3.0, "", 0.0),
    ],
)
def test_where_there_is_none_it_says_on_which_side(of: Callable[[float], float], way: str, at: float) -> None:
    found, _, _ = searched(of)
    assert not found.met
    assert found.way == way
    assert 1e3 * found.value == pytest.approx(at, abs=0.02)


def test_the_side_is_that_of_the_least_for_a_least_measure() -> None:
    assert searched(lambda h: abs(h - 7.0) + 1.0, least=True)[0].value == pytest.approx(7e-3, abs=1e-4)
    found, _, _ = searched(lambda h: abs(h - 30.0) + 1.0, least=True)
    assert (found.met, found.way, found.value) == (False, "higher", HIGH)
    found, _, _ = searched(failing(-1.0, 3.0, lambda h: h + 1.0), least=True)
    assert (found.met, found.way) == (False, "lower")
    assert 1e3 * found.value == pytest.approx(3.0, abs=0.03)


def test_where_nothing_can_be_shot_the_first_reason_is_told() -> None:
    with pytest.raises(NoShot, match=r"0\.0 mm"):
        searched(failing(-1.0, 30.0, lambda h: h))


def test_windows_and_slopes_beside_what_fails() -> None:
    found, response, aim = searched(failing(-1.0, 6.8, lambda h: 7.0 - h))
    low, high = stays_within(response, aim, found.value, 1.5e0, HIGH - LOW)
    assert np.isnan(low)  # does not leave it as far as there are shots
    assert 1e3 * high == pytest.approx(8.5, abs=0.01)
    assert 1e-3 * slope_at(response, aim, found.value, LOW, HIGH) == pytest.approx(-1.0, abs=1e-6)
