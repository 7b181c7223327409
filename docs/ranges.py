"""The computed tables of docs/how-sure.md: honest ranges of the best reading, and what a move does at the butt."""

from __future__ import annotations

import pickle
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cache
from typing import Any
from unittest.mock import patch

import numpy as np
from places import table
from prices import EXAMPLES, fitted

from archerysim.shot.fitted_bow import FittedBow
from archerysim.study.tuning import honest_range as ranging
from archerysim.study.tuning import tune as tuning
from archerysim.study.tuning.at_the_butt import AtTheButt, at_the_butt
from archerysim.study.tuning.first_move import FirstMove, first_move
from archerysim.study.tuning.honest_range import HonestRange, drawn_rows, honest_range

DISTANCES = (5.0, 10.0, 18.0, 30.0, 50.0)
SEEDS = range(8)


@contextmanager
def draws_shared() -> Iterator[None]:
    """What every draw answers is computed once, however many tables and commands on them ask it of the same bow."""
    answers: dict[bytes, list[Any]] = {}

    def once(bow: FittedBow, *asked: Any) -> list[Any]:
        *which, _ = asked  # how it is run changes nothing
        key = pickle.dumps((bow.given, bow.setup, bow.edits, bow.mesh, bow.step_factor, bow.planes, which))
        if key not in answers:
            answers[key] = drawn_rows(bow, *asked)
        return answers[key]

    with patch.object(ranging, "drawn_rows", once), patch.object(tuning, "drawn_rows", once):
        yield


@cache
def found(name: str) -> tuple[FittedBow, HonestRange, FirstMove]:
    """The bow, its range at 18 m and what follows from it."""
    bow = fitted(name)
    one = honest_range(bow, progress=False)
    return bow, one, first_move(bow, one)


def ranges() -> str:
    """The range of every example, where a first tie goes, and what decides."""
    rows = []
    for name in (*EXAMPLES, "longbow"):
        _, one, move = found(name)
        cut = " (square)" if move.cut[0] else ""
        rows.append([
            name, f"{one.best:.1f}", f"{move.low:.1f}{cut} to {move.high:.1f}", f"{move.tie:.1f}",
            f"{one.failed} of {one.draws}", f"{one.touching}", ", ".join(kind.words for kind in one.deciding[:3]),
        ])  # fmt: skip
    heads = (
        "bow", "best estimate [mm]", "honest range, 90 % [mm]", "first tie [mm]", "draws without an answer",
        "draws with contact there", "decided by",
    )  # fmt: skip
    return table(heads, rows)


def butts() -> str:
    """What 1 mm is worth at some distances, and from which one two ends show it."""
    rows = []
    for name in (*EXAMPLES, "longbow"):
        bow, one, _ = found(name)
        there: list[AtTheButt] = [at_the_butt(bow, 1e-3 * one.best, far) for far in DISTANCES]
        rows.append([
            name, *(f"{1e3 * each.per_mm:.1f} ({each.least:.1f})" for each in there), f"{there[0].tells_from:.0f} m",
        ])  # fmt: skip
    heads = ("bow", *(f"{far:g} m" for far in DISTANCES), "two ends show 1 mm from")
    return table(heads, rows)


def seeds() -> str:
    """How much the ends differ from one set of draws to the next."""
    bow, first, _ = found("club-outdoor")
    others = [honest_range(bow, seed=k, progress=False) for k in SEEDS if k != first.seed]
    low, high = np.array([(one.low, one.high) for one in (first, *others)]).T
    return (
        f"On club-outdoor {len(SEEDS)} sets of 64 draws put the low end at {low.min():.1f} to {low.max():.1f} mm "
        f"(standard deviation {low.std(ddof=1):.1f} mm), the high end at {high.min():.1f} to {high.max():.1f} mm "
        f"({high.std(ddof=1):.1f} mm)."
    )


TABLES: dict[str, Callable[[], str]] = {"honest-ranges": ranges, "at-the-butt": butts, "range-seeds": seeds}
