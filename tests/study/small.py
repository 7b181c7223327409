"""A small sweep for tests: a club bow on the coarse mesh."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

import archerysim
from archerysim.equipment import Setup
from archerysim.shot.fitted_bow import FittedBow
from archerysim.study.run.row import Question, Row

EXAMPLE = Path(__file__).parents[2] / "examples" / "club-outdoor.toml"
READINGS = {"nock.locators.reading": "4 mm:12 mm:0.5 mm"}  # 17 points


@cache
def bow() -> Setup:
    return archerysim.load(EXAMPLE)


@cache
def base() -> FittedBow:
    return FittedBow.of(bow(), "coarse")


def sweep(over: Any = None, **options: Any) -> Any:
    if over is None and "cases" not in options:
        over = READINGS
    return archerysim.sweep(bow(), over, mesh="coarse", progress=False, **options)


@cache
def plain_sweep() -> Any:
    """The small sweep in this process, without a store."""
    return sweep(workers=1)


def fake_row(question: Question, base: FittedBow, changes: dict[str, Any]) -> Row:
    """A row at once; its numbers come from the changes."""
    value = float(sum(v for v in changes.values() if isinstance(v, float)))
    return {"status": 0, "reason": "", "pitch": (value, -value), "reading": value, "warnings": "a warning in words"}
