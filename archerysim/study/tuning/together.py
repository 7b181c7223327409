"""The reading at which bare and fletched shafts come together on the target."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any

from archerysim.equipment import Setup
from archerysim.fields.reported import Reported
from archerysim.fields.result import result
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.flight.bare_shaft import Leaving, gap_at, leaving_at_sight
from archerysim.shot.flight.fly import check_distance
from archerysim.shot.launch import Launch
from archerysim.study.tuning.crossing import crossing, first_two
from archerysim.study.tuning.zero_attack import FIRST

DISTANCE = 18.0  # [m]
CLOSE = 1e-4  # [m] on the target; some 0.005 mm of reading


@result("reading", "slope", "drag_and_mass", "distance", "shots")
@dataclass(frozen=True)
class TogetherReading:
    """Where a bare shaft taped to the same mass lands with the fletched ones, the difference of drag alone allowed for.

    Attributes
    ----------
    reading : float
        By the underside [mm].
    slope : float
        Change of the bare shaft's height beside the fletched one with the reading [mm on the target per mm].
    drag_and_mass : float
        Height of the bare shaft above the fletched one by drag alone: they count as together there [mm].
    distance : float
        Of the target [m].
    launch : Launch
        The shot nearest to it.
    shots : int

    Examples
    --------
    >>> import archerysim
    >>> found = archerysim.together_reading(archerysim.load("examples/junior.toml"), distance="10 m")
    >>> found.distance, found.shots < 10
    (10.0, True)
    >>> abs(found.launch.reading - found.reading) < 0.5  # [mm]
    True
    """

    reading: Annotated[float, Reported("mm")]
    slope: Annotated[float, Reported("mm/mm")]
    drag_and_mass: Annotated[float, Reported("mm")]
    distance: Annotated[float, Reported("m")]
    launch: Launch
    shots: int


def together_reading(
    bow: Setup | FittedBow,
    mesh: str | Mesh = "default",
    first: Any = FIRST,
    *,
    distance: Any = f"{DISTANCE:g} m",
    planes: int | None = None,
) -> TogetherReading:
    """Find the reading that brings bare and fletched shafts together on a target: the default aim of `tune`.

    The sight, and the part that drag alone makes, are found once, at the first reading that can be shot. Both hardly
    depend on the reading, and where the two shafts land together an error of the sight does not matter.

    Parameters
    ----------
    bow : Setup or FittedBow
    first : sequence of two
        The two readings tried first, with their units.
    distance : str or another number with its unit
        Of the target.
    planes : int, optional
        As for `archerysim.shoot`.

    Raises
    ------
    SetupError
        Where there is no such reading, or the target is out of reach.
    ShotError

    Examples
    --------
    >>> import archerysim
    >>> found = archerysim.together_reading(archerysim.load("examples/club-outdoor.toml"), distance="18 m")
    >>> round(found.reading)  # [mm]
    4
    >>> found.slope < 0.0  # locators up, bare shaft down
    True
    """
    far, two = check_distance(distance), first_two(first)
    bow = FittedBow.of(bow, mesh, planes=planes)
    at_first: list[tuple[Leaving, float]] = []

    def apart(reading: float) -> float:
        launch = bow.at_reading((reading, "m"))
        if not at_first:
            leaving = leaving_at_sight(launch, far)
            at_first.append((leaving, gap_at(launch, far, leaving, lift=False).height))
        leaving, plain = at_first[0]
        return gap_at(launch, far, leaving).height - plain

    found = crossing(
        apart, bow.setup, two, CLOSE, f"brings bare and fletched shafts together at {far:g} m", "m on the target"
    )
    nearest = bow.at_reading((found.nearest, "m"))
    return TogetherReading(1e3 * found.reading, found.slope, 1e3 * at_first[0][1], far, nearest, found.tries)
