"""One shot told in time: what happened, when, and the forces and the arrow's attitude at that instant."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from archerysim.equipment import filled
from archerysim.shot.launch import Launch
from archerysim.shot.timeline import fading, rest_force

FRAMES = ("full draw", "fingers half open", "off the arm", "separation", "clear")
INSTEAD = ("rest's support ends", "string straight", "greatest push")  # of a shot whose shaft goes off no arm


@dataclass(frozen=True)
class Instant:
    """The shot at one instant.

    Attributes
    ----------
    name : str
    time : float
        After the release begins [s].
    fingers : (float, float, float)
        Force of index, middle and ring finger on the string [N].
    edge_upper, edge_lower : float
        Push of the string on the ends of the throat's floor [N].
    locator : float
        Force of the locators on the nock, positive up [N].
    rest : float
        Force of the rest on the shaft [N].
    side_support : float
        Force of the side support on the shaft [N]; nan in the shot in one plane.
    pitch, pitch_rate, vertical_velocity, speed : float
        Of the arrow in the aim frame [deg], [rad/s], [m/s].
    travel : float
        Of the nock along the aim line since full draw [m].
    """

    name: str
    time: float
    fingers: tuple[float, float, float]
    edge_upper: float
    edge_lower: float
    locator: float
    rest: float
    side_support: float
    pitch: float
    pitch_rate: float
    vertical_velocity: float
    speed: float
    travel: float

    @property
    def finger_force(self) -> float:
        """Of all fingers [N]."""
        return sum(self.fingers)

    @property
    def push(self) -> float:
        """Of both ends of the floor [N]."""
        return self.edge_upper + self.edge_lower


def story(launch: Launch) -> tuple[Instant, ...]:
    """What happened, in the order of time.

    Raises
    ------
    ValueError
        If the launch has no trace.
    """
    launch.traced()
    at = launch.timeline
    times = {
        "full draw": 0.0,
        "fingers half open": at.fingers.half_open,
        "fingers off": at.fingers.off,
        "greatest push": at.greatest_push,
        "rest left": at.rest_left if at.rest_left != at.off_arm else math.nan,  # told once
        "rest's support ends": at.support_ends,
        "shaft on the rest again": at.on_rest_again,
        "off the side support": at.off_side_support,
        "off the arm": at.off_arm,
        "nock furthest sideways": at.nock_furthest,
        "arm struck from the side": at.arm_struck,
        "tail on the side support": at.tail_touches,
        "tail past": at.tail_past,
        "string on the upper limb": at.string_on_upper,
        "string on the lower limb": at.string_on_lower,
        "string straight": at.string_straight,
        "separation": at.separation,
        "clear": at.clear,
    }
    kept = [(name, time) for name, time in times.items() if math.isfinite(time)]
    return tuple(instant(launch, name, time) for name, time in sorted(kept, key=lambda one: one[1]))


def frames(instants: tuple[Instant, ...]) -> tuple[Instant, ...]:
    """The five of a strip: `FRAMES`, or for the third the first of `INSTEAD` that there is."""
    named = {instant.name: instant for instant in instants}
    third = next(named[name] for name in (FRAMES[2], *INSTEAD) if name in named)
    return (named[FRAMES[0]], named[FRAMES[1]], third, named[FRAMES[3]], named[FRAMES[4]])


def instant(launch: Launch, name: str, time: float) -> Instant:
    """The shot at a time [s]; between rows of the trace on a straight line."""
    trace = launch.traced()

    def at(row: str) -> float:
        return float(np.interp(time, trace.time, getattr(trace, row)))

    fingers = launch.drawing.fingers
    held = fading(time, fingers.time, fingers.delay)
    force = launch.draw_force * np.asarray(filled(launch.setup).get("archer.finger_shares")) * held
    rest = float(rest_force(launch, time))
    index, middle, ring = (float(f) for f in force)
    return Instant(
        name, time, (index, middle, ring), at("edge_upper"), at("edge_lower"), at("locator"), rest,
        at("side_support"), at("pitch"), at("pitch_rate"), at("vertical_velocity"), at("speed"),
        at("nock_x") - float(trace.nock_x[0]),
    )  # fmt: skip
