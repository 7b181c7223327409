"""A small sweep of the club bow on the coarse mesh, to be run in every way that a sweep can be run."""

from __future__ import annotations

from functools import cache
from typing import Any

from archerysim.equipment import Setup
from archerysim.shot.fitted_bow import FittedBow
from archerysim.study.run.row import Question, Row
from tests.support.shot.example_bows import CLUB, fitted, measured, path_of
from tests.support.study.shared_sweeps import MESH, run

EXAMPLE = path_of(CLUB[0])
READINGS = {"nock.locators.reading": "4 mm:12 mm:0.5 mm"}  # 17 points
MORE = {"nock.locators.reading": "5 mm:10 mm:0.05 mm"}  # 101 points, for workers that are killed on the way


def bow() -> Setup:
    """The club bow as measured."""
    return measured(CLUB[0])


def base() -> FittedBow:
    """Fitted, from which each point starts."""
    return fitted(CLUB[0], MESH)


def sweep(over: Any = None, **options: Any) -> Any:
    """Of the club bow, over its readings if nothing else is said; not told as it goes on."""
    if over is None and "cases" not in options:
        over = READINGS
    return run(bow(), over, progress=False, **options)


@cache
def plain_sweep() -> Any:
    """The small sweep in this process, without a store."""
    return sweep(workers=1)


@cache
def longer_sweep() -> Any:
    """That of `MORE`, the same way."""
    return sweep(MORE, workers=1)


def fake_row(question: Question, base: FittedBow, changes: dict[str, Any]) -> Row:
    """A row at once; its numbers come from the changes."""
    value = float(sum(v for v in changes.values() if isinstance(v, float)))
    return {"status": 0, "reason": "", "pitch": (value, -value), "reading": value, "warnings": "a warning in words"}
