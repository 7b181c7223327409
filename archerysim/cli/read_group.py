"""``archerysim read-group``: what shot groups say of the locators."""

from __future__ import annotations

from typing import Any

from archerysim.cli.options import Commands, add_command, add_workers_and_store, bow_of
from archerysim.cli.output import plot, tell_edits

TEXT = "bare and fletched groups: the move to make, and what they speak for"


def add(commands: Commands) -> None:
    """What the command accepts."""
    parser = add_command(commands, "read-group", run, TEXT)
    parser.add_argument("notes", metavar="NOTES", help="notes file (.toml)")
    add_workers_and_store(parser)


def run(options: Any) -> int:
    """What the command does."""
    from archerysim import show
    from archerysim.show.notes.table import diagnosis_table
    from archerysim.study.notes.notes_file import load_notes
    from archerysim.study.notes.read_group import diagnose

    notes = load_notes(options.notes)
    bow = bow_of(options)
    found = diagnose(bow, notes, mesh=options.mesh, workers=options.workers, store=options.store)
    print(diagnosis_table(found), end="")
    tell_edits(bow)
    plot(options, lambda: show.diagnosis(found))
    return 0
