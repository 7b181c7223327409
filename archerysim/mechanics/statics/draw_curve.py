"""The draw-force curve: equilibria of bow and arrow from one draw to the next."""

from __future__ import annotations

import math

import numpy as np

from archerysim.mechanics.arrays import X, Y
from archerysim.mechanics.compiling import inlined, kernel
from archerysim.mechanics.forces.chain import chain_energy
from archerysim.mechanics.forces.rest import cell_over, rest_force, rest_gap
from archerysim.mechanics.forces.throat import throat_state
from archerysim.mechanics.statics.draw import DrawAim, draw_newton
from archerysim.status import NO_CONVERGENCE, OK

STRAIGHT = 5  # so many equilibria are carried on by a straight line: near brace the shape changes unevenly
CUBIC = 4  # then a cubic through the last four
# of each equilibrium: energy [J], force of the rest [N], residual [N], iterations, least advance [m]
FACTS = np.dtype(
    [
        ("energy", np.float64),
        ("press", np.float64),
        ("residual", np.float64),
        ("iterations", np.float64),
        ("least_advance", np.float64),
    ]
)


@inlined
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
        weight += c.mass[i] * (y[i] * math.cos(level) - x[i] * math.sin(level))
    return stretch + bend + pull * weight


@kernel
def draw_along(standing, load, places, curve, facts, aim, careful, tolerance, most, memory):
    """Equilibria with the arrow on the string at ``places``, each from the ones before.

    Parameters
    ----------
    standing : Standing
    load : Load
    places : (k + 1,) array
        x of the throat's middle [m]; the first is the bow's at brace.
    curve : Pulled
        Of arrays (k + 1, n), (k + 1, n) and (k + 1, 2); the first row given.
    facts : (k + 1,) array of `FACTS`
        Written from the second row on.
    aim : DrawAim
        The target is not read; torque of the hand and pinch are those for each metre of draw [N], [N/m].
    careful, tolerance, most : int, float, int
        As for `draw_newton`.
    memory : array
        See `room.size_of`.

    Returns
    -------
    status : int
        OK; else one of them was not found, or the arrow may lie elsewhere too.
    """
    c, marks, th, su, _ = standing
    x, y, force = curve
    n = x.shape[1]
    for k in range(1, places.shape[0]):
        weights = memory  # Newton writes it anew
        count = carried_on(places, k, places[k], weights)
        x[k, :] = 0.0
        y[k, :] = 0.0
        force[k, :] = 0.0
        for i in range(count):
            row = k - count + i
            for j in range(n):
                x[k, j] += weights[i] * x[row, j]
                y[k, j] += weights[i] * y[row, j]
            force[k, X] += weights[i] * force[row, X]
            force[k, Y] += weights[i] * force[row, Y]
        far = places[k] - places[0]
        here = DrawAim(places[k], aim.arm, aim.torque * far, aim.level, aim.follow, aim.pull, aim.pinch * far)
        code, done, residual, _ = draw_newton(
            standing, load, x[k], y[k], force[k], here, careful, tolerance, most, memory
        )
        if code != OK:
            return code
        press = press_of_rest(su, x[k], y[k], marks.tail)
        least, other = least_advance(th, marks, x[k], y[k])
        if not (least > -0.5 * th.snap or (other > -0.5 * th.snap and press > 0.0)):
            return NO_CONVERGENCE  # neither both edges nor one and the rest hold the arrow: it may lie elsewhere too
        facts[k].energy = bow_energy(c, x[k], y[k], marks.tail, aim.level, aim.pull)
        facts[k].press = press
        facts[k].residual = residual
        facts[k].iterations = done
        facts[k].least_advance = least
    return OK
