"""The riser as a rigid body, and the nodes that it carries."""

from __future__ import annotations

import math

from archerysim.mechanics.arrays import TURN, X, Y
from archerysim.mechanics.compiling import inlined

CARRIED = 4  # nodes


@inlined
def carry(fr, marks, pose, rate, x, y, vx, vy):
    """Place the four carried nodes by the riser's pose (mass centre x, y and angle) and its rates."""
    cosine = math.cos(pose[TURN])
    sine = math.sin(pose[TURN])
    for k in range(CARRIED):
        i = carried_node(marks, k)
        rx = fr.carried[k, X] - fr.cx
        ry = fr.carried[k, Y] - fr.cy
        px = cosine * rx - sine * ry
        py = sine * rx + cosine * ry
        x[i] = pose[X] + px
        y[i] = pose[Y] + py
        vx[i] = rate[X] - rate[TURN] * py
        vy[i] = rate[Y] + rate[TURN] * px


@inlined
def carried_node(marks, k):
    """Node of the k-th carried place: clamp and root above, root and clamp below."""
    if k < 2:
        return marks.root_u - 1 + k
    return marks.root_l + k - 2


@inlined
def point_of(fr, pose, rate, px, py):
    """Place and velocity of a point given in the riser's axes."""
    cosine = math.cos(pose[TURN])
    sine = math.sin(pose[TURN])
    rx = cosine * (px - fr.cx) - sine * (py - fr.cy)
    ry = sine * (px - fr.cx) + cosine * (py - fr.cy)
    return pose[X] + rx, pose[Y] + ry, rate[X] - rate[TURN] * ry, rate[Y] + rate[TURN] * rx
