"""Whether an equilibrium is stable: how many ways the bow would run away from it.

The stiffness matrix of limbs and string is factored at the solution, anew, without row exchanges: it has as many
negative eigenvalues as there are negative pivots (Sylvester's law of inertia). The arrow is left out: the rest's force
stays along y, so its block is not symmetric, and it weighs nothing beside the bow.
"""

from __future__ import annotations

import math

from archerysim.mechanics.arrays import X, Y
from archerysim.mechanics.compiling import inlined, kernel
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
def stiffness_at_brace(c, marks, grid, x, y, push, memory):
    """Force per length with which the string's place at the throat resists being pushed along the string [N/m].

    The force is shared between the throat's two string points. Parameters as for `ways_out_of_brace`.
    """
    room = divided(memory, grid)
    factor_bow(c, grid, x, y, push, room)
    u = marks.edge_u
    ex = x[u] - x[u + 1]
    ey = y[u] - y[u + 1]
    length = math.sqrt(ex * ex + ey * ey)
    ex /= length
    ey /= length
    move = room.one
    move[:] = 0.0
    for i in (u, u + 1):
        p = grid.place[i]
        move[p] = 0.5 * ex
        move[p + 1] = 0.5 * ey
    solve(grid, room.matrix, move)
    p = grid.place[u]
    q = grid.place[u + 1]
    return 2.0 / ((move[p] + move[q]) * ex + (move[p + 1] + move[q + 1]) * ey)


@inlined
def held_by_fingers(c, grid, load, pulled, arm, push, room):
    """Factors the bow's stiffness K and eliminates it from what the fingers hold; see `ways_out_of_draw`.

    Returns
    -------
    count : int
        As of `factor_bow`.
    per_pull : float
        r / F [m/N].
    tt, tg, gg : float
        t' K^-1 t, t' K^-1 g and g' K^-1 g [m/N].
    """
    x, y, force = pulled
    weight, first = load.weight, load.first
    count = factor_bow(c, grid, x, y, push, room)
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
    tt = 0.0
    tg = 0.0
    gg = 0.0
    if count >= 0:
        solve(grid, room.matrix, along)
        solve(grid, room.matrix, across)
        for k in range(weight.shape[0]):
            p = grid.place[first + k]
            tt += weight[k] * (gx * across[p + 1] - gy * across[p])
            tg += weight[k] * (gx * along[p + 1] - gy * along[p])
            gg += weight[k] * (gx * along[p] + gy * along[p + 1])
    return count, math.hypot(px, py - arm) / pull, tt, tg, gg


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
    count, per_pull, tt, tg, gg = held_by_fingers(c, grid, load, pulled, arm, push, divided(memory, grid))
    if count < 0:
        return -1
    # negative eigenvalues of [[r / F - tt, -tg], [-tg, -gg]]
    det = (tt - per_pull) * gg - tg * tg
    if det == 0.0:
        return -1
    if det < 0.0:
        count += 1
    elif tt > per_pull:
        count += 2
    return count - 1


@kernel
def stiffness_drawn(c, grid, load, pulled, arm, push, memory):
    """Force per length with which the fingers resist being pushed across their pull [N/m].

    That of H on moves that keep the distance from the hand: 1 / (tt - tg^2 / gg) - F / r. Parameters as for
    `ways_out_of_draw`.
    """
    _, per_pull, tt, tg, gg = held_by_fingers(c, grid, load, pulled, arm, push, divided(memory, grid))
    return 1.0 / (tt - tg * tg / gg) - 1.0 / per_pull
