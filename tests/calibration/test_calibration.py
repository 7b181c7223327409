"""A tenth of the 200 archers of ``python -m tests.calibration``, the first twenty, by the same real shots."""

from __future__ import annotations

import math
from functools import cache

import numpy as np

from tests.calibration.simulated import Read, reads

TENTH = 20


@cache
def found() -> tuple[Read, ...]:
    return tuple(reads(TENTH, 2, "default"))


def test_intervals_hold_about_what_they_say() -> None:
    """As many truths as 0.9 of them, less and more three standard deviations of so many, each for itself."""
    inside = np.concatenate([one.inside for one in found()])
    assert abs(inside.mean() - 0.9) < 3.0 * math.sqrt(0.09 / inside.size)


def test_moves_go_the_right_way() -> None:
    """Where 97 of 100 are right, three wrong ones of twenty come about twice in a hundred times."""
    moves = [one.right for one in found() if one.way in ("up", "down")]
    assert len(moves) > TENTH / 2
    assert moves.count(False) <= 2


def test_left_and_right_narrow_the_inputs() -> None:
    """The volume that all intervals leave together, on the average of the cases."""
    both, height = (np.array([getattr(one, name) for one in found()]) for name in ("narrowed", "by_height"))
    assert np.exp(np.log(height / both).sum(axis=1).mean()) > 1.5
