"""The numbers of a square."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from archerysim.equipment import readings

lengths = st.floats(-0.03, 0.06)
heights = st.floats(0.005, 0.008)


def test_all_ways_to_tell_one_height() -> None:
    told = readings.readings(0.008, 0.0093, 0.0064)
    assert told.underside == 0.008
    assert told.top == pytest.approx(0.0144)
    assert told.throat_middle == pytest.approx(0.0112)
    assert told.axis_above_square == pytest.approx(0.008 - 0.00145)


@given(lengths, heights, st.floats(0.004, 0.0093))
def test_ways_agree(underside: float, height: float, diameter: float) -> None:
    told = readings.readings(underside, diameter, height)
    assert readings.underside(told.top, height) == pytest.approx(underside, abs=1e-15)
    by_top, by_underside = (readings.ReadBy(convention, height) for convention in ("top", "underside"))
    assert by_top.underside(told.top) == pytest.approx(underside, abs=1e-15)
    assert by_top.reading(underside) == told.top
    assert by_underside.underside(underside) == by_underside.reading(underside) == underside
    # The shaft's axis is in the nock's middle; square puts it half a diameter above the rest's top.
    assert told.axis_above_square == pytest.approx(told.throat_middle - diameter / 2, abs=1e-15)


@pytest.mark.parametrize(
    ("inches", "text"),
    [
        (5 / 16, "5/16 in"),
        (0.25, "1/4 in"),
        (0.5, "1/2 in"),
        (1.125, "1 1/8 in"),
        (2.0, "2 in"),
        (0.0, "0 in"),
        (-1 / 16, "-1/16 in"),
        (-0.001, "0 in"),
        (0.99, "1 in"),
        (0.3, "5/16 in"),
        (1 / 32, "1/16 in"),
    ],
)
def test_sixteenths(inches: float, text: str) -> None:
    assert readings.sixteenths(inches * 0.0254) == text


@given(lengths)
def test_sixteenths_are_the_nearest(length: float) -> None:
    words = readings.sixteenths(length).removesuffix(" in").lstrip("-").split()
    value = sum(int(a) / int(b or 1) for a, _, b in (word.partition("/") for word in words))
    assert abs(abs(length) - value * 0.0254) <= readings.SIXTEENTH / 2 + 1e-12


def test_both_units() -> None:
    assert readings.both_units(0.008) == "8.0 mm (5/16 in)"
    assert readings.both_units(-0.00001) == "0.0 mm (0 in)"
    assert readings.both_units(0.0005) == "0.5 mm (< 1/16 in)"  # something, and no sixteenth of an inch
    assert readings.both_units(-0.00079) == "-0.8 mm (< 1/16 in)"
    assert readings.both_units(0.0008) == "0.8 mm (1/16 in)"


def test_halves_of_a_tenth_are_told_alike_whatever_the_rounding() -> None:
    for noise in (-1e-14, 0.0, 1e-14):
        assert readings.both_units(8.15e-3 + noise).startswith("8.2 mm")
        assert readings.both_units(-8.15e-3 + noise).startswith("-8.2 mm")
    assert readings.both_units(-1e-6).startswith("0.0 mm")
