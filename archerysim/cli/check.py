"""``archerysim check``: a setup, value by value."""

from __future__ import annotations

from typing import Any

from archerysim.cli.options import Commands, add_command, bow_of
from archerysim.cli.output import plot

TEXT = "every value with its source, what is odd, brace, draw weight, arrow, warnings"


def add(commands: Commands) -> None:
    """What the command accepts."""
    add_command(commands, "check", run, TEXT)


def run(options: Any) -> int:
    """What the command does."""
    from archerysim import show
    from archerysim.show.shots.table import check_table

    bow = bow_of(options)
    print(check_table(bow))
    plot(options, lambda: show.square(bow))
    return 0
