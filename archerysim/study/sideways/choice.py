"""Which move takes back a gap that groups have shown."""

from __future__ import annotations

import math
from typing import NamedTuple

from archerysim.study.notes.group_means import SCATTER
from archerysim.study.sideways.result import SideMove

BARE, FLETCHED = 3, 6  # shafts of a group, common practice
SIDE = 1.645  # standard deviations that hold 90 %
LEFT = 0.5  # of a gap that a move may leave, with the whole of it in its range [judgement]


class Choice(NamedTuple):
    """Indices of moves: the one that comes nearest, others that reach it, and the setting that goes furthest."""

    best: int | None = None
    also: tuple[int, ...] = ()
    furthest: int | None = None


def noise_at(distance: float) -> float:
    """Within which a group's gap is the archer's own scatter [m], at a distance [m]."""
    return SIDE * SCATTER * distance * math.sqrt(1.0 / BARE + 1.0 / FLETCHED)


def choose(moves: tuple[SideMove, ...], gap: float, noise: float) -> Choice:
    """The move that takes back a gap [m] best: at least half of it, and all by its range or but for the scatter.

    Only moves that surely go the right way are taken, that touch nothing and pass no limit. No shaft is named that is
    not at hand, and none is cut for it.
    """
    if not abs(gap) > noise:
        return Choice()
    wanted = -gap
    right = [k for k, one in enumerate(moves) if one.sure and one.side * wanted > 0.0 and _may_be_made(one)]
    nearest = sorted(right, key=lambda k: abs(wanted - moves[k].side))
    reaching = [k for k in nearest if _reaches(moves[k], wanted, noise)]
    if reaching:
        return Choice(reaching[0], tuple(reaching[1:]))
    settings = [k for k in nearest if moves[k].kind == "side support"]
    return Choice(furthest=max(settings, key=lambda k: abs(moves[k].side), default=None))


def _may_be_made(move: SideMove) -> bool:
    return not move.contact and not move.cautions and move.kind not in ("shaft", "length")


def _reaches(move: SideMove, wanted: float, noise: float) -> bool:
    left = abs(wanted - move.side)
    within = move.side_low <= wanted <= move.side_high and left <= LEFT * abs(wanted)
    return within or left <= min(noise, LEFT * abs(wanted))
