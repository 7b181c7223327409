"""How big a move of the locators shows at the butt, beside how an archer's arrows scatter."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import numpy as np

from archerysim.fields.reported import Reported
from archerysim.fields.result import result
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.flight.bare_shaft import gap_at, leaving_at_sight
from archerysim.study.notes.group_means import SCATTER, tells_from, told_by_two_ends

STEP = 0.5e-3  # [m] of reading either way, for a slope


@result("distance", "per_mm", "scatter", "least", "tells_from")
@dataclass(frozen=True)
class AtTheButt:
    """What a move of the locators does at a distance.

    Attributes
    ----------
    distance : float
        Of the target [m].
    per_mm : float
        How much lower the bare shaft lands beside the fletched one for 1 mm of reading more [m].
    scatter : float
        Standard deviation of a club archer's fletched arrows there [m].
    least : float
        The smallest move whose direction two ends tell there [mm]; nan where a higher reading brings nothing down.
    tells_from : float
        The nearest distance at which they tell 1 mm [m]; nan where none does up to 70 m.
    """

    distance: Annotated[float, Reported("m", "distance of the target")]
    per_mm: Annotated[float, Reported("m", "how much lower a bare shaft lands for 1 mm of reading more")]
    scatter: Annotated[float, Reported("m", "standard deviation of a club archer's arrows on the target")]
    least: Annotated[float, Reported("mm", "smallest move that two ends show")]
    tells_from: Annotated[float, Reported("m", "nearest distance at which two ends show 1 mm of reading")]


def at_the_butt(bow: FittedBow, reading: float, distance: float, taped: bool = True) -> AtTheButt:
    """What a move about a reading by the underside [m] does at a distance [m].

    A move is told where the difference that it makes is so far over what the hits' scatter makes of the middles of six
    bare and twelve fletched shafts that its direction is right 85 times in a hundred, as `read-group` wants it.

    Raises
    ------
    SetupError, ShotError
        Where the bow cannot be shot about that reading, or not so far.
    """
    low, high = (bow.at_reading((reading + by, "m")) for by in (-STEP, STEP))
    leaving = leaving_at_sight(low, distance)  # it moves both shafts alike: near enough for the other distances too

    def per_metre(far: float) -> float:
        heights = [gap_at(launch, far, leaving, taped=taped).height for launch in (low, high)]
        return (heights[0] - heights[1]) / (2.0 * STEP)

    there = per_metre(distance)
    return AtTheButt(
        distance=distance, per_mm=1e-3 * there, scatter=SCATTER * distance,
        least=1e3 * told_by_two_ends(distance, SCATTER) / there if there > 0.0 else np.nan,
        tells_from=tells_from(lambda far: -per_metre(far), SCATTER),
    )  # fmt: skip
