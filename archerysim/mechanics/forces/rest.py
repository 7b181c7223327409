"""The arrow rest: a sprung point under the shaft (or above it, mirrored) that pushes along y and never pulls."""

from __future__ import annotations

from archerysim.mechanics.compiling import inlined
from archerysim.mechanics.forces.contact import share_after


@inlined
def cell_over(x, a, n, at, guess):
    """Cell of the arrow that stands over ``at``; -1 where the shaft does not reach.

    ``guess`` is the cell found last time: the search starts there.
    """
    j = guess
    if j < a or j > n - 2:
        j = a
    while j < n - 2 and x[j + 1] < at:
        j += 1
    while j > a and x[j] > at:
        j -= 1
    if x[j] > at or x[j + 1] < at:
        return -1
    return j


@inlined
def rest_gap(su, x, y, vy, j, at_x, at_y, at_vy):
    """How far the rest's top stands above the shaft's underside, its rate, and the place in the cell.

    The rate is that of the shaft's material: a shaft that slides along itself over the rest is damped too.

    Returns
    -------
    g, rate : float
        Positive where they press [m], [m/s].
    xi : float
        Place between nodes ``j`` (0) and ``j + 1`` (1).
    slope : float
        The shaft's slope there.
    """
    width = x[j + 1] - x[j]
    xi = (at_x - x[j]) / width
    slope = (y[j + 1] - y[j]) / width
    axis = y[j] + slope * (at_x - x[j])
    up = (1.0 - xi) * vy[j] + xi * vy[j + 1]
    return su.side * (at_y - axis) + su.half_diameter, su.side * (at_vy - up), xi, slope


@inlined
def rest_force(su, g, rate, step=0.0):
    """Size of the force on the shaft, along ``side`` y [N]: k g + c g' while they touch, never negative.

    In a step of time [s] in which they come to touch the damper acts for its share; see `touch`.
    """
    return max(su.stiffness * max(g, 0.0) + su.damping * rate * share_after(g, rate * step), 0.0)
