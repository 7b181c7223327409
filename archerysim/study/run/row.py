"""What is asked of a bow at every point of a run, and the row that comes of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar, Protocol

from archerysim.equipment import SetupError
from archerysim.errors import ShotError
from archerysim.shot.columns import MOMENT, SHOT, of_shot
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.launch import Launch

Row = dict[str, Any]
Change = Mapping[str, Any]
BAD_SETUP = -1  # status of a point whose setup contradicts itself
NOT_SHOT = -2  # status of a point that a sweep did not come to, or whose row in a store is lost


class Question(Protocol):
    """What is asked of a bow at every point: a frozen dataclass, to be pickled, whose fields tell it from others.

    Its rows are kept in a store where they hold nothing but numbers, texts and lists of these.
    """

    @property
    def shots(self) -> int:
        """How long a point takes, in shots: from it follow what workers pay for, and how many points one is handed."""

    def __call__(self, bow: FittedBow, change: Change) -> Row:
        """A point's row; may raise SetupError, ShotError, which make a row with the reason."""


def rows_of(question: Question, bow: FittedBow, changes: Sequence[Change], attempt: int = 1) -> list[Row]:
    """Rows of some points; ``attempt`` only makes a repeated call another one to executors that remember calls."""
    return [row_of(question, bow, change) for change in changes]


def row_of(question: Question, bow: FittedBow, change: Change) -> Row:
    """One point's row: status 0 and what is asked for, else the failure's status; the reason in words."""
    try:
        return {"status": 0, "reason": "", **question(bow, change)}
    except SetupError as error:
        return {"status": BAD_SETUP, "reason": str(error)}
    except ShotError as error:
        return {"status": error.status, "reason": str(error)}


@dataclass(frozen=True)
class LaunchNumbers:
    """Asks for every quantity of the launch, its events and warnings, each change holding what is to be held."""

    hold: tuple[str, ...] = ()
    shots: ClassVar[int] = 1

    def __call__(self, bow: FittedBow, change: Change) -> Row:
        return numbers(bow.launch(change, self.hold))


def numbers(launch: Launch) -> Row:
    """The quantities of a launch: those of the moments as pairs (separation, clear)."""
    row: Row = {q.name: (getattr(launch.separation, q.name), getattr(launch.clear, q.name)) for q in MOMENT}
    row |= {q.name: of_shot(launch, q.name) for q in SHOT}
    row["events"] = "; ".join(launch.events)
    row["warnings"] = "\n".join(launch.warnings)
    row["limits_passed"] = "; ".join(launch.limits_passed)
    return row
