"""What was made of the answers to a first setup, in a dozen lines: what is assumed, what to measure next, what then."""

from __future__ import annotations

from math import isfinite
from shlex import quote
from typing import TYPE_CHECKING

from archerysim.show.shots.check_table import odd_lines
from archerysim.show.text import told

if TYPE_CHECKING:
    from archerysim.equipment.first_setup.interview import FirstSetup
    from archerysim.study.uncertainty.measure_next import MeasureNext

NAMED = 4  # guesses named as the next to measure
GAIN = 0.05  # a guess that narrows the answer by less is not named [mm]


def first_setup_answer(made: FirstSetup, path: str, found: MeasureNext | None) -> str:
    """What the file holds, how sure the best reading is by it, what to measure next, and the next commands.

    Parameters
    ----------
    made : FirstSetup
    path : str
        Of the file.
    found : MeasureNext or None
        None: not asked for.
    """
    from archerysim.equipment import filled, oddities
    from archerysim.equipment.readings import read_by

    setup, file = made.setup, quote(path)
    handed = filled(setup).archer.handed
    lines = [f"{path}: {setup.category}, {handed}-handed, readings {read_by(setup).words}"]
    odd = oddities(setup)
    lines += told(
        [
            ("assumed", _assumed(made)),
            ("sure to", "" if found is None else _sure(found)),
            ("measure", "" if found is None else _next(found)),
            ("odd", "" if odd else "nothing: every value is within the usual range"),
        ]
    )
    lines += ["  outside what is usual:", *odd_lines(odd)] if odd else []
    lines += ["  next", f"    archerysim tune {file}   (where to tie first; then shoot, and come down)"]
    if made.assumed:
        lines += [
            f"    archerysim measures {file} --out measures.pdf   (what to measure, with drawings)",
            f"    archerysim new NEW.toml --from {file}   (asks again only for what is marked)",
        ]
    return "\n".join(lines)


def _assumed(made: FirstSetup) -> str:
    from archerysim.equipment.first_setup.questions import QUESTIONS

    if not made.assumed:
        return "nothing that was asked for"
    names = [one.name.replace("-", " ") for one in QUESTIONS if any(path in made.assumed for path in one.fields)]
    return f"{', '.join(names)}: as usual for such a bow, and marked in the file" if names else "marked in the file"


def _sure(found: MeasureNext) -> str:
    if not isfinite(found.reading):
        return (
            "no locator height brings bare and fletched shafts together here: check shaft and point against the "
            "draw weight"
        )
    if not found.guessed:
        return f"the best locator height, to +/- {found.today:.1f} mm (90 %)"
    return (
        f"the best locator height, to +/- {found.today:.1f} mm (90 %); with every guess measured, to "
        f"+/- {found.measured:.1f} mm. tune and bare-shaft treat the file's values as measured: their range is too "
        "narrow until they are"
    )


def _next(found: MeasureNext) -> str:
    if not isfinite(found.reading):
        return ""
    known = [found.today, *found.then]
    rows = [
        (asked, then)
        for asked, then, before in zip(found.asked, found.then, known[:-1], strict=True)
        if before - then >= GAIN
    ]
    if not rows:
        return "none of the guesses matters much" if found.guessed else ""
    words = [f"{asked} (then +/- {then:.1f} mm)" for asked, then in rows[:NAMED]]
    return f"{', '.join(words)}{', in this order' if len(words) > 1 else ''}"
