"""``archerysim after-shot``: what the bow hand feels in the shot and after it."""

from __future__ import annotations

from typing import Any

from archerysim.cli.options import Commands, add_command, bow_of
from archerysim.cli.output import plot

TEXT = "what the bow hand feels in the shot and after it: force, torque, and with what they swing"


def add(commands: Commands) -> None:
    """What the command accepts."""
    add_command(commands, "after-shot", run, TEXT)


def run(options: Any) -> int:
    """What the command does."""
    from archerysim import show
    from archerysim.shot.after_shot import after_shot
    from archerysim.show.bench.after_shot import after_shot_table

    found = after_shot(bow_of(options))
    print(after_shot_table(found))
    plot(options, lambda: show.after_shot(found))
    return 0
