"""``archerysim let-down``: what the limbs keep when a bow is drawn and let down."""

from __future__ import annotations

from typing import Any

from archerysim.cli.options import Commands, add_command, bow_of
from archerysim.cli.output import plot

TEXT = "draw a bow and let it down slowly: what its limbs keep, and what wood, glass or carbon would"


def add(commands: Commands) -> None:
    """What the command accepts."""
    parser = add_command(commands, "let-down", run, TEXT)
    parser.add_argument("--out", metavar="FILE", help="write both curves (.csv)")


def run(options: Any) -> int:
    """What the command does."""
    from archerysim import show
    from archerysim.show.bench.let_down import let_down_table
    from archerysim.show.csv import write_curve
    from archerysim.study.bench.let_down import let_down

    found = let_down(bow_of(options, (".csv",)))
    print(let_down_table(found))
    if options.out:
        write_curve(found.curve, options.out)
    plot(options, lambda: show.let_down(found))
    return 0
