"""``archerysim brace``: the bow fitted to its measures, and braced."""

from __future__ import annotations

from typing import Any

from archerysim.cli.options import Commands, add_all, add_command, bow_of
from archerysim.cli.output import plot

TEXT = "the braced bow: brace height, tillers, readings; how well the fit matches"


def add(commands: Commands) -> None:
    """What the command accepts."""
    parser = add_command(commands, "brace", run, TEXT, shoots=False)
    parser.add_argument("--out", metavar="FILE", help="write the setup as built (.toml)")
    add_all(parser, "pocket angles, the string on the limbs, how well the fit meets each measure")


def run(options: Any) -> int:
    """What the command does."""
    from archerysim import show
    from archerysim.errors import ShotError
    from archerysim.show.answers.bow import brace_answer
    from archerysim.show.shots.table import brace_table

    bow = bow_of(options, (".toml",))
    _ = bow.braced  # a bow that cannot be braced is told as such
    try:
        curve = bow.draw_curve(2)
    except ShotError:
        curve = None
    print(brace_table(bow, curve) if options.everything else brace_answer(bow, curve))
    if options.out:
        bow.setup.save(options.out)
    plot(options, lambda: show.square(bow))
    return 0
