"""The side support: a preloaded spring beside the shaft that pushes it away from the window and never pulls.

It pushes along the shaft's normal in the plane of x and z, and its damper follows the rate at which the shaft's own
material goes into it: with the force along z alone the energy would not close.
"""

from __future__ import annotations

from archerysim.mechanics.compiling import inlined
from archerysim.mechanics.forces.contact import share_after


@inlined
def side_push(ss, x, z, vx, vz, j, at_x, at_vx):
    """How far the shaft's side is past the support's face, its rate, the place in the cell and the shaft's slope z'.

    Parameters
    ----------
    ss : SideSupport
    x, z, vx, vz : (n,) arrays
        Nodes [m], [m/s].
    j : int
        Cell of the arrow beside it.
    at_x, at_vx : float
        The support's place along x and its velocity there; it does not move sideways.

    Returns
    -------
    p, rate : float
        [m], [m/s].
    xi : float
        Place between nodes ``j`` (0) and ``j + 1`` (1).
    slope : float
    """
    width = x[j + 1] - x[j]
    xi = (at_x - x[j]) / width
    slope = (z[j + 1] - z[j]) / width
    along = (1.0 - xi) * vx[j] + xi * vx[j + 1]
    out = (1.0 - xi) * vz[j] + xi * vz[j + 1]
    return ss.offset - (z[j] + slope * (at_x - x[j])), slope * (along - at_vx) - out, xi, slope


@inlined
def side_force(ss, p, rate, step=0.0):
    """Size N of the force on the shaft [N], which is (-z' N, N) along x and z.

    N = min(max(seat, k) p, preload + k p) + seat (p - travel) past the travel, and c p' while they touch; never
    negative. In a step of time [s] in which they come to touch the damper acts for its share; see `contact`.
    """
    pressed = max(p, 0.0)
    spring = min(max(ss.seat, ss.stiffness) * pressed, ss.preload + ss.stiffness * pressed)
    hard = ss.seat * max(p - ss.travel, 0.0)
    return max(spring + hard + ss.damping * rate * share_after(p, rate * step), 0.0)
