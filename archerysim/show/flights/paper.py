"""The tear in a sheet of paper, in words."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from archerysim.fields.units import target_distance
from archerysim.show.style import INCH, MM
from archerysim.show.text import away, other

if TYPE_CHECKING:
    from archerysim.equipment import Setup
    from archerysim.shot.flight.paper import PaperTear

LEAST = 0.5 * MM  # less is no tear


def tear_up(tear: PaperTear, given: str | None = None) -> str:
    """Up and down: which way the tail tears from the point's hole, and how long with the ringing.

    Parameters
    ----------
    tear : PaperTear
    given : str, optional
        The paper's distance as it was given.
    """
    straight, ringing = (way(one, "up, tail high", "down, tail low") for one in (tear.up, tear.ringing_up))
    return f"at {target_distance(tear.distance, given)} the tail tears {straight}; with the shaft's ringing {ringing}"


def tear_aside(tear: PaperTear, setup: Setup) -> str:
    """Left and right, as seen from behind."""
    side = away(setup)
    straight, ringing = (way(one, side, other(side)) for one in (tear.aside, tear.ringing_aside))
    return f"the tail tears {straight}; with the shaft's ringing {ringing}"


def way(tear: float, more: str, less: str) -> str:
    """A length [m] with a word for its sign."""
    if math.isnan(tear) or abs(tear) < LEAST:
        return "no way"
    return f"{abs(tear) / MM:.0f} mm ({abs(tear) / INCH:.1f} in) {more if tear > 0.0 else less}"
