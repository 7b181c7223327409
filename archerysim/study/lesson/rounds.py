"""Shots in rounds: spread over all ranges first, then more of them where the curve through them misses most.

A shaft that comes down on the rest again on its way out, strikes its arm or a shelf, or comes back to the side support
puts a kink into what follows from a slider: there a smooth curve needs more shots than elsewhere.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from archerysim.shot.fitted_bow import FittedBow
from archerysim.study.lesson.missed import WANTED, Flyers, missed, numbers
from archerysim.study.lesson.response import Response, left_out, response
from archerysim.study.lesson.shots import SIDE, UP, LeavingStates, shoot_all, spread
from archerysim.study.run.how_to_run import HowToRun

ROUNDS = 3
LOOKED_AT = 200  # shots left out by which is judged whether there are enough
ENOUGH = 0.6 * WANTED
CHOICE = 3  # times as many places as are shot in a further round
NEAR = 4  # shots by which a place's error is guessed
TELLING = (1, 3, 4, 5, 6, 7, 8, 9)  # of a state: all but how far and how fast forward


@dataclass(frozen=True)
class Shot:
    """All shots behind a lesson, and the curve through them.

    Attributes
    ----------
    up, side : Response
    gaps : (n, 2) array
        A bare shaft above and beside the fletched one [m], of the first round.
    """

    up: Response
    side: Response
    gaps: np.ndarray

    def states(self, places: np.ndarray) -> np.ndarray:
        """States (k, 10) of the arrow at clear for places (k, d) of the sliders."""
        return np.hstack((self.up.at(places), self.side.at(places)))


def shoot_in_rounds(
    bow: FittedBow, question: LeavingStates, arrows: Flyers, count: int, seed: int, how: HowToRun
) -> Shot:
    """Shoot so many, and as many again, at most twice, while shots left out are missed by too much."""
    places, states, gaps = shoot_all(bow, question, spread(question.sliders, count, seed), how)
    mixed = np.random.default_rng(seed).permutation(len(places))
    places, states, gaps = places[mixed], states[mixed], gaps[mixed]
    first = len(places)
    up, side = (response(places, states[:, list(some)]) for some in (UP, SIDE))
    looked_at = numbers(states[: min(first, LOOKED_AT)], arrows, gaps[: min(first, LOOKED_AT)])
    for number in range(1, ROUNDS):
        without = np.hstack((left_out(states[:, list(UP)], up), left_out(states[:, list(SIDE)], side)))
        told = numbers(without[: len(looked_at)], arrows)
        if max(one.usual for one in missed(looked_at, told, gaps)) < ENOUGH:
            break
        choice = spread(question.sliders, CHOICE * count, seed + number)
        more = shoot_all(bow, question, choice[_worst(choice, places, states, without)[:count]], how)
        places, states = np.concatenate((places, more[0])), np.concatenate((states, more[1]))
        up, side = (response(places, states[:, list(some)], like) for some, like in ((UP, up), (SIDE, side)))
    return Shot(up, side, gaps[:first])


def _worst(choice: np.ndarray, places: np.ndarray, states: np.ndarray, without: np.ndarray) -> np.ndarray:
    """Places to choose from (k, d), those first that lie where shots left out are missed most: their indices."""
    telling = list(TELLING)
    size = np.ptp(states[:, telling], axis=0)
    apart = (without - states)[:, telling] / np.where(size > 0.0, size, 1.0)
    square = (apart**2).sum(axis=1)
    distance = ((choice[:, None] - places[None]) ** 2).sum(axis=-1)
    near = np.argpartition(distance, NEAR, axis=1)[:, :NEAR]
    return np.argsort(-square[near].mean(axis=1), kind="stable")
