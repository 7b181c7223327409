"""``archerysim explain``: why the arrow left as it did."""

from __future__ import annotations

from typing import Any

from archerysim.cli.options import Commands, add_all, add_command, bow_of
from archerysim.cli.output import plot, tell_edits

TEXT = "why the arrow left as it did: the shot in order of time, and what turned it"


def add(commands: Commands) -> None:
    """What the command accepts."""
    parser = add_command(commands, "explain", run, TEXT)
    parser.add_argument(
        "--picture", choices=("strip", "parts"), default="strip",
        help="what --plot draws: five frames of the shot, or bars of what each part does (default strip)",
    )  # fmt: skip
    parser.add_argument("--left-handed", action="store_true", help="draw the strip with the target to the left")
    add_all(parser, "the shot in the order of time, and what every part did")


def run(options: Any) -> int:
    """What the command does."""
    from archerysim import show
    from archerysim.show.answers.explained import explain_answer
    from archerysim.show.explanation.table import explain_table
    from archerysim.study.explanation.explain import explain

    bow = bow_of(options)
    found = explain(bow)
    print(explain_table(found) if options.everything else explain_answer(found))
    tell_edits(bow)
    if options.picture == "strip":
        plot(options, lambda: show.explain(found, left_handed=options.left_handed or None))
    else:
        plot(options, lambda: show.contributions(found))
    return 0
