"""Both limbs' stiffness for a draw weight, each trial from the one before."""

from __future__ import annotations

import numpy as np

from archerysim.mechanics.compiling import kernel
from archerysim.mechanics.statics.brace import brace_newton
from archerysim.mechanics.statics.draw import draw_newton
from archerysim.status import NO_CONVERGENCE, OK

TRIALS = 6
FURTHEST = 1.0  # change of the stiffness' logarithm in one trial
LEAST_APART = 1e-7  # of two logarithms, for the slope between them


@kernel
def stiffen(c, bow, ratio):
    """Multiply the limbs' bending stiffness and its loss; ``bow`` is the number of the bow's nodes."""
    for i in range(bow):
        c.bend[i] *= ratio
        c.bend_loss[i] *= ratio


@kernel
def match_weight(
    c, marks, th, su, drawn_su, weight, first, grid, x, y, lean, root_cells, length, unknowns, height, split, drawn_x,
    drawn_y, force, target, full_x, arm, torque, elevation, follow, pull, careful, wanted, search, close, tolerance,
    most,
):  # fmt: skip
    """Change stiffness, string length and pocket angles until brace height, tillers and draw weight are met.

    The arrays are those of `brace_newton` and of `draw_newton`. Chain, shapes, angles, length and force are changed in
    place, and are equilibria for nearly the same stiffness to begin with. ``unknowns`` is 2, ``follow`` true and
    ``careful`` `QUICK`, two_way false with it: written out here, both would be compiled once more for them.

    Parameters
    ----------
    drawn_su : Support
        The rest while the bow is weighed.
    target, full_x : float
        x of the throat's middle where the weight is measured and at full draw, where the hand's torque is
        ``torque`` [m].
    wanted : float
        Size of the finger force [N].
    search : (3,) array
        Logarithm of what the stiffness has been multiplied by, logarithm of weight over the wanted one, slope of
        the second with the first. Read and written.
    close : float
        The second's size at the end.

    Returns
    -------
    status, trials, level : int, int, float
        The last: the world's horizontal seen from the riser when drawn [rad].
    braced, drawn : (float, int)
        Largest residual force [N] and iterations, of the last trial.
    """
    residual = drawn_residual = level = 0.0
    count = drawn_count = 0
    u = marks.edge_u
    for trial in range(1, TRIALS + 1):
        before = search[1]
        change = min(max(-before / search[2], -FURTHEST), FURTHEST)
        ratio = np.exp(change)
        stiffen(c, marks.tail, ratio)
        search[0] += change
        force[0] *= ratio
        force[1] *= ratio
        code, count, residual = brace_newton(
            c, marks, th, su, grid, x, y, lean, root_cells, length, unknowns, height, split, 0.0, -pull, careful > 0,
            careful, tolerance, most,
        )  # fmt: skip
        if code != OK:
            return code, trial, level, (residual, count), (drawn_residual, drawn_count)
        for i in (marks.root_u - 1, marks.root_l + 1):  # the clamps go with the pocket angles
            drawn_x[i] = x[i]
            drawn_y[i] = y[i]
        begin = 0.5 * (x[u] + x[u + 1])
        code, drawn_count, drawn_residual, level = draw_newton(
            c, marks, th, drawn_su, weight, first, grid, drawn_x, drawn_y, force, target, arm,
            torque * (target - begin) / (full_x - begin), elevation, follow, pull, careful, tolerance, most,
        )  # fmt: skip
        if code != OK:
            return code, trial, level, (residual, count), (drawn_residual, drawn_count)
        search[1] = np.log(np.hypot(force[0], force[1]) / wanted)
        if abs(search[1]) < close:
            return OK, trial, level, (residual, count), (drawn_residual, drawn_count)
        if abs(change) > LEAST_APART:
            search[2] = min(max((search[1] - before) / change, 0.2), 3.0)
    return NO_CONVERGENCE, TRIALS, level, (residual, count), (drawn_residual, drawn_count)
