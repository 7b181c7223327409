"""The arrow at one moment of a shot."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any, NamedTuple

import numpy as np

from archerysim.fields.reported import Reported
from archerysim.fields.result import result
from archerysim.mechanics.rigid_body import rigid_motion
from archerysim.shot.energy import Energy, Ledger, account
from archerysim.shot.release.bending_modes import modal_parts
from archerysim.shot.release.release import Begun
from archerysim.shot.statics.drawn import Drawn


@result(
    "time", "speed", "vertical_velocity", "pitch", "pitch_rate",
    "angle_of_attack", "bend_1", "bend_2", "riser_pitch",
)  # fmt: skip
@dataclass(frozen=True)
class Moment:
    """The arrow at one moment, in the aim frame: x along the arrow's line at full draw, y square to it, up.

    In the shot in both planes that line leans out of the bow's plane to the side support, and z is square to it, away
    from the window. With a canted bow y and z are turned to the world's, y up.

    Attributes
    ----------
    time : float
        After the release begins [s].
    speed, vertical_velocity : float
        Of the mass centre, along and square to the aim line [m/s].
    pitch : float
        Of the rigid shaft with the same mass-weighted line, to the aim line, positive nose up [deg].
    pitch_to_bow : float
        The same in the bow's own axes, the riser's x at full draw: `pitch` plus the launch's ``aim_angle`` [deg].
    pitch_rate : float
        Angular momentum about the mass centre over the moment of inertia, positive nose up [rad/s].
    angle_of_attack : float
        Pitch minus the direction of the mass centre's velocity [deg].
    bend_1, bend_2 : float
        Largest deflection in the first two free bending modes, positive tail up [mm].
    bend_1_rate, bend_2_rate : float
        Their rates [m/s].
    nock_x, nock_y : float
        Place of the nock from the pivot's place at full draw [m]; in both planes turned about where it was then.
    riser_pitch, riser_pitch_rate : float
        Turn of the riser since full draw, positive nose up [deg], [rad/s].
    centre_x, centre_y : float
        Place of the mass centre [m].
    sideways_velocity : float
        Of the mass centre, square to the aim line, positive away from the window [m/s]. This and all that follows is
        nan in the shot in one plane.
    yaw : float
        Of the rigid shaft to the aim line, positive nose away from the window [deg].
    yaw_rate : float
        [rad/s]
    side_angle_of_attack : float
        Yaw minus the direction sideways of the mass centre's velocity [deg].
    side_bend_1, side_bend_2 : float
        Largest deflection sideways in the first two free bending modes, positive tail away from the window [mm].
    side_bend_1_rate, side_bend_2_rate : float
        Their rates [m/s].
    nock_z, centre_z : float
        Places sideways, from the aim line [m].
    energy : Energy
        Energy account [J].

    Examples
    --------
    >>> import archerysim
    >>> launch = archerysim.shoot(archerysim.load("examples/club-outdoor.toml"))
    >>> launch.separation.time < launch.clear.time
    True
    >>> round(launch.clear.speed), round(launch.clear.vertical_velocity, 1)  # [m/s]
    (56, 0.2)
    """

    time: Annotated[float, Reported("s", "time after the release begins")]
    speed: Annotated[float, Reported("m/s", "speed of the arrow's mass centre along the aim line")]
    vertical_velocity: Annotated[
        float, Reported("m/s", "velocity of the mass centre square to the aim line, positive up")
    ]
    pitch: Annotated[float, Reported("deg", "angle of the shaft to the aim line, positive nose up")]
    pitch_to_bow: Annotated[
        float,
        Reported("deg", "angle of the shaft to the riser's x at full draw: pitch plus aim_angle, positive nose up"),
    ]
    pitch_rate: Annotated[float, Reported("rad/s", "rate of the pitch, positive nose up")]
    angle_of_attack: Annotated[float, Reported("deg", "pitch minus the direction of the mass centre's velocity")]
    bend_1: Annotated[float, Reported("mm", "largest deflection in the shaft's first bending mode, positive tail up")]
    bend_1_rate: Annotated[float, Reported("m/s", "rate of bend_1")]
    bend_2: Annotated[float, Reported("mm", "largest deflection in the shaft's second bending mode, positive tail up")]
    bend_2_rate: Annotated[float, Reported("m/s", "rate of bend_2")]
    nock_x: Annotated[float, Reported("m", "nock along the aim line from the pivot's place at full draw")]
    nock_y: Annotated[float, Reported("m", "nock square to the aim line from the pivot's place at full draw")]
    riser_pitch: Annotated[float, Reported("deg", "turn of the riser since full draw, positive nose up")]
    riser_pitch_rate: Annotated[float, Reported("rad/s", "rate of the riser's turn")]
    centre_x: Annotated[float, Reported("m", "mass centre along the aim line from the pivot's place at full draw")]
    centre_y: Annotated[float, Reported("m", "mass centre square to the aim line from the pivot's place at full draw")]
    sideways_velocity: Annotated[
        float, Reported("m/s", "velocity of the mass centre sideways, positive away from the window")
    ]
    yaw: Annotated[
        float, Reported("deg", "angle sideways of the shaft to the aim line, positive nose away from the window")
    ]
    yaw_rate: Annotated[float, Reported("rad/s", "rate of the yaw, positive nose away from the window")]
    side_angle_of_attack: Annotated[float, Reported("deg", "yaw minus the direction sideways of the velocity")]
    side_bend_1: Annotated[float, Reported(
        "mm", "largest deflection sideways in the shaft's first bending mode, positive tail away from the window"
    )]  # fmt: skip
    side_bend_1_rate: Annotated[float, Reported("m/s", "rate of side_bend_1")]
    side_bend_2: Annotated[float, Reported(
        "mm", "largest deflection sideways in the shaft's second bending mode, positive tail away from the window"
    )]  # fmt: skip
    side_bend_2_rate: Annotated[float, Reported("m/s", "rate of side_bend_2")]
    nock_z: Annotated[float, Reported("m", "nock sideways from the aim line, positive away from the window")]
    centre_z: Annotated[float, Reported("m", "mass centre sideways from the aim line, positive away from the window")]
    energy: Energy


def aim_angle(drawn: Drawn, tail: int) -> float:
    """Angle of the arrow's line at full draw (throat's middle to point) against the riser's x [rad]."""
    return float(np.arctan2(drawn.y[-1] - drawn.y[tail], drawn.x[-1] - drawn.x[tail]))


