"""Both limbs' stiffness for a draw weight, each trial from the one before."""

from __future__ import annotations

import math
from typing import NamedTuple

from archerysim.mechanics.arrays import Standing, X, Y
from archerysim.mechanics.compiling import kernel
from archerysim.mechanics.statics.brace import brace_newton
from archerysim.mechanics.statics.draw import DrawAim, draw_newton
from archerysim.status import NO_CONVERGENCE, OK

TRIALS = 6
FURTHEST = 1.0  # change of the stiffness' logarithm in one trial
LEAST_APART = 1e-7  # of two logarithms, for the slope between them
# what the search is about: logarithm of what the stiffness has been multiplied by, logarithm of weight over the wanted
# one, slope of the second with the first
STIFFER, MISS, SLOPE = range(3)


class Wanted(NamedTuple):
    """The draw weight."""

    weight: float  #: size of the finger force [N]
    close: float  #: how nearly, as the size of its logarithm over the wanted one


@kernel
def stiffen(c, bow, ratio):
    """Multiply the limbs' bending stiffness and its loss; ``bow`` is the number of the bow's nodes."""
    for i in range(bow):
        c.bend[i] *= ratio
        c.bend_loss[i] *= ratio


@kernel
def match_weight(standing, weighed_su, strung, load, pulled, brace_aim, aim, full_x, wanted, search, newton, memory):
    """Change stiffness, string length and pocket angles until brace height, tillers and draw weight are met.

    Chain, shapes, angles, length and force are changed in place, and are equilibria for nearly the same stiffness to
    begin with.

    Parameters
    ----------
    standing, strung, brace_aim : Standing, Strung, BraceAim
        As for `brace_newton`.
    weighed_su : Support
        The rest while the bow is weighed.
    load, pulled, aim : Load, Pulled, DrawAim
        As for `draw_newton`; the aim's torque is that at full draw.
    full_x : float
        x of the throat's middle at full draw [m].
    wanted : Wanted
    search : (3,) array
        See `STIFFER`; read and written.
    newton : Newton
    memory : array
        See `room.size_of`.

    Returns
    -------
    status, trials, level : int, int, float
        The last: the world's horizontal seen from the riser when drawn [rad].
    braced, drawn : (float, int)
        Largest residual force [N] and iterations, of the last trial.
    """
    c, marks, th, _, grid = standing
    weighed = Standing(c, marks, th, weighed_su, grid)
    careful, tolerance, most = newton
    x, y, force = strung.x, strung.y, pulled.force
    residual = drawn_residual = level = 0.0
    count = drawn_count = 0
    u = marks.edge_u
    for trial in range(1, TRIALS + 1):
        before = search[MISS]
        change = min(max(-before / search[SLOPE], -FURTHEST), FURTHEST)
        ratio = math.exp(change)
        stiffen(c, marks.tail, ratio)
        search[STIFFER] += change
        force[X] *= ratio
        force[Y] *= ratio
        code, count, residual = brace_newton(standing, x, y, strung.found, brace_aim, careful, tolerance, most, memory)
        if code != OK:
            return code, trial, level, (residual, count), (drawn_residual, drawn_count)
        for i in (marks.root_u - 1, marks.root_l + 1):  # the clamps go with the pocket angles
            pulled.x[i] = x[i]
            pulled.y[i] = y[i]
        begin = 0.5 * (x[u] + x[u + 1])
        torque = aim.torque * (aim.target - begin) / (full_x - begin)
        # nobody pinches a nock on a scale
        here = DrawAim(aim.target, aim.arm, torque, aim.level, aim.follow, aim.pull, 0.0)
        code, drawn_count, drawn_residual, level = draw_newton(
            weighed, load, pulled.x, pulled.y, force, here, careful, tolerance, most, memory
        )
        if code != OK:
            return code, trial, level, (residual, count), (drawn_residual, drawn_count)
        search[MISS] = math.log(math.hypot(force[X], force[Y]) / wanted.weight)
        if abs(search[MISS]) < wanted.close:
            return OK, trial, level, (residual, count), (drawn_residual, drawn_count)
        if abs(change) > LEAST_APART:
            search[SLOPE] = min(max((search[MISS] - before) / change, 0.2), 3.0)
    return NO_CONVERGENCE, TRIALS, level, (residual, count), (drawn_residual, drawn_count)
