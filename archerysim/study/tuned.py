"""The reading at which the arrow is clear of the bow without angle of attack: the nil reading."""

from __future__ import annotations

from dataclasses import dataclass

from archerysim.equipment import Setup, SetupError, field_info
from archerysim.equipment.readings import READING, by_underside, read_by
from archerysim.shot.launch import Launch
from archerysim.shot.mesh import Mesh
from archerysim.shot.shoot import shoot_built

CLOSE = 1e-4  # [deg]
MOST = 12
FIRST = (0.005, 0.009)  # [m]


@dataclass(frozen=True)
class NilReading:
    """Where the angle of attack at clear is nil.

    Attributes
    ----------
    reading : float
        By the underside [mm].
    slope : float
        Change of the angle of attack at clear with the reading [deg/mm].
    launch : Launch
        The shot nearest to it.
    shots : int
    """

    reading: float
    slope: float
    launch: Launch
    shots: int


def at_reading(built: Setup, reading: float, mesh: str | Mesh) -> Launch:
    """The shot with the locators set to a reading by the underside [m]."""
    return shoot_built(built.replace(**by_underside(built, reading)), mesh, trace=False)


def allowed_readings(setup: Setup) -> tuple[float, float]:
    """The lowest and the highest reading that a setup may have, by the underside [m]."""
    info, by = field_info(READING), read_by(setup)
    return float(by.underside(info.low)), float(by.underside(info.high))


def nil_reading(built: Setup, mesh: str | Mesh = "default", first: tuple[float, float] = FIRST) -> NilReading:
    """Find the reading at which the angle of attack at clear is nil, by the secant method.

    The response is smooth and nearly straight, so two shots and one or two more do.

    Parameters
    ----------
    built : Setup
        Form "built".
    first : (float, float)
        The two readings tried first [m].

    Raises
    ------
    SetupError
        Where there is none within the allowed readings.
    ShotError
    """
    low, high = allowed_readings(built)
    (r0, r1) = first
    old, new = at_reading(built, r0, mesh), at_reading(built, r1, mesh)
    slope = 0.0
    for shots in range(2, MOST):
        y0, y1 = old.clear.angle_of_attack, new.clear.angle_of_attack
        slope = (y1 - y0) / (r1 - r0)
        if abs(y1) < CLOSE:
            return NilReading(1e3 * (r1 - y1 / slope), 1e-3 * slope, new, shots)
        aim = r1 - y1 / slope if slope != 0.0 else high + 1.0
        if not low <= aim <= high:
            by = read_by(built)
            ends = " and ".join(f"{1e3 * by.reading(end):.0f}" for end in (low, high))
            raise SetupError(
                READING,
                f"no reading between {ends} mm {by.words} leaves the arrow without angle of attack",
                "Change the shaft, the rest or the finger shares first",
            )
        r0, old = r1, new
        r1, new = aim, at_reading(built, aim, mesh)
    raise SetupError(READING, "the angle of attack does not settle as the reading changes", "Look at a sweep of it")
