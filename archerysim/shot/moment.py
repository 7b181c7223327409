"""The arrow at one moment of a shot."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import numpy as np

from archerysim.fields.reported import Reported
from archerysim.fields.result import result
from archerysim.mechanics.rigid_body import rigid_motion
from archerysim.shot.energy import Energy, Ledger, account
from archerysim.shot.release.bending_modes import modal_parts
from archerysim.shot.statics.drawn import Drawn


@result(
    "time", "speed", "vertical_velocity", "pitch", "pitch_rate",
    "angle_of_attack", "bend_1", "bend_2", "riser_pitch",
)  # fmt: skip
@dataclass(frozen=True)
class Moment:
    """The arrow at one moment, in the aim frame: x along the arrow's line at full draw, y square to it, up.

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
        Place of the nock from the pivot's place at full draw [m].
    riser_pitch, riser_pitch_rate : float
        Turn of the riser since full draw, positive nose up [deg], [rad/s].
    centre_x, centre_y : float
        Place of the mass centre [m].
    energy : Energy
        Energy account [J].
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
    energy: Energy


def aim_angle(drawn: Drawn, tail: int) -> float:
    """Angle of the arrow's line at full draw (throat's middle to point) against the riser's x [rad]."""
    return float(np.arctan2(drawn.y[-1] - drawn.y[tail], drawn.x[-1] - drawn.x[tail]))


def turned(angle: float, x: np.ndarray, y: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Components along and square to a line at ``angle`` [rad]."""
    cosine, sine = np.cos(angle), np.sin(angle)
    return cosine * x + sine * y, cosine * y - sine * x


def describe(ledger: Ledger, state: np.ndarray, moment: np.record, shape: np.ndarray) -> Moment:
    """The arrow in one state of the shot; ``shape`` holds its bending modes, as `free_modes` gives them."""
    b = ledger.drawing.braced
    a = b.marks.tail
    angle = aim_angle(ledger.drawn, a)
    mass, arrow = b.chain.mass[a:], state[:, a:]
    (x, vx), (y, vy) = turned(angle, arrow[0::2], arrow[1::2])
    cx, cy, ux, uy, pitch, rate = rigid_motion(mass, x, y, vx, vy)
    along, across = turned(pitch, x - cx, y - cy)
    _, speed = turned(pitch, vx - ux, vy - uy)
    bends = modal_parts(mass, shape, across, speed - rate * along)
    return Moment(
        time=float(moment.time), speed=ux, vertical_velocity=uy, pitch=float(np.degrees(pitch)),
        pitch_to_bow=float(np.degrees(pitch + angle)), pitch_rate=rate,
        angle_of_attack=float(np.degrees(pitch - np.arctan2(uy, ux))),
        bend_1=float(1e3 * bends[0, 0]), bend_1_rate=float(bends[0, 1]),
        bend_2=float(1e3 * bends[1, 0]), bend_2_rate=float(bends[1, 1]),
        nock_x=float(x[0]), nock_y=float(y[0]),
        riser_pitch=float(np.degrees(moment.riser_turn)), riser_pitch_rate=float(moment.rate_turn),
        centre_x=cx, centre_y=cy, energy=account(ledger, state, moment),
    )  # fmt: skip
