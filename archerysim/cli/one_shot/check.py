"""``archerysim check``: a setup, value by value."""

from __future__ import annotations

from contextlib import suppress
from typing import TYPE_CHECKING, Any

from archerysim.cli.options import Commands, add_all, add_command, bow_of, marked_in, setup_of
from archerysim.cli.output import plot

if TYPE_CHECKING:
    from archerysim.shot.fitted_bow import FittedBow

TEXT = "what is odd or missing in a setup; draw weight, brace, arrow; what to measure next; warnings"


def add(commands: Commands) -> None:
    """What the command accepts."""
    parser = add_command(commands, "check", run, TEXT, shoots=False)
    parser.add_argument(
        "--picture", choices=("square", "limbs"), default="square",
        help="what --plot draws: the square on the string, or the unstrung limbs with their curvature, and the points "
        "of a traced profile (default square)",
    )  # fmt: skip
    add_all(parser, "every value with its source, the fit, brace, draw and arrow")


def run(options: Any) -> int:
    """What the command does."""
    from archerysim import show
    from archerysim.errors import ShotError
    from archerysim.show.shots.check_table import check_table

    limbs = options.picture == "limbs"
    try:
        bow = bow_of(options)
    except ShotError:
        if limbs:  # it may show why
            plot(options, lambda: show.limbs(setup_of(options)))
        raise
    print(check_table(bow) if options.everything else _answer(options, bow))
    plot(options, lambda: show.limbs(bow) if limbs else show.square(bow))
    return 0


def _answer(options: Any, bow: FittedBow) -> str:
    """The setup in a dozen lines; where its file marks guesses, how much each of them matters."""
    from archerysim.errors import ShotError
    from archerysim.show.answers.setup import check_answer
    from archerysim.show.shots.check_table import listed
    from archerysim.study.uncertainty.measure_next import measure_next

    marked = marked_in(options)
    found = None
    if marked:
        with suppress(ShotError):  # a bow that stands and cannot be shot is looked over all the same
            found = measure_next(listed(bow), marked, mesh=options.mesh)
    return check_answer(bow, options.mesh, marked, found)
