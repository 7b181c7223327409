"""Moves of bare shafts in words: which way, how far, and what to do about the height."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from archerysim.show.style import MM
from archerysim.show.text import away, other

if TYPE_CHECKING:
    from archerysim.study.sideways.result import SideMove, SidewaysTune


def way_and_range(tune: SidewaysTune, move: SideMove) -> tuple[str, str]:
    """Which way a change moves bare shafts, seen from behind, and its 90 % range."""
    left = away(tune.setup)
    low, high = move.side_low, move.side_high
    if move.hardly(tune.distance):
        return "hardly", f"under {centimetres(max(abs(low), abs(high)))}"
    if not move.sure:
        return "either way", f"{centimetres(-low)} {other(left)} to {centimetres(high)} {left}"
    near, far = sorted((abs(low), abs(high)))
    return beside(tune, move.side, upper=True), f"{centimetres(near, '')} to {centimetres(far)}"


def beside(tune: SidewaysTune, side: float, upper: bool = False) -> str:
    """A place or a way sideways [m], positive away from the window, in words."""
    way = away(tune.setup) if side > 0.0 else other(away(tune.setup))
    return f"{way.upper()} {centimetres(abs(side))}" if upper else f"{centimetres(abs(side))} {way}"


def centimetres(length: float, unit: str = " cm") -> str:
    """A length on the target [m]."""
    return f"{100.0 * length:.{0 if abs(length) >= 0.0995 else 1}f}{unit}"


def back(move: SideMove) -> str:
    """Which way the locators go after a change, as far as is moved at once."""
    from archerysim.equipment.readings import SIXTEENTH, both_units
    from archerysim.study.notes.move import FARTHEST

    by = move.reading * MM
    if not math.isfinite(by):
        return "by archerysim tune"
    if abs(by) < 5e-5:
        return "stay"
    now = min(abs(by), FARTHEST)
    size = both_units(now) if now >= 0.5 * SIXTEENTH else f"{now / MM:.1f} mm"
    more = f", of {abs(by) / MM:.1f}" if now < abs(by) - 5e-5 else ""
    return f"{'UP' if by > 0.0 else 'DOWN'} {size}{more}"


def struck(move: SideMove) -> tuple[str, str]:
    """What touches with a change whose way is not told, in place of way and range."""
    from archerysim.shot.warnings import TAIL_TOUCHES

    if not any(one.startswith(TAIL_TOUCHES) for one in move.contact):
        return "not given", "the arm is struck"
    return ("its tail strikes", "looks like a weaker one") if move.stiffer else ("not given", "the tail strikes")
