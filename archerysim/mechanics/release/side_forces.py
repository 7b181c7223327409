"""What acts sideways beside the chain and the side support: groove, arm, limb tips."""

from __future__ import annotations

from archerysim.mechanics.arrays import LOWER, UPPER
from archerysim.mechanics.compiling import inlined
from archerysim.mechanics.forces.contact import share_after
from archerysim.mechanics.release.side_layout import FOLDED, UP


@inlined
def push_of_groove(side, u, a, share):
    """Add what holds string and nock together sideways: the mean of both edges against the tail.

    Returns
    -------
    force, power : float
        On the nock along z [N]; taken out of the chain, what its spring takes up with it [W].
    """
    z, vz, fz = side.motion.z, side.motion.vz, side.motion.fz
    aside = 0.5 * (z[u] + z[u + 1]) - z[a]
    rate = 0.5 * (vz[u] + vz[u + 1]) - vz[a]
    force = share * (side.model.groove_stiffness * aside + side.model.groove_loss * rate)
    fz[a] += force
    fz[u] -= 0.5 * force
    fz[u + 1] -= 0.5 * force
    return force, force * rate


@inlined
def reach_of_arm(side, x, vx, cell, xi, at_vx, step):
    """Whether the arm supports the shaft, of which it meets a cell at a place; a struck one pushes it out.

    The share of the step in which it supports goes by the rate of the axis over the arm, along which the shaft slides:
    by that of the shaft's own material the error would be of first order in the step.

    Parameters
    ----------
    side : Side
    x, vx : (n,) arrays
        Nodes [m], [m/s].
    cell : int
        Cell of the arrow over the arm.
    xi : float
        Place in it, 0 to 1.
    at_vx : float
        Velocity of the rest along x [m/s].
    step : float
        [s]

    Returns
    -------
    at : float
        Place z of the shaft's axis there [m].
    supported : float
        Share of the step in which it supports.
    power : float
        Taken while it folds away [W].
    """
    z, vz, fz = side.motion.z, side.motion.vz, side.motion.fz
    arm, state = side.model.arm, side.kept.notes.arm
    at = (1.0 - xi) * z[cell] + xi * z[cell + 1]
    out = (1.0 - xi) * vz[cell] + xi * vz[cell + 1]
    if state == UP:
        slope = (z[cell + 1] - z[cell]) / (x[cell + 1] - x[cell])
        along = (1.0 - xi) * vx[cell] + xi * vx[cell + 1]
        return at, 1.0 - share_after(at - arm.outer, step * (out - slope * (along - at_vx))), 0.0
    if state == FOLDED:
        fz[cell] += (1.0 - xi) * arm.fold_force
        fz[cell + 1] += xi * arm.fold_force
        return at, 0.0, -arm.fold_force * out
    return at, 0.0, 0.0


@inlined
def hold_tips(side):
    """Add the springs and dampers of the limbs' tips and all weights; power lost in the dampers [W]."""
    m, motion = side.model, side.motion
    z, vz, fz = motion.z, motion.vz, motion.fz
    for i in range(fz.shape[0]):
        fz[i] += m.weight[i]
    fz[m.tip_u] -= m.tip_stiffness[UPPER] * z[m.tip_u] + m.tip_loss[UPPER] * vz[m.tip_u]
    fz[m.tip_l] -= m.tip_stiffness[LOWER] * z[m.tip_l] + m.tip_loss[LOWER] * vz[m.tip_l]
    return m.tip_loss[UPPER] * vz[m.tip_u] * vz[m.tip_u] + m.tip_loss[LOWER] * vz[m.tip_l] * vz[m.tip_l]
