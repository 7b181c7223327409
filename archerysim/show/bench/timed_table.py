"""At which tiller splits both limbs keep time, in lines."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from archerysim.show.text import columns, number, with_warnings, wrapped

if TYPE_CHECKING:
    from archerysim.study.bench.timed_tiller import TimedTiller

DIGITS = {"%": 1, "ms": 2, "mm": 1, "deg": 2}
HELD = (
    "Held: the reading, the brace height, fingers and pressure point. Splits are upper tiller less lower tiller, read "
    "at brace."
)


def timed_table(found: TimedTiller) -> str:
    """The split for each aim, how far today's bow is from it, and why there is none.

    Parameters
    ----------
    found : TimedTiller
    """
    lines = [f"{found.bow.setup.name}: tiller split and time"]
    lines += wrapped(f"Today the split is {number(found.split_today, 'mm', 1)}. {_turned(found)} {HELD}", "  ", "  ")
    rows = []
    for aim, today, one in zip(found.aims, found.today_measures, found.answers, strict=True):
        turns = number(one.turns, "", 2, True) if found.by == "bolts" else number(5.0 * one.turns, "%", 1, True)
        rows.append((
            f"{aim.words} ({aim.moment})", number(float(today), aim.unit, DIGITS[aim.unit], True),
            number(one.split, "mm", 1), turns,
        ))  # fmt: skip
    by = "bolt turns" if found.by == "bolts" else "stiffness"
    lines += ["", *columns(rows, ("the split at which", "today off by", "split", by)), ""]
    for words, apart, names in (
        ("limbs", found.limbs_apart, ("home together in the shot", "the same work at rest")),
        ("nock", found.nock_apart, ("level in the shot", "level when let down slowly")),
    ):
        if np.isfinite(apart):
            way = "above" if apart > 0.0 else "below"
            lines += wrapped(f"The {words}: the split of {names[0]} lies {abs(apart):.1f} mm {way} that of {names[1]}.",
                             "  ", "  ")  # fmt: skip
    for one in found.answers:
        if one.reason:
            lines += wrapped(one.reason, "  ", "  ")
    if found.reasons:
        first = next(iter(found.reasons.values()))
        lines += wrapped(
            f"{len(found.reasons)} of {found.splits.size} splits gave no answer; the first: {first}", "  ", "  "
        )
    return with_warnings([*lines, ""], found.warnings, len(found.limits_passed))


def _turned(found: TimedTiller) -> str:
    low, high = float(found.splits.min()), float(found.splits.max())
    within = f"from {low:.1f} to {high:.1f} mm was looked over"
    if found.by == "bolts":
        return f"Turning the lower bolt in and the upper one out by the same makes it larger; {within}."
    return f"A weaker upper limb and a stiffer lower one, by the same, make it larger; {within}."
