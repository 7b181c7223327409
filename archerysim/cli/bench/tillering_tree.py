"""``archerysim tillering-tree``: a stave drawn by stages, scraped until it bends evenly at each."""

from __future__ import annotations

from typing import Any

from archerysim.cli.options import Commands, add_command, bow_of
from archerysim.cli.output import plot

TEXT = "a wooden stave on the tillering tree: drawn by stages, scraped until both limbs bend evenly at each"


def add(commands: Commands) -> None:
    """What the command accepts."""
    parser = add_command(commands, "tillering-tree", run, TEXT, shoots=False)
    parser.add_argument("--draw-weight", metavar="FORCE", required=True, help="intended; never passed on the way")
    parser.add_argument("--brace-height", metavar="LENGTH", help="intended (default: the bow's own)")
    parser.add_argument(
        "--stages", type=int, default=5, metavar="N", help="draw lengths, the archer's last (default 5)"
    )
    parser.add_argument("--even", default="6 %", metavar="SHARE", help="how even before the next length (default 6 %%)")
    parser.add_argument(
        "--law", choices=("even strain", "arc"), default="even strain", help="what is to be alike along both limbs"
    )
    parser.add_argument(
        "--set-share", type=float, default=0.0, metavar="SHARE",
        help="of the bend beyond seven tenths of the strain limit, which stays as set (default 0)",
    )  # fmt: skip
    parser.add_argument("--bow", metavar="FILE", help="write the tillered bow as built (.toml)")


def run(options: Any) -> int:
    """What the command does."""
    from archerysim import show
    from archerysim.fields.file_writing import check_target, write_text
    from archerysim.show.bench.tillering_table import tillering_table
    from archerysim.study.bench.wood.tillering import tillering

    if options.bow is not None:
        check_target(options.bow, "bow", (".toml",))
    found = tillering(
        bow_of(options), draw_weight=options.draw_weight, brace_height=options.brace_height, stages=options.stages,
        even=options.even, law=options.law, set_share=options.set_share,
    )  # fmt: skip
    print(tillering_table(found))
    if options.bow:
        write_text(options.bow, found.setup.to_toml(), "bow")
    plot(options, lambda: show.tillering_tree(found))
    return 0
