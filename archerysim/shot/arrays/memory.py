"""Memory in which the statics' kernels work; see `archerysim.mechanics.statics.room`."""

from __future__ import annotations

import numpy as np

from archerysim.mechanics.arrays import Grid
from archerysim.mechanics.release.stable_step import size_of_swing
from archerysim.mechanics.statics.room import size_of


def memory_for(grid: Grid) -> np.ndarray:
    """For Newton's method with the nodes and equations of a grid, and for the search for the longest stable step."""
    n, m = grid.place.size, grid.first.size
    return np.empty(size_of(n, m, int(grid.start[m])) + size_of_swing(n, m))
