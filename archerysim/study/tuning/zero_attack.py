"""The reading at which the arrow is clear of the bow without angle of attack: the nil reading."""

from __future__ import annotations

from dataclasses import dataclass

from archerysim.equipment import Setup
from archerysim.equipment.readings import by_underside
from archerysim.fields.result import result
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.launch import Launch
from archerysim.shot.shoot import shoot_built
from archerysim.study.tuning.crossing import crossing

CLOSE = 1e-4  # [deg]
FIRST = (0.005, 0.009)  # [m]


@result("reading [mm]", "slope [deg/mm]", "shots")
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


class AtReadings:
    """Launches of one bow as built with its locators at several readings, each shot once."""

    def __init__(self, built: Setup, mesh: str | Mesh):
        self.built, self.mesh = built, mesh
        self.kept: dict[float, Launch] = {}

    def launch(self, reading: float) -> Launch:
        """The shot with the locators set to a reading by the underside [m].

        Raises
        ------
        SetupError, ShotError
        """
        if reading not in self.kept:
            self.kept[reading] = at_reading(self.built, reading, self.mesh)
        return self.kept[reading]


def nil_reading(
    built: Setup, mesh: str | Mesh = "default", first: tuple[float, float] = FIRST, shots: AtReadings | None = None
) -> NilReading:
    """Find the reading at which the angle of attack at clear is nil.

    The response is smooth and nearly straight, so two shots and one or two more do.

    Parameters
    ----------
    built : Setup
        Form "built".
    first : (float, float)
        The two readings tried first [m].
    shots : AtReadings, optional
        Launches of this bow that are there already.

    Raises
    ------
    SetupError
        Where there is none.
    ShotError
    """
    shots = shots or AtReadings(built, mesh)
    found = crossing(
        lambda reading: shots.launch(reading).clear.angle_of_attack, built, first, CLOSE,
        "leaves the arrow without angle of attack", "deg",
    )  # fmt: skip
    return NilReading(1e3 * found.reading, 1e-3 * found.slope, shots.launch(found.nearest), found.tries)
