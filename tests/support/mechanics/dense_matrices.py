"""Matrices as the statics keep them: empty ones to write into, and what is in them written out."""

from __future__ import annotations

import numpy as np

from archerysim.mechanics.arrays import Grid
from archerysim.mechanics.statics.room import BETWEEN, CELL, SAME, Blocks, Matrix


def empty_matrix(grid: Grid) -> Matrix:
    """A nil envelope matrix."""
    return Matrix(*np.zeros((2, grid.start[-1])), *np.zeros((2, grid.first.size)))


def blocks_for(n: int) -> Blocks:
    """Where a chain of ``n`` nodes has its stiffness by blocks."""
    return Blocks(np.empty((SAME, n)), np.empty((BETWEEN, n)), np.empty((BETWEEN, n)), np.empty((CELL, n + 2)))


def dense(grid: Grid, kept: Matrix) -> np.ndarray:
    """The envelope matrix written out (m, m)."""
    low, up, diagonal, _ = kept
    matrix = np.diag(diagonal)
    for i, first in enumerate(grid.first):
        part = slice(grid.start[i], grid.start[i + 1])
        matrix[i, first:i] = low[part]
        matrix[first:i, i] = up[part]
    return matrix


def free_part(grid: Grid, matrix: np.ndarray) -> np.ndarray:
    """Rows and columns of the free nodes of a (2n, 2n) matrix over x0, y0, x1, y1, ..., in the grid's order."""
    m = grid.first.size
    order = np.empty(m, dtype=int)
    for i, place in enumerate(grid.place):
        if place >= 0:
            order[place], order[place + 1] = 2 * i, 2 * i + 1
    return matrix[np.ix_(order, order)]
