"""How far bare shafts lie left or right of fletched ones, and whether that may be acted on."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated

import numpy as np

from archerysim.fields.reported import Reported
from archerysim.fields.units import target_distance
from archerysim.study.notes.group_means import BARE_FACTOR, REPEATED, Noted
from archerysim.study.notes.move import LIKELY, percent
from archerysim.study.notes.posterior import DRAWS, NINETY, SEED, Answer, by_prior, quantiles
from archerysim.study.notes.response_surface import Expected
from archerysim.study.notes.suspicion import row_of

FIXED = 0.5  # of the prior's, at most: the 90 % range of the gap that the model still allows [judgement]
SURE = 1.645  # standard deviations of a 90 % interval


@dataclass(frozen=True)
class LeftRight:
    """How far bare shafts lie beside fletched ones, as the archer sees the target.

    Attributes
    ----------
    distance : float
        At which [m].
    gap, low, high : float
        By the groups shot with the bow as it is now, and ends of the 90 % interval, positive = right [m].
    probability : float
        That bare shafts lie on this side.
    bare : int
        Good bare shafts behind it.
    fixed : float
        The 90 % range of the gap that the model still allows, over the prior's.
    contact : str
        What touches, by the model or the groups; "" where nothing does.
    told : bool
        Whether left and right may be acted on.
    words : str
    """

    distance: Annotated[float, Reported("m")]
    gap: Annotated[float, Reported("m", "bare to the right of fletched")]
    low: Annotated[float, Reported("m")]
    high: Annotated[float, Reported("m")]
    probability: float
    bare: int
    fixed: float
    contact: str
    told: bool
    words: str


def left_right_of(
    expected: Expected,
    groups: tuple[Noted, ...],
    away: float,
    contact: str,
    found: Answer,
    scatter: float,
    explained: bool = True,
) -> LeftRight | None:
    """What groups say of left and right; None where none of them tells it, and in one plane.

    Parameters
    ----------
    expected : Expected
    groups : tuple of Noted
        Shot with the bow as it is now.
    away : float
        1 where to the right is away from the window, else -1.
    contact : str
        What touches, "" for nothing.
    found : Answer
        What these groups and others speak for.
    scatter : float
        Of the archer's fletched shafts [rad].
    explained : bool
        Whether some hands that the setup could have explain the notes.
    """
    noted = [group for group in groups if math.isfinite(group.beside)]
    if not noted or expected.bow.planes == 1:
        return None
    same = [group for group in noted if group.distance == noted[-1].distance]
    weights = np.array([group.beside_sigma**-2 for group in same])
    sigma = 1.0 / math.sqrt(weights.sum())
    gap = away * float(weights @ [group.beside for group in same]) * sigma**2
    probability = 0.5 * (1.0 + math.erf(abs(gap) / sigma / math.sqrt(2.0)))
    bare = sum(group.bare.size for group in same)
    fixed = _share_left(expected, found, same[-1])
    side = "right" if gap > 0.0 else "left"
    at = target_distance(same[-1].distance)
    lies = f"bare shafts lie {100.0 * abs(gap):.0f} cm {side} of fletched ones at {at}"
    lies += f" (90 %: {_ends(gap - SURE * sigma, gap + SURE * sigma)})"
    among = abs(gap) <= BARE_FACTOR * scatter * same[-1].distance  # one standard deviation of a bare shaft
    told = explained and not contact and bare >= REPEATED and fixed <= FIXED and probability >= LIKELY and not among
    if contact:
        words = f"no left or right advice: clear the contact first ({contact})"
    elif told:
        kind = "stiff" if gap * away > 0.0 else "weak"
        words = f"{lies}, {percent(probability)} sure of the side: as with a shaft that is too {kind}"
    elif among or probability < LIKELY:
        words = f"{lies}: within the scatter of the hits, leave it"
    elif not explained:
        words = f"{lies}: not to be acted on: no hands explain these groups"
    elif bare < REPEATED:
        words = f"{lies}: repeat before acting, {REPEATED} good bare shafts are needed"
    else:
        words = f"{lies}: not to be acted on yet: the groups do not fix how the string rolls off the fingers"
    return LeftRight(
        same[-1].distance, gap, gap - SURE * sigma, gap + SURE * sigma, probability, bare, fixed, contact, told, words
    )


def _share_left(expected: Expected, found: Answer, group: Noted) -> float:
    """The 90 % range of the gap that the model allows after the notes, over the one before them."""
    surface = expected.sides.rows([row_of(expected, group)])
    low, high = np.array([(cause.low, cause.high) for cause in expected.causes]).T
    rng = np.random.default_rng(SEED)
    before = surface.at(by_prior(rng.random((DRAWS // 4, len(low))), low, high))[:, 0]
    ends = quantiles(before, np.full(before.size, 1.0 / before.size), NINETY)
    _, least, most = found.spread_of(surface.at(found.draws)[:, 0])
    return (most - least) / (ends[1] - ends[0])


def _ends(low: float, high: float) -> str:
    """Ends of an interval of the gap [m] in words."""
    names = [f"{100.0 * abs(end):.0f} cm {'right' if end > 0.0 else 'left'}" for end in (low, high)]
    if low * high > 0.0:
        near, far = sorted((abs(low), abs(high)))
        return f"{100.0 * near:.0f} to {100.0 * far:.0f} cm"
    return " to ".join(names)
