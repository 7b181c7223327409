"""What the notes say of one unmeasured input, in its own unit and in words."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from archerysim.study.notes.next_shot import WORTH, Alike, Further
from archerysim.study.notes.posterior import BARELY, Answer
from archerysim.study.notes.priors import Cause

FELT = 0.05  # prior spreads by which an interval must stand off the usual value, for its ends are found by draws


@dataclass(frozen=True)
class CauseEstimate:
    """What the notes say of one unmeasured input.

    Attributes
    ----------
    cause : Cause
    value, low, high : float
        Best value and ends of the 90 % interval, in the cause's unit.
    usual, usual_low, usual_high : float
        The same by the prior alone.
    narrowed : float
        Length of the interval over that of the prior's.
    profile : (p, 2) array
        Values in the cause's unit, and the rise of chi square.
    words : str
    """

    cause: Cause
    value: float
    low: float
    high: float
    usual: float
    usual_low: float
    usual_high: float
    narrowed: float
    profile: np.ndarray
    words: str


def cause_estimate(cause: Cause, found: Answer, k: int) -> CauseEstimate:
    """What an answer says of its input ``k``."""
    low, high, narrowed = float(found.low[k]), float(found.high[k]), float(found.narrowed[k])
    more = low > max(0.0, float(found.prior_low[k])) + FELT
    if more or high < min(0.0, float(found.prior_high[k])) - FELT:
        words = f"the notes point to {cause.more if more else cause.less}"
    elif narrowed > BARELY:
        words = "the notes say little about it"
    else:
        words = "the notes narrow it; the usual value fits"
    profile = found.profiles[k].copy()
    profile[:, 0] = [cause.value(z) for z in profile[:, 0]]
    return CauseEstimate(
        cause, cause.value(float(found.middle[k])), cause.value(low), cause.value(high), cause.value(0.0),
        cause.value(float(found.prior_low[k])), cause.value(float(found.prior_high[k])), narrowed, profile, words,
    )  # fmt: skip


def apart_words(causes: tuple[Cause, ...], pairs: tuple[Alike, ...], shots: tuple[Further, ...]) -> str:
    """Which inputs the notes cannot tell apart, and what would; "" for none."""
    if not pairs:
        return ""
    one, two = causes[pairs[0].first], causes[pairs[0].second]
    text = f"the notes cannot distinguish {one.more} from {two.more if pairs[0].cosine > 0 else two.less}"
    if not shots:
        return text
    share = f"{100 * shots[0].drop:.0f} % less of their common variance"
    if shots[0].drop < WORTH:
        return f"{text}, nor would a further shot (best: {shots[0].words}, {share}); measure {two.otherwise}"
    return f"{text}; the further shot that would help most: {shots[0].words} ({share})"
