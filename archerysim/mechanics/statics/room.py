"""Where the statics work: one piece of memory, handed in and divided into matrices and vectors.

Handed in as one array, it costs a call from Python next to nothing; divided inside the kernels, nothing at all.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from archerysim.mechanics.arrays import Cells
from archerysim.mechanics.compiling import inlined

BEND = 6  # coordinates of a bend's three nodes
BORDERS = 2  # most unknowns beside the shape
SAME, BETWEEN, CELL = 3, 4, 11  # rows of the blocks


class Matrix(NamedTuple):
    """A matrix kept inside its envelope; see `archerysim.mechanics.statics.envelope`."""

    low: np.ndarray  #: (start[m],) below the diagonal, by rows
    up: np.ndarray  #: (start[m],) above it, by columns
    diagonal: np.ndarray  #: (m,)
    inverse: np.ndarray  #: (m,) one over it, while factored


class Blocks(NamedTuple):
    """The chain's stiffness as 2 x 2 blocks, by the earlier node; rows are named in `statics.tangent`."""

    same: np.ndarray  #: (SAME, n) of a node with itself
    near: np.ndarray  #: (BETWEEN, n) with the next
    far: np.ndarray  #: (BETWEEN, n) with the one after
    work: np.ndarray  #: (CELL, n + 2)


class Border(NamedTuple):
    """The system of equations for the unknowns beside the shape."""

    change: np.ndarray  #: (BORDERS,) of the unknowns
    miss: np.ndarray  #: (BORDERS,) of what they are to meet
    slope: np.ndarray  #: (BORDERS, BORDERS) derivatives of the second with the first


class Room(NamedTuple):
    """All that Newton's method works in, for ``n`` nodes and ``m`` equations."""

    matrix: Matrix
    blocks: Blocks
    bend: np.ndarray  #: (BEND, BEND) stiffness of one bend
    cells: Cells
    zero: np.ndarray  #: (n,) zeros
    fx: np.ndarray  #: (n,) forces [N]
    fy: np.ndarray
    least: np.ndarray  #: (n,) the chain's least forces, put aside [N]
    step: np.ndarray  #: (m,) move of every free node [m]
    one: np.ndarray  #: (m,) the matrix' borders: the move that goes with each unknown besides the shape
    other: np.ndarray
    border: Border
    spare: np.ndarray  #: what is left


class Newton(NamedTuple):
    """How Newton's method goes about it."""

    careful: int  #: `statics.newton.QUICK`, `CAREFUL` or `MOST_CAREFUL`
    tolerance: float  #: largest residual force [N]
    most: int  #: iterations


def size_of(nodes: int, equations: int, envelope: int) -> int:
    """Numbers that `divided` needs; ``envelope`` of them on either side of the diagonal."""
    by_node = len(Cells._fields) + 4 + SAME + 2 * BETWEEN + CELL
    return by_node * nodes + 2 * CELL + 5 * equations + 2 * envelope + BEND * BEND + BORDERS * (BORDERS + 2)


@inlined
def divided(memory, grid):
    """The memory (`size_of`,) as a `Room`, its zeros written, the rest as it was."""
    n = grid.place.shape[0]
    m = grid.first.shape[0]
    k = grid.start[m]
    matrix = Matrix(memory[:k], memory[k : 2 * k], memory[2 * k : 2 * k + m], memory[2 * k + m : 2 * k + 2 * m])
    left = memory[2 * k + 2 * m :]
    step, one, other = left[:m], left[m : 2 * m], left[2 * m : 3 * m]
    left = left[3 * m :]
    zero, fx, fy, least = left[:n], left[n : 2 * n], left[2 * n : 3 * n], left[3 * n : 4 * n]
    left = left[4 * n :]
    cells = Cells(
        left[:n], left[n : 2 * n], left[2 * n : 3 * n], left[3 * n : 4 * n], left[4 * n : 5 * n],
        left[5 * n : 6 * n], left[6 * n : 7 * n],
    )  # fmt: skip
    left = left[7 * n :]
    same = left[: SAME * n].reshape((SAME, n))
    left = left[SAME * n :]
    near = left[: BETWEEN * n].reshape((BETWEEN, n))
    left = left[BETWEEN * n :]
    far = left[: BETWEEN * n].reshape((BETWEEN, n))
    left = left[BETWEEN * n :]
    work = left[: CELL * (n + 2)].reshape((CELL, n + 2))
    left = left[CELL * (n + 2) :]
    bend = left[: BEND * BEND].reshape((BEND, BEND))
    left = left[BEND * BEND :]
    slope = left[2 * BORDERS : BORDERS * (BORDERS + 2)].reshape((BORDERS, BORDERS))
    for i in range(n):
        zero[i] = 0.0
    return Room(
        matrix, Blocks(same, near, far, work), bend, cells, zero, fx, fy, least, step, one, other,
        Border(left[:BORDERS], left[BORDERS : 2 * BORDERS], slope), left[BORDERS * (BORDERS + 2) :],
    )  # fmt: skip
