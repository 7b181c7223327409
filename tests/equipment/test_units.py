"""Numbers with units: against pint, exact, and without loss on the way back."""

from __future__ import annotations

import math
import subprocess
import sys
from fractions import Fraction

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from archerysim.fields import units

REGISTRY = pint.UnitRegistry()
WORDS = {
    "gr/lb": "gr/lbf",
    "lb/in": "lbf/in",
    "#": "lbf",
    '"': "in",
    "%": "percent",
    "": "dimensionless",
    "times": "dimensionless",
}
AS_FORCE = {"lb": "lbf", "lbs": "lbf", "kg": "kgf"}
ALL = [(kind, unit) for kind, sizes in units.FACTORS.items() for unit in sizes]


def in_pint(kind: str, unit: str) -> str:
    if kind == "force":
        unit = AS_FORCE.get(unit, unit)
    return WORDS.get(unit, unit)


@pytest.mark.parametrize(("kind", "unit"), ALL)
def test_every_unit_of_the_table_agrees_with_pint(kind: str, unit: str) -> None:
    si = next(iter(units.FACTORS[kind]))
    expected = REGISTRY.Quantity(1.0, in_pint(kind, unit)).to(in_pint(kind, si)).magnitude
    assert float(units.FACTORS[kind][unit]) == pytest.approx(expected, rel=1e-12)


@given(st.sampled_from(ALL), st.floats(-1e6, 1e6).filter(lambda x: x == 0 or abs(x) > 1e-9))
def test_texts_agree_with_pint(where: tuple[str, str], number: float) -> None:
    kind, unit = where
    si = next(iter(units.FACTORS[kind]))
    expected = REGISTRY.Quantity(number, in_pint(kind, unit)).to(in_pint(kind, si)).magnitude
    assert units.to_si(f"{number!r} {unit}", si) == pytest.approx(expected, rel=1e-12, abs=1e-300)


@pytest.mark.parametrize(
    ("text", "unit", "expected"),
    [
        ("5/8 in", "mm", 0.015875),
        ("8 3/4 in", "mm", 0.22225),
        ("8-3/4 in", "mm", 0.22225),
        ('8 3/4"', "mm", 0.22225),
        ("-1/16 in", "mm", -0.0015875),
        ("\u22123 mm", "m", -0.003),
        ("5.8mm", "mm", 0.0058),
        (".5 mm", "mm", 0.0005),
        ("2e3 N/m", "N/m", 2000.0),
        ("34 lb", "lbf", 34 * 4.4482216152605),
        ("34 #", "lbf", 34 * 4.4482216152605),
        ("34#", "lbf", 34 * 4.4482216152605),
        ("15 kg", "lbf", 15 * 9.80665),
        ("1 lb", "g", 0.45359237),
        ("100 gr", "g", 0.006479891),
        ("9.8 gr/in", "gr/in", 9.8 * 64.79891e-6 / 0.0254),
        ("190 fps", "m/s", 57.912),
        ("20 yd", "m", 18.288),
        ("1 oz", "g", 0.028349523125),
        ("1/2 turn", "turn", 0.5),
        ("1 1/2 turns", "turn", 1.5),
        ("23 N m2", "N m^2", 23.0),
        ("23 N\u00b7m\u00b2", "N m^2", 23.0),
        ("23 N*m**2", "N m^2", 23.0),
        ("2 \u00b5s", "us", 2e-6),
        ("2 \u03bcs", "us", 2e-6),
        ("0.5 1/m", "1/m", 0.5),
        ("40 %", "", 0.4),
        ("180 deg", "rad", math.pi),
    ],
)
def test_ways_archers_write(text: str, unit: str, expected: float) -> None:
    assert units.to_si(text, unit) == pytest.approx(expected, rel=1e-15)


def test_same_length_in_two_units_is_the_same_float() -> None:
    assert units.to_si("222 mm", "m") == units.to_si("0.222 m", "m") == 0.222
    assert units.to_si("8 3/4 in", "m") == units.to_si("222.25 mm", "m")


@pytest.mark.parametrize(
    ("text", "unit", "expected"),
    [
        ("1 furlong", "m", 201.168),
        ("3 MN/m^2", "Pa", 3e6),
        ("2 kgf/mm", "N/m", 19613.3),
        ("1 stone", "g", 6.35029318),
    ],
)
def test_units_beyond_the_table_go_to_pint(text: str, unit: str, expected: float) -> None:
    assert units.to_si(text, unit) == pytest.approx(expected, rel=1e-5)


