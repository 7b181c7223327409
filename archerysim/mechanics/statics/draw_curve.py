"""The draw-force curve: equilibria of bow and arrow from one draw to the next."""

from __future__ import annotations

import numpy as np

from archerysim.mechanics.compiling import kernel, part
from archerysim.mechanics.forces.chain import chain_energy
from archerysim.mechanics.forces.rest import cell_over, rest_force, rest_gap
from archerysim.mechanics.forces.throat import throat_state
from archerysim.mechanics.statics.draw import draw_newton
from archerysim.status import NO_CONVERGENCE, OK

STRAIGHT = 5  # so many equilibria are carried on by a straight line: near brace the shape changes unevenly
CUBIC = 4  # then a cubic through the last four
FACTS = 5  # per equilibrium: energy [J], force of the rest [N], residual [N], iterations, least advance [m]


@part
def carried_on(places, upto, target, weights):
    """Weights of the last places before ``upto`` with which a polynomial through them goes on to ``target``.

    Returns
    -------
    count : int
        How many of them, from ``upto`` - count on.
    """
    count = min(upto, 2 if upto < STRAIGHT else CUBIC)
    for i in range(count):
        weights[i] = 1.0
        for j in range(count):
            if j != i:
                one = places[upto - count + i]
                other = places[upto - count + j]
                weights[i] *= (target - other) / (one - other)
    return count


@kernel
def least_advance(th, marks, x, y):
    """Advance of the nock's edge that the string has left furthest, and of the other edge [m]."""
    du, dl, _, _, _, _, _, _ = throat_state(th, x, y, x, y, marks.edge_u, marks.tail)  # the rates are not used
    return min(du, dl), max(du, dl)


@kernel
def press_of_rest(su, x, y, a):
    """Force of the rest on the shaft [N]."""
    j = cell_over(x, a, x.shape[0], su.x, a)
    if j < 0:
        return 0.0
    gap, _, _, _ = rest_gap(su, x, y, y, j, su.x, su.y, 0.0)  # the rate is not used
    return rest_force(su, gap, 0.0)


@kernel
def bow_energy(c, x, y, n, level, pull):
    """Elastic energy of limbs and string (nodes 0..n-1) and their weight's, the horizontal at ``level`` [J]."""
    stretch, bend = chain_energy(c, x, y, 0, n - 1)
    weight = 0.0
    for i in range(n):
        weight += c.mass[i] * (y[i] * np.cos(level) - x[i] * np.sin(level))
    return stretch + bend + pull * weight


@kernel
def draw_along(
    c, marks, th, su, weight, first, grid, places, x, y, force, facts, arm, twist, level, follow, pull, careful,
    tolerance, most,
):  # fmt: skip
    """Equilibria with the arrow on the string at ``places``, each from the ones before.

    Parameters
    ----------
    places : (k + 1,) array
        x of the throat's middle [m]; the first is the bow's at brace.
    x, y : (k + 1, n) arrays
        Nodes [m], the first row given.
    force : (k + 1, 2) array
        Finger force [N], the first row given.
    facts : (k + 1, `FACTS`) array
        Written from the second row on.
    twist : float
        Torque of the hand for each metre of draw [N].

    The other parameters are those of `draw_newton`; ``follow`` is false and ``careful`` `QUICK`, given since a kernel
    that is called with one of these written out is compiled once more for it.

    Returns
    -------
    status : int
        OK; else one of them was not found, or the arrow may lie elsewhere too.
    """
    n = x.shape[1]
    weights = np.empty(CUBIC)
    for k in range(1, places.shape[0]):
        count = carried_on(places, k, places[k], weights)
        x[k, :] = 0.0
        y[k, :] = 0.0
        force[k, :] = 0.0
        for i in range(count):
            row = k - count + i
            for j in range(n):
                x[k, j] += weights[i] * x[row, j]
                y[k, j] += weights[i] * y[row, j]
            force[k, 0] += weights[i] * force[row, 0]
            force[k, 1] += weights[i] * force[row, 1]
        torque = twist * (places[k] - places[0])
        code, done, residual, _ = draw_newton(
            c, marks, th, su, weight, first, grid, x[k], y[k], force[k], places[k], arm, torque, level, follow, pull,
            careful, tolerance, most,
        )  # fmt: skip
        if code != OK:
            return code
        press = press_of_rest(su, x[k], y[k], marks.tail)
        least, other = least_advance(th, marks, x[k], y[k])
        if not (least > -0.5 * th.snap or (other > -0.5 * th.snap and press > 0.0)):
            return NO_CONVERGENCE  # neither both edges nor one and the rest hold the arrow: it may lie elsewhere too
        facts[k, 0] = bow_energy(c, x[k], y[k], marks.tail, level, pull)
        facts[k, 1] = press
        facts[k, 2] = residual
        facts[k, 3] = done
        facts[k, 4] = least
    return OK
