"""The bow before anything on it was changed: what a change is told against."""

from __future__ import annotations

from dataclasses import dataclass

from archerysim.equipment import Setup


@dataclass(frozen=True)
class Before:
    """The bow before any change.

    Attributes
    ----------
    setup : Setup
        As given, or as it was measured: what more draw weight is told against.
    weight : float
        Its draw weight at its archer's own draw length [N]; nan where it cannot be drawn so far.
    given : Setup
        As given, its bolts as they stand: what is shot to tell what changes do.
    words : {"as given", "as measured"}
    """

    setup: Setup
    weight: float
    given: Setup
    words: str = "as given"


def lightest(*bows: Before) -> Before:
    """The one with the least draw weight: what is more than any of them is more than this; the first if none is known.

    Parameters
    ----------
    *bows : Before
    """
    known = [one for one in bows if one.weight > 0.0]
    return min(known, key=lambda one: one.weight) if known else bows[0]


def turned_since(setup: Setup) -> bool:
    """Whether a bow's bolts have been turned since it was measured."""
    return setup.form == "measured" and any(limb.bolt_turns for limb in (setup.upper_limb, setup.lower_limb))
