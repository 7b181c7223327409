"""Shots in both planes, by the library and by the engine."""

from __future__ import annotations

from functools import cache

import numpy as np

from tests.outside.engine.compare import CELLS, READING, STEP, Pair, as_built, shoot_both
from tests.support.shot.example_bows import NAMES, measured

CLUB = "club-outdoor"
# what is changed on the club bow; each at the reading of its file, and with each the tail passes clear
CHANGES = {
    "stiffer shaft, 0.600 in": {"arrow.spine": 0.6 * 0.0254},
    "roll 12 deg": {"archer.side_roll": "12 deg"},
    "string held 2 mm in": {"archer.side_hold": "-2 mm"},
    "a plate beside the shaft": {"side.kind": "plate"},
    "side support 30 mm forward": {"side.forward": "30 mm"},
    "arm folds with 0.3 N": {"rest.fold_force": "0.3 N"},
    "a shelf": {"rest.kind": "shelf"},
    "canted by 10 deg": {"archer.cant": "10 deg"},
}
CLEAR = (*NAMES, *CHANGES)
# and one whose tail strikes the side support after the shaft has left it
STRIKES = "side support 4 mm out"
OTHERS = {STRIKES: {"side.offset": "4 mm"}}
TAIL = 0.010  # a touch that begins later is the tail's, see `tail_touches` [s]


@cache
def sideways(words: str, cells: int = CELLS, step: float = STEP) -> Pair:
    """One shot: an example's name, or what is changed on the club bow."""
    name = words if words in NAMES else CLUB
    changes = {READING: measured(name).number(READING), **{**CHANGES, **OTHERS}.get(words, {})}
    return shoot_both(as_built(name).with_si(**changes), cells, step, planes=2)
