"""Numbers with units: reading what archers write, writing it back without loss.

The units in daily use stand in a small table with exact factors, so that ``"222 mm"`` and ``"0.222 m"`` give
the same float and nothing heavy is imported. Every other unit is left to pint, imported on first use.
"""

from __future__ import annotations

import math
import re
from contextlib import suppress
from dataclasses import dataclass
from decimal import Context, Decimal
from fractions import Fraction
from functools import lru_cache
from typing import Any

# Dimension: units, each with its size in the first, which is the SI unit. A pound, a # and a kilogram are a mass
# or a force according to the field that asks.
_TABLE = """
number: = 1, % = 0.01
factor: times = 1, % = 0.01
length: m = 1, mm = 0.001, cm = 0.01, um = 1e-6, in = 0.0254, inch = 0.0254, inches = 0.0254, " = 0.0254, \
    ft = 0.3048, yd = 0.9144
mass: kg = 1, g = 0.001, mg = 1e-6, gr = 64.79891e-6, grain = 64.79891e-6, grains = 64.79891e-6, \
    lb = 0.45359237, lbs = 0.45359237, oz = 0.028349523125
force: N = 1, kN = 1000, lbf = 4.4482216152605, lb = 4.4482216152605, lbs = 4.4482216152605, \
    # = 4.4482216152605, kgf = 9.80665, kg = 9.80665
time: s = 1, ms = 0.001, us = 1e-6
frequency: Hz = 1
speed: m/s = 1, fps = 0.3048, ft/s = 0.3048, km/h = 1000 / 3600
angle: rad = 1, mrad = 0.001, deg = pi / 180, degree = pi / 180, degrees = pi / 180, ° = pi / 180
turns: turn = 1, turns = 1
turning rate: rad/s = 1, deg/s = pi / 180
curvature: 1/m = 1
mass per length: kg/m = 1, g/m = 0.001, tex = 1e-6, gr/in = 64.79891e-6 / 0.0254
density: kg/m^3 = 1, g/cm^3 = 1000
temperature: degC = 1, °C = 1
pressure: Pa = 1, hPa = 100, kPa = 1000, mbar = 100, bar = 100000
modulus: Pa = 1, MPa = 1e6, GPa = 1e9
bending stiffness: N m^2 = 1
inertia: kg m^2 = 1
stiffness: N/m = 1, N/mm = 1000, lbf/in = 4.4482216152605 / 0.0254, lb/in = 4.4482216152605 / 0.0254
damping: N s/m = 1
loss: N s = 1
torque: N m = 1
rotational stiffness: N m/rad = 1, N m/deg = 180 / pi
rotational damping: N m s/rad = 1
mass per force: kg/N = 1, gr/lbf = 64.79891e-6 / 4.4482216152605, gr/lb = 64.79891e-6 / 4.4482216152605
"""


def _size(text: str) -> Fraction:
    """A size of the table: a number, or one divided by another; pi is the float nearest to it."""
    over, _, under = (Fraction(math.pi) if part == "pi" else part for part in text.partition(" / "))
    return Fraction(over) / Fraction(under or 1)


FACTORS: dict[str, dict[str, Fraction]] = {
    kind: {unit.strip(): _size(size) for unit, _, size in (one.partition("= ") for one in sizes.split(", "))}
    for kind, _, sizes in (line.partition(":") for line in _TABLE.strip().splitlines())
}
_SI = {kind: next(iter(sizes)) for kind, sizes in FACTORS.items()}
_KIND = {unit: kind for kind, sizes in reversed(FACTORS.items()) for unit in sizes}  # the first that has the unit

_LETTERS = str.maketrans({"\u00b5": "u", "\u03bc": "u", "\u00b2": "^2", "\u00b3": "^3", "\u00b7": " ", "*": " "})
# Kinds whose pint dimension is shared with plain numbers: only the table's own words are taken.
_TABLE_ONLY = {"number", "factor", "angle", "turns", "turning rate", "temperature"}

_DECIMAL = r"(?:\d{1,40}(?:\.\d{0,40})?|\.\d{1,40})(?:[eE][+-]?\d{1,3})?"
_NUMBER = re.compile(
    rf"\s*(?P<sign>[+-]?)\s*(?:(?:(?P<whole>\d{{1,9}})(?:\s+|-))?(?P<top>\d{{1,9}})/(?P<bottom>\d{{1,9}})(?![\d.])"
    rf"|(?P<decimal>{_DECIMAL})(?![\d.]))\s*(?P<unit>(?:1/)?[^\d\s+.,-].{{0,60}})?\s*\Z"
)

_SAME = 1e-6  # distances of a target closer than this are the same [m], [yd]

# What pint is asked about: names with small whole powers, multiplied and divided, in brackets at most once. Left to
# itself it computes powers of any size.
_POWER = r"[^\W\d]\w{0,30}(?:\^[+-]?[1-9])?"
_TERM = rf"(?:{_POWER}|\({_POWER}(?:[ /]{_POWER})*\))"
_UNIT = re.compile(rf"(?:1/)?{_TERM}(?:[ /]{_TERM})*\Z")


