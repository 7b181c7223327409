"""Forces at rest, and what Newton's method on the braced and on the drawn bow share."""

from __future__ import annotations

import numpy as np

from archerysim.mechanics.compiling import inlined, kernel
from archerysim.mechanics.forces.chain import chain_forces
from archerysim.mechanics.forces.rest import cell_over, rest_force, rest_gap
from archerysim.mechanics.forces.throat import add_throat_forces, edge_force, locator_force, throat_state
from archerysim.mechanics.statics.envelope import clear, factor
from archerysim.mechanics.statics.room import divided
from archerysim.mechanics.statics.tangent import chain_tangent, rest_tangent, throat_tangent

MOST_STEP = 0.02  # [m] a node's longest move in one iteration
MOST_TURN = 0.1  # [rad] a pocket's widest turn in one iteration
# how careful Newton is: not; halves a step that makes the residual grow (for a guess near the answer, where contacts
# switch); and uses no matrix twice
QUICK, CAREFUL, MOST_CAREFUL = 0, 1, 2
WORSE = 2.0  # growth of the residual at which a careful step is halved
LEAST_SHARE = 1.0 / 1024.0  # of a step, below which it is taken all the same
# Once a step has made the residual this much smaller, the matrix factored for it does for the next one too: it then
# makes it about as much smaller again, for a third of the work.
KEEP = 1e-2
SURE = 0.1  # of the tolerance: within it such a step needs no other after it


@inlined
def good_enough(near, residual, before, kept, last, tolerance):
    """Whether an equilibrium under the tolerance is taken: well under it, or where no further step would better it."""
    return near and (residual < SURE * tolerance or last or (kept and residual > KEEP * before))


@inlined
def keeps(first, near, residual, before, careful):
    """Whether the matrix factored for the last step does for the next."""
    return not first and careful < MOST_CAREFUL and (near or residual < KEEP * before)


@kernel
def forces_at_rest(standing, x, y, gx, gy, fx, fy, memory):
    """Write the forces on every node at rest: chain, throat, rest, weight (gx, gy [m/s2])."""
    room = divided(memory, standing.grid)
    static_forces(standing, x, y, gx, gy, fx, fy, room.cells, room.zero)


@kernel
def static_forces(standing, x, y, gx, gy, fx, fy, cells, zero):
    """`forces_at_rest` in room that is divided already; ``zero`` holds zeros."""
    c, marks, th, su, _ = standing
    n = x.shape[0]
    chain_forces(c, x, y, zero, zero, fx, fy, cells)
    a = marks.tail
    if a < n:
        u = marks.edge_u
        du, dl, s, _, _, _, nx, ny = throat_state(th, x, y, zero, zero, u, a)
        fu, _ = edge_force(th, du, 0.0)
        fl, _ = edge_force(th, dl, 0.0)
        fs, _ = locator_force(th, s, 0.0)
        add_throat_forces(x, y, u, a, nx, ny, fu, fl, fs, fx, fy)
        j = cell_over(x, a, n, su.x, a)
        if j >= 0:
            g, _, xi, _ = rest_gap(su, x, y, zero, j, su.x, su.y, 0.0)
            f = su.side * rest_force(su, g, 0.0)
            fy[j] += (1.0 - xi) * f
            fy[j + 1] += xi * f
    for i in range(n):
        fx[i] += c.mass[i] * gx
        fy[i] += c.mass[i] * gy


@inlined
def factor_tangent(standing, x, y, push, room):
    """Factor the stiffness of bow and arrow anew; ``push`` as in `tangent.chain_blocks`. 1 where a pivot is zero."""
    c, marks, th, su, grid = standing
    matrix = room.matrix
    clear(matrix)
    chain_tangent(c, grid, x, y, push, matrix, room.blocks)
    if marks.tail < x.shape[0]:
        throat_tangent(th, marks, grid, x, y, matrix)
        rest_tangent(su, marks, grid, x, y, matrix)
    return factor(grid, matrix)


@inlined
def largest(grid, fx, fy):
    """Largest force component over the free nodes [N]; infinity where one is not a number."""
    top = 0.0
    for i in range(fx.shape[0]):
        if grid.place[i] >= 0:
            size = max(abs(fx[i]), abs(fy[i]))
            if not size < 1e300:
                return np.inf
            top = max(top, size)
    return top


@inlined
def gather(grid, fx, fy, b):
    """Forces on the free nodes, as equations."""
    for i in range(fx.shape[0]):
        p = grid.place[i]
        if p >= 0:
            b[p] = fx[i]
            b[p + 1] = fy[i]


@inlined
def move(grid, x, y, step, scale):
    """Move the free nodes by a share of a step."""
    for i in range(x.shape[0]):
        p = grid.place[i]
        if p >= 0:
            x[i] += scale * step[p]
            y[i] += scale * step[p + 1]


@inlined
def longest_move(step):
    """Longest move of a coordinate [m]; infinity where one is not a number."""
    top = 0.0
    for k in range(step.shape[0]):
        size = abs(step[k])
        if not size < 1e300:
            return np.inf
        top = max(top, size)
    return top
