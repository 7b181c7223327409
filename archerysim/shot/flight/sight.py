"""Where the sight must stand for the arrow to hit the target's centre, up and down and sideways."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from archerysim.equipment import Air, SetupError
from archerysim.fields.units import target_distance
from archerysim.fields.zero import zero_between
from archerysim.mechanics.flight import AT_Y, AT_Z, PITCH, SPEED_X, SPEED_Y, YAW
from archerysim.shot.flight.aerodynamics import BoundaryLayer
from archerysim.shot.flight.start import Start, start_of
from archerysim.shot.flight.trajectory import course
from archerysim.shot.launch import Launch

STEEPEST = math.radians(45.0)  # of a sight
CLOSE = 1e-8  # [m] at the target's centre
ROUNDS = 20
ROUGH = 1e-4  # [m] as near as an arrow that tumbles has to come, whose hit is no smooth curve of the aim
STEP = 1e-5  # [rad] of elevation, for what it does to the height


class Aim(NamedTuple):
    """Where the aim line points, with the bow turned about the pivot from the launch's [rad]."""

    elevation: float  #: above the horizontal
    windage: float = 0.0  #: about the vertical, positive away from the window


def sight_elevation(
    launch: Launch,
    distance: float,
    *,
    target_height: float = 0.0,
    air: Air | None = None,
    boundary_layer: BoundaryLayer = "auto",
) -> float:
    """Elevation of the aim line with which the fletched arrow of a launch hits the centre [deg].

    Parameters are those of `archerysim.shot.flight.fly.flown`.

    Raises
    ------
    SetupError
        If the target is out of the arrow's reach.
    """
    return math.degrees(
        sight_of(launch, distance, target_height=target_height, air=air, boundary_layer=boundary_layer).elevation
    )


def sight_of(
    launch: Launch, distance: float, *, target_height: float = 0.0, air: Air | None = None,
    boundary_layer: BoundaryLayer = "auto",
) -> Aim:  # fmt: skip
    """Aim with which the fletched arrow of a launch hits the centre [rad]; as `sight_elevation`."""
    return find_aim(start_of(launch, air=air, boundary_layer=boundary_layer), distance, target_height)


def find_aim(start: Start, distance: float, target_height: float = 0.0, *, lift: bool = True) -> Aim:
    """Aim of the least elevation with which the point meets the target plane at a height [m], nothing beside.

    Notes
    -----
    The elevation by closing in on it between two that miss high and low. To turn the aim aside then moves the height
    by next to nothing: both are corrected by what is missed, over what an angle does there, until it is under 1e-8 m.

    Raises
    ------
    SetupError
        If the target is out of the arrow's reach.
    """
    speed = float(np.hypot(start.state[SPEED_X], start.state[SPEED_Y]))

    def missed(aim: Aim) -> tuple[float, float] | None:
        flown = course(
            start.at(*aim), start.body, nose=start.nose, distance=distance, lift=lift,
            longest=1.0 + 4.0 * distance / speed,
        )  # fmt: skip
        if not flown.reached:
            return None
        height, beside = tip_of(flown.last, start.nose)
        return height - target_height, beside

    def miss(angle: float) -> float:
        found = missed(Aim(angle))
        return -distance if found is None else found[0]

    drop = 0.5 * start.body.gravity * distance / speed**2
    angle = min(math.atan(target_height / distance) + drop, 0.8 * STEEPEST)
    first = miss(angle)
    other, second = angle, first
    while first * second > 0.0:
        if abs(other) >= STEEPEST:
            raise beyond_reach(distance)
        angle, first = other, second
        other = float(np.clip(angle - 1.1 * first / distance - math.copysign(1e-6, first), -STEEPEST, STEEPEST))
        second = miss(other)
    if first != 0.0:
        angle = other if second == 0.0 else zero_between(miss, angle, other, 1e-10)
    aim, per_angle = Aim(angle), math.nan
    best, least = aim, math.inf
    for _ in range(ROUNDS):
        found = missed(aim)
        if found is None:
            break
        off = max(abs(found[0]), abs(found[1]))
        if off < least:
            best, least = aim, off
        if off < CLOSE:
            break
        if math.isnan(per_angle):
            per_angle = (miss(angle + STEP) - miss(angle)) / STEP
        aim = Aim(aim.elevation - found[0] / per_angle, aim.windage - found[1] / distance)
    if least < ROUGH:
        return best
    raise beyond_reach(distance)


def tip_of(state: np.ndarray, nose: float) -> tuple[float, float]:
    """Height and place sideways of the point's tip [m]."""
    yaw = float(state[YAW])
    return (
        float(state[AT_Y]) + nose * math.cos(yaw) * math.sin(float(state[PITCH])),
        float(state[AT_Z]) + nose * math.sin(yaw),
    )


def beyond_reach(distance: float) -> SetupError:
    """The error of a target out of reach."""
    return SetupError(
        "distance", f"{target_distance(distance)} is out of this arrow's reach", "Give a shorter distance"
    )
