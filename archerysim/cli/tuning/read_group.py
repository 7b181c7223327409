"""``archerysim read-group``: what shot groups say of the locators."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Any

from archerysim.cli.options import Commands, add_command, add_workers_and_store, bow_of
from archerysim.cli.output import plot, tell_edits

if TYPE_CHECKING:
    from archerysim.study.notes.notes_file import Notes

TEXT = "bare and fletched groups: the move to make, and what they speak for"
NAMES = {"at": "distance"}  # of options that a notes file calls otherwise
QUICK = ("date", "at", "reading", "fletched", "fletched_right", "bare", "bare_right", "wind")
NEEDED = ("at", "reading", "bare", "fletched")


def add(commands: Commands) -> None:
    """What the command accepts."""
    parser = add_command(commands, "read-group", run, TEXT)
    parser.add_argument(
        "notes", metavar="NOTES", nargs="?", help="notes file (.toml); left out: the group given here alone, or, where "
        "none is given, the journal beside the setup (bow-journal.toml for bow.toml)",
    )  # fmt: skip
    line = parser.add_argument_group(
        "one group given here, the latest",
        'write the shots of a row one after the other, the unit once at the end: "9 12 miss 7 bad cm"; "miss" is a '
        'shaft that missed the butt, "bad" after a number marks one that was called bad as it left',
    )
    line.add_argument("--at", metavar="LENGTH", help='distance of the target, for example "18 m"')
    line.add_argument(
        "--reading", metavar="LENGTH", help='locator height, told as the notes do, else the setup; "11.4 mm top" too'
    )
    line.add_argument("--bare", metavar="HEIGHTS", help='heights of bare shafts, up positive: "9 12 7 cm"')
    line.add_argument("--fletched", metavar="HEIGHTS", help='of fletched ones from the same mark: "1 0 -2 cm"')
    line.add_argument("--bare-right", metavar="PLACES", help="how far to the right each of the bare shafts is")
    line.add_argument("--fletched-right", metavar="PLACES", help="the same for the fletched ones")
    line.add_argument("--wind", metavar="SPEED", help='along the line, head wind positive: "0.5 m/s"')
    line.add_argument("--date", metavar="DAY", help="day on which it was shot: 2026-05-03")
    line.add_argument(
        "--save", metavar="FILE", nargs="?", const="", help="add the group to the end of this notes file, or begin "
        "it; without NOTES the groups in it are read too; without a FILE the journal beside the setup, dated today "
        "unless --date is given",
    )  # fmt: skip
    parser.add_argument("--butt", metavar="LENGTH", help='the lesser of its width and height: "1.2 m"')
    parser.add_argument("--all", action="store_true", help="also the groups beside the model, and what they show")
    add_workers_and_store(parser)


def run(options: Any) -> int:
    """What the command does."""
    from archerysim import show
    from archerysim.equipment import load
    from archerysim.show.journal.table import to_write_lines
    from archerysim.show.notes.table import diagnosis_table
    from archerysim.study.journal.journal import read_journal
    from archerysim.study.notes.quick_group import save_text
    from archerysim.study.notes.read_group import diagnose

    _journal_in_place(options)
    _refuse_own_files(options)
    setup = load(options.setup)
    notes, text = _notes(options, setup.name)
    bow = bow_of(options)
    if options.save:
        save_text(options.save, text)
    found = diagnose(
        bow, notes, further=options.all, butt=options.butt, mesh=options.mesh, workers=options.workers,
        store=options.store,
    )  # fmt: skip
    print(diagnosis_table(found, options.all), end="")
    tell_edits(bow)
    left = to_write_lines(read_journal(setup, notes), found.move, options.setup)
    if left:
        print("\n".join(["", *left]))
    plot(options, lambda: show.diagnosis(found), bow)
    return 0


def _journal_in_place(options: Any) -> None:
    """Name the journal where ``--save`` names no file, and where neither notes nor a group are given."""
    import datetime

    from archerysim.cli.tuning.journal import journal_beside, journal_of

    told = any(getattr(options, one) is not None for one in QUICK)
    if options.save == "":
        options.save = options.notes or journal_of(options.setup)
        if told and options.date is None:
            options.date = datetime.date.today().isoformat()
    elif options.notes is None and options.save is None and not told:
        options.notes = journal_beside(options.setup)


def _notes(options: Any, name: str) -> tuple[Notes, str]:
    """The notes with the group of the line, and the text of a file that holds them.

    Raises
    ------
    SetupError
    """
    from archerysim.equipment import SetupError, load
    from archerysim.study.notes.notes_file import load_notes, loads_notes
    from archerysim.study.notes.quick_group import notes_with
    from archerysim.study.notes.told_convention import told_reading, with_convention

    given = {one: value for one in QUICK if (value := getattr(options, one)) is not None}
    if not given:
        if options.save:
            raise SetupError("save", "there is no group to write", f"Give {_listed(NEEDED)}")
        if options.notes is None:
            raise SetupError("notes", "neither a file nor a group is given", f"Name a file, or give {_listed(NEEDED)}")
        return load_notes(options.notes), ""
    lacking = tuple(one for one in NEEDED if one not in given)
    if lacking:
        raise SetupError(_option(lacking[0]), "missing", f"A group told here needs {_listed(NEEDED)}")
    file = options.save if options.notes is None else options.notes
    reading, by = told_reading(given["reading"], load(options.setup), file)
    row = {NAMES.get(one, one): value for one, value in (given | {"reading": reading}).items()}
    notes, text = notes_with(file, name, row)
    if options.save or reading != given["reading"]:
        text = with_convention(text, by)
        notes = loads_notes(text)
    return notes, text


def _option(name: str) -> str:
    return f"--{name.replace('_', '-')}"


def _listed(names: tuple[str, ...]) -> str:
    return f"{', '.join(map(_option, names[:-1]))} and {_option(names[-1])}"


def _refuse_own_files(options: Any) -> None:
    """Refuse to write the group over another file of the job; it may be the notes that are read."""
    from archerysim.equipment import SetupError
    from archerysim.fields.file_reading import refuse_one_file

    refuse_one_file({name: getattr(options, name) for name in ("setup", "store", "plot", "save")})
    there = [one for one in (options.save, options.notes) if one and os.path.exists(one)]
    if options.save in there and options.notes and not (len(there) == 2 and os.path.samefile(*there)):
        raise SetupError("save", f"{options.save} is there and holds other notes", "Leave NOTES out, or save there")
