"""``archerysim strain``: how the limbs bend, and how their surfaces are strained."""

from __future__ import annotations

from typing import Any

from archerysim.cli.options import Commands, add_all, add_command, bow_of
from archerysim.cli.output import plot

TEXT = "change of curvature and strain along both limbs, at brace and at full draw, beside the limit"


def add(commands: Commands) -> None:
    """What the command accepts."""
    parser = add_command(commands, "strain", run, TEXT, shoots=False)
    parser.add_argument("--out", metavar="FILE", help="write the table (.csv or .nc)")
    parser.add_argument(
        "--sections",
        metavar="FILE",
        help='write stations, width and thickness (.csv), as sections = "FILE" reads them; laminations keep their '
        "thickness in the setup file",
    )
    parser.add_argument("--limb", choices=("upper", "lower"), default="upper", help="whose (default: upper)")
    add_all(parser, "curvature and strain from root to tip")


def run(options: Any) -> int:
    """What the command does."""
    from archerysim import show
    from archerysim.shot.strain_along import strain_along
    from archerysim.show.answers.bow import strain_answer
    from archerysim.show.csv import write_sections, write_strain
    from archerysim.show.shots.strain_table import strain_table
    from archerysim.study.sweeps.table_file import save

    found = strain_along(bow_of(options, (".csv", ".nc")))
    print(strain_table(found) if options.everything else strain_answer(found))
    if options.out and options.out.lower().endswith(".nc"):
        save(found.to_xarray(), options.out)
    elif options.out:
        write_strain(found, options.out)
    if options.sections:
        write_sections(found.setup, options.limb, options.sections)
    plot(options, lambda: show.strain(found))
    return 0