def turned(angle: float, x: Any, y: Any) -> tuple[Any, Any]:
    """Components along and square to a line at ``angle`` [rad]."""
    cosine, sine = np.cos(angle), np.sin(angle)
    return cosine * x + sine * y, cosine * y - sine * x


def describe(
    ledger: Ledger, state: np.ndarray, moment: np.record, shape: np.ndarray, aside: np.ndarray | None = None
) -> Moment:
    """The arrow in one state of the shot.

    Parameters
    ----------
    shape : (2, k) array
        Its bending modes, as `free_modes` gives them.
    aside : (2, n) array
        z, vz of all nodes, of a shot in both planes.
    """
    a = ledger.drawing.braced.marks.tail
    angle = aim_angle(ledger.drawn, a)
    mass, arrow = ledger.drawing.braced.chain.mass[a:], state[:, a:]
    (x, vx), (y, vy) = turned(angle, arrow[0::2], arrow[1::2])
    nock_z, out, tilt = NAN, NOT_KNOWN, 0.0
    if aside is not None and ledger.begun is not None:
        (x, y, z), (vx, vy, vz) = in_aim_frame(ledger, ledger.begun, angle, (x, y, vx, vy), aside[:, a:])
        nock_z, out, tilt = float(z[0]), motion_across(mass, shape, x, z, vx, vz), ledger.drawing.setup.archer.cant
    up = motion_across(mass, shape, x, y, vx, vy)
    to_bow = angle + (up.angle if tilt == 0.0 else float(np.cos(tilt) * up.angle - np.sin(tilt) * out.angle))
    return Moment(
        time=float(moment.time), speed=up.speed, vertical_velocity=up.across, pitch=float(np.degrees(up.angle)),
        pitch_to_bow=float(np.degrees(to_bow)), pitch_rate=up.rate, angle_of_attack=up.attack,
        bend_1=float(1e3 * up.bends[0, 0]), bend_1_rate=float(up.bends[0, 1]),
        bend_2=float(1e3 * up.bends[1, 0]), bend_2_rate=float(up.bends[1, 1]),
        nock_x=float(x[0]), nock_y=float(y[0]),
        riser_pitch=float(np.degrees(moment.riser_turn)), riser_pitch_rate=float(moment.rate_turn),
        centre_x=up.centre[0], centre_y=up.centre[1],
        sideways_velocity=out.across, yaw=float(np.degrees(out.angle)), yaw_rate=out.rate,
        side_angle_of_attack=out.attack,
        side_bend_1=float(1e3 * out.bends[0, 0]), side_bend_1_rate=float(out.bends[0, 1]),
        side_bend_2=float(1e3 * out.bends[1, 0]), side_bend_2_rate=float(out.bends[1, 1]),
        nock_z=nock_z, centre_z=out.centre[1],
        energy=account(ledger, state, moment, aside),
    )  # fmt: skip


