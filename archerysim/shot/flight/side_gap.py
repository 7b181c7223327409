"""What changes on a bow do to left and right of a bare shaft beside fletched ones, on the target."""

from __future__ import annotations

from typing import Any, NamedTuple

from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.flight.bare_shaft import gap_at, leaving_at_sight
from archerysim.shot.flight.fly import check_distance
from archerysim.shot.launch import Launch
from archerysim.shot.side_change import SideChange, launch_before


class SideGapChange(NamedTuple):
    """How else a bare shaft lands beside fletched ones than before the changes.

    Attributes
    ----------
    by : float
        Positive: it lands further away from the window [m].
    touches : bool
        Whether its tail touches the side support, or did before, by more than a graze: the side may turn round with it.
    """

    by: float
    touches: bool


def side_gap_change(bow: FittedBow, distance: Any, *, taped: bool = True) -> SideGapChange | None:
    """What a bow's changes do to left and right of its bare shaft; None as `archerysim.shot.side_change.side_change`.

    Parameters
    ----------
    bow : FittedBow
    distance : str or another number with its unit
        Of the target.
    taped : bool
        Whether the bare shaft carries tape of the fletching's mass.

    Raises
    ------
    SetupError, ShotError
        If the distance is out of range or out of the arrow's reach.
    """
    far, before = check_distance(distance), launch_before(bow)
    if before is None:
        return None
    now = bow.launch()

    def side(launch: Launch) -> float:
        return gap_at(launch, far, leaving_at_sight(launch, far), taped=taped).side

    change = SideChange.between(before, now)
    return SideGapChange(side(now) - side(before), change.touches or change.touched_before)
