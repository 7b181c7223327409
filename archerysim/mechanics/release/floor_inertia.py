"""Inertia against the stretching of the string's short cell on the nock's floor.

Kinks at the throat need a cell of the floor's length, some millimetres; its stretch would set the highest frequency of
the whole bow, and with it the time step, by itself. An inertia m against the rate at which its two nodes part, energy
m (v . u)^2 / 2 along the cell's direction u, makes it no quicker than its neighbours. What the cell's turning
would add (a force m v^2 / L across it) is left out. It changes neither an equilibrium nor momentum, and nothing that is
much slower than the string's fastest stretching.
"""

from __future__ import annotations

from archerysim.mechanics.compiling import inlined


@inlined
def share_floor(c, u, inertia, cells, fx, fy, side=None):
    """Take from the forces on nodes u and u + 1 what goes into the inertia between them.

    With a = f / m the nodes part at w = (a_2 - a_1) . u; of the force that would stop it, inertia w, the share
    1 / (1 + inertia (1 / m_1 + 1 / m_2)) is taken.

    Parameters
    ----------
    c : Chain
    u : int
        The throat's upper string point.
    inertia : float
        [kg]
    cells : Cells
        With their directions, as `chain_forces` leaves them.
    fx, fy : (n,) arrays
        Forces [N]; changed in place.
    side : Side or None
        None in the shot in one plane.
    """
    ux = cells.along_x[u]
    uy = cells.along_y[u]
    one = c.inverse_mass[u]
    two = c.inverse_mass[u + 1]
    parting = (two * fx[u + 1] - one * fx[u]) * ux + (two * fy[u + 1] - one * fy[u]) * uy
    if side is not None:
        uz, fz = side.motion.along[u], side.motion.fz
        parting += (two * fz[u + 1] - one * fz[u]) * uz
    f = inertia * parting / (1.0 + inertia * (one + two))
    if side is not None:
        fz[u] += f * uz
        fz[u + 1] -= f * uz
    fx[u] += f * ux
    fy[u] += f * uy
    fx[u + 1] -= f * ux
    fy[u + 1] -= f * uy
