"""Refuses equilibria that would not last: a bow whose limbs would tip, one forward and one back."""

from __future__ import annotations

import numpy as np

from archerysim.errors import ShotError
from archerysim.mechanics.arrays import Chain, Grid, Marks
from archerysim.mechanics.statics.stability import ways_out_of_brace, ways_out_of_draw
from archerysim.shot.arrays.build import make_grid, without_arrow
from archerysim.status import UNSTABLE


def tips_over(chain: Chain, marks: Marks, x: np.ndarray, y: np.ndarray) -> bool:
    """Whether a braced bow would run away.

    Parameters
    ----------
    chain, marks : Chain, Marks
        With the arrow or without.
    x, y : (n,) arrays
        Nodes at rest [m].
    """
    n = marks.tail
    return bool(ways_out_of_brace(without_arrow(chain, n), make_grid(marks, n), x[:n], y[:n], 0.0))


def stays_drawn(
    chain: Chain, grid: Grid, weights: np.ndarray, first: int, x: np.ndarray, y: np.ndarray, force: np.ndarray,
    arm: float, words: str,
) -> None:  # fmt: skip
    """Refuse a drawn bow that would run away.

    Parameters
    ----------
    chain, grid : Chain, Grid
        Of the bow without its arrow.
    weights, first
        Share of the finger force per string node, from node ``first`` on.
    x, y : (n,) arrays
        The bow's nodes at rest [m].
    force : (2,) array
        Finger force [N].
    arm : float
        Height of the hand's push above the pivot [m].
    words : str
        Where it was drawn to.

    Raises
    ------
    ShotError
    """
    if ways_out_of_draw(chain, grid, weights, first, x, y, force, arm, 0.0):
        raise ShotError("draw", UNSTABLE, words)
