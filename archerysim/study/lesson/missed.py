"""How far what a lesson tells is from real shots: six numbers, each as a share of its range."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from archerysim.shot.flight.bare_shaft import Gap
from archerysim.shot.flight.sight import tip_of
from archerysim.shot.flight.start import Start
from archerysim.shot.flight.trajectory import course

NUMBERS = (
    ("height", "m"), ("lands", "m"), ("attack", "deg"), ("side", "m"), ("lands beside", "m"), ("side attack", "deg"),
)  # fmt: skip
BY_GAP = (0, 3)  # of them, those that a bare shaft tells
WANTED = 0.02  # of the range: what 95 of 100 fresh shots are to be missed by at most


@dataclass(frozen=True)
class Missed:
    """How far what a lesson tells is from fresh shots.

    Attributes
    ----------
    name : str
        "height" and "side" (bare above and beside fletched), "lands" and "lands beside" (the fletched arrow, from the
        target's centre), "attack" and "side attack" (angle between the shaft and its way as it leaves).
    unit : str
        Of the range: "m" or "deg".
    range : float
        From the least to the greatest of all shots.
    usual, worst : float
        What 95 of 100 fresh shots are missed by at most, and the worst of them, as shares of the range.
    """

    name: str
    unit: str
    range: float
    usual: float
    worst: float


class Flyers(NamedTuple):
    """The arrow with its fletching and without, and how far the target is [m]."""

    fletched: Start
    bare: Start
    distance: float


def lands(state: np.ndarray, arrow: Start, distance: float) -> Gap:
    """Where an arrow hits that leaves with a state (10,), from the target's centre [m]."""
    return Gap(*tip_of(course(state, arrow.body, nose=arrow.nose, distance=distance).last, arrow.nose))


def gap(state: np.ndarray, arrows: Flyers) -> Gap:
    """A bare shaft as seen from the fletched one, both leaving with a state (10,) [m]."""
    (height, side), (above, beside) = (lands(state, one, arrows.distance) for one in (arrows.fletched, arrows.bare))
    return Gap(above - height, beside - side)


def attack(states: np.ndarray) -> np.ndarray:
    """Angles between the shafts and their ways, up and sideways (n, 2) [deg]."""
    _, _, vx, vy, pitch, _, _, vz, yaw, _ = states.T
    angles = np.column_stack((pitch - np.arctan2(vy, vx), yaw - np.arctan2(vz, np.hypot(vx, vy))))
    return np.asarray(np.degrees(angles))


def numbers(states: np.ndarray, arrows: Flyers, gaps: np.ndarray | None = None) -> np.ndarray:
    """The six numbers (n, 6) of some states (n, 10), in the order of ``NUMBERS``; gaps (n, 2) as flown if not given."""
    if gaps is None:
        gaps = np.array([gap(one, arrows) for one in states])
    places = np.array([lands(one, arrows.fletched, arrows.distance) for one in states])
    angles = attack(states)
    columns = [(gaps[:, k], places[:, k], angles[:, k]) for k in (0, 1)]
    return np.column_stack([*columns[0], *columns[1]])


def missed(shot: np.ndarray, told: np.ndarray, more_gaps: np.ndarray) -> tuple[Missed, ...]:
    """How far six numbers told (n, 6) are from those shot (n, 6); other shots' gaps (k, 2) widen the ranges of gaps."""
    found = []
    for k, (name, unit) in enumerate(NUMBERS):
        every = shot[:, k]
        if k in BY_GAP:
            every = np.concatenate((every, more_gaps[:, BY_GAP.index(k)]))
        size, apart = float(np.ptp(every)), np.abs(told[:, k] - shot[:, k])
        usual, worst = (float(np.quantile(apart, 0.95)) / size, float(apart.max()) / size) if size > 0.0 else (0.0, 0.0)
        found.append(Missed(name, unit, size, usual, worst))
    return tuple(found)
