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
from archerysim.shot.flight.sight import Aim, beyond_reach, sight_of, tip_of
from archerysim.shot.flight.start import start_of
from archerysim.shot.flight.trajectory import course
from archerysim.shot.launch import Launch


class Both(NamedTuple):
    """Flights of a bare and a fletched shaft with the same aim."""

    bare: Flight
    fletched: Flight

    @property
    def apart(self) -> float:
        """Height of the bare shaft above the fletched one on the target [m]."""
        return self.bare.impact_height - self.fletched.impact_height

    @property
    def beside(self) -> float:
        """Place of the bare shaft beside the fletched one, positive away from the window [m]; nan in one plane."""
        return self.bare.impact_side - self.fletched.impact_side


class Gap(NamedTuple):
    """Where a bare shaft hits, as seen from a fletched one with the same aim [m]."""

    height: float  #: above it
    side: float  #: beside it, positive away from the window; nan in a shot in one plane


def fly_both(
    launch: Launch, *, elevation: float | None = None, windage: float = 0.0, taped: bool = True,
    bare_launch: Launch | None = None, **how: Any,
) -> Both:  # fmt: skip
    """Fly a fletched shaft and a bare one after it.

    Parameters
    ----------
    launch : Launch
        Of the fletched arrow.
    elevation, windage : float, optional
        Of the aim line [deg]. Default: those with which the fletched shaft hits the centre.
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
    if elevation is None:
        fletched = flown(launch, **how)
        elevation, windage = fletched.elevation, 0.0 if launch.planes == 1 else fletched.windage
    else:
        fletched = flown(launch, elevation=math.radians(elevation), windage=math.radians(windage), **how)
    aim: Any = {"elevation": math.radians(elevation), "windage": math.radians(windage)}
    return Both(flown(bare_launch or launch, fletched=False, taped=taped, **aim, **how), fletched)


@result("distance", "height", "side", "drag_and_mass", "swing", "elevation")
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
        The rest: the part that comes from launch and lift [m].
    side : float
        Place of the bare shaft beside the fletched one on the target, positive away from the window [m]; nan in a shot
        in one plane. Drag and mass alone have no part in it: without swing both fly straight on, as seen from above.
    elevation : float
        Of the aim line [deg].
    bare, fletched : Flight

    Examples
    --------
    >>> import archerysim
    >>> launch = archerysim.shoot(archerysim.load("examples/club-outdoor.toml"))
    >>> found = archerysim.bare_difference(launch, "18 m")
    >>> found.fletched.fletched, found.bare.fletched, found.distance  # [m]
    (True, False, 18.0)
    >>> abs(found.drag_and_mass) < abs(found.swing)
    True
    """

    distance: Annotated[float, Reported("m")]
    height: Annotated[float, Reported("m", "height of the bare shaft above the fletched one on the target")]
    drag_and_mass: Annotated[float, Reported("m", "the part of it that is there with any launch")]
    swing: Annotated[float, Reported("m", "the rest: the part due to launch and lift")]
    side: Annotated[
        float, Reported("m", "place of the bare shaft beside the fletched one, positive away from the window")
    ]
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
    """Where a bare shaft hits the target beside a fletched one: how high above it, and how far aside.

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

    Examples
    --------
    >>> import archerysim
    >>> launch = archerysim.shoot(archerysim.load("examples/club-outdoor.toml"))
    >>> found = archerysim.bare_difference(launch, "18 m")
    >>> found.height < 0.0  # [m], bare low
    True
    >>> round(found.height - found.drag_and_mass - found.swing, 9)
    0.0
    """
    how: Any = {
        "distance": check_distance(distance), "target_height": HEIGHT.single("target_height", target_height, "refused"),
        "air": air, "boundary_layer": boundary_layer, "perfect": perfect,
    }  # fmt: skip
    both = fly_both(launch, taped=taped, bare_launch=bare_launch, lift=True, **how)
    plain = fly_both(launch, taped=taped, bare_launch=bare_launch, lift=False, **how).apart
    return BareDifference(
        distance=both.fletched.distance, height=both.apart, drag_and_mass=plain, swing=both.apart - plain,
        side=both.beside, elevation=both.fletched.elevation, bare=both.bare, fletched=both.fletched,
    )  # fmt: skip


class Leaving(NamedTuple):
    """Direction in which an arrow leaves, at clear [deg]."""

    up: float  #: against the horizontal
    aside: float  #: against the line to the target, positive away from the window


def direction_at_clear(launch: Launch) -> Leaving:
    """Direction of an arrow at clear against the aim line; nothing aside in a shot in one plane."""
    clear = launch.clear
    aside = math.atan2(clear.sideways_velocity, clear.speed) if launch.planes == 2 else 0.0
    return Leaving(math.degrees(math.atan2(clear.vertical_velocity, clear.speed)), math.degrees(aside))


def leaving_at_sight(launch: Launch, distance: float) -> Leaving:
    """Direction in which the fletched arrow of a launch leaves with its sight set for a distance [m].

    Raises
    ------
    SetupError
        If the target is out of the arrow's reach.
    """
    aim, own = sight_of(launch, distance), direction_at_clear(launch)
    return Leaving(math.degrees(aim.elevation) + own.up, math.degrees(aim.windage) + own.aside)


def gap_at(launch: Launch, distance: float, leaving: Leaving, *, taped: bool = True, lift: bool = True) -> Gap:
    """Where the bare shaft hits as seen from the fletched one, both leaving in a given direction.

    Parameters
    ----------
    launch : Launch
        Of the fletched arrow.
    distance : float
        [m]
    leaving : Leaving
        As `leaving_at_sight` has it for this or another launch. Whatever near the sight's it is, the gap is that of
        `bare_difference` within a thousandth, without looking for a sight.
    taped : bool
        Whether the bare shaft carries tape of the fletching's mass in its place.
    lift : bool
        False: what drag and mass alone make.

    Raises
    ------
    SetupError
    """
    own = direction_at_clear(launch)
    aim = Aim(math.radians(leaving.up - own.up), math.radians(leaving.aside - own.aside))
    hits = []
    for fletched in (False, True):
        start = start_of(launch, fletched=fletched, taped=taped, lift=lift)
        way = course(start.at(*aim), start.body, nose=start.nose, distance=distance, lift=lift)
        if not way.reached:
            raise beyond_reach(distance)
        hits.append(tip_of(way.last, start.nose))
    (bare, bare_side), (height, side) = hits
    return Gap(bare - height, bare_side - side if launch.planes == 2 else math.nan)
