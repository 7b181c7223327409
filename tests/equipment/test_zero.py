"""A zero between two ends, beside SciPy's."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from archerysim.fields.zero import zero_between

FUNCTIONS: tuple[tuple[Callable[[float], float], float, float], ...] = (
    (lambda x: x**3 - 2.0 * x - 5.0, 2.0, 3.0),
    (lambda x: math.cos(x) - x, 0.0, 1.0),
    (lambda x: math.tanh(50.0 * (x - 0.3)), 0.0, 1.0),
    (lambda x: math.exp(-x) - 1e-9, 0.0, 60.0),
    (lambda x: 1.0 if x > 0.7 else -1.0, 0.0, 1.0),  # a jump
)


@pytest.mark.parametrize(("function", "low", "high"), FUNCTIONS)
@pytest.mark.parametrize("close", [1e-3, 1e-12])
@pytest.mark.parametrize("turned", [False, True])
def test_the_zero_is_where_it_is_and_found_about_as_soon(
    function: Callable[[float], float], low: float, high: float, close: float, turned: bool
) -> None:
    asked: list[float] = []

    def counted(x: float) -> float:
        asked.append(x)
        return function(x)

    ends = (high, low) if turned else (low, high)
    found = zero_between(counted, *ends, close)
    theirs, how = brentq(function, *ends, xtol=1e-14, full_output=True)
    assert found == pytest.approx(theirs, abs=1.01 * close)
    assert low <= min(asked) <= max(asked) <= high
    assert len(asked) <= how.function_calls + 8 or len(asked) <= math.log2((high - low) / close) + 4


def test_a_threefold_zero_on_which_scipy_gives_up() -> None:
    assert zero_between(lambda x: (x - 1.0) ** 3, 0.0, 3.0, 1e-12) == pytest.approx(1.0, abs=1e-5)


def test_a_zero_at_an_end_is_the_answer() -> None:
    assert zero_between(lambda x: x, 0.0, 1.0) == 0.0
    assert zero_between(lambda x: x - 1.0, 0.0, 1.0) == 1.0


def test_without_a_change_of_sign_there_is_none() -> None:
    with pytest.raises(ValueError, match=r"one sign at both ends, 1 and 2"):
        zero_between(lambda x: 1.0 + x, 0.0, 1.0)


@given(st.floats(-1e3, 1e3), st.floats(1e-3, 1e3), st.floats(1e-3, 1e3), st.floats(0.2, 5.0))
def test_any_monotone_curve(zero: float, below: float, above: float, power: float) -> None:
    def curve(x: float) -> float:
        return math.copysign(abs(x - zero) ** power, x - zero)

    found = zero_between(curve, zero - below, zero + above, 1e-9)
    assert abs(found - zero) <= 1e-9 + 1e-12 * abs(zero) or curve(found) == 0.0