@dataclass(eq=False)
class UnitError(ValueError):
    """A text that is not a number with a fitting unit; `remedy` says what would be."""

    problem: str
    remedy: str


def is_unit(text: str) -> bool:
    """Whether a text is one of the units that are known here."""
    return text in _KIND


def kind_of(unit: str) -> str:
    """Kind of quantity ("length", "force", ...) that a unit of the table measures."""
    return _KIND[unit]


def si_unit(unit: str) -> str:
    """SI unit for the same kind of quantity as `unit`."""
    return _SI[_KIND[unit]]


def split(text: str) -> tuple[Fraction, str]:
    """Split ``"8 3/4 in"`` into the exact number and the unit's text ("" if there is none); may raise UnitError."""
    match = _NUMBER.match(text.replace("\u2212", "-"))
    if match is None:
        comma = re.match(r"\s*[+-]?\d+,\d", text)
        remedy = "Write decimals with a point, not a comma" if comma else 'Write for example "5.8 mm" or "8 3/4 in"'
        raise UnitError(f'"{text}" is not a number with a unit', remedy)
    if match["decimal"] is not None:
        number = Fraction(match["decimal"])
    elif int(match["bottom"]) == 0:
        raise UnitError(f'"{text}" divides by zero', "Check the fraction")
    else:
        number = int(match["whole"] or 0) + Fraction(int(match["top"]), int(match["bottom"]))
    return (-number if match["sign"] == "-" else number), _tidy(match["unit"] or "")


def to_si(text: str, unit: str) -> float:
    """The float nearest to the exact value in SI of a text such as ``"34 lb"``; `unit` is any of the kind wanted."""
    number, written = split(text)
    if written == "" and _KIND[unit] != "number":
        raise UnitError(f"{text.strip()} has no unit", f'Write it with one, for example "{text.strip()} {unit}"')
    try:
        return float(number * factor(written, unit))
    except OverflowError:
        raise UnitError(f'"{text}" is too large a number', "Check the number") from None


@lru_cache(maxsize=256)
def factor(written: str, unit: str) -> Fraction:
    """Size in SI of the unit `written`, which must be of the same kind as `unit`; may raise UnitError."""
    size, si = FACTORS[_KIND[unit]].get(written), si_unit(unit)
    if size is None and _KIND[unit] not in _TABLE_ONLY and _UNIT.match(written):
        with suppress(Exception):  # pint's parser raises errors of many kinds for text that is not a unit
            size = Fraction(_registry().Quantity(1.0, _registry().Unit(written)).to(si).magnitude)
    if size is None or size <= 0:
        raise UnitError(f'the unit "{written}" does not fit', remedy_for(si))
    return size


def remedy_for(unit: str) -> str:
    """What to write where a unit does not fit: those of the kind that is wanted."""
    kind = _KIND[unit]
    if kind == "number":
        return "Give a plain number"
    by_size = {size: name for name, size in reversed(FACTORS[kind].items())}  # first name of each size
    return f"Use a unit of {kind}: " + ", ".join(f'"{name}"' for name in reversed(by_size.values()))


def from_si(value: float, unit: str) -> float:
    """Value in `unit` of a value in SI."""
    return float(Fraction(value) / FACTORS[_KIND[unit]][unit])


def show(value: float, unit: str, digits: int = 4) -> str:
    """A value in SI as a short text in `unit`, for messages and labels."""
    return f"{from_si(value, unit):.{digits}g} {unit}".rstrip()


def target_distance(value: float, given: Any = None) -> str:
    """A distance of the target [m] as archers say it: in the words in which it was given, "20 yd".

    Where these are gone, in yards if only so it is a whole number, else in metres.

    Parameters
    ----------
    value : float
        [m]
    given : str, optional
        What was read as this value.
    """
    if isinstance(given, str):
        return " ".join(given.split())
    yards = value / float(FACTORS["length"]["yd"])
    round_in_metres = abs(value - round(value, 1)) < _SAME
    if not round_in_metres and abs(yards - round(yards)) < _SAME:
        return f"{round(yards)} yd"
    return f"{value:g} m"


def write(value: float, unit: str) -> str:
    """Shortest text that `to_si` reads back as exactly `value` [SI]: in `unit`, else in the SI unit."""
    size = FACTORS[_KIND[unit]][unit]
    exact = Fraction(value) / size
    long = Context(prec=40).divide(Decimal(exact.numerator), Decimal(exact.denominator))
    for digits in range(1, 18):
        short = Decimal(f"{long:.{digits}g}")
        with suppress(OverflowError):  # rounded up beyond the largest float
            if float(Fraction(short) * size) == value:
                shown = format(short.normalize(), "f") if -7 < short.adjusted() < 9 else str(short).lower()
                return f"{shown} {unit}".rstrip()
    return f"{value!r} {si_unit(unit)}"


def _tidy(unit: str) -> str:
    unit = unit.replace("**", "^").translate(_LETTERS)
    unit = re.sub(r"(?<=[a-zA-Z])([23])", r"^\1", unit)
    return re.sub(r"\s*([/^])\s*", r"\1", " ".join(unit.split()))


@lru_cache(maxsize=1)
def _registry() -> Any:
    import pint

    return pint.UnitRegistry()
