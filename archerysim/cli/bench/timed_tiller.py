"""``archerysim timed-tiller``: the tiller splits at which both limbs work alike and keep time."""

from __future__ import annotations

from typing import Any

from archerysim.cli.options import Commands, add_command, bow_of
from archerysim.cli.output import plot

TEXT = "the tiller splits at which both limbs do the same work, come home together, and send the nock level"


def add(commands: Commands) -> None:
    """What the command accepts."""
    parser = add_command(commands, "timed-tiller", run, TEXT)
    parser.add_argument(
        "--within", metavar="TURNS",
        help='most turns of each bolt from where they stand, for example "1 turn" (default 2, and no more than '
        "limits.most_bolt_turns leaves)",
    )  # fmt: skip
    parser.add_argument("--out", metavar="FILE", help="write what was looked at, along the splits (.nc)")


def run(options: Any) -> int:
    """What the command does."""
    from archerysim import show
    from archerysim.show.bench.timed_table import timed_table
    from archerysim.study.bench.timed_tiller import timed_tiller
    from archerysim.study.sweeps.table_file import save

    found = timed_tiller(bow_of(options, (".nc",)), within=options.within)
    print(timed_table(found))
    if options.out:
        save(found.to_xarray(), options.out)
    plot(options, lambda: show.timed_tiller(found))
    return 0
