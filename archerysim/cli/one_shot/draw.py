"""``archerysim draw``: the draw-force curve."""

from __future__ import annotations

from typing import Any

from archerysim.cli.options import Commands, add_all, add_command, bow_of
from archerysim.cli.output import plot

TEXT = "force at full draw, energy stored, how the bow stacks; the draw-force curve"


def add(commands: Commands) -> None:
    """What the command accepts."""
    parser = add_command(commands, "draw", run, TEXT, shoots=False)
    parser.add_argument("--out", metavar="FILE", help="write the curve (.csv)")
    parser.add_argument("--points", type=int, default=25, metavar="N", help="points of the curve (default 25)")
    add_all(parser, "the curve, draw by draw")


def run(options: Any) -> int:
    """What the command does."""
    from archerysim import show
    from archerysim.fields.given import whole_number
    from archerysim.shot.draw_curve import MOST_POINTS
    from archerysim.show.answers.bow import draw_answer
    from archerysim.show.csv import write_curve
    from archerysim.show.shots.table import draw_table

    whole_number("points", options.points, "a number of points", 2, MOST_POINTS)
    curve = bow_of(options, (".csv",)).draw_curve(options.points)
    print(draw_table(curve) if options.everything else draw_answer(curve))
    if options.out:
        write_curve(curve, options.out)
    plot(options, lambda: show.curve(curve))
    return 0
