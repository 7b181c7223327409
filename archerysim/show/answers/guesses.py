"""What of a setup is only assumed, and what to measure next: one list, one wording, for all commands that tell it."""

from __future__ import annotations

from collections.abc import Collection
from math import isfinite
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from archerysim.equipment import Setup
    from archerysim.study.uncertainty.measure_next import MeasureNext

NAMED = 4  # guesses named as the next to measure
BEYOND = 2  # inputs named that `archerysim new` does not ask for
GAIN = 0.05  # a guess that narrows the answer by less is not named [mm]
NO_READING = (
    "no locator height brings bare and fletched shafts together here: check shaft and point against the draw weight"
)


def assumed_words(setup: Setup, marked: Collection[str]) -> str:
    """Which questions of ``archerysim new`` are answered by what is usual, and how much more the file leaves out."""
    from archerysim.equipment import sources
    from archerysim.equipment.first_setup.questions import QUESTIONS

    names = guess_names(marked)
    count = sum(one.kind == "assumed" for one in sources(setup).values())
    beyond = f"{count} values that the file leaves out are as usual (archerysim check --all)"
    if not names:
        return beyond
    return f"{len(names)} of the {len(QUESTIONS)} answers, marked in the file: {', '.join(names)}. {beyond}"


def guess_names(marked: Collection[str]) -> list[str]:
    """The questions whose answer is marked as assumed, by their names."""
    from archerysim.equipment.first_setup.questions import QUESTIONS

    return [one.name.replace("-", " ") for one in QUESTIONS if any(path in marked for path in one.fields)]


def measure_words(setup: Setup, found: MeasureNext | None) -> str:
    """What to measure next, the most useful first: the guesses, then what nobody is asked for.

    Parameters
    ----------
    setup : Setup
    found : MeasureNext or None
        None: there are no guesses, or nobody asked how much they matter.
    """
    from archerysim.study.uncertainty.worth_measuring import worth_measuring

    more = worth_measuring(setup)
    beyond = [f"{one.words} ({one.path}: {one.how})" for one in more if one.how][:BEYOND]
    never = [f"{one.words} ({one.path})" for one in more if not one.how]
    guesses = _guesses(found)
    text = "; then ".join(part for part in (guesses, " and ".join(beyond)) if part)
    if never:
        text += f"{'. ' if text else ''}Nobody measures {', '.join(never)}; as much depends on it"
    return text


def _guesses(found: MeasureNext | None) -> str:
    """The guesses worth measuring, each with how far it may be moving the answer."""
    if found is None or not found.guessed:
        return ""
    if not isfinite(found.reading):
        return NO_READING
    known = [found.today, *found.then]
    rows = [
        (asked, move)
        for asked, move, then, before in zip(found.asked, found.moves, found.then, known[:-1], strict=True)
        if before - then >= GAIN
    ]
    if not rows:
        return "none of the guesses matters much"
    (first, most), *others = rows[:NAMED]
    words = [f"{first} (may be moving the best locator height {most:.1f} mm either way)"]
    return ", ".join([*words, *(f"{asked} ({move:.1f} mm)" for asked, move in others)])
