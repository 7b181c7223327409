"""``archerysim flights``: several readings shot, each arrow flown with and without fletching."""

from __future__ import annotations

from typing import Any

from archerysim.cli.options import Commands, add_command, add_workers, bow_of
from archerysim.cli.output import plot

TEXT = "several readings: where each one's bare shaft lands, and how it swings on the way"


def add(commands: Commands) -> None:
    """What the command accepts."""
    parser = add_command(commands, "flights", run, TEXT)
    parser.add_argument("--distance", default="18 m", metavar="LENGTH", help='of the target (default "18 m")')
    parser.add_argument(
        "--readings", metavar="START:STOP:STEP",
        help='readings to shoot, for example "4 mm:12 mm:4 mm" (default today\'s, 3 mm less and 3 mm more)',
    )  # fmt: skip
    parser.add_argument("--untaped", action="store_true", help="the bare shaft carries no tape of the fletching's mass")
    add_workers(parser)
    parser.add_argument("--out", metavar="FILE", help="write the table (.csv)")
    parser.add_argument(
        "--left-handed",
        action="store_true",
        help="draw the strips with the target to the left (otherwise, as the file's archer draws)",
    )


def run(options: Any) -> int:
    """What the command does."""
    from archerysim import show
    from archerysim.show.bare_shaft.table import flights_table
    from archerysim.show.csv import write_flights
    from archerysim.study.bare_shaft.flights import flights

    bow = bow_of(options, (".csv",))
    flown = flights(
        bow, options.readings, distance=options.distance, taped=not options.untaped,
        workers=options.workers,
    )  # fmt: skip
    print(flights_table(flown))
    if options.out:
        write_flights(flown, options.out)
    plot(options, lambda: show.strips(flown, left_handed=options.left_handed or None), bow)
    return 0
