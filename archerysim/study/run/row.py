"""One point of a sweep: what it reports."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from archerysim.equipment import SetupError
from archerysim.errors import ShotError
from archerysim.shot.columns import MOMENT, SHOT
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.launch import Launch

Row = dict[str, Any]
More = Callable[[Launch], Row]
BAD_SETUP = -1  # status of a point whose setup contradicts itself
NOT_SHOT = -2  # status of a point that a sweep did not come to, or whose row in a store is lost


def rows_of(
    bow: FittedBow, changes: Sequence[Mapping[str, Any]], hold: tuple[str, ...] = (), attempt: int = 1, *more: More
) -> list[Row]:
    """Rows of some points; ``attempt`` only makes a repeated call another one to executors that remember calls."""
    return [row_of(bow, change, hold, *more) for change in changes]


def row_of(bow: FittedBow, changes: Mapping[str, Any], hold: tuple[str, ...] = (), *more: More) -> Row:
    """What one point reports: every quantity, its status, reason and events, and what ``more`` makes of the launch."""
    try:
        launch = bow.launch(changes, hold)
    except SetupError as error:
        return {"status": BAD_SETUP, "reason": str(error)}
    except ShotError as error:
        return {"status": error.status, "reason": str(error)}
    row = {"status": 0, "reason": "", **numbers(launch)}
    for one in more:
        row |= one(launch)
    return row


def numbers(launch: Launch) -> Row:
    """The quantities of a launch: those of the moments as pairs (separation, clear)."""
    row: Row = {q.name: (getattr(launch.separation, q.name), getattr(launch.clear, q.name)) for q in MOMENT}
    row |= {q.name: getattr(launch, q.name) for q in SHOT}
    row["events"] = "; ".join(launch.events)
    row["warnings"] = "\n".join(launch.warnings)
    row["limits_passed"] = "; ".join(launch.limits_passed)
    return row
