"""``archerysim check``: a setup, value by value."""

from __future__ import annotations

from typing import Any

from archerysim.cli.options import Commands, add_command, bow_of, setup_of
from archerysim.cli.output import plot

TEXT = "every value with its source, what is odd, brace, draw weight, arrow, warnings"


def add(commands: Commands) -> None:
    """What the command accepts."""
    parser = add_command(commands, "check", run, TEXT, shoots=False)
    parser.add_argument(
        "--picture", choices=("square", "limbs"), default="square",
        help="what --plot draws: the square on the string, or the unstrung limbs with their curvature, and the points "
        "of a traced profile (default square)",
    )  # fmt: skip


def run(options: Any) -> int:
    """What the command does."""
    from archerysim import show
    from archerysim.errors import ShotError
    from archerysim.show.shots.table import check_table

    limbs = options.picture == "limbs"
    try:
        bow = bow_of(options)
    except ShotError:
        if limbs:  # it may show why
            plot(options, lambda: show.limbs(setup_of(options)))
        raise
    print(check_table(bow))
    plot(options, lambda: show.limbs(bow) if limbs else show.square(bow))
    return 0
