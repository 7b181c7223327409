"""Where a measure of the shot is zero: straight, bent, rising, missing and failing ones."""

from __future__ import annotations

import math

import pytest

from archerysim import status
from archerysim.equipment import SetupError
from archerysim.errors import ShotError
from archerysim.study.tuning.crossing import LOOKED_OVER, LOOKS, Crossing, crossing
from tests.support.shot.example_bows import measured

FIRST = (0.005, 0.009)


def find(measure: object, first: tuple[float, float] = FIRST) -> Crossing:
    return crossing(measure, measured("club-outdoor"), first, 1e-9, "does it", "deg")  # type: ignore[arg-type]


def test_a_straight_measure_takes_three_tries() -> None:
    found = find(lambda r: 100.0 * (0.0123 - r))
    assert found.reading == pytest.approx(0.0123, abs=1e-12)
    assert found.slope == pytest.approx(-100.0)
    assert found.tries == 3


def test_a_bent_measure_is_followed() -> None:
    found = find(lambda r: math.exp(-200.0 * r) - 0.5)
    assert found.reading == pytest.approx(math.log(2.0) / 200.0, abs=1e-9)


def test_the_falling_crossing_is_taken_though_a_rising_one_is_nearer() -> None:
    """Zero at 6 mm, rising, and at 16 mm, falling: higher locators are to bring the nose down."""
    found = find(lambda r: -1e4 * (r - 0.006) * (r - 0.016), (0.0055, 0.0065))
    assert found.reading == pytest.approx(0.016, abs=1e-6)
    assert found.slope < 0.0


def test_a_rising_crossing_is_told_where_there_is_no_other() -> None:
    assert find(lambda r: 100.0 * (r - 0.006)).reading == pytest.approx(0.006, abs=1e-9)


def test_a_kink_that_throws_the_secant_out_of_range_is_looked_over() -> None:
    """Flat where the tries begin, falling further up."""
    found = find(lambda r: 1.0 - 1e-9 * r if r < 0.012 else 1.0 - 500.0 * (r - 0.012))
    assert found.reading == pytest.approx(0.014, abs=1e-6)


def test_none_is_refused_with_the_nearest() -> None:
    words = r"no reading between 0 and 25 mm by the underside does it: the nearest is -0.2 deg, at 5 mm"
    with pytest.raises(SetupError, match=words):
        find(lambda r: -0.2 - abs(r - 0.005))


def test_a_jump_over_zero_is_no_zero() -> None:
    """As where the shaft just misses the rest's arm; the looks on both sides see nothing of it."""
    words = (
        r"no reading between 0 and 25 mm by the underside does it: at 7.3 mm it jumps from \+0.15 to -0.14 deg. "
        r"What the shaft touches on its way out changes there, as where it just misses the rest's arm"
    )
    with pytest.raises(SetupError, match=words):
        find(lambda r: 0.3 - 20.0 * r if r < 0.0073 else -0.1 - 5.0 * r)


def test_a_zero_is_found_beside_a_jump_over_zero() -> None:
    """The jump lies nearer to the first tries; behind it the measure rises once more."""
    found = find(lambda r: 0.3 - 20.0 * r if r < 0.0073 else -0.1 if r < 0.012 else 1.0 - 60.0 * r)
    assert found.reading == pytest.approx(1.0 / 60.0, abs=1e-6)


def test_a_steep_fall_is_no_jump() -> None:
    found = find(lambda r: 0.3 if r < 0.0073 else max(0.3 - 2000.0 * (r - 0.0073), -0.3))
    assert found.reading == pytest.approx(0.00745, abs=1e-6)


def test_what_cannot_be_shot_is_passed_over() -> None:
    """The first tries fail; the range is looked over where shots go."""

    def measure(reading: float) -> float:
        if reading < 0.010:
            raise ShotError("draw", status.OFF_REST)
        return 100.0 * (0.0183 - reading)

    assert find(measure).reading == pytest.approx(0.0183, abs=1e-6)


def test_where_nothing_can_be_shot_the_first_reason_is_told() -> None:
    tried = []

    def measure(reading: float) -> float:
        tried.append(reading)
        raise ShotError("draw", status.OFF_REST, f"at {reading:g}")

    with pytest.raises(ShotError, match=r"\(at 0.005\)"):
        find(measure)
    assert len(tried) == 1 + LOOKS
    assert (min(tried), max(tried)) == LOOKED_OVER
