"""``archerysim fly``: one flight to the target, and a bare shaft beside it."""

from __future__ import annotations

from typing import Any

from archerysim.cli.options import Commands, add_all, add_command, bow_of
from archerysim.cli.output import plot, tell_edits

TEXT = "one flight to the target, and a bare shaft beside fletched ones"


def add(commands: Commands) -> None:
    """What the command accepts."""
    parser = add_command(commands, "fly", run, TEXT)
    parser.add_argument(
        "--distance", required=True, metavar="LENGTH", help='of the target, for example "18 m" or "20 yd"'
    )
    parser.add_argument(
        "--bare", action="store_true", help="fly the shaft without fletching, with the fletched one's sight"
    )
    parser.add_argument("--untaped", action="store_true", help="the bare shaft carries no tape of the fletching's mass")
    parser.add_argument(
        "--paper", metavar="LENGTH", help='a sheet of paper on the way, for example "2 m": which way it is torn'
    )
    parser.add_argument("--out", metavar="FILE", help="write the flight over time (.csv)")
    add_all(
        parser, "launch, whole flight and swing, and left and right of this one shot, which hang on how the fingers "
        "roll off the string, which is poorly known",
    )  # fmt: skip
    parser.add_argument(
        "--picture", choices=("lines", "strips"), default="lines",
        help="what --plot draws: heights and angle of attack along the way, or strips from the side and from above "
        "(default lines)",
    )  # fmt: skip


def run(options: Any) -> int:
    """What the command does."""
    from archerysim import show
    from archerysim.shot.flight.bare_shaft import bare_difference
    from archerysim.shot.flight.fly import check_distance, fly
    from archerysim.shot.flight.paper import PAPER, paper_tear
    from archerysim.shot.flight.side_gap import side_gap_change
    from archerysim.show.answers.flight import flight_answer
    from archerysim.show.csv import write_flight
    from archerysim.show.flights.paper import tear_up
    from archerysim.show.flights.table import flight_table

    check_distance(options.distance)
    if options.paper:
        PAPER.single("paper", options.paper, "refused")
    bow = bow_of(options, (".csv",))
    launch = bow.launch()
    taped = not options.untaped
    flight = fly(launch, distance=options.distance, fletched=not options.bare, taped=taped)
    both = bare_difference(launch, options.distance, taped=taped)
    paper = paper_tear(launch, options.paper, fletched=not options.bare, taped=taped) if options.paper else None
    if options.everything:
        print(flight_table(launch, flight, both, taped, options.distance, paper))
        tell_edits(bow)
    else:
        change = side_gap_change(bow, options.distance, taped=taped)
        torn = tear_up(paper, options.paper) if paper else ""
        print(flight_answer(launch, flight, both, taped, options.distance, change, torn))
    if options.out:
        write_flight(flight, options.out)
    pair = (both.fletched, both.bare)
    plot(options, lambda: show.strips([pair]) if options.picture == "strips" else show.flight(pair), bow)
    return 0
