"""``archerysim change``: what a bow-maker does to a bow, and what that does."""

from __future__ import annotations

from typing import Any

from archerysim.cli.options import Commands, add_all, add_command, bow_of
from archerysim.cli.output import plot

TEXT = "the bow-maker's bench: turn, shim, twist, swap, scrape, heat or cut, and see before and after"
DRAWS = 64


def add(commands: Commands) -> None:
    """What the command accepts."""
    from archerysim.equipment.bench.said import EXAMPLES

    parser = add_command(commands, "change", run, TEXT)
    parser.add_argument(
        "steps", metavar="STEP", nargs="+", help=f"what is done, in order: {', '.join(map(repr, EXAMPLES.values()))}"
    )
    parser.add_argument(
        "--distance", default="18 m", metavar="DISTANCE", help="of bare and fletched shafts (default 18 m)"
    )
    parser.add_argument(
        "--draws", type=int, default=DRAWS, metavar="N",
        help=f"bows drawn that fit the same measures, for the range of the reading it wants (default {DRAWS}; 0: none)",
    )  # fmt: skip
    parser.add_argument("--out", metavar="FILE", help="write every answer after every step (.nc or .csv)")
    add_all(parser, "limbs, strain, riser and launch, after every step")


def run(options: Any) -> int:
    """What the command does."""
    from archerysim import show
    from archerysim.shot.hold import hold_words
    from archerysim.show.bench.table import bench_table
    from archerysim.show.csv import write_bench
    from archerysim.study.bench.change import change
    from archerysim.study.sweeps.table_file import save

    steps, words = options.steps, hold_words(options.hold)
    bow = bow_of(options, (".csv", ".nc"))
    found = change(bow, steps, hold=words, distance=options.distance, draws=options.draws, mesh=options.mesh)
    print(bench_table(found, options.distance, options.everything))
    if options.out and options.out.lower().endswith(".nc"):
        save(found.to_xarray(), options.out)
    elif options.out:
        write_bench(found, options.out)
    plot(options, lambda: show.bench_change(found))
    return 0