def in_aim_frame(
    ledger: Ledger, begun: Begun, angle: float, flat: tuple[np.ndarray, ...], aside: np.ndarray
) -> tuple[tuple[np.ndarray, ...], tuple[np.ndarray, ...]]:
    """Places and velocities in the aim frame of both planes, turned about the throat's middle at full draw.

    Parameters
    ----------
    angle : float
        Of the aim line in the bow's plane [rad].
    flat : four (k,) arrays
        x, y, vx, vy of the arrow in that plane's aim frame.
    aside : (2, k) array
        z, vz of it.

    Returns
    -------
    places, velocities : three (k,) arrays each
    """
    tail = ledger.drawing.braced.marks.tail
    begin_x, begin_y, begin_z = (float(part[tail]) for part in begun.start)
    along, over = turned(angle, begin_x, begin_y)
    x, y, vx, vy = flat
    (x, vx), (z, vz) = turned(ledger.side_angle, np.array([x - along, vx]), np.array([aside[0] - begin_z, aside[1]]))
    (y, vy), (z, vz) = turned(ledger.drawing.setup.archer.cant, np.array([y - over, vy]), np.array([z, vz]))
    return (x + along, y + over, z), (vx, vy, vz)


class Across(NamedTuple):
    """Motion of the arrow in a plane along the aim line: rigid, and its bends about that."""

    centre: tuple[float, float]  #: along and square to the line [m]
    speed: float  #: along [m/s]
    across: float  #: and square to it
    angle: float  #: [rad]
    rate: float  #: [rad/s]
    attack: float  #: [deg]
    bends: np.ndarray  #: (2, 2) of two modes: deflection [m], rate [m/s]


NAN = float("nan")
NOT_KNOWN = Across((NAN, NAN), NAN, NAN, NAN, NAN, NAN, np.full((2, 2), NAN))  # sideways in the shot in one plane


def motion_across(
    mass: np.ndarray, shape: np.ndarray, x: np.ndarray, y: np.ndarray, vx: np.ndarray, vy: np.ndarray
) -> Across:
    """The arrow's motion in one plane."""
    cx, cy, ux, uy, angle, rate = rigid_motion(mass, *(np.ascontiguousarray(part) for part in (x, y, vx, vy)))
    along, across = turned(angle, x - cx, y - cy)
    _, speed = turned(angle, vx - ux, vy - uy)
    bends = modal_parts(mass, shape, across, speed - rate * along)
    return Across((cx, cy), ux, uy, angle, rate, float(np.degrees(angle - np.arctan2(uy, ux))), bends)
