"""The numbers a square shows: underside, top, throat's middle, axis above square; and how they are told and written.

All lengths in metres; heights along the string, positive = above square.

One rule: a number that is given or shown as a *reading* is told by the setup's convention
(``nock.locators.convention``, else by the underside), unless the convention is named beside it. `ReadBy` turns it into
the one by the underside, and back; everything else computes by the underside.
"""

from __future__ import annotations

import math
from fractions import Fraction
from typing import TYPE_CHECKING, Any, NamedTuple

from archerysim.equipment.nock import Nock
from archerysim.fields.given import InSi
from archerysim.fields.record import fields_of

if TYPE_CHECKING:
    from archerysim.equipment.filled_setup import FilledSetup
    from archerysim.equipment.setup import Setup

SIXTEENTH = 0.0254 / 16
READING, CONVENTION = "nock.locators.reading", "nock.locators.convention"


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


class ReadBy(NamedTuple):
    """How readings are told: up to the underside of the nock, or to its top.

    Attributes
    ----------
    convention : {"underside", "top"}
    nock_height : float
        [m]
    """

    convention: str
    nock_height: float

    def underside(self, reading: Any) -> Any:
        """The reading by the underside [m], from one as it is told here [m]; numbers or arrays."""
        return underside(reading, self.nock_height) if self.convention == "top" else reading

    def reading(self, underside: Any) -> Any:
        """A reading as it is told here [m], from the one by the underside [m]; numbers or arrays."""
        return top(underside, self.nock_height) if self.convention == "top" else underside

    @property
    def words(self) -> str:
        """ "by the underside" or "by the top"."""
        return f"by the {self.convention}"


BY_UNDERSIDE = ReadBy("underside", 0.0)


def read_by(setup: Setup | FilledSetup, convention: str | None = None) -> ReadBy:
    """How a setup tells its readings: as its file says, else by the underside.

    Parameters
    ----------
    setup : Setup or FilledSetup
    convention : {"underside", "top"}, optional
        In place of the setup's.
    """
    height = fields_of(Nock)["height"].default if setup.nock.height is None else setup.nock.height
    return ReadBy(convention or setup.nock.locators.convention or "underside", height)


def by_underside(setup: Setup | FilledSetup, underside: float) -> InSi:
    """The changes that set a setup's locators to a reading by the underside [m], told by its own convention."""
    by = read_by(setup)
    return InSi({READING: by.reading(underside), CONVENTION: by.convention})


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
    """A length in mm and to the nearest sixteenth of an inch: ``"8.0 mm (5/16 in)"``.

    One that is there and comes to no sixteenth is told as such: ``"0.5 mm (< 1/16 in)"``.
    """
    tenths = math.floor(abs(length) * 1e4 + 0.5 + 1e-6)  # halves away from zero, rounding noise or not
    inches = "< 1/16 in" if tenths and abs(length) < 0.5 * SIXTEENTH else sixteenths(length)
    return f"{'-' if length < 0 and tenths else ''}{tenths / 10:.1f} mm ({inches})"
