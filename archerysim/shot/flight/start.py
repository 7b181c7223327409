"""An arrow at clear, ready to fly: its state in space, turned to where the sight points."""

from __future__ import annotations

import math
from dataclasses import dataclass

import msgspec
import numpy as np

from archerysim.equipment import Air, filled
from archerysim.equipment.arrow import balance_point, total_mass
from archerysim.errors import UsageError
from archerysim.mechanics.flight import Flyer
from archerysim.shot.flight.aerodynamics import BoundaryLayer, flyer
from archerysim.shot.flight.air_state import air_state
from archerysim.shot.launch import Launch


@dataclass(frozen=True)
class Start:
    """An arrow at clear, ready to fly.

    Attributes
    ----------
    state : (10,) array
        In the aim frame: x, y, velocity x, velocity y, pitch, pitch rate, z, velocity z, yaw, yaw rate; SI, angles in
        radians. The last four are zero in a shot in one plane.
    body : Flyer
    nose, tail : float
        The point's tip before and the throat behind the mass centre [m].
    """

    state: np.ndarray
    body: Flyer
    nose: float
    tail: float

    def at(self, elevation: float, windage: float = 0.0) -> np.ndarray:
        """State in world axes, the bow turned rigidly about the pivot.

        Parameters
        ----------
        elevation, windage : float
            First up about the level axis across, then about the vertical, positive away from the window [rad].
        """
        place, velocity, direction, turning = (_turned(one, elevation, windage) for one in vectors_of(self.state))
        return state_of(place, velocity, direction, turning)


def vectors_of(state: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Place, velocity, the shaft's direction and its velocity (3,) of a state, each along x, y, z."""
    x, y, vx, vy, pitch, rate, z, vz, yaw, yaw_rate = state
    c, s, cy, sy = math.cos(pitch), math.sin(pitch), math.cos(yaw), math.sin(yaw)
    up, aside = np.array([-s, c, 0.0]), np.array([-sy * c, -sy * s, cy])
    turning = cy * rate * up + yaw_rate * aside
    return np.array([x, y, z]), np.array([vx, vy, vz]), np.array([cy * c, cy * s, sy]), turning


def state_of(place: np.ndarray, velocity: np.ndarray, direction: np.ndarray, turning: np.ndarray) -> np.ndarray:
    """The state (10,) of such vectors; pitch is the angle of the direction in the x-y plane, yaw that out of it."""
    ex, ey, ez = direction
    level = math.hypot(ex, ey)
    pitch, yaw = math.atan2(ey, ex), math.atan2(ez, level)
    rate = (ex * turning[1] - ey * turning[0]) / level**2
    yaw_rate = turning[2] / level
    return np.array([*place[:2], *velocity[:2], pitch, rate, place[2], velocity[2], yaw, yaw_rate])


def _turned(vector: np.ndarray, elevation: float, windage: float) -> np.ndarray:
    x, y, z = vector
    c, s = math.cos(elevation), math.sin(elevation)
    x, y = c * x - s * y, s * x + c * y
    c, s = math.cos(windage), math.sin(windage)
    return np.array([c * x - s * z, y, s * x + c * z])


def start_of(
    launch: Launch,
    *,
    fletched: bool = True,
    taped: bool = True,
    perfect: bool = False,
    lift: bool = True,
    air: Air | None = None,
    boundary_layer: BoundaryLayer = "auto",
) -> Start:
    """The arrow of a launch at clear, as it will fly.

    Parameters are those of `archerysim.fly`.

    Raises
    ------
    UsageError
        If it is no launch.

    Notes
    -----
    A launch tells pitch and yaw as angles in two planes along the aim line: the shaft's direction is along
    (1, tan pitch, tan yaw). A shaft that carries neither fletching nor tape leaves the bow faster. If the launch was
    shot with the fletching's mass, its speed is raised by the rule of the virtual mass K, which the bow moves besides
    the arrow: m (1/efficiency - 1) = K, v proportional to 1/sqrt(m + K) (Klopsteg, in Hickman, Nagler, Klopsteg,
    Archery: the Technical Side, 1947 [memory]). Its mass centre lies further in front, where the shaft's turning adds
    to the velocity; not to that of an arrow which keeps to its path (``lift`` False), since that is no part of drag
    and mass.
    """
    if not isinstance(launch, Launch):
        raise UsageError(
            "launch",
            f"a flight begins with a Launch, not {type(launch).__name__}",
            "give it one: fly(shoot(setup), ...)",
        )
    full = filled(launch.setup)
    arrow = full.arrow
    place, velocity, direction, turning = _leaving(launch)
    if perfect:
        direction, turning = velocity / math.hypot(*velocity), np.zeros(3)
    if not fletched and not taped:
        before, centre = total_mass(arrow), balance_point(arrow)
        arrow = msgspec.structs.replace(arrow, fletching_mass=0.0)
        virtual = before * (1.0 / launch.efficiency - 1.0)
        faster = math.sqrt((before + virtual) / (total_mass(arrow) + virtual))
        ahead = balance_point(arrow) - centre
        place, velocity = place + ahead * direction, faster * velocity + (ahead * turning if lift else 0.0)
    body = flyer(arrow, air_state(air or full.air), fletched=fletched, boundary_layer=boundary_layer)
    tail = balance_point(arrow)
    ahead = arrow.length + arrow.point_length - tail
    return Start(state_of(place, velocity, direction, turning), body, ahead, tail)


def _leaving(launch: Launch) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Place, velocity, direction of the shaft and its velocity at clear, along the aim frame's axes."""
    clear = launch.clear
    pitch, yaw, yaw_rate, z, out = math.radians(clear.pitch), 0.0, 0.0, 0.0, 0.0
    if launch.planes == 2:
        yaw, yaw_rate = math.radians(clear.yaw), clear.yaw_rate
        z, out = clear.centre_z, clear.sideways_velocity
    along = np.array([1.0, math.tan(pitch), math.tan(yaw)])
    change = np.array([0.0, clear.pitch_rate / math.cos(pitch) ** 2, yaw_rate / math.cos(yaw) ** 2])
    size = math.hypot(*along)
    direction = along / size
    turning = (change - direction * float(direction @ change)) / size
    return (
        np.array([clear.centre_x, clear.centre_y, z]), np.array([clear.speed, clear.vertical_velocity, out]),
        direction, turning,
    )  # fmt: skip
