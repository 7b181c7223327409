"""Shots in both planes that differ in what happens sideways, kept so that the pictures' tests share them."""

from __future__ import annotations

from functools import cache
from typing import Any

from archerysim.shot.launch import Launch
from archerysim.shot.shoot import shoot
from tests.support.shot.example_bows import measured

CHANGES: dict[str, dict[str, Any]] = {
    "as it is": {},
    "left-handed": {"archer.handed": "left"},
    "canted": {"archer.cant": "10 deg"},
    "strikes and touches": {"arrow.spine": "0.45", "archer.side_roll": "5 deg"},
    "no roll": {"archer.side_roll": "0 deg"},
    "on a shelf": {"rest.kind": "shelf", "side.kind": "plate"},
}
KINDS = tuple(CHANGES)


@cache
def sideways_shot(kind: str) -> Launch:
    """The club bow, on the coarse mesh."""
    return shoot(measured("club-outdoor"), "coarse", changes=CHANGES[kind], planes=2)
