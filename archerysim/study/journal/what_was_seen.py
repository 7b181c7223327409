"""What a change did to where bare shafts land, by the groups before and after it, or by what the archer wrote."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated

from archerysim.fields.reported import Reported
from archerysim.study.journal.landing import Landing, Told
from archerysim.study.notes.group_means import AS_SURE, Noted, spread_of
from archerysim.study.notes.posterior import FLIGHT

FAR = 3.0  # standard deviations from what was predicted beyond which it is said [judgement]
TINY = 1e-9  # of two distances or readings that are one [m]


@dataclass(frozen=True)
class Seen:
    """How else bare shafts land than before, beside the fletched ones.

    Attributes
    ----------
    distance : float
        [m]
    up, up_sigma : float
        Higher, and its standard deviation by the scatter of the hits [m]; nan where it is not known, as the next two.
    right, right_sigma : float
        Further to the right, as the archer sees the target [m].
    by_groups : bool
        By groups shot before and after; else by the archer's words.
    """

    distance: Annotated[float, Reported("m")]
    up: Annotated[float, Reported("m", "how much higher bare shafts land")]
    up_sigma: Annotated[float, Reported("m")]
    right: Annotated[float, Reported("m", "how much further to the right they land")]
    right_sigma: Annotated[float, Reported("m")]
    by_groups: bool


def alike(groups: list[Noted], last: bool) -> list[Noted]:
    """The usable ones of some groups in a row, with the reading of the last or the first of them."""
    used = [one for one in groups if one.used]
    return [one for one in used if abs(one.reading - used[-1 if last else 0].reading) < TINY]


def seen_by_groups(before: list[Noted], after: list[Noted], to_the_right: float) -> Seen | None:
    """From the groups on both sides of a change, at the distance of the first after it that was shot before too.

    Parameters
    ----------
    before, after : list of Noted
        As of `alike`.
    to_the_right : float
        1 where away from the window is to the right, else -1.
    """
    for first in after:
        old, new = ([one for one in side if abs(one.distance - first.distance) < TINY] for side in (before, after))
        if old and new:
            up = _less(_middle(new, "difference", "sigma"), _middle(old, "difference", "sigma"))
            away = _less(_middle(new, "beside", "beside_sigma"), _middle(old, "beside", "beside_sigma"))
            return Seen(first.distance, *up, to_the_right * away[0], away[1], True)
    return None


def seen_in_words(
    words: Landing, before: list[Noted], distance: float | None, scatter: float, to_the_right: float
) -> Seen | None:  # fmt: skip
    """From the archer's words, as of three bare and six fletched shafts; None where they say no change.

    Parameters
    ----------
    words : Landing
    before : list of Noted
        Groups before the change, to tell a change where the words only say where bare shafts lie.
    distance : float or None
        Where the words do not say at which [m].
    scatter : float
        Of the archer's fletched shafts, standard deviation over distance [rad].
    to_the_right : float
        As for `seen_by_groups`.
    """
    at = words.distance if words.distance is not None else distance
    if at is None:
        return None
    old = [one for one in before if abs(one.distance - at) < TINY]
    own = spread_of(at, scatter, 3, 6)
    height, beside = _middle(old, "difference", "sigma"), _middle(old, "beside", "beside_sigma")
    up = _change(words.up, height, own)
    right = _change(words.right, (to_the_right * beside[0], beside[1]), own)
    return None if math.isnan(up[0]) and math.isnan(right[0]) else Seen(at, *up, *right, False)


def disagreement(predicted: float, seen: float, sigma: float) -> str:
    """ "the other way" or "far more", "far less" than predicted, beyond the scatter; "" where it is not.

    Parameters
    ----------
    predicted, seen, sigma : float
        [m]; the standard deviation of what was seen. What was predicted is known no better than to 15 % of itself.
    """
    both = math.hypot(sigma, FLIGHT * predicted)
    if predicted * seen < 0.0 and min(abs(predicted), abs(seen)) > AS_SURE * both:
        return "the other way"
    if abs(seen - predicted) > FAR * both:
        return "far more" if abs(seen) > abs(predicted) else "far less"
    return ""


def _middle(groups: list[Noted], value: str, sigma: str) -> tuple[float, float]:
    """Of several groups, the surer the more, and its standard deviation [m]; nan where none tells it."""
    told = [(x, s) for one in groups if math.isfinite(x := getattr(one, value)) and (s := getattr(one, sigma)) > 0.0]
    weight = sum(s**-2 for _, s in told)
    if not weight:
        return math.nan, math.nan
    return sum(x * s**-2 for x, s in told) / weight, weight**-0.5


def _less(new: tuple[float, float], old: tuple[float, float]) -> tuple[float, float]:
    return new[0] - old[0], math.hypot(new[1], old[1])


def _change(told: Told | None, before: tuple[float, float], own: float) -> tuple[float, float]:
    if told is None:
        return math.nan, math.nan
    return (told.by, math.sqrt(2.0) * own) if told.change else _less((told.by, own), before)