@pytest.mark.parametrize(
    ("text", "unit", "problem"),
    [
        ("220", "mm", "220 has no unit"),
        ("220 kg", "mm", 'the unit "kg" does not fit'),
        ("220 mmm", "mm", 'the unit "mmm" does not fit'),
        ("220 m^m^m(", "mm", "does not fit"),
        ("1 m^1000000", "mm", 'the unit "m^1000000" does not fit'),
        ("1 m^999999999/m^999999998", "mm", "does not fit"),
        ("1 m^2^2^2^2^2", "mm", "does not fit"),
        ("1 m^-99999999", "mm", "does not fit"),
        ("1 m**0.5", "mm", "does not fit"),
        ("1 ((((((((((m))))))))))", "mm", "does not fit"),
        ("5 %", "deg", 'the unit "%" does not fit'),
        ("5 mm", "", 'the unit "mm" does not fit'),
        ("34 g", "lbf", 'the unit "g" does not fit'),
        ("220,5 mm", "mm", "is not a number with a unit"),
        ("about 5 mm", "mm", "is not a number with a unit"),
        ("", "mm", "is not a number with a unit"),
        ("1/0 in", "mm", "divides by zero"),
        ("1e999 mm", "mm", "too large"),
        ("1e9999999999 mm", "mm", "does not fit"),
        ("1 2 mm", "mm", "is not a number with a unit"),
        ("1.2.3 mm", "mm", "is not a number with a unit"),
    ],
)
def test_what_cannot_be_read(text: str, unit: str, problem: str) -> None:
    with pytest.raises(units.UnitError) as caught:
        units.to_si(text, unit)
    assert problem in caught.value.problem
    assert caught.value.remedy


def test_remedy_for_a_missing_unit_shows_how() -> None:
    with pytest.raises(units.UnitError) as caught:
        units.to_si("68", "in")
    assert caught.value.remedy == 'Write it with one, for example "68 in"'


@given(st.text(max_size=30))
def test_any_text_gives_a_number_or_a_unit_error(text: str) -> None:
    try:
        value = units.to_si(text, "mm")
    except units.UnitError:
        return
    assert math.isfinite(value)


@given(st.sampled_from(ALL), st.floats(allow_nan=False, allow_infinity=False))
def test_writing_loses_nothing(where: tuple[str, str], value: float) -> None:
    kind, unit = where
    canonical = next(one for one in units.FACTORS[kind] if units.kind_of(one) == kind)
    unit = unit if units.kind_of(unit) == kind else canonical
    assert units.to_si(units.write(value, unit), unit) == value


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (0.222, "mm", "222 mm"),
        (0.0058, "mm", "5.8 mm"),
        (0.7112, "in", "28 in"),
        (3e6, "N", "3000000 N"),
        (0.0, "mm", "0 mm"),
        (-0.02, "mm", "-20 mm"),
        (1e-3, "N s", "0.001 N s"),
        (units.to_si("9.8 gr/in", "gr/in"), "gr/in", "9.8 gr/in"),
        (units.to_si("34 lb", "lbf"), "lbf", "34 lbf"),
        (units.to_si("12 deg", "deg"), "deg", "12 deg"),
    ],
)
def test_writing_is_short(value: float, unit: str, text: str) -> None:
    assert units.write(value, unit) == text


def test_factors_of_the_inch_grain_and_pound_are_exact() -> None:
    assert units.FACTORS["length"]["in"] == Fraction(254, 10000)
    assert units.FACTORS["mass"]["gr"] == Fraction(6479891, 10**11)
    # The pound is 7000 grains, and its force that mass at 9.80665 m/s2.
    assert units.FACTORS["mass"]["lb"] == 7000 * units.FACTORS["mass"]["gr"]
    assert units.FACTORS["force"]["lbf"] == units.FACTORS["mass"]["lb"] * Fraction("9.80665")


def test_show_is_short_and_in_the_unit() -> None:
    assert units.show(0.2222, "mm") == "222.2 mm"
    assert units.show(0.5, "") == "0.5"
    assert units.from_si(0.0254, "in") == 1.0


HANGS = ("3 mm^(9^9^9)", "1 m^9^9^9^9", "3 (mm^9)^(9^9)", "1 mm**(9**9**9)")


def test_powers_of_powers_are_refused_unread() -> None:
    """In a process of its own: left to compute them, it would never end."""
    code = f"""
from archerysim.fields import units
for text in {HANGS!r}:
    try:
        units.to_si(text, "mm")
    except units.UnitError as error:
        print(error.problem)
"""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False, timeout=300)
    assert done.stdout.count("does not fit") == len(HANGS), done.stderr


@pytest.mark.parametrize(
    ("text", "unit", "expected"),
    [
        ("2 kg/(m s^2)", "Pa", 2.0),
        ("2 N/mm^2", "Pa", 2e6),
        ("3 mm^-1", "1/m", 3e3),
        ("1 light_year/year", "m/s", 299792458.0),
    ],
)
def test_units_put_together(text: str, unit: str, expected: float) -> None:
    assert units.to_si(text, unit) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize(
    ("value", "given", "text"),
    [
        (18.288, "20 yd", "20 yd"), (18.288, "60  ft", "60 ft"), (18.288, None, "20 yd"), (18.0, None, "18 m"),
        (18.3, None, "18.3 m"), (91.44, None, "100 yd"), (30.0, (30, "m"), "30 m"), (18.29, None, "18.29 m"),
    ],
)  # fmt: skip
def test_a_target_s_distance_is_told_as_it_was_given(value: float, given: object, text: str) -> None:
    assert units.target_distance(value, given) == text
