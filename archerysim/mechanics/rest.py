"""The arrow rest: a sprung point under the shaft that pushes along y and never pulls."""

from __future__ import annotations

import numpy as np

from archerysim.mechanics.settings import kernel


@kernel
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


@kernel
def rest_gap(x, y, vy, j, at_x, at_y, at_vy, half_diameter):
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
    underside = y[j] + slope * (at_x - x[j]) - half_diameter
    up = (1.0 - xi) * vy[j] + xi * vy[j + 1]
    rate = at_vy - up
    return at_y - underside, rate, xi, slope


@kernel
def rest_force(su, g, rate):
    """Force on the shaft along y [N]: k g + c g' while they touch, never negative."""
    if g <= 0.0:
        return 0.0
    return max(su.stiffness * g + su.damping * rate, 0.0)


@kernel
def least_gap(x, y, a, n, at_x, at_y, half_diameter):
    """Gap from the rest's top up to the shaft's underside [m]; a large number once the tail is past."""
    j = cell_over(x, a, n, at_x, a)
    if j < 0:
        return np.inf
    slope = (y[j + 1] - y[j]) / (x[j + 1] - x[j])
    return y[j] + slope * (at_x - x[j]) - half_diameter - at_y
