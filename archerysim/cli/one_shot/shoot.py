"""``archerysim shoot``: one shot."""

from __future__ import annotations

from typing import Any

from archerysim.cli.options import Commands, add_all, add_command, bow_of
from archerysim.cli.output import plot

TEXT = "one shot: how the arrow leaves, where the energy went"
PICTURES = ("traces", "throat", "bow", "views", "sideways", "clearance")  # functions of `archerysim.show`
USUAL = {1: "traces", 2: "views"}  # by the number of planes


def add(commands: Commands) -> None:
    """What the command accepts."""
    parser = add_command(commands, "shoot", run, TEXT)
    parser.add_argument("--out", metavar="FILE", help="write the traces over time (.csv)")
    add_all(
        parser, "both moments, the way past the rest, energy part by part, and left and right of this one shot, which "
        "depend on how the fingers roll off the string, which is poorly known",
    )  # fmt: skip
    parser.add_argument(
        "--picture", choices=PICTURES,
        help="what --plot draws: in one plane traces over time (the default there), throat or bow; in both also views, "
        "from above beside from the side (the default there), sideways over time, or clearance",
    )  # fmt: skip


def run(options: Any) -> int:
    """What the command does."""
    from archerysim import show
    from archerysim.shot.side_change import side_change
    from archerysim.show.answers.shot import launch_answer
    from archerysim.show.csv import write_trace
    from archerysim.show.shots.table import launch_table

    bow = bow_of(options, (".csv",))
    launch = bow.launch(trace=bool(options.plot or options.out))
    change = side_change(bow)
    print(launch_table(launch, change, everything=True) if options.everything else launch_answer(launch, change))
    if options.out:
        write_trace(launch, options.out)
    plot(options, lambda: getattr(show, options.picture or USUAL[launch.planes])(launch))
    return 0
