"""Shots in both planes, by the library and by the engine."""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np

from tests.outside.engine.compare import CELLS, READING, STEP, Gap, Pair, as_built, gap, shoot_both
from tests.support.shot.example_bows import NAMES, measured

CLUB = "club-outdoor"
# what is changed on the club bow; with each of these the tail passes clear
CHANGES: dict[str, dict[str, Any]] = {
    "stiffer shaft, 0.600 in": {"arrow.spine": 0.6 * 0.0254},
    "roll 12 deg": {"archer.side_roll": "12 deg"},
    "nock held 2 mm in": {"archer.side_hold": "-2 mm"},
    "a plate beside the shaft": {"side.kind": "plate"},
    "side support 30 mm forward": {"side.forward": "30 mm"},
    "arm folds with 0.3 N": {"rest.fold_force": "0.3 N"},
    "a shelf": {"rest.kind": "shelf"},
    "canted by 10 deg": {"archer.cant": "10 deg"},
}
CLEAR = (*NAMES, *CHANGES)
STRIKES: dict[str, dict[str, Any]] = {
    "side support 4 mm out": {"side.offset": "4 mm"}
}  # and with this one it strikes the side support
MOST_PITCH, MOST_YAW, MOST_YAW_FINER = 0.03, 0.05, 0.03  # and of the angles of attack [deg]
MOST_WAY = 0.2  # of the nock sideways [mm]


@cache
def sideways(words: str, cells: int = CELLS, step: float = STEP) -> Pair:
    """A shot at the reading of its file: an example's name, or what is changed on the club bow."""
    name = words if words in NAMES else CLUB
    changes: dict[str, Any] = {READING: measured(name).number(READING), **{**CHANGES, **STRIKES}.get(words, {})}
    return shoot_both(as_built(name).with_si(**changes), cells, step, planes=2)


def finer(words: str) -> Pair:
    """The same with twice the cells in both, and half the engine's step."""
    return sideways(words, 2 * CELLS, 0.5 * STEP)


def at_clear(both: Pair) -> Gap:
    """How far the two are apart at clear."""
    return gap(both.ours.clear, both.theirs.clear)


def way_apart(both: Pair) -> float:
    """How far the nock's ways sideways are apart at most until one of both lets it go [mm]."""
    trace, along = both.ours.traced(), both.theirs.along
    assert along is not None
    until = min(both.ours.separation.time, both.theirs.separation.time)
    time = trace.time[trace.time <= until]
    return 1e3 * float(np.abs(along.nock_at(time) - np.interp(time, trace.time, trace.nock_z)).max())


def tail_touches(both: Pair) -> tuple[bool, bool]:
    """Whether the rear half of the shaft touches the side support, in ours and in the engine."""
    along, shaft = both.theirs.along, both.drawn.model.shaft
    assert along is not None
    assert shaft is not None
    half = 0.5 * shaft.link * shaft.spring.size
    return both.ours.passage.tail_touch_at > 0.0, bool((along.side_touches[:, 2] < half).any())
