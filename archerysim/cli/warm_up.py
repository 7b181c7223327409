"""``archerysim warmup``: compile ahead."""

from __future__ import annotations

from typing import Any

from archerysim.cli.options import Commands, add_plain_command

TEXT = "compile in advance what the first shot would have to wait for"


def add(commands: Commands) -> None:
    """What the command accepts."""
    add_plain_command(commands, "warmup", run, TEXT)


def run(_: Any) -> int:
    """What the command does."""
    from archerysim.shot.warm_up import folder, is_cold, warm_up

    if is_cold():
        print(f"compiling into {folder()} (a minute or two)", flush=True)
    warm_up()
    print("ready: the next shot will not have to wait")
    return 0
