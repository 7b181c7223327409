"""Tillering in passes: how much of it each does, and what is then to be measured before the next."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import TYPE_CHECKING, Annotated

import numpy as np

from archerysim.equipment.filled_setup import BuiltSetup
from archerysim.fields.given import whole_number
from archerysim.fields.reported import Reported
from archerysim.shot.arrays.mesh import Mesh
from archerysim.study.bench.wood.judged import draw_at_weight, judge, judged
from archerysim.study.bench.wood.moves import Scraping

if TYPE_CHECKING:
    from archerysim.study.bench.wood.moves import Bolts

DEEPEST, FURTHEST = 0.25, 0.5  # of one pass [mm; turns] [judgement]
MOST = 20


@dataclass(frozen=True)
class Pass:
    """What is to be measured after one pass, before the next.

    Attributes
    ----------
    share : float
        Of the whole that is done by then; 0: the bow as it stands.
    brace_height, upper_tiller, lower_tiller : float
        [m]
    draw_length : float
        To which it is drawn on the scale: no further than it pulls the intended weight [m].
    weight : float
        There [N].
    """

    share: float
    brace_height: Annotated[float, Reported("m")]
    upper_tiller: Annotated[float, Reported("m")]
    lower_tiller: Annotated[float, Reported("m")]
    draw_length: Annotated[float, Reported("m")]
    weight: Annotated[float, Reported("N")]


def passes_of(
    full: BuiltSetup,
    mesh: Mesh,
    moves: Scraping | Bolts,
    at: np.ndarray | None,
    draw_length: float,
    intended: float,
    count: int,
) -> tuple[Pass, ...]:
    """The bow as it stands, and after each pass.

    Parameters
    ----------
    full : BuiltSetup
        As it stands.
    mesh : Mesh
    moves, at
        What is moved, and how far altogether; None: nothing is done.
    draw_length, intended : float
        The archer's draw length [m], and the draw weight that is never passed [N].
    count : int
        0: as many as are needed.

    Raises
    ------
    SetupError, ShotError
    """
    whole_number("passes", count, "a number of passes", 0, MOST)
    most = DEEPEST if isinstance(moves, Scraping) else FURTHEST
    if at is None:
        at, count = 0.0 * moves.most, 0
    else:
        count = count or min(max(2, ceil(moves.size(at) / most)), MOST)
    out = []
    for k in range(count + 1):
        bow = moves.on(full, at * (k / max(count, 1)))
        place = np.zeros(1)
        one = judged(bow, mesh, draw_length, place)
        length = draw_at_weight(bow, one.braced, intended, draw_length)
        weight = one.drawn.weight if length == draw_length else judge(bow, one.braced, length, place).drawn.weight
        lengths = one.braced.brace_height, one.braced.upper_tiller, one.braced.lower_tiller
        out.append(Pass(k / max(count, 1), *lengths, length, weight))
    return tuple(out)
