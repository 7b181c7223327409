"""The flight of the arrow from clear to the target."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Annotated, Any, Literal

import numpy as np

from archerysim.equipment import Air, filled
from archerysim.equipment.archer import Handed
from archerysim.equipment.readings import BY_UNDERSIDE, ReadBy, read_by
from archerysim.fields.quantity import Quantity
from archerysim.fields.reported import Reported
from archerysim.fields.result import result
from archerysim.fields.to_xarray import dataset, variables_of
from archerysim.mechanics.flight import SPEED_X, SPEED_Y, Flyer
from archerysim.shot.flight.aerodynamics import BoundaryLayer
from archerysim.shot.flight.ringing import Bending, bending_of
from archerysim.shot.flight.sight import Aim, beyond_reach, find_aim, tip_of
from archerysim.shot.flight.start import start_of
from archerysim.shot.flight.swing import Swing, swing_of
from archerysim.shot.flight.trajectory import course
from archerysim.shot.launch import Launch

if TYPE_CHECKING:
    import xarray


Sight = Literal["fletched", "own", "setup"]

DISTANCE = Quantity(text="distance of the target plane from the pivot", unit="m", low="3 m", high="150 m")
ELEVATION = Quantity(text="elevation of the aim line above the horizontal", unit="deg", low="-90 deg", high="90 deg")
WINDAGE = Quantity(
    text="turn of the aim line about the vertical, positive away from the window", unit="deg", low="-45 deg",
    high="45 deg",
)  # fmt: skip
HEIGHT = Quantity(text="height above the pivot's place", unit="m", low="-150 m", high="150 m")
POINTS = 401  # of a flight's arrays


@result(
    "name", "fletched", "distance", "elevation", "reached", "impact_height", "impact_side", "time_of_flight", "speed",
)  # fmt: skip
@dataclass(frozen=True)
class Flight:
    """The flight of one arrow, in world axes: x level towards the target, y up, from the pivot's place.

    z is sideways, positive away from the riser's window: to the left of a right-handed archer, seen from behind.
    Everything sideways is nan for a shot in one plane, which is flown as if nothing went sideways.

    Attributes
    ----------
    time : (k,) array
        After clear [s].
    x, y : (k,) arrays
        Place of the mass centre [m].
    nose_x, tail_x : (k,) arrays
        Point's tip and throat level towards the target [m].
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
    z, nose_z, tail_z : (k,) arrays
        Places sideways of the mass centre, the point's tip and the throat [m].
    yaw : (k,) array
        Of the rigid shaft out of the vertical plane towards the target, positive nose away from the window [deg].
    yaw_rate : (k,) array
        [rad/s]
    side_angle_of_attack : (k,) array
        Yaw minus the direction sideways of the mass centre's velocity [deg].
    distance : float
        Of the target plane from the pivot's place at full draw [m].
    elevation, windage : float
        Of the aim line above the horizontal, and about the vertical, positive away from the window [deg].
    reached : bool
        Whether the point reached the target plane; False if the flight ended on the ground first.
    impact_height : float
        Height of the point above the target's centre where it meets the target plane [m]; the rigid shaft's.
        Where the target is not reached: the height at the end of the flight.
    impact_side : float
        Place of the point beside the target's centre there, positive away from the window [m].
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
        ``state(t)`` gives the state (10,) or (10, k) in SI: x, y, velocity x, velocity y, pitch [rad], pitch rate, then
        z, velocity z, yaw [rad], yaw rate, zero in a shot in one plane.
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
        How the setup gives its readings; pictures do the same.
    handed : {"right", "left"}
        Which hand draws: what is away from the window is left for a right-handed archer.

    Examples
    --------
    >>> import archerysim
    >>> launch = archerysim.shoot(archerysim.load("examples/club-outdoor.toml"))
    >>> flight = archerysim.fly(launch, distance="20 yd")
    >>> flight.reached, round(flight.time_of_flight, 2), abs(flight.impact_height) < 0.001  # [s], [m]
    (True, 0.32, True)
    """

    time: Annotated[np.ndarray, Reported("s", "time after clear", ("time",))]
    x: Annotated[np.ndarray, Reported("m", "mass centre level towards the target from the pivot's place", ("time",))]
    y: Annotated[np.ndarray, Reported("m", "mass centre above the pivot's place", ("time",))]
    nose_x: Annotated[np.ndarray, Reported("m", "point's tip level towards the target", ("time",))]
    tail_x: Annotated[np.ndarray, Reported("m", "throat level towards the target", ("time",))]
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
    z: Annotated[np.ndarray, Reported("m", "mass centre sideways, positive away from the window", ("time",))]
    nose_z: Annotated[np.ndarray, Reported("m", "point's tip sideways, positive away from the window", ("time",))]
    tail_z: Annotated[np.ndarray, Reported("m", "throat sideways, positive away from the window", ("time",))]
    yaw: Annotated[
        np.ndarray,
        Reported(
            "deg", "angle of the rigid shaft to the vertical plane, positive nose away from the window", ("time",)
        ),
    ]
    yaw_rate: Annotated[np.ndarray, Reported("rad/s", "rate of the yaw", ("time",))]
    side_angle_of_attack: Annotated[
        np.ndarray, Reported("deg", "yaw minus the direction sideways of the mass centre's velocity", ("time",))
    ]
    distance: Annotated[float, Reported("m", "distance of the target plane from the pivot's place at full draw")]
    elevation: Annotated[float, Reported("deg", "angle of the aim line above the horizontal")]
    windage: Annotated[float, Reported("deg", "turn of the aim line about the vertical, positive away from the window")]
    reached: bool
    impact_height: Annotated[
        float, Reported("m", "height of the point above the target's centre where it meets the target plane")
    ]
    impact_side: Annotated[
        float, Reported("m", "place of the point beside the target's centre, positive away from the window")
    ]
    impact_angle: Annotated[float, Reported("deg", "direction of the mass centre's velocity there, positive up")]
    time_of_flight: Annotated[float, Reported("s", "time from clear to the target plane")]
    fletched: bool
    nose_ahead: Annotated[float, Reported("m", "the point's tip ahead of the mass centre")]
    tail_behind: Annotated[float, Reported("m", "the throat behind the mass centre")]
    mass: Annotated[float, Reported("kg", "mass of the arrow as it flies")]
    state: Callable[[Any], np.ndarray] = field(compare=False)
    body: Flyer
    bending: Bending | None
    name: str = ""
    reading: Annotated[float, Reported("mm", "locator height by the underside of the nock")] = math.nan
    category: str = ""
    by: ReadBy = BY_UNDERSIDE
    handed: Handed = "right"

    def to_xarray(self) -> xarray.Dataset:
        """The flight as a table with units, along the time after clear.

        Examples
        --------
        >>> import archerysim
        >>> launch = archerysim.shoot(archerysim.load("examples/club-outdoor.toml"))
        >>> table = archerysim.fly(launch, distance="18 m").to_xarray()
        >>> list(table.sizes), table["angle_of_attack"].attrs["units"]
        (['time'], 'degree')
        """
        return dataset(variables_of(self), f"flight of {self.name}")

    @cached_property  # flown when it is first asked for: most flights never are
    def swing(self) -> Swing:
        """Wavelength and decay of the swing up and down, from this flight, continued past the target if needed.

        Examples
        --------
        >>> import archerysim
        >>> launch = archerysim.shoot(archerysim.load("examples/club-outdoor.toml"))
        >>> swing = archerysim.fly(launch, distance="18 m").swing
        >>> round(swing.wavelength)  # [m]
        26
        """
        return swing_of(self.state(0.0), self.body)

    @cached_property
    def side_swing(self) -> Swing:
        """The same for the swing left and right; none for a shot in one plane.

        Examples
        --------
        >>> import archerysim
        >>> launch = archerysim.shoot(archerysim.load("examples/club-outdoor.toml"), planes=1)
        >>> archerysim.fly(launch, distance="18 m").side_swing.wavelength is None  # one plane knows none
        True
        """
        return swing_of(self.state(0.0), self.body, sideways=True)


def fly(
    launch: Launch,
    *,
    distance: Any,
    fletched: bool = True,
    taped: bool = True,
    bending: bool = False,
    sight: Sight = "fletched",
    elevation: Any = None,
    windage: Any = "0 deg",
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
        Distance of the target plane from the pivot's place: "20 yd", ``(18, "m")``.
    fletched : bool
        False: the same shaft without fletching.
    taped : bool
        Without fletching: True with tape of the fletching's mass in its place, False without. Then the launch
        may be one shot with the fletching's mass (its speed is raised, see `start_of`) or without.
    bending : bool
        Add the shaft's free ringing to ``nose_y``, ``tail_y``, ``nose_z`` and ``tail_z``.
    sight : {"fletched", "own", "setup"}
        The aim with which the fletched arrow of this launch hits the centre, up and down and sideways; that with which
        the arrow that is flown does; or ``archer.elevation`` of the setup, straight at the target.
    elevation : str or another number with its unit, optional
        Elevation of the aim line in place of a sight: "2 deg".
    windage : str or another number with its unit
        Turn of the aim line about the vertical, positive away from the window, where an elevation is given.
    target_height : str or another number with its unit
        Height of the target's centre above the pivot's place.
    air : Air, optional
        In place of the setup's.
    boundary_layer : {"auto", "laminar", "turbulent"}
        Of the shaft; "auto" goes by the point's shape and the Reynolds number.
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
        If the distance is out of range or out of the arrow's reach, or a height or an angle is not a usable number.

    Notes
    -----
    The launch was computed at the setup's ``archer.elevation``; its state at clear is turned rigidly about the
    pivot to the elevation of the sight. Equations and sources: docs/flight.md.

    Examples
    --------
    >>> import archerysim
    >>> launch = archerysim.shoot(archerysim.load("examples/club-outdoor.toml"))
    >>> fletched = archerysim.fly(launch, distance="18 m")
    >>> bare = archerysim.fly(launch, distance="18 m", fletched=False)
    >>> bare.impact_height < fletched.impact_height  # the bare shaft lands low
    True
    """
    return flown(
        launch, distance=check_distance(distance), fletched=fletched, taped=taped, bending=bending, sight=sight,
        elevation=None if elevation is None else ELEVATION.single("elevation", elevation, "refused"),
        windage=WINDAGE.single("windage", windage, "refused"),
        target_height=HEIGHT.single("target_height", target_height, "refused"), air=air, boundary_layer=boundary_layer,
        perfect=perfect, lift=lift, ground=None if ground is None else HEIGHT.single("ground", ground, "refused"),
    )  # fmt: skip


