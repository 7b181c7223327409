"""A journal, and a change that was just written into it, as text."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING

from archerysim.show.journal.lines import entry_rows
from archerysim.show.text import told, wrapped

if TYPE_CHECKING:
    from archerysim.study.journal.journal import Journal
    from archerysim.study.journal.new_change import NewChanges
    from archerysim.study.notes.move import Move

WIDEST = len("predicted")  # name of a row


def journal_table(journal: Journal, file: str = "", setup_file: str = "", last: int | None = None) -> str:
    """Groups and changes, the latest last, with what has to be said of each.

    Parameters
    ----------
    journal : Journal
    file, setup_file : str
        Names of the journal's and the setup's file, as they are to be told.
    last : int, optional
        How many entries; default all.
    """
    where = f" ({file})" if file else ""
    lines = [f"journal of {journal.name}{where}", ""]
    day = None
    for entry in journal.entries if last is None else journal.entries[-last:]:
        if entry.date != day:
            lines.append(entry.date or "no day noted")
        day = entry.date
        lines += told((name.ljust(WIDEST), text) for name, text in entry_rows(entry, journal))
        for remark in getattr(entry, "remarks", ()):
            lines += wrapped(remark, "  ! ", "    ")
    lines += ["", *pending_lines(journal, setup_file or "the setup file")]
    for remark in journal.remarks:
        lines += wrapped(remark, "  ! ", "    ")
    return "\n".join(lines).rstrip()


def pending_lines(journal: Journal, setup_file: str) -> list[str]:
    """What the setup file lacks, as it is to be written there."""
    if not journal.pending:
        return []
    return [f"Not yet in {setup_file}, which is what the other commands read:", *_entries(journal.pending)]


def to_write_lines(journal: Journal, move: Move | None, setup_file: str) -> list[str]:
    """What groups leave to be written into the setup file: what it lacks, and where the move goes that they ask for."""
    from archerysim.equipment.readings import READING, read_by
    from archerysim.study.journal.journal import to_write

    after = to_write(journal.setup, move)
    lacking = [one for one in journal.pending if one[0] != READING or not after]
    lines = pending_lines(replace(journal, pending=tuple(lacking)), setup_file)
    if after:
        first = f"Once the locators are tied there, write into {setup_file}, which is what the other commands read:"
        lines += [*wrapped(first, "", ""), *_entries(after)]
    told = any(path == READING for path, _ in (*lacking, *after))
    if told and journal.by.convention != (own := read_by(journal.setup)).convention:
        lines.append(f"  ({own.words}, as that file tells readings)")
    return lines


def _entries(values: Iterable[tuple[str, str]]) -> list[str]:
    """Values at their places, as a setup file has them."""
    lines = []
    for path, value in values:
        table, _, name = path.rpartition(".")
        plain = not table or any(part.isdigit() for part in path.split("."))
        lines.append(f'  {path} = "{value}"' if plain else f'  [{table}]  {name} = "{value}"')
    return lines


def written_lines(made: NewChanges, planes: int) -> list[str]:
    """What has to be minded of changes just written down: cautions and warnings, and what a prediction is worth."""
    from archerysim.shot.warnings import NONE

    lines = wrapped("What is predicted is a move by the model. Left and right hold as moves only." if planes == 2 else
                    "What is predicted is a move by the model.", "", "")  # fmt: skip
    cautions = [one.caution for one in made.changes if one.caution]
    warnings = [one for one in made.launch.warnings if one != NONE]
    for one in dict.fromkeys((*cautions, *(warnings or [NONE]))):
        lines += wrapped(one, "  ! ", "    ")
    return lines
