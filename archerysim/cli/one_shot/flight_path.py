"""``archerysim flight-path``: arrows on their way to the target, moving or in one still picture."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from archerysim.cli.options import Commands, add_command, add_left_handed, add_motion, add_workers, bow_of
from archerysim.cli.output import tell_edits, warnings_in_a_line

if TYPE_CHECKING:
    from archerysim.shot.flight.fly import Flight
    from archerysim.study.bare_shaft.flights import Flights

TEXT = "the way to the target, moving or still: bare beside fletched, or several readings"
WHICH = ("fletched", "bare")  # of several readings


def add(commands: Commands) -> None:
    """What the command accepts."""
    parser = add_command(commands, "flight-path", run, TEXT, picture=False)
    parser.add_argument(
        "-o", "--out", required=True, metavar="FILE",
        help="write the picture: moving (.html, .gif, or .mp4, which needs the program ffmpeg), or still (.png, .svg "
        "or .pdf)",
    )  # fmt: skip
    parser.add_argument("--distance", default="18 m", metavar="LENGTH", help='of the target (default "18 m")')
    parser.add_argument(
        "--readings", metavar="START:STOP:STEP",
        help='readings to shoot, for example "5 mm:11 mm:3 mm"; three at most in a moving picture (default today\'s '
        "alone, bare beside fletched)",
    )  # fmt: skip
    parser.add_argument(
        "--which", choices=WHICH, default="fletched",
        help="whose flights of several readings move; a still picture has both (default fletched)",
    )  # fmt: skip
    parser.add_argument("--untaped", action="store_true", help="the bare shaft carries no tape of the fletching's mass")
    add_motion(parser)
    add_workers(parser)
    add_left_handed(parser)


def run(options: Any) -> int:
    """What the command does."""
    from archerysim import show
    from archerysim.equipment.readings import read_by
    from archerysim.shot.flight.fly import check_distance
    from archerysim.show.answers.motion import flights_told
    from archerysim.show.flights.looks import names_of
    from archerysim.show.motion.animate import MOVING, animate_flight, check_motion
    from archerysim.show.style import ENDINGS, save_figure
    from archerysim.study.bare_shaft.flights import flights, readings_of

    check_distance(options.distance)
    check_motion(options.out, options.frames, options.slow, "out", ENDINGS)
    moving = options.out.lower().endswith(MOVING)
    bow = bow_of(options)
    if moving and options.readings is not None:
        _refuse_many(len(readings_of(bow.given, options.readings, bow.reading, ())))
    today = ([read_by(bow.setup).reading(bow.reading)], "m")
    flown = flights(
        bow, options.readings or today, distance=options.distance, taped=not options.untaped, workers=options.workers
    )
    shown = _flights(flown, options.which)
    with warnings_in_a_line():
        if moving:
            animate_flight(shown, options.out, names=names_of(shown), frames=options.frames, slow=options.slow)
        else:
            save_figure(show.strips(flown), options.out)
    print(flights_told(flown, options.out, bow.setup))
    tell_edits(bow)
    return 0


def _refuse_many(count: int) -> None:
    """Refuse more readings than move in one picture.

    Raises
    ------
    SetupError
    """
    from archerysim.equipment import SetupError
    from archerysim.show.motion.flight import MOST

    if count > MOST:
        raise SetupError(
            "readings", f"{count} in a moving picture", f"Give {MOST} at most, or write a still picture (.png)"
        )


def _flights(flown: Flights, which: str) -> list[Flight]:
    """What moves: bare beside fletched of one reading, else one of them of each reading.

    Raises
    ------
    SetupError
        If there is none.
    """
    from archerysim.equipment import SetupError

    rows = [row for row in flown.rows if row.fletched is not None and row.bare is not None]
    if not rows:
        why = flown.rows[0].reason.rstrip(".")
        raise SetupError("readings", f"none of them has both flights ({why})", "Give others, or a nearer target")
    pairs: Any = [(row.fletched, row.bare) for row in rows]
    return list(pairs[0]) if len(flown.rows) == 1 else [pair[WHICH.index(which)] for pair in pairs]
