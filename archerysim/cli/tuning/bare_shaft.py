"""``archerysim bare-shaft``: where the bare shaft lands over the reading, and how sure that is."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from archerysim.cli.options import (
    Commands,
    add_all,
    add_command,
    add_draws,
    add_inputs,
    add_workers_and_store,
    bow_of,
    known_to,
)
from archerysim.cli.output import plot, tell_guesses

TEXT = "which way to move the locators at several distances, and bare against fletched at each reading, with bands"


def add(commands: Commands) -> None:
    """What the command accepts."""
    parser = add_command(commands, "bare-shaft", run, TEXT)
    parser.add_argument(
        "--distance", action="append", metavar="LENGTH",
        help='of a target, for example "18 m"; may be given again (default 18 m, 30 m and 50 m)',
    )  # fmt: skip
    parser.add_argument(
        "--readings", metavar="START:STOP:STEP",
        help='readings to shoot, for example "4 mm:12 mm:4 mm" (default every 2 mm from 6 mm under today\'s to 4 mm '
        "above)",
    )  # fmt: skip
    parser.add_argument("--untaped", action="store_true", help="the bare shaft carries no tape of the fletching's mass")
    add_all(parser, "the heights over the reading with their bands, and what the draws say at each distance")
    add_draws(parser)
    add_inputs(parser)
    add_workers_and_store(parser)
    parser.add_argument("--out", metavar="FILE", help="write heights and bands (.csv)")
    parser.add_argument(
        "--picture", choices=("lines", "card", "gaps"), default="lines",
        help="what --plot draws: heights over the reading; a target card of the first distance; or gaps at that "
        "distance, up and down and left and right, over the reading and over the side support's preload, which "
        "takes more shots (default lines)",
    )  # fmt: skip


def run(options: Any) -> int:
    """What the command does."""
    from archerysim import show
    from archerysim.show.bare_shaft.table import bare_shaft_table
    from archerysim.show.csv import write_bare_shaft
    from archerysim.study.bare_shaft.bare_shaft import DISTANCES, bare_against_fletched

    bow = bow_of(options, (".csv",))
    found = bare_against_fletched(
        bow, options.readings, options.distance or DISTANCES, draws=options.draws,
        uncertainty=known_to(options, bow), seed=options.seed, taped=not options.untaped,
        workers=options.workers, store=options.store,
    )  # fmt: skip
    print(bare_shaft_table(found, options.distance or DISTANCES, options.everything))
    tell_guesses(options)
    if options.out:
        write_bare_shaft(found, options.out)
    draw: dict[str, Callable[[], Any]] = {
        "lines": lambda: show.bare_against_fletched(found), "card": lambda: show.target_card(found),
        "gaps": lambda: _gaps(options, bow, found),
    }  # fmt: skip
    plot(options, draw[options.picture], bow)
    return 0


def _gaps(options: Any, bow: Any, found: Any) -> Any:
    """The picture of the gaps at the first distance."""
    from archerysim import show
    from archerysim.study.bare_shaft.gaps import gaps

    return show.gaps(
        gaps(
            bow, options.readings, distance=(float(found.distances[0]), "m"), uncertainty=known_to(options, bow),
            seed=options.seed, taped=not options.untaped, workers=options.workers, store=options.store,
        )
    )  # fmt: skip