def flown(
    launch: Launch, *, distance: float, fletched: bool = True, taped: bool = True, bending: bool = False,
    sight: Sight = "fletched", elevation: float | None = None, windage: float = 0.0, target_height: float = 0.0,
    air: Air | None = None, boundary_layer: BoundaryLayer = "auto", perfect: bool = False, lift: bool = True,
    ground: float | None = None,
) -> Flight:  # fmt: skip
    """`fly` in SI, angles in radians.

    Raises
    ------
    SetupError
        If the target is out of the arrow's reach.
    """
    far, centre, floor = distance, target_height, ground
    how: Any = {"perfect": perfect, "lift": lift, "air": air, "boundary_layer": boundary_layer}
    start = start_of(launch, fletched=fletched, taped=taped, **how)
    if elevation is not None:
        aim = Aim(elevation, windage)
    elif sight == "setup":
        aim = Aim(filled(launch.setup).number("archer.elevation"))
    else:
        aimed = start if sight == "own" or fletched else start_of(launch, **how)
        aim = find_aim(aimed, far, centre, lift=lift)
    way = course(start.at(*aim), start.body, nose=start.nose, distance=far, lift=lift, ground=floor)
    if not way.reached and floor is None:
        raise beyond_reach(far)
    time = np.linspace(0.0, way.end, POINTS)
    x, y, vx, vy, pitch, rate, z, vz, yaw, yaw_rate = way.state(time)
    level, known = np.cos(yaw), 1.0 if launch.planes == 2 else math.nan  # sideways
    ahead, up, aside = level * np.cos(pitch), level * np.sin(pitch), np.sin(yaw)
    nose_y, tail_y = y + start.nose * up, y - start.tail * up
    nose_z, tail_z = z + start.nose * aside, z - start.tail * aside
    height, beside = tip_of(way.last, start.nose)
    ringing = bending_of(launch) if bending else None
    if ringing is not None:
        at_tail, at_nose = ringing.deflection(time)
        nose_y, tail_y = nose_y + at_nose * np.cos(pitch), tail_y + at_tail * np.cos(pitch)
    if ringing is not None and ringing.sideways is not None:
        at_tail, at_nose = ringing.sideways.deflection(time)
        nose_z, tail_z = nose_z + at_nose * level, tail_z + at_tail * level
    return Flight(
        time=time, x=x, y=y, nose_x=x + start.nose * ahead, tail_x=x - start.tail * ahead, nose_y=nose_y,
        tail_y=tail_y, pitch=np.degrees(pitch), pitch_rate=rate,
        angle_of_attack=np.degrees(pitch - np.arctan2(vy, vx)), speed=np.sqrt(vx * vx + vy * vy + vz * vz),
        z=known * z, nose_z=known * nose_z, tail_z=known * tail_z, yaw=known * np.degrees(yaw),
        yaw_rate=known * yaw_rate, side_angle_of_attack=known * np.degrees(yaw - np.arctan2(vz, np.hypot(vx, vy))),
        distance=far, elevation=math.degrees(aim.elevation), windage=known * math.degrees(aim.windage),
        reached=way.reached, impact_height=height - centre, impact_side=known * beside,
        impact_angle=math.degrees(math.atan2(way.last[SPEED_Y], way.last[SPEED_X])), time_of_flight=way.end,
        fletched=fletched, nose_ahead=start.nose, tail_behind=start.tail, mass=start.body.mass, state=way.state,
        body=start.body, bending=ringing, name=launch.setup.name, reading=launch.reading,
        category=launch.setup.category, by=read_by(launch.setup), handed=filled(launch.setup).archer.handed,
    )  # fmt: skip


def check_distance(distance: Any, name: str = "distance") -> float:
    """A distance of the target in m, checked before any work is done.

    Raises
    ------
    SetupError
        If it has no unit, cannot be read or is out of range.
    """
    return DISTANCE.single(name, distance, "refused")
