"""The next end: how many shafts, with which reading, and at which distance."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated

import numpy as np

from archerysim.equipment.readings import BY_UNDERSIDE, ReadBy, both_units
from archerysim.errors import SetupError, ShotError
from archerysim.fields.reported import Reported
from archerysim.fields.units import target_distance
from archerysim.shot.flight.bare_shaft import gap_at, leaving_at_sight
from archerysim.shot.flight.range_cautions import JUNIOR_BARE
from archerysim.study.notes.group_means import BARE_FACTOR, REPEATED, Noted, ends_to_tell, tells_from
from archerysim.study.notes.left_right import LeftRight
from archerysim.study.notes.move import Move
from archerysim.study.notes.posterior import FLIGHT, Answer
from archerysim.study.notes.response_surface import STEP, Expected, allowed

DISTANCES = (18.0, 30.0)  # proposed [m]; beyond, nobody is sent with bare shafts
NEAR = 15.0  # under it a bare shaft hardly reacts [m]
HALF = 0.5  # of the butt: where bare shafts have to land before a longer distance
MOST_ENDS = 3  # of three bare and six fletched shafts, proposed at once
ENDS = 2  # usual; common practice
SURE = 1.645  # standard deviations of a 90 % interval


@dataclass(frozen=True)
class NextEnd:
    """What to shoot next.

    Attributes
    ----------
    distance : float
        [m]
    ends : int
        Of three bare and six fletched shafts; none where the height needs no more of them.
    reading : float
        By the underside [m].
    tells : float
        How many such ends it takes at this distance to tell one millimetre of reading.
    tells_from : float
        From which distance on two such ends tell it [m]; nan where none does.
    farther : str
        Why no longer distance is proposed, or what makes it one; "" where none is asked for.
    words : str
    """

    distance: Annotated[float, Reported("m")]
    ends: int
    reading: Annotated[float, Reported("m")]
    tells: float
    tells_from: Annotated[float, Reported("m")]
    farther: str
    words: str


def next_end_of(
    expected: Expected, groups: tuple[Noted, ...], move: Move, scatter: float, category: str, butt: float | None,
    found: Answer, aside: LeftRight | None = None, by: ReadBy = BY_UNDERSIDE,
) -> NextEnd:  # fmt: skip
    """The next end after a move.

    Parameters
    ----------
    groups : tuple of Noted
        All that were shot with the bow as it is now, the latest last.
    scatter : float
        Of the archer's fletched shafts [rad].
    category : str
        Of the setup.
    butt : float, optional
        The lesser of its width and height [m].
    found : Answer
        What the notes speak for.
    aside : LeftRight, optional
        Where left and right are to be acted on, that comes before a longer distance.
    by : ReadBy
        How readings are told in words.
    """
    last = groups[-1]
    reading, done = move.to, move.way == "hold" and move.repeated  # together there: nearer groups say no more
    distance, farther = last.distance, ""
    if last.distance < DISTANCES[0] - 1e-6:
        distance, farther = _longer(expected, groups, reading, scatter, DISTANCES[0], butt, found)
    elif done and not (aside and aside.told) and category != "junior" and last.distance < DISTANCES[-1] - 1e-6:
        distance, farther = _longer(expected, groups, reading, scatter, DISTANCES[-1], butt, found)
    if category == "junior":
        distance = min(distance, JUNIOR_BARE)
    low, high = expected.launch(allowed(reading - STEP)), expected.launch(allowed(reading + STEP))

    def reacts(far: float) -> float:
        """Change of the height of bare above fletched for a higher reading [m/m]."""
        way = leaving_at_sight(low, far)
        ends = [gap_at(one, far, way, taped=expected.taped).height for one in (low, high)]
        return (ends[1] - ends[0]) / (1e-3 * (high.reading - low.reading))

    tells = ends_to_tell(reacts(distance), distance, scatter)
    nearest = tells_from(reacts, scatter)
    shot = sum(group.bare.size for group in groups if abs(group.reading - reading) < 1e-9)
    ends = 1 if 0 < shot < REPEATED else min(max(ENDS, math.ceil(tells)), MOST_ENDS)
    at = target_distance(distance)
    if done and abs(distance - last.distance) < 1e-6:
        words = f"bare and fletched shafts are together in height at {at}: no further end is needed"
        return NextEnd(distance, 0, reading, tells, nearest, farther, words)
    words = f"shoot {'one end' if ends == 1 else f'{ends} ends'} of three bare and six fletched shafts at {at}"
    words += f" with the locators at {both_units(by.reading(reading))} {by.words}, note up and right, and read again"
    if distance < NEAR:
        words += f"; at {at} bare shafts hardly react ({abs(reacts(distance)):.0f} mm for 1 mm)"
        words += f"; from {nearest:.0f} m on two ends show a move of 1 mm" if math.isfinite(nearest) else ""
    return NextEnd(distance, ends, reading, tells, nearest, farther, words)


def _longer(
    expected: Expected, groups: tuple[Noted, ...], reading: float, scatter: float, farther: float,
    butt: float | None, found: Answer,
) -> tuple[float, str]:  # fmt: skip
    """The longer distance, or the same again, and why."""
    last, at = groups[-1], target_distance(farther)
    if butt is None:
        return last.distance, f"{at} would show more, if the butt's size is known: --butt, or butt in the notes"
    room = 0.5 * HALF * butt
    if last.missed or _off(last) > room:
        return last.distance, f"not yet at {at}: the last bare shafts did not all land inside half of the butt"
    reach = _reach(expected, reading, scatter, farther, found)
    if reach > room:
        inside = f"90 % of the bare shafts within {100 * reach:.0f} cm of the middle of the fletched ones"
        return last.distance, f"not at {at}: by the model {inside}, more than half of the butt allows"
    return farther, f"at {at} 90 % of the bare shafts land within {100 * reach:.0f} cm of the middle, by the model"


def _off(group: Noted) -> float:
    """How far the farthest of a group's bare shafts lies from the middle of the fletched ones [m]."""
    up = np.abs(group.bare - np.median(group.fletched)).max() if group.bare.size and group.fletched.size else math.inf
    return float(max(up, abs(group.beside) if math.isfinite(group.beside) else 0.0))


def _reach(expected: Expected, reading: float, scatter: float, distance: float, found: Answer) -> float:
    """How far from the middle of the fletched shafts 90 % of the bare ones land at most, up or aside [m]."""
    try:
        launch = expected.launch(reading, found.z)
        gap = gap_at(launch, distance, leaving_at_sight(launch, distance), taped=expected.taped)
    except (SetupError, ShotError):  # none, or it falls short
        return math.inf
    last = expected.places[-1]
    ratio = (distance / last.distance) ** 2
    reach = 0.0
    for value, surface in ((gap.height, expected.heights), (gap.side, expected.sides)):
        if not math.isfinite(value):
            continue
        row = surface.rows([len(expected.places) - 1])
        _, low, high = found.spread_of(row.at(found.draws)[:, 0])
        spread = (high - low) / (2.0 * SURE)
        total = math.hypot(BARE_FACTOR * scatter * distance, ratio * spread, FLIGHT * value)
        reach = max(reach, abs(value) + SURE * total)
    return reach
