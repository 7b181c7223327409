"""What bending and stretching take out of string, limbs and arrow."""

from __future__ import annotations

from archerysim.mechanics.compiling import inlined


@inlined
def chain_loss(c, marks, vx, vy, cells, side=None):
    """Power lost in string, limbs and arrow [W], from the directions that `chain_forces` left in the cells."""
    n = vx.shape[0]
    tx, ty, turning = cells.along_x, cells.along_y, cells.turning
    string = 0.0
    for j in range(marks.tip_u, marks.tip_l):
        wx = vx[j + 1] - vx[j]
        wy = vy[j + 1] - vy[j]
        along = wx * tx[j] + wy * ty[j]
        across = wx * wx + wy * wy
        if side is not None:
            wz = side.motion.vz[j + 1] - side.motion.vz[j]
            along += wz * side.motion.along[j]
            across += wz * wz
        string += c.loss[j] * across + c.axial_loss[j] * along * along
    limbs = 0.0
    arrow = 0.0
    for i in range(1, n - 1):
        if c.bend_loss[i] != 0.0:
            tangent = 1.0 + tx[i - 1] * tx[i] + ty[i - 1] * ty[i]
            rate = 2.0 / tangent * (turning[i] - turning[i - 1])  # slope of the bend times the turning
            if i < marks.tail:
                limbs += c.bend_loss[i] * rate * rate
            else:
                arrow += c.bend_loss[i] * rate * rate
    return string, limbs, arrow
