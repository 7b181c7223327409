"""Forces that begin or end within a step of time act for their share of it.

A damper that begins at a touch, and a rest that supports no further, jump. Noticed at whole steps only, such a jump
would leave an error of first order, and how an arrow leaves would scatter with where the steps fall.
"""

from __future__ import annotations

from archerysim.mechanics.compiling import inlined


@inlined
def share_after(past, stride):
    """Share of a step about now, half of it before and half after, that lies beyond a place.

    Parameters
    ----------
    past : float
        How far beyond the place it is now; negative before.
    stride : float
        How far it moves on in one step. Where it does not, only now counts: 1 beyond, else 0.
    """
    if stride > 0.0:
        return min(max(past / stride + 0.5, 0.0), 1.0)
    return 1.0 if past > 0.0 else 0.0
