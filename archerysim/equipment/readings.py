"""The numbers a square shows: underside, top, throat's middle, axis above square; and how they are written.

All lengths in metres; heights along the string, positive = above square.
"""

from __future__ import annotations

import math
from fractions import Fraction
from typing import NamedTuple

SIXTEENTH = 0.0254 / 16


class Readings(NamedTuple):
    """One locator height in all the ways it is told [m]."""

    underside: float
    top: float
    throat_middle: float
    axis_above_square: float


def top(underside: float, nock_height: float) -> float:
    """Reading to the top of the nock, from that to its underside."""
    return underside + nock_height


def underside(top: float, nock_height: float) -> float:
    """Reading to the underside of the nock, from that to its top."""
    return top - nock_height


def throat_middle(underside: float, nock_height: float) -> float:
    """Height of the throat's middle above the foot of the square."""
    return underside + nock_height / 2


def axis_above_square(underside: float, shaft_diameter: float, nock_height: float) -> float:
    """Height of the nock's axis above square: the only number that compares across shafts.

    underside - (shaft diameter - nock height) / 2.
    """
    return underside - (shaft_diameter - nock_height) / 2


def underside_of(reading: float, convention: str, nock_height: float) -> float:
    """Reading to the underside, from a reading by either convention ("underside" or "top")."""
    return underside(reading, nock_height) if convention == "top" else reading


def readings(underside: float, shaft_diameter: float, nock_height: float) -> Readings:
    """All ways to tell one locator height."""
    return Readings(
        underside,
        top(underside, nock_height),
        throat_middle(underside, nock_height),
        axis_above_square(underside, shaft_diameter, nock_height),
    )


def sixteenths(length: float) -> str:
    """A length to the nearest sixteenth of an inch, in lowest terms: ``"5/16 in"``, ``"1 1/8 in"``."""
    count = math.floor(abs(length) / SIXTEENTH + 0.5)
    whole, part = divmod(count, 16)
    fraction = str(Fraction(part, 16)) if part else ""
    number = " ".join(piece for piece in (str(whole) if whole or not part else "", fraction) if piece)
    return f"{'-' if length < 0 and count else ''}{number} in"


def both_units(length: float) -> str:
    """A length in mm and to the nearest sixteenth of an inch: ``"8.0 mm (5/16 in)"``."""
    tenths = math.floor(abs(length) * 1e4 + 0.5 + 1e-6)  # halves away from nil, rounding noise or not
    return f"{'-' if length < 0 and tenths else ''}{tenths / 10:.1f} mm ({sixteenths(length)})"
