"""Between which instants of a shot the arrow's turning changed most."""

from __future__ import annotations

import itertools
from typing import NamedTuple

from archerysim.study.explanation.instants import Instant


class Turn(NamedTuple):
    """A stretch of the shot, from one instant to the next."""

    before: Instant
    after: Instant

    @property
    def change(self) -> float:
        """Of the pitch rate [rad/s], nose up positive."""
        return self.after.pitch_rate - self.before.pitch_rate


def largest_turns(instants: tuple[Instant, ...], most: int = 2) -> tuple[Turn, ...]:
    """The stretches in which the pitch rate changed most, the largest first.

    Parameters
    ----------
    instants : tuple of Instant
        In the order of time.
    most : int
        How many of them.
    """
    turns = [Turn(before, after) for before, after in itertools.pairwise(instants)]
    return tuple(sorted(turns, key=lambda one: -abs(one.change))[:most])
