"""The riser as a rigid body, and the nodes that it carries."""

from __future__ import annotations

import numpy as np

from archerysim.mechanics.compiling import part


@part
def carry(fr, marks, pose, rate, x, y, vx, vy):
    """Place the four carried nodes by the riser's pose (mass centre x, y and angle) and its rates."""
    cosine = np.cos(pose[2])
    sine = np.sin(pose[2])
    for k in range(4):
        i = carried_node(marks, k)
        rx = fr.carried[k, 0] - fr.cx
        ry = fr.carried[k, 1] - fr.cy
        px = cosine * rx - sine * ry
        py = sine * rx + cosine * ry
        x[i] = pose[0] + px
        y[i] = pose[1] + py
        vx[i] = rate[0] - rate[2] * py
        vy[i] = rate[1] + rate[2] * px


@part
def carried_node(marks, k):
    """Node of the k-th carried place: clamp and root above, root and clamp below."""
    if k < 2:
        return marks.root_u - 1 + k
    return marks.root_l + k - 2


@part
def point_of(fr, pose, rate, px, py):
    """Place and velocity of a point given in the riser's axes."""
    cosine = np.cos(pose[2])
    sine = np.sin(pose[2])
    rx = cosine * (px - fr.cx) - sine * (py - fr.cy)
    ry = sine * (px - fr.cx) + cosine * (py - fr.cy)
    return pose[0] + rx, pose[1] + ry, rate[0] - rate[2] * ry, rate[1] + rate[2] * rx
