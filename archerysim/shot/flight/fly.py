"""The flight of the arrow from clear to the target, in the vertical plane."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Annotated, Any, Literal

import msgspec
import numpy as np

from archerysim.equipment import Air, SetupError, filled
from archerysim.equipment.arrow import balance_point, total_mass
from archerysim.equipment.readings import BY_UNDERSIDE, ReadBy, read_by
from archerysim.errors import UsageError
from archerysim.fields.quantity import Quantity
from archerysim.fields.reported import Reported
from archerysim.fields.result import result
from archerysim.fields.to_xarray import dataset, variables_of
from archerysim.mechanics.flight import Flyer
from archerysim.shot.flight.aerodynamics import BoundaryLayer, flyer
from archerysim.shot.flight.air_state import air_state
from archerysim.shot.flight.ringing import Bending, bending_of
from archerysim.shot.flight.swing import Swing, swing_of
from archerysim.shot.flight.trajectory import course
from archerysim.shot.launch import Launch

if TYPE_CHECKING:
    import xarray


Sight = Literal["fletched", "own", "setup"]

DISTANCE = Quantity(text="distance of the target plane from the pivot", unit="m", low="3 m", high="150 m")
ELEVATION = Quantity(text="elevation of the aim line above the horizontal", unit="deg", low="-90 deg", high="90 deg")
HEIGHT = Quantity(text="height above the pivot's place", unit="m", low="-150 m", high="150 m")
STEEPEST = math.radians(45.0)  # of a sight
POINTS = 401  # of a flight's arrays


@result(
    "name", "fletched", "distance", "elevation", "reached", "impact_height", "impact_angle",
    "time_of_flight", "speed",
)  # fmt: skip
@dataclass(frozen=True)
class Flight:
    """The flight of one arrow, in world axes: x level towards the target, y up, from the pivot's place.

    Attributes
    ----------
    time : (k,) array
        After clear [s].
    x, y : (k,) arrays
        Place of the mass centre [m].
    nose_y, tail_y : (k,) arrays
        Height of the point's tip and of the throat [m]; with the shaft's ringing if that was asked for.
    pitch : (k,) array
        Of the rigid shaft against the horizontal, positive nose up [deg].
    pitch_rate : (k,) array
        Positive nose up [rad/s].
    angle_of_attack : (k,) array
        Pitch minus the direction of the mass centre's velocity, positive nose up [deg].
    speed : (k,) array
        Of the mass centre [m/s].
    distance : float
        Of the target plane from the pivot's place at full draw [m].
    elevation : float
        Of the aim line above the horizontal [deg].
    reached : bool
        Whether the point reached the target plane; False if the flight ended on the ground before.
    impact_height : float
        Height of the point above the target's centre where it meets the target plane [m]; the rigid shaft's.
        Where the target is not reached: the height at the end of the flight.
    impact_angle : float
        Direction of the mass centre's velocity there, positive up [deg].
    time_of_flight : float
        From clear to the target plane [s].
    fletched : bool
        Whether it carries its fletching.
    nose_ahead, tail_behind : float
        The point's tip before and the throat behind the mass centre [m].
    mass : float
        Of the arrow as it flies [kg].
    state : callable
        ``state(t)`` gives the state (6,) or (6, k) in SI: x, y, velocity x, velocity y, pitch [rad], pitch rate.
    body : Flyer
        The kernel's numbers.
    bending : Bending or None
        The shaft's ringing, if asked for.
    name : str
        Of the setup.
    reading : float
        Locator height by the underside [mm].
    category : str
        Of the setup.
    by : ReadBy
        How the setup tells its readings; pictures do the same.
    """

    time: Annotated[np.ndarray, Reported("s", "time after clear", ("time",))]
    x: Annotated[np.ndarray, Reported("m", "mass centre level towards the target from the pivot's place", ("time",))]
    y: Annotated[np.ndarray, Reported("m", "mass centre above the pivot's place", ("time",))]
    nose_y: Annotated[np.ndarray, Reported("m", "height of the point's tip", ("time",))]
    tail_y: Annotated[np.ndarray, Reported("m", "height of the throat", ("time",))]
    pitch: Annotated[
        np.ndarray, Reported("deg", "angle of the rigid shaft to the horizontal, positive nose up", ("time",))
    ]
    pitch_rate: Annotated[np.ndarray, Reported("rad/s", "rate of the pitch, positive nose up", ("time",))]
    angle_of_attack: Annotated[
        np.ndarray, Reported("deg", "pitch minus the direction of the mass centre's velocity", ("time",))
    ]
    speed: Annotated[np.ndarray, Reported("m/s", "speed of the mass centre", ("time",))]
    distance: Annotated[float, Reported("m", "distance of the target plane from the pivot's place at full draw")]
    elevation: Annotated[float, Reported("deg", "angle of the aim line above the horizontal")]
    reached: bool
    impact_height: Annotated[
        float, Reported("m", "height of the point above the target's centre where it meets the target plane")
    ]
    impact_angle: Annotated[float, Reported("deg", "direction of the mass centre's velocity there, positive up")]
    time_of_flight: Annotated[float, Reported("s", "time from clear to the target plane")]
    fletched: bool
    nose_ahead: Annotated[float, Reported("m", "the point's tip before the mass centre")]
    tail_behind: Annotated[float, Reported("m", "the throat behind the mass centre")]
    mass: Annotated[float, Reported("kg", "mass of the arrow as it flies")]
    state: Callable[[Any], np.ndarray] = field(compare=False)
    body: Flyer
    bending: Bending | None
    name: str = ""
    reading: Annotated[float, Reported("mm", "locator height by the underside of the nock")] = math.nan
    category: str = ""
    by: ReadBy = BY_UNDERSIDE

    def to_xarray(self) -> xarray.Dataset:
        """The flight as a table with units, along the time after clear."""
        return dataset(variables_of(self), f"flight of {self.name}")

    @cached_property  # flown when it is first asked for: most flights never are
    def swing(self) -> Swing:
        """Wavelength and decay of the swing, measured on this flight continued past the target if needed."""
        return swing_of(self.state(0.0), self.body)


@dataclass(frozen=True)
class Start:
    """An arrow at clear, ready to fly.

    Attributes
    ----------
    state : (6,) array
        At zero elevation: place and velocity of the mass centre in the aim frame, pitch [rad], rate [rad/s].
    body : Flyer
    nose, tail : float
        The point's tip before and the throat behind the mass centre [m].
    """

    state: np.ndarray
    body: Flyer
    nose: float
    tail: float

    def at(self, elevation: float) -> np.ndarray:
        """State with the bow turned rigidly about the pivot by an elevation [rad]."""
        c, s = math.cos(elevation), math.sin(elevation)
        x, y, vx, vy, pitch, rate = self.state
        return np.array([c * x - s * y, s * x + c * y, c * vx - s * vy, s * vx + c * vy, pitch + elevation, rate])


def start_of(
    launch: Launch,
    *,
    fletched: bool = True,
    taped: bool = True,
    perfect: bool = False,
    air: Air | None = None,
    boundary_layer: BoundaryLayer = "auto",
) -> Start:
    """The arrow of a launch at clear, as it will fly.

    Parameters are those of `fly`.

    Notes
    -----
    A shaft that carries neither fletching nor tape leaves the bow faster. If the launch was shot with the
    fletching's mass, its speed is raised by the rule of the virtual mass K, which the bow moves besides the
    arrow: m (1/efficiency - 1) = K, v proportional to 1/sqrt(m + K) (Klopsteg, in Hickman, Nagler, Klopsteg,
    Archery: the Technical Side, 1947 [memory]).
    """
    if not isinstance(launch, Launch):
        raise UsageError(
            "launch",
            f"a flight begins with a Launch, not {type(launch).__name__}",
            "give it one: fly(shoot(setup), ...)",
        )
    full = filled(launch.setup)
    arrow = full.arrow
    clear = launch.clear
    speed, up, pitch, rate = clear.speed, clear.vertical_velocity, math.radians(clear.pitch), clear.pitch_rate
    x, y = clear.centre_x, clear.centre_y
    if perfect:
        pitch, rate = math.atan2(up, speed), 0.0
    if not fletched and not taped:
        before, centre = total_mass(arrow), balance_point(arrow)
        arrow = msgspec.structs.replace(arrow, fletching_mass=0.0)
        virtual = before * (1.0 / launch.efficiency - 1.0)
        faster = math.sqrt((before + virtual) / (total_mass(arrow) + virtual))
        ahead = balance_point(arrow) - centre
        x, y = x + ahead * math.cos(pitch), y + ahead * math.sin(pitch)
        speed, up = faster * speed - rate * ahead * math.sin(pitch), faster * up + rate * ahead * math.cos(pitch)
    body = flyer(arrow, air_state(air or full.air), fletched=fletched, boundary_layer=boundary_layer)
    tail = balance_point(arrow)
    return Start(np.array([x, y, speed, up, pitch, rate]), body, arrow.length + arrow.point_length - tail, tail)


def fly(
    launch: Launch,
    *,
    distance: Any,
    fletched: bool = True,
    taped: bool = True,
    bending: bool = False,
    sight: Sight = "fletched",
    elevation: Any = None,
    target_height: Any = "0 m",
    air: Air | None = None,
    boundary_layer: BoundaryLayer = "auto",
    perfect: bool = False,
    lift: bool = True,
    ground: Any = None,
) -> Flight:
    """Fly the arrow of a launch to a target.

    Parameters
    ----------
    launch : Launch
    distance : str or another number with its unit
        Of the target plane from the pivot's place: "20 yd", ``(18, "m")``.
    fletched : bool
        False: the same shaft without fletching.
    taped : bool
        Without fletching: True with tape of the fletching's mass in its place, False without. Then the launch
        may be one shot with the fletching's mass (its speed is raised, see `start_of`) or without.
    bending : bool
        Add the shaft's free ringing to ``nose_y`` and ``tail_y``.
    sight : {"fletched", "own", "setup"}
        Elevation with which the fletched arrow of this launch hits the centre; with which the arrow that is
        flown does; or ``archer.elevation`` of the setup.
    elevation : str or another number with its unit, optional
        Elevation of the aim line in place of a sight: "2 deg".
    target_height : str or another number with its unit
        Height of the target's centre above the pivot's place.
    air : Air, optional
        In place of the setup's.
    boundary_layer : {"auto", "laminar", "turbulent"}
        Of the shaft; "auto" goes by the Reynolds number.
    perfect : bool
        Pitch along the path and no pitch rate at clear: a launch without fault.
    lift : bool
        False: the arrow keeps to its path, drag and mass alone act.
    ground : str or another number with its unit, optional
        Height of the ground above the pivot's place, a negative number; the flight ends there.

    Returns
    -------
    Flight

    Raises
    ------
    SetupError
        If the distance is out of range or out of the arrow's reach, or a height or the elevation is no usable number.

    Notes
    -----
    The launch was computed at the setup's ``archer.elevation``; its state at clear is turned rigidly about the
    pivot to the elevation of the sight. Equations and sources: docs/flight.md.
    """
    return flown(
        launch, distance=check_distance(distance), fletched=fletched, taped=taped, bending=bending, sight=sight,
        elevation=None if elevation is None else ELEVATION.single("elevation", elevation, "refused"),
        target_height=HEIGHT.single("target_height", target_height, "refused"), air=air, boundary_layer=boundary_layer,
        perfect=perfect, lift=lift, ground=None if ground is None else HEIGHT.single("ground", ground, "refused"),
    )  # fmt: skip


def flown(
    launch: Launch, *, distance: float, fletched: bool = True, taped: bool = True, bending: bool = False,
    sight: Sight = "fletched", elevation: float | None = None, target_height: float = 0.0, air: Air | None = None,
    boundary_layer: BoundaryLayer = "auto", perfect: bool = False, lift: bool = True, ground: float | None = None,
) -> Flight:  # fmt: skip
    """`fly` in SI, angles in radians.

    Raises
    ------
    SetupError
        If the target is out of the arrow's reach.
    """
    far, centre, floor = distance, target_height, ground
    how: Any = {"perfect": perfect, "air": air, "boundary_layer": boundary_layer}
    start = start_of(launch, fletched=fletched, taped=taped, **how)
    if elevation is not None:
        angle = elevation
    elif sight == "setup":
        angle = filled(launch.setup).number("archer.elevation")
    else:
        aimed = start if sight == "own" or fletched else start_of(launch, **how)
        angle = find_elevation(aimed, far, centre, lift=lift)
    way = course(start.at(angle), start.body, nose=start.nose, distance=far, lift=lift, ground=floor)
    if not way.reached and floor is None:
        raise _beyond(far)
    assert way.state is not None
    time = np.linspace(0.0, way.end, POINTS)
    x, y, vx, vy, pitch, rate = way.state(time)
    nose_y, tail_y = y + start.nose * np.sin(pitch), y - start.tail * np.sin(pitch)
    last = way.last
    height = float(last[1] + start.nose * math.sin(last[4]) - centre)
    ringing = bending_of(launch) if bending else None
    if ringing is not None:
        at_tail, at_nose = ringing.deflection(time)
        nose_y, tail_y = nose_y + at_nose * np.cos(pitch), tail_y + at_tail * np.cos(pitch)
    return Flight(
        time=time, x=x, y=y, nose_y=nose_y, tail_y=tail_y, pitch=np.degrees(pitch), pitch_rate=rate,
        angle_of_attack=np.degrees(pitch - np.arctan2(vy, vx)), speed=np.hypot(vx, vy), distance=far,
        elevation=math.degrees(angle), reached=way.reached, impact_height=height,
        impact_angle=math.degrees(math.atan2(last[3], last[2])), time_of_flight=way.end, fletched=fletched,
        nose_ahead=start.nose, tail_behind=start.tail, mass=start.body.mass, state=way.state, body=start.body,
        bending=ringing, name=launch.setup.name, reading=launch.reading,
        category=launch.setup.category,
        by=read_by(launch.setup),
    )  # fmt: skip


def check_distance(distance: Any, name: str = "distance") -> float:
    """A distance of the target in m, checked before any work is done.

    Raises
    ------
    SetupError
        If it has no unit, cannot be read or is out of range.
    """
    return DISTANCE.single(name, distance, "refused")


def sight_elevation(
    launch: Launch,
    distance: float,
    *,
    target_height: float = 0.0,
    air: Air | None = None,
    boundary_layer: BoundaryLayer = "auto",
) -> float:
    """Elevation of the aim line with which the fletched arrow of a launch hits the centre [deg].

    Parameters are those of `flown`.

    Raises
    ------
    SetupError
        If the target is out of the arrow's reach.
    """
    start = start_of(launch, air=air, boundary_layer=boundary_layer)
    return math.degrees(find_elevation(start, distance, target_height))


def find_elevation(start: Start, distance: float, target_height: float = 0.0, *, lift: bool = True) -> float:
    """Least elevation [rad] with which the point meets the target plane at a height [m]."""
    from scipy.optimize import brentq

    def miss(angle: float) -> float:
        flown = course(
            start.at(angle), start.body, nose=start.nose, distance=distance, lift=lift, dense=False,
            longest=1.0 + 4.0 * distance / speed,
        )  # fmt: skip
        return float(flown.last[1] + start.nose * np.sin(flown.last[4])) - target_height if flown.reached else -distance

    speed = float(np.hypot(start.state[2], start.state[3]))
    drop = 0.5 * start.body.gravity * distance / speed**2
    angle = min(math.atan(target_height / distance) + drop, 0.8 * STEEPEST)
    first = miss(angle)
    other, second = angle, first
    while first * second > 0.0:
        if abs(other) >= STEEPEST:
            raise _beyond(distance)
        angle, first = other, second
        other = float(np.clip(angle - 1.1 * first / distance - math.copysign(1e-6, first), -STEEPEST, STEEPEST))
        second = miss(other)
    if first == 0.0 or second == 0.0:
        return angle if first == 0.0 else other
    return float(brentq(miss, angle, other, xtol=1e-10, rtol=1e-12))


def _beyond(distance: float) -> SetupError:
    return SetupError("distance", f"{distance:g} m is out of this arrow's reach", "Give a shorter distance")
