"""``archerysim sideways``: what moves bare shafts left and right, and which change takes a gap back."""

from __future__ import annotations

from typing import Any

from archerysim.cli.options import Commands, add_command, add_draws, add_workers_and_store, bow_of
from archerysim.cli.output import tell_edits

TEXT = "what changes of side support, shaft and point do to bare shafts left and right; which one takes a gap back"


def add(commands: Commands) -> None:
    """What the command accepts."""
    parser = add_command(commands, "sideways", run, TEXT, picture=False)
    parser.add_argument("--distance", default="18 m", metavar="LENGTH", help='of the target (default "18 m")')
    parser.add_argument(
        "--gap", metavar="LENGTH WAY",
        help='where a group has put the bare shafts beside the fletched ones, seen from behind: "6 cm left"; the '
        "change that comes nearest to taking it back is named",
    )  # fmt: skip
    parser.add_argument(
        "--spines",
        metavar="LIST",
        help='shafts at hand, for example "0.600, 0.650, 0.700 in"; with points: every combination',
    )
    parser.add_argument("--points", metavar="LIST", help='points at hand, for example "90, 100, 120 gr"')
    parser.add_argument("--untaped", action="store_true", help="the bare shaft carries no tape of the fletching's mass")
    parser.add_argument(
        "--all", action="store_true", help="every number of every change, and what is taken as uncertain"
    )
    add_draws(parser, 16)
    add_workers_and_store(parser)


def run(options: Any) -> int:
    """What the command does."""
    from archerysim.show.left_right.table import sideways_table
    from archerysim.study.sideways.sideways_tune import sideways_tune

    bow = bow_of(options)
    found = sideways_tune(
        bow, options.distance, gap=options.gap, spines=options.spines, points=options.points,
        taped=not options.untaped, draws=options.draws, seed=options.seed, workers=options.workers, store=options.store,
    )  # fmt: skip
    print(sideways_table(found, options.distance, options.all))
    tell_edits(bow)
    return 0
