"""One shot told in time: what happened, when, and the forces and the arrow's attitude at that instant."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from archerysim.equipment import filled
from archerysim.shot.finger_release import fading
from archerysim.shot.launch import Launch

FRAMES = ("full draw", "fingers half open", "rest's support ends", "separation", "clear")


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
    UsageError
        If the launch has no trace.
    """
    trace = launch.traced()
    times = {
        "full draw": 0.0,
        "fingers half open": _half_open(launch),
        "fingers off": _fingers_off(launch),
        "greatest push": float(trace.time[np.argmax(trace.edge_upper + trace.edge_lower)]),
        "rest left": launch.rest_left_at,
        "rest's support ends": support_end(launch),
        "shaft on the rest again": launch.second_strike_at,
        "string straight": string_straight(launch),
        "separation": launch.separation.time,
        "clear": launch.clear.time,
    }
    kept = [(name, time) for name, time in times.items() if math.isfinite(time)]
    return tuple(instant(launch, name, time) for name, time in sorted(kept, key=lambda one: one[1]))


def frames(told: tuple[Instant, ...]) -> tuple[Instant, ...]:
    """The five of a strip; without an end of the rest's support, the straight string stands for it."""
    found = {one.name: one for one in told}
    third = found.get(FRAMES[2]) or found.get("string straight") or found["greatest push"]
    return (found[FRAMES[0]], found[FRAMES[1]], third, found[FRAMES[3]], found[FRAMES[4]])


def instant(launch: Launch, name: str, time: float) -> Instant:
    """The shot at a time [s]; between rows of the trace on a straight line."""
    trace = launch.traced()

    def at(row: str) -> float:
        return float(np.interp(time, trace.time, getattr(trace, row)))

    force = launch.draw_force * np.asarray(filled(launch.setup).get("archer.finger_shares")) * _holding(launch, time)
    index, middle, ring = (float(f) for f in force)
    return Instant(
        name, time, (index, middle, ring), at("edge_upper"), at("edge_lower"), at("locator"), at("rest"), at("pitch"),
        at("pitch_rate"), at("vertical_velocity"), at("speed"), at("nock_x") - float(trace.nock_x[0]),
    )  # fmt: skip


def _holding(launch: Launch, time: float) -> np.ndarray:
    """Share of its force at full draw that each finger still has (3,)."""
    fingers = launch.drawing.fingers
    return fading(time, fingers.time, fingers.delay)


def _half_open(launch: Launch) -> float:
    """When half of the fingers' force is gone [s]."""
    from scipy.optimize import brentq

    shares = np.asarray(filled(launch.setup).get("archer.finger_shares"))
    return float(brentq(lambda t: float(shares @ _holding(launch, t)) - 0.5, 0.0, _fingers_off(launch)))


def _fingers_off(launch: Launch) -> float:
    archer: Any = filled(launch.setup).archer
    loaded = [k for k in range(3) if archer.finger_shares[k] > 0.0]
    return max(float(archer.release_delays[k] + archer.release_time[k]) for k in loaded)


def support_end(launch: Launch) -> float:
    """When the arrow has travelled so far that the rest no longer supports it [s]; nan if it always does."""
    rest: Any = filled(launch.setup).rest
    trace = launch.traced()
    travel = trace.nock_x - trace.nock_x[0]
    if rest.unlimited_support or travel[-1] < rest.support_travel:
        return math.nan
    return float(np.interp(rest.support_travel, np.maximum.accumulate(travel), trace.time))


def string_straight(launch: Launch) -> float:
    """When the string's points at the nock pass the line between the limbs' tips [s]; nan if they do not."""
    trace, m = launch.traced(), launch.braced.marks
    tips = [np.column_stack((trace.frame_x[:, k], trace.frame_y[:, k])) for k in (m.tip_u, m.tip_l)]
    points = [np.column_stack((trace.frame_x[:, k], trace.frame_y[:, k])) for k in (m.edge_u, m.edge_l)]
    along = tips[0] - tips[1]
    way = 0.5 * (points[0] + points[1]) - tips[1]
    ahead = along[:, 1] * way[:, 0] - along[:, 0] * way[:, 1]
    past = np.flatnonzero(ahead >= 0.0)
    if past.size == 0 or past[0] == 0:
        return math.nan
    k = int(past[0])
    share = -ahead[k - 1] / (ahead[k] - ahead[k - 1])
    return float(trace.frame_time[k - 1] + share * (trace.frame_time[k] - trace.frame_time[k - 1]))
