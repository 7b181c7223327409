"""Whether an equilibrium is stable: how many ways the bow would run away from it.

The stiffness matrix of limbs and string is factored at the solution, anew, without row exchanges: it has as many
negative eigenvalues as there are negative pivots (Sylvester's law of inertia). The arrow is left out: the rest's force
stays along y, so its block is not symmetric, and it weighs nothing beside the bow.
"""

from __future__ import annotations

import math

from archerysim.mechanics.arrays import X, Y
from archerysim.mechanics.compiling import kernel
from archerysim.mechanics.statics.envelope import clear, factor, solve
from archerysim.mechanics.statics.room import divided
from archerysim.mechanics.statics.tangent import chain_tangent


@kernel
def factor_bow(c, grid, x, y, push, room):
    """Factor the bow's stiffness: number of negative pivots, -1 where one is zero.

    Parameters
    ----------
    push : float
        0: the string only pulls. Handed over; see `tangent.chain_blocks`.
    room : Room
        Written: the factors in its matrix.
    """
    matrix = room.matrix
    diagonal = matrix.diagonal
    clear(matrix)
    chain_tangent(c, grid, x, y, push, matrix, room.blocks)
    if factor(grid, matrix) != 0:
        return -1
    count = 0
    for k in range(diagonal.shape[0]):
        if diagonal[k] < 0.0:
            count += 1
    return count


@kernel
def ways_out_of_brace(c, grid, x, y, push, memory):
    """Number of independent moves in which a braced bow runs away; 0: it is stable, -1: it is on the verge.

    Parameters
    ----------
    c, grid : Chain, Grid
        Of the bow without an arrow.
    x, y : (n,) arrays
        The bow's nodes [m].
    push : float
        0; see `factor_bow`.
    memory : array
        See `room.size_of`.
    """
    return factor_bow(c, grid, x, y, push, divided(memory, grid))


@kernel
def ways_out_of_draw(c, grid, load, pulled, arm, push, memory):
    """Number of independent moves in which a drawn bow runs away; 0: it is stable, -1: it is on the verge.

    The archer holds the distance of the fingers from the hand, not their place: the load's point p, the fingers'
    places weighted by their shares, may swing about the hand's pressure point h at the distance r = |p - h|. With the
    force F along g and t across it the energy's second variation is H = K - (F / r) t t', on moves that keep r, that
    is with g' v = 0. H bordered by g has exactly one negative eigenvalue if, and only if, it is positive there. In
    terms of K: those of K and of the 2 x 2 matrix that is left of 1 / (F / r), 0 and both borders when K is
    eliminated.

    Parameters
    ----------
    c, grid : Chain, Grid
        Of the bow without an arrow.
    load : Load
    pulled : Pulled
        The bow's nodes and the fingers' force.
    arm : float
        Height of the hand's push above the pivot [m].
    push : float
        0; see `factor_bow`.
    memory : array
        See `room.size_of`.
    """
    room = divided(memory, grid)
    x, y, force = pulled
    weight, first = load.weight, load.first
    count = factor_bow(c, grid, x, y, push, room)
    if count < 0:
        return -1
    pull = math.hypot(force[X], force[Y])
    gx = force[X] / pull
    gy = force[Y] / pull
    px = 0.0
    py = 0.0
    along = room.one
    across = room.other
    along[:] = 0.0
    across[:] = 0.0
    for k in range(weight.shape[0]):
        i = first + k
        px += weight[k] * x[i]
        py += weight[k] * y[i]
        p = grid.place[i]
        along[p] = weight[k] * gx
        along[p + 1] = weight[k] * gy
        across[p] = -weight[k] * gy
        across[p + 1] = weight[k] * gx
    solve(grid, room.matrix, along)
    solve(grid, room.matrix, across)
    tt = math.hypot(px, py - arm) / pull
    tg = 0.0
    gg = 0.0
    for k in range(weight.shape[0]):
        p = grid.place[first + k]
        tt -= weight[k] * (gx * across[p + 1] - gy * across[p])
        tg -= weight[k] * (gx * along[p + 1] - gy * along[p])
        gg -= weight[k] * (gx * along[p] + gy * along[p + 1])
    # negative eigenvalues of [[tt, tg], [tg, gg]]
    det = tt * gg - tg * tg
    if det == 0.0:
        return -1
    if det < 0.0:
        count += 1
    elif tt < 0.0:
        count += 2
    return count - 1
