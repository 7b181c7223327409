"""``archerysim sheet``: one page for the bow case."""

from __future__ import annotations

from typing import Any

from archerysim.cli.options import Commands, add_command, add_workers, bow_of
from archerysim.cli.output import warnings_in_a_line

TEXT = "one page for the bow case: all measurements, the square in true size, where to tie, which way to move"


def add(commands: Commands) -> None:
    """What the command accepts."""
    parser = add_command(commands, "sheet", run, TEXT, picture=False)
    parser.add_argument(
        "--out", metavar="FILE", required=True, help="where to write it: .pdf to print (.png and .svg too), or .md"
    )
    parser.add_argument(
        "--journal", "--notes", metavar="FILE", dest="notes", help="the journal or other notes (.toml), the last "
        "entries of which go on the page (default: the journal beside the setup, if there is one)",
    )  # fmt: skip
    parser.add_argument(
        "--distance", default="18 m", metavar="DISTANCE", help="distance of the target at which to tune (default 18 m)"
    )
    add_workers(parser)


def run(options: Any) -> int:
    """What the command does."""
    from archerysim.cli.tuning.journal import journal_beside
    from archerysim.equipment.first_setup.setup_text import read_marked
    from archerysim.fields.file_writing import check_target
    from archerysim.show.case_sheet.page import save_sheet
    from archerysim.show.case_sheet.rows import predicted
    from archerysim.show.style import ENDINGS
    from archerysim.show.text import told
    from archerysim.study.case_sheet.case_sheet import case_sheet
    from archerysim.study.notes.notes_file import load_notes

    check_target(options.out, "out", (*ENDINGS, ".md"))
    bow = bow_of(options)
    file = options.notes or journal_beside(options.setup)
    notes = load_notes(file) if file else None
    sheet = case_sheet(
        bow, notes, assumed=read_marked(options.setup)[1], distance=options.distance, workers=options.workers
    )
    with warnings_in_a_line():
        save_sheet(sheet, options.out)
    print(f"{options.out}: one page for the bow case of {sheet.setup.name}")
    print("\n".join(told([row for row in predicted(sheet) if row[0] in ("now", "range", "speed")])))
    return 0
