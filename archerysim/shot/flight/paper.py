"""The tear of an arrow in a sheet of paper near the bow: where its tail goes through, seen from its point's hole."""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from archerysim.fields.quantity import Quantity
from archerysim.shot.flight.fly import flown
from archerysim.shot.launch import Launch

PAPER = Quantity(text="distance of the paper from the pivot", unit="m", low="1.2 m", high="10 m")
BEHIND = 2.0  # [m] the flight goes on behind the paper, for longer than any arrow


class PaperTear(NamedTuple):
    """Where the tail goes through a sheet of paper, as seen from the point's hole [m].

    Attributes
    ----------
    distance : float
        Of the paper from the pivot.
    up, aside : float
        Of the straight shaft: above the point's hole, and beside it, positive away from the window; nan in one plane.
    ringing_up, ringing_aside : float
        The same with the shaft's ringing.
    """

    distance: float
    up: float
    aside: float
    ringing_up: float
    ringing_aside: float


def paper_tear(launch: Launch, distance: Any = "2 m", *, fletched: bool = True, taped: bool = True) -> PaperTear:
    """Fly an arrow through a sheet of paper that does not resist it.

    Parameters
    ----------
    launch : Launch
    distance : str or another number with its unit
        Of the paper.
    fletched, taped : bool
        As for `archerysim.fly`.

    Raises
    ------
    SetupError
        If the distance has no unit, cannot be read or is out of range.

    Notes
    -----
    Point and tail pass the sheet one arrow's length after one another. A straight shaft that flies the way it points
    goes through one hole: what tears is its angle of attack, and its turning while it passes, not its pitch.
    """
    far = PAPER.single("paper", distance, "refused")
    straight, ringing = (_tear(launch, far, fletched, taped, bending) for bending in (False, True))
    return PaperTear(far, *straight, *ringing)


def _tear(launch: Launch, far: float, fletched: bool, taped: bool, bending: bool) -> tuple[float, float]:
    """Up and aside [m]."""
    flight = flown(launch, distance=far + BEHIND, fletched=fletched, taped=taped, bending=bending)
    up, aside = (
        float(np.interp(far, flight.tail_x, tail) - np.interp(far, flight.nose_x, nose))
        for tail, nose in ((flight.tail_y, flight.nose_y), (flight.tail_z, flight.nose_z))
    )
    return up, aside
