"""Friction between the string and the throat's floor, along the floor.

The string sticks to a place on the floor by a spring and slips where the spring's force would be more than the friction
holds: the coefficient times what the edges push at that moment. The spring's force follows from places alone and is no
stiffer than others beside it, so that the step of time stays; and a string that rests in the nock rests. A force that
followed the velocity instead would have to be so steep about zero that the string's light nodes could not be stepped.
"""

from __future__ import annotations

from archerysim.mechanics.compiling import inlined


@inlined
def friction_force(th, s, stuck, push):
    """Force of friction on the shaft along the floor, upwards [N], and where the string sticks from now on [m].

    Parameters
    ----------
    th : Throat
        With friction.
    s : float
        Offset of the string along the floor, as of `throat.throat_state` [m].
    stuck : float
        The offset at which the spring is slack, so far [m].
    push : float
        Of both edges together, none where they hold back [N].
    """
    most = th.friction * push
    force = th.friction_stiffness * (s - stuck)
    if abs(force) <= most:
        return force, stuck
    force = most if force > 0.0 else -most
    return force, s - force / th.friction_stiffness
