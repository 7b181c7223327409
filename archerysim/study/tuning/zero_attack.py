"""The reading at which the arrow is clear of the bow without angle of attack: the reading of zero attack."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any

from archerysim.equipment import Setup
from archerysim.fields.reported import Reported
from archerysim.fields.result import result
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.launch import Launch
from archerysim.study.tuning.crossing import crossing, first_two

CLOSE = 1e-4  # [deg]
FIRST = ("5 mm", "9 mm")


@result("reading", "slope", "shots")
@dataclass(frozen=True)
class ZeroAttackReading:
    """Where the angle of attack at clear is zero.

    Attributes
    ----------
    reading : float
        By the underside [mm].
    slope : float
        Change of the angle of attack at clear with the reading [deg/mm].
    launch : Launch
        The shot nearest to it.
    shots : int

    Examples
    --------
    >>> import archerysim
    >>> found = archerysim.zero_attack_reading(archerysim.load("examples/junior.toml"))
    >>> found.slope < 0.0, found.shots < 10  # locators up, nose down
    (True, True)
    """

    reading: Annotated[float, Reported("mm")]
    slope: Annotated[float, Reported("deg/mm")]
    launch: Launch
    shots: int


def zero_attack_reading(
    bow: Setup | FittedBow, mesh: str | Mesh = "default", first: Any = FIRST, *, planes: int | None = None
) -> ZeroAttackReading:
    """Find the reading at which the angle of attack at clear is zero.

    The response is smooth and nearly straight, so two shots and one or two more are enough.

    Parameters
    ----------
    bow : Setup or FittedBow
    first : sequence of two
        The two readings tried first, with their units.
    planes : int, optional
        As for `archerysim.shoot`.

    Raises
    ------
    SetupError
        Where there is no such reading.
    ShotError

    Examples
    --------
    >>> import archerysim
    >>> found = archerysim.zero_attack_reading(archerysim.load("examples/club-outdoor.toml"))
    >>> round(found.reading)  # [mm]
    6
    >>> abs(found.launch.clear.angle_of_attack) < 0.01  # [deg]
    True
    """
    bow = FittedBow.of(bow, mesh, planes=planes)
    found = crossing(
        lambda reading: bow.at_reading((reading, "m")).clear.angle_of_attack, bow.setup, first_two(first), CLOSE,
        "leaves the arrow without angle of attack", "deg",
    )  # fmt: skip
    return ZeroAttackReading(1e3 * found.reading, 1e-3 * found.slope, bow.at_reading((found.nearest, "m")), found.tries)
