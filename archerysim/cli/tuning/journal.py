"""``archerysim journal``: the archer's log of groups and changes, and what it says of them."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Any

from archerysim.cli.options import Commands, add_fixed_command, once, pair

if TYPE_CHECKING:
    from archerysim.equipment import Setup
    from archerysim.study.journal.new_change import NewChanges

TEXT = "the archer's journal: groups and changes, why, what was predicted and what was seen"


def add(commands: Commands) -> None:
    """What the command accepts."""
    parser = add_fixed_command(commands, "journal", run, TEXT, picture=False)
    parser.add_argument(
        "--file", metavar="FILE", help="the journal, which is a notes file (default: beside the setup, "
        "bow-journal.toml for bow.toml)",
    )  # fmt: skip
    parser.add_argument(
        "--changed", action="append", default=[], metavar="PATH=VALUE", type=pair,
        help='write down a change, for example "nock.locators.reading=9 mm", with its value before and what it is to '
        "do by the model; may be given again for what was changed with it",
    )  # fmt: skip
    parser.add_argument("--why", metavar="WORDS", help="why it was made")
    parser.add_argument(
        "--seen", metavar="WORDS", help='what the change did, for example "bare 3 cm low": with --changed, or later of '
        "the last change",
    )  # fmt: skip
    parser.add_argument("--date", metavar="DAY", help="of the change: 2026-05-03 (default: today)")
    parser.add_argument(
        "--distance", metavar="LENGTH", help="of the target, for what is predicted (default: that of the last group, "
        "else 18 m)",
    )  # fmt: skip
    parser.add_argument("--last", type=int, metavar="N", help="print the last N entries alone")


def run(options: Any) -> int:
    """What the command does."""
    from archerysim.equipment import SetupError, load
    from archerysim.shot.planes import PLANES
    from archerysim.show.journal.table import journal_table, written_lines
    from archerysim.study.journal.journal import read_journal
    from archerysim.study.notes.notes_file import load_notes

    _check(options)
    setup, file = load(options.setup), options.file or journal_of(options.setup)
    made, entries = None, options.last
    if not options.changed and options.file is None and not os.path.exists(file):
        raise SetupError(
            "journal",
            f"there is none beside the setup yet: {file}",
            "Begin it with --changed, or with a group: archerysim read-group SETUP --at ... --save",
        )
    if options.changed:
        made = _change(options, setup, file)
        entries = entries or 1
    elif options.seen is not None:
        _see(options, file)
        entries = entries or 1
    journal = read_journal(setup, load_notes(file))
    print(journal_table(journal, file, options.setup, entries))
    if made is not None:
        print("\n".join(["", *written_lines(made, options.planes or PLANES)]))
    return 0


def journal_of(setup: str) -> str:
    """The journal's usual place: beside the setup file."""
    return f"{os.path.splitext(setup)[0]}-journal.toml"


def journal_beside(setup: str) -> str | None:
    """The journal at its usual place; None where there is none."""
    file = journal_of(setup)
    return file if os.path.exists(file) else None


def _check(options: Any) -> None:
    """Refuse options that do not go together, before any work is done."""
    from archerysim.equipment import SetupError
    from archerysim.fields.file_reading import refuse_one_file

    refuse_one_file({"setup": options.setup, "file": options.file})
    for name in ("why", "date", "distance"):
        if getattr(options, name) is not None and not options.changed:
            raise SetupError(f"--{name}", "belongs to a change, and none is told", "Give --changed with it")
    if options.last is not None and options.last < 1:
        raise SetupError("--last", f"{options.last} is no number of entries", "Give 1 or more")


def _change(options: Any, setup: Setup, file: str) -> NewChanges:
    """Write a change into the journal, or begin it."""
    import datetime

    from archerysim.equipment import Setup
    from archerysim.fields.file_reading import text_of
    from archerysim.fields.file_writing import write_text
    from archerysim.fields.paths import read
    from archerysim.study.journal.new_change import new_changes
    from archerysim.study.notes.added_entry import with_entries
    from archerysim.study.notes.notes_file import load_notes

    there = os.path.exists(file)
    text, notes = (text_of(file), load_notes(file)) if there else ("", None)
    asked = once(options.changed)
    date = options.date or datetime.date.today().isoformat()
    read(Setup, asked)
    bare = [{"date": date, "what": path, "to": value} for path, value in asked.items()]
    with_entries(text, setup.name, "change", bare)  # refuses what could not be written, before anything is shot
    made = new_changes(setup, notes, asked, distance=options.distance, mesh=options.mesh, planes=options.planes)
    entries = []
    for k, one in enumerate(made.changes):
        last = k == len(made.changes) - 1
        fields = {
            "date": date, "what": one.what, "was": one.was, "to": one.to, "why": options.why,
            "predicted": one.predicted, "seen": options.seen if last else None,
        }  # fmt: skip
        entries.append({name: value for name, value in fields.items() if value})
    write_text(file, with_entries(text, setup.name, "change", entries), "file")
    return made


def _see(options: Any, file: str) -> None:
    """Write down what the last change did."""
    from archerysim.fields.file_reading import text_of
    from archerysim.fields.file_writing import write_text
    from archerysim.study.notes.added_entry import with_seen
    from archerysim.study.notes.notes_file import load_notes

    load_notes(file)  # refuses what is broken, by its name
    write_text(file, with_seen(text_of(file), options.seen), "file")
