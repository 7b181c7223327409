"""What was made of the answers to a first setup, in a dozen lines: what is assumed, what to measure next, what then."""

from __future__ import annotations

from shlex import quote
from typing import TYPE_CHECKING

from archerysim.show.answers.guesses import assumed_words, measure_words
from archerysim.show.shots.check_table import odd_lines
from archerysim.show.text import told

if TYPE_CHECKING:
    from archerysim.equipment.first_setup.interview import FirstSetup
    from archerysim.study.uncertainty.measure_next import MeasureNext

SURE = "the range of archerysim tune tells, the guesses counted: measuring them narrows it"


def first_setup_answer(made: FirstSetup, path: str, found: MeasureNext | None) -> str:
    """What the file holds, what of it is assumed, what to measure next, and the next commands.

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
            ("convention", _changed(made)),
            ("assumed", assumed_words(setup, made.assumed)),
            ("measure next", "" if found is None else measure_words(setup, found)),
            ("how sure", SURE if made.assumed else ""),
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


def _changed(made: FirstSetup) -> str:
    """That readings are told otherwise than in the file from before; "" where they are not."""
    from archerysim.equipment.readings import read_by

    now = read_by(made.setup).convention
    return f"changed: by the {now} here, by the {made.told_by} before" if made.told_by not in ("", now) else ""
