"""What bending and stretching take out of string, limbs and arrow."""

from __future__ import annotations

from archerysim.mechanics.compiling import part


@part
def chain_loss(c, marks, vx, vy, work):
    """Power lost in string, limbs and arrow [W], from the directions that `chain_forces` left in work."""
    n = vx.shape[0]
    string = 0.0
    for j in range(marks.tip_u, marks.tip_l):
        wx = vx[j + 1] - vx[j]
        wy = vy[j + 1] - vy[j]
        along = wx * work[0, j] + wy * work[1, j]
        string += c.loss[j] * (wx * wx + wy * wy) + c.axial_loss[j] * along * along
    limbs = 0.0
    arrow = 0.0
    for i in range(1, n - 1):
        if c.bend_loss[i] != 0.0:
            tangent = 1.0 + work[0, i - 1] * work[0, i] + work[1, i - 1] * work[1, i]
            rate = 2.0 / tangent * (work[3, i] - work[3, i - 1])  # slope of the bend times the turning
            if i < marks.tail:
                limbs += c.bend_loss[i] * rate * rate
            else:
                arrow += c.bend_loss[i] * rate * rate
    return string, limbs, arrow
