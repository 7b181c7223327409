"""The reading at which a measure of the shot is zero: by the secant method, else by looking over the range."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from archerysim.equipment import Setup, SetupError, field_info
from archerysim.equipment.readings import READING, read_by
from archerysim.errors import ShotError
from archerysim.fields.given import several
from archerysim.fields.quantity import in_si
from archerysim.fields.zero import zero_between

MOST = 12  # tries of the secant method
LOOKED_OVER = (0.0, 0.025)  # by the underside [m]
LOOKS = 11  # readings tried there
FINE = 1e-6  # [m]
JUMP = 0.02  # of the measure's step between two looks: more left at a change of sign is a jump, no zero
CLEAR_FIRST = (
    "What the shaft touches on its way out changes there, as where it just misses the rest's arm: clear that first"
)


@dataclass(frozen=True)
class Crossing:
    """Where a measure is zero.

    Attributes
    ----------
    reading : float
        By the underside [m].
    slope : float
        Change of the measure with the reading, per m.
    nearest : float
        The reading tried last [m].
    tries : int
    """

    reading: float
    slope: float
    nearest: float
    tries: int


def crossing(
    measure: Callable[[float], float], built: Setup, first: tuple[float, float], close: float, what: str, unit: str
) -> Crossing:
    """Find the reading at which a measure that falls as the locators rise is zero.

    Two tries and one or two more do where the measure is smooth and nearly straight. Where that leads nowhere, or to a
    place where the measure rises, the range is looked over for a change of sign. Where the measure only jumps from one
    sign to the other it is not zero.

    Parameters
    ----------
    measure : callable
        Reading by the underside [m] to a number; what it cannot shoot it raises as `SetupError` or `ShotError`.
    built : Setup
        Whose readings are allowed and told.
    first : (float, float)
        The two readings tried first [m].
    close : float
        Size of the measure at which the straight line through the last two is good enough.
    what, unit : str
        What the reading does, for the message where there is none ("leaves the arrow without angle of attack"), and
        the measure's unit.

    Raises
    ------
    SetupError
        Where no reading looked at does it; it says where the measure jumps over zero.
    ShotError
        Where none can be shot.
    """
    failed: SetupError | ShotError | None = None
    found: Crossing | None = None
    try:
        found = _secant(measure, built, first, close)
    except (SetupError, ShotError) as error:
        failed = error
    if found is not None and found.slope < 0.0:
        return found
    return _looked_over(measure, built, first, what, unit, failed, found)


def jumps(left: float, before: float, after: float) -> bool:
    """Whether a measure jumps at a change of sign, by what is left of it there and its values at the looks about it."""
    return abs(left) > JUMP * (abs(before) + abs(after))


def first_two(first: Any) -> tuple[float, float]:
    """The two readings tried first [m], from what carries its unit.

    Raises
    ------
    SetupError
    """
    readings = [in_si("first", one, "mm") for one in several("first", first, "mm")]
    if len(readings) != 2:
        raise SetupError("first", f"{len(readings)} readings given where two are needed", 'Give ("5 mm", "9 mm")')
    return readings[0], readings[1]


def allowed_readings(setup: Setup) -> tuple[float, float]:
    """The lowest and the highest reading that a setup may have, by the underside [m]."""
    info, by = field_info(READING), read_by(setup)
    return float(by.underside(info.low)), float(by.underside(info.high))


def _secant(
    measure: Callable[[float], float], built: Setup, first: tuple[float, float], close: float
) -> Crossing | None:
    """None where it leaves the allowed readings or does not settle."""
    low, high = allowed_readings(built)
    r0, r1 = first
    y0, y1 = measure(r0), measure(r1)
    for tries in range(2, MOST):
        slope = (y1 - y0) / (r1 - r0)
        if slope == 0.0:
            return None
        aim = r1 - y1 / slope
        if abs(y1) < close:
            return Crossing(aim, slope, r1, tries)
        if not low <= aim <= high:
            return None
        r0, y0 = r1, y1
        r1, y1 = aim, measure(aim)
    return None


def _looked_over(
    measure: Callable[[float], float], built: Setup, first: tuple[float, float], what: str, unit: str,
    failed: SetupError | ShotError | None, rising: Crossing | None,
) -> Crossing:  # fmt: skip
    places = np.linspace(*LOOKED_OVER, LOOKS)
    seen = np.full(LOOKS, np.nan)
    for k, place in enumerate(places):
        try:
            seen[k] = measure(float(place))
        except (SetupError, ShotError) as error:
            failed = failed or error
    falls = [k for k in range(LOOKS - 1) if seen[k] > 0.0 >= seen[k + 1]]
    jumped = []
    for k in sorted(falls, key=lambda k: abs(places[k] + places[k + 1] - sum(first))):
        a, b = float(places[k]), float(places[k + 1])
        reading = b if seen[k + 1] == 0.0 else zero_between(measure, a, b, FINE)
        if not jumps(measure(reading), seen[k], seen[k + 1]):
            return Crossing(reading, float(seen[k + 1] - seen[k]) / (b - a), reading, LOOKS)
        jumped.append(reading)
    if rising is not None:
        return rising
    if failed is not None and np.isnan(seen).all():
        raise failed
    k, by = int(np.nanargmin(np.abs(seen))), read_by(built)
    low, high, near = (f"{1e3 * by.reading(place):.3g}" for place in (places[0], places[-1], places[k]))
    none = f"no reading between {low} and {high} mm {by.words} {what}"
    if jumped:
        before, after = (measure(jumped[0] + side * FINE) for side in (-1.0, 1.0))
        at = f"{1e3 * by.reading(jumped[0]):.3g}"
        raise SetupError(READING, f"{none}: at {at} mm it jumps from {before:+.2g} to {after:+.2g} {unit}", CLEAR_FIRST)
    raise SetupError(
        READING, f"{none}: the nearest is {seen[k]:+.2g} {unit}, at {near} mm",
        "Change the shaft, the rest or the finger shares first",
    )  # fmt: skip
