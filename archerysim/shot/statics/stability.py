"""Refuses equilibria that would not last: a bow whose limbs would tip, one forward and one back."""

from __future__ import annotations

import numpy as np

from archerysim.errors import ShotError
from archerysim.mechanics.arrays import Chain, Grid, Load, Marks
from archerysim.mechanics.statics.draw import Pulled
from archerysim.mechanics.statics.stability import (
    stiffness_at_brace,
    stiffness_drawn,
    ways_out_of_brace,
    ways_out_of_draw,
)
from archerysim.shot.arrays.build import make_grid, without_arrow
from archerysim.shot.arrays.memory import memory_for
from archerysim.status import UNSTABLE


def tips_over(chain: Chain, marks: Marks, x: np.ndarray, y: np.ndarray) -> bool:
    """Whether a braced bow would tip over.

    Parameters
    ----------
    chain, marks : Chain, Marks
        With the arrow or without.
    x, y : (n,) arrays
        Nodes at rest [m].
    """
    n = marks.tail
    grid = make_grid(marks, n)
    return bool(ways_out_of_brace(without_arrow(chain, n), grid, x[:n], y[:n], 0.0, memory_for(grid)))


def along_string(chain: Chain, marks: Marks, x: np.ndarray, y: np.ndarray) -> float:
    """Force per length with which a braced bow's string resists being pushed along itself at the throat [N/m].

    The limbs then tip opposite ways; zero is where they would do so by themselves.
    """
    n = marks.tail
    grid = make_grid(marks, n)
    return float(stiffness_at_brace(without_arrow(chain, n), marks, grid, x[:n], y[:n], 0.0, memory_for(grid)))


def across_pull(chain: Chain, grid: Grid, load: Load, pulled: Pulled, arm: float) -> float:
    """Force per length with which a drawn bow's fingers resist being pushed across their pull [N/m].

    Parameters as for `stays_drawn`.
    """
    return float(stiffness_drawn(chain, grid, load, pulled, arm, 0.0, memory_for(grid)))


def stays_drawn(chain: Chain, grid: Grid, load: Load, pulled: Pulled, arm: float, words: str) -> None:
    """Refuse a drawn bow that would tip over.

    Parameters
    ----------
    chain, grid : Chain, Grid
        Of the bow without its arrow.
    load : Load
    pulled : Pulled
        The bow's nodes at rest and the fingers' force.
    arm : float
        Height of the hand's push above the pivot [m].
    words : str
        Where it was drawn to.

    Raises
    ------
    ShotError
    """
    if ways_out_of_draw(chain, grid, load, pulled, arm, 0.0, memory_for(grid)):
        raise ShotError("draw", UNSTABLE, words)
