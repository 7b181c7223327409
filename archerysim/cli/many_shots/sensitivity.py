"""``archerysim sensitivity``: what a slip in each input does to the answer."""

from __future__ import annotations

from typing import Any

from archerysim.cli.options import Commands, add_command, add_inputs, add_workers_and_store, bow_of, once
from archerysim.cli.output import plot

TEXT = "what an error of the square, the tape or the scale does to the answer, the worst first"


def add(commands: Commands) -> None:
    """What the command accepts."""
    parser = add_command(commands, "sensitivity", run, TEXT)
    add_inputs(parser)
    add_workers_and_store(parser)
    parser.add_argument("--out", metavar="FILE", help="write the table (.csv or .nc)")


def run(options: Any) -> int:
    """What the command does."""
    from archerysim import show
    from archerysim.show.csv import write_sensitivity
    from archerysim.show.uncertainty.table import sensitivity_table
    from archerysim.study.sweeps.table_file import save
    from archerysim.study.uncertainty.sensitivity import sensitivity

    bow = bow_of(options, (".csv", ".nc"))
    found = sensitivity(bow, once(options.known_to), workers=options.workers, store=options.store)
    print(sensitivity_table(found))
    if options.out:
        (save if options.out.lower().endswith(".nc") else write_sensitivity)(found, options.out)
    plot(options, lambda: show.tornado(found), bow)
    return 0
