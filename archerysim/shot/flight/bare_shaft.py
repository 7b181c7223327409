"""Where a shaft without fletching lands beside fletched ones."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, Any, NamedTuple

from archerysim.equipment import Air
from archerysim.fields.reported import Reported
from archerysim.fields.result import result
from archerysim.shot.flight.aerodynamics import BoundaryLayer
from archerysim.shot.flight.fly import HEIGHT, Flight, check_distance, flown
from archerysim.shot.launch import Launch


class Both(NamedTuple):
    """Flights of a bare and a fletched shaft with the same aim."""

    bare: Flight
    fletched: Flight

    @property
    def apart(self) -> float:
        """Height of the bare shaft above the fletched one on the target [m]."""
        return self.bare.impact_height - self.fletched.impact_height


def fly_both(
    launch: Launch, *, elevation: float | None = None, taped: bool = True, bare_launch: Launch | None = None, **how: Any
) -> Both:
    """Fly a fletched shaft and a bare one after it.

    Parameters
    ----------
    launch : Launch
        Of the fletched arrow.
    elevation : float, optional
        Of the aim line [deg]. Default: the one with which the fletched shaft hits the centre.
    taped : bool
        Whether the bare shaft carries tape of the fletching's mass in its place.
    bare_launch : Launch, optional
        Of the bare shaft itself; else the same.
    **how
        As in ``archerysim.shot.flight.fly.flown``.

    Raises
    ------
    SetupError
    """
    fletched = flown(launch, elevation=None if elevation is None else math.radians(elevation), **how)
    aim = math.radians(fletched.elevation if elevation is None else elevation)
    bare = flown(bare_launch or launch, fletched=False, taped=taped, elevation=aim, **how)
    return Both(bare, fletched)


@result("distance", "height", "drag_and_mass", "swing", "elevation")
@dataclass(frozen=True)
class BareDifference:
    """A bare and a fletched shaft from the same bow with the same sight.

    Attributes
    ----------
    distance : float
        [m]
    height : float
        Height of the bare shaft above the fletched one on the target [m].
    drag_and_mass : float
        The part of it that is there with any launch: arrows that keep to their paths, the bare one with less
        drag and, without tape, less mass [m].
    swing : float
        The rest: what launch and lift make of it [m].
    elevation : float
        Of the aim line [deg].
    bare, fletched : Flight
    """

    distance: Annotated[float, Reported("m")]
    height: Annotated[float, Reported("m", "height of the bare shaft above the fletched one on the target")]
    drag_and_mass: Annotated[float, Reported("m", "the part of it that is there with any launch")]
    swing: Annotated[float, Reported("m", "the rest: what launch and lift make of it")]
    elevation: Annotated[float, Reported("deg", "angle of the aim line above the horizontal")]
    bare: Flight
    fletched: Flight


def bare_difference(
    launch: Launch,
    distance: Any,
    *,
    taped: bool = True,
    bare_launch: Launch | None = None,
    target_height: Any = "0 m",
    air: Air | None = None,
    boundary_layer: BoundaryLayer = "auto",
    perfect: bool = False,
) -> BareDifference:
    """Height of a bare shaft above a fletched one on the target.

    Parameters
    ----------
    launch : Launch
        Of the fletched arrow.
    distance : str or another number with its unit
        Of the target: "20 yd", ``(18, "m")``.
    taped : bool
        Whether the bare shaft carries tape of the fletching's mass in its place.
    bare_launch : Launch, optional
        Of the bare shaft itself, for example shot with ``arrow.fletching_mass`` zero. Not given: the same launch,
        for an untaped shaft with its speed raised (see ``archerysim.shot.flight.fly.start_of``).
    target_height, air, boundary_layer, perfect
        As in `archerysim.fly`.

    Returns
    -------
    BareDifference
        To be shown together with ``archerysim.shot.flight.range_cautions.range_cautions``.

    Raises
    ------
    SetupError
        If the distance is out of range or out of the arrow's reach.
    """
    how: Any = {
        "distance": check_distance(distance), "target_height": HEIGHT.single("target_height", target_height, "refused"),
        "air": air, "boundary_layer": boundary_layer, "perfect": perfect,
    }  # fmt: skip
    both = fly_both(launch, taped=taped, bare_launch=bare_launch, lift=True, **how)
    plain = fly_both(launch, taped=taped, bare_launch=bare_launch, lift=False, **how).apart
    return BareDifference(
        distance=both.fletched.distance, height=both.apart, drag_and_mass=plain, swing=both.apart - plain,
        elevation=both.fletched.elevation, bare=both.bare, fletched=both.fletched,
    )  # fmt: skip


def direction_at_clear(launch: Launch) -> float:
    """Direction of the arrow at clear against the aim line, positive up [deg]."""
    return math.degrees(math.atan2(launch.clear.vertical_velocity, launch.clear.speed))


def height_apart(launch: Launch, distance: float, leaving: float, *, taped: bool = True, lift: bool = True) -> float:
    """Height of the bare shaft above the fletched one on the target, both leaving in a given direction [m].

    Parameters
    ----------
    launch : Launch
        Of the fletched arrow.
    distance : float
        [m]
    leaving : float
        Direction of the arrow at clear against the horizontal, positive up [deg]. The height is that of
        `bare_difference` within a thousandth, whatever near the sight's it is, for a sixth of the time.
    taped : bool
        Whether the bare shaft carries tape of the fletching's mass in its place.
    lift : bool
        False: what drag and mass alone make.

    Raises
    ------
    SetupError
    """
    return fly_both(
        launch, distance=distance, elevation=leaving - direction_at_clear(launch), taped=taped, lift=lift
    ).apart
