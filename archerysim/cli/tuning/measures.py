"""``archerysim measures``: pages to print that say what to measure on a bow, each with its drawing."""

from __future__ import annotations

from typing import Any

from archerysim.cli.options import Commands, add_plain_command
from archerysim.cli.output import warnings_in_a_line

TEXT = "what to measure on your bow, with drawings: a page to print and fill in"


def add(commands: Commands) -> None:
    """What the command accepts."""
    parser = add_plain_command(commands, "measures", run, TEXT)
    parser.add_argument(
        "setup", metavar="SETUP", nargs="?", help="setup file (.toml) whose values are printed beside the lines"
    )
    parser.add_argument(
        "--out", metavar="FILE", required=True,
        help="where to write it: .pdf to print, or .md to fill in and give to archerysim new --from, with its "
        "drawings as separate files",
    )  # fmt: skip


def run(options: Any) -> int:
    """What the command does."""
    from archerysim.equipment import load
    from archerysim.equipment.first_setup.setup_text import read_marked
    from archerysim.fields.file_writing import check_target
    from archerysim.show.measures.measures import MEASURES
    from archerysim.show.measures.pages import save_measures

    check_target(options.out, "out", (".pdf", ".md"))
    setup, assumed = None, {}
    if options.setup is not None:
        setup = load(options.setup)
        assumed = read_marked(options.setup)[1]
    with warnings_in_a_line():
        files = save_measures(options.out, setup, assumed)
    print(f"{', '.join(files)}: {len(MEASURES)} measurements with drawings, in the order in which to take them")
    if options.out.lower().endswith(".md"):
        again = f" --from {options.setup}" if options.setup else ""
        print(f"  once filled in, read it back by: archerysim new NEW.toml{again} --from {options.out}")
    return 0
