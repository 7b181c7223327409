"""``archerysim tune``: the best reading, or another setting; or two settings at once."""

from __future__ import annotations

from typing import Any

from archerysim.cli.options import Commands, add_all, add_command, add_draws, add_inputs, add_workers, bow_of, known_to
from archerysim.cli.output import plot, tell_edits, tell_guesses

TEXT = "where to put the locators now, and how sure that is; or the best value of another setting, by an aim"


def add(commands: Commands) -> None:
    """What the command accepts."""
    parser = add_command(commands, "tune", run, TEXT)
    parser.add_argument(
        "--aim", action="append", default=[], metavar="NAME",
        help='"bare-and-fletched-together" (default), "bare-slightly-low", "no-angle-of-attack", "no-pitch-rate" or '
        '"least-swing"; given twice with two settings',
    )  # fmt: skip
    parser.add_argument(
        "--path", action="append", default=[], metavar="PATH",
        help="what to tune (default nock.locators.reading); given twice: both together",
    )  # fmt: skip
    parser.add_argument("--distance", default="18 m", metavar="LENGTH", help='of the target (default "18 m")')
    parser.add_argument(
        "--within", action="append", default=[], metavar="LOW:HIGH",
        help='range to search, for example "4 mm:12 mm"; a reading by the file\'s convention',
    )  # fmt: skip
    parser.add_argument("--size", metavar="VALUE", help='how far off the aim is still good, for example "5 mm"')
    parser.add_argument(
        "--crawl", action="append", default=[], metavar="VALUE",
        help="a string-walker's crawl; given again: the compromise over all of them",
    )  # fmt: skip
    add_all(parser, "readings by the square, window, slope, other aims and everything that decides")
    parser.add_argument(
        "--no-others", action="store_true", help="with --all: leave out what the other aims would have said"
    )
    parser.add_argument("--no-range", action="store_true", help="leave out the honest range, which is much quicker")
    add_draws(parser)
    add_inputs(parser)
    add_workers(parser)


def run(options: Any) -> int:
    """What the command does."""
    return _two_settings(options) if len(options.path) > 1 or len(options.aim) > 1 else _one_setting(options)


def _one_setting(options: Any) -> int:
    from archerysim import show
    from archerysim.equipment import SetupError
    from archerysim.equipment.readings import READING
    from archerysim.show.tuning.table import tune_table
    from archerysim.study.tuning.tune import today, tune

    path, within = (options.path or [READING])[0], [_range(text) for text in options.within]
    if len(within) > 1:
        raise SetupError("within", "two ranges are given for one setting", "Give one")
    bow = bow_of(options)
    now = today(bow, path)
    tuned = tune(
        bow, *options.aim, distance=options.distance, path=path, within=within[0] if within else None,
        size=options.size, crawls=tuple(options.crawl), hold=options.hold,
        others=options.everything and not options.no_others, sure=not options.no_range, draws=options.draws,
        uncertainty=known_to(options, bow), seed=options.seed, workers=options.workers,
    )  # fmt: skip
    print(tune_table(tuned, now, options.distance, tuple(options.crawl), options.everything))
    if not options.no_range:
        tell_guesses(options)
    tell_edits(bow)
    plot(options, lambda: show.tuned(tuned, now), bow)
    return 0


def _two_settings(options: Any) -> int:
    from archerysim.equipment import SetupError
    from archerysim.show.tuning.table import two_table
    from archerysim.study.tuning.tune import today
    from archerysim.study.tuning.tune_two import tune_two

    paths, aims = tuple(options.path), tuple(options.aim) or ("no angle of attack", "no pitch rate")
    for name, given, wanted in (("path", paths, (2,)), ("aim", aims, (2,)), ("within", options.within, (0, 2))):
        if len(given) not in wanted:
            raise SetupError(name, f"{len(given)} given where two settings meet two aims", "Give two of each")
    for name in ("crawl", "size", "plot"):
        if getattr(options, name):
            raise SetupError(name, "does not go with two settings", "Leave it out")
    ranges: Any = tuple(_range(text) for text in options.within) or (None, None)
    bow = bow_of(options)
    now = {path: today(bow, path) for path in paths}
    found = tune_two(bow, paths, aims, distance=options.distance, within=ranges, hold=options.hold)
    print(two_table(found, now, options.everything))
    tell_edits(bow)
    return 0


def _range(text: str) -> tuple[str, str]:
    """Two values with a colon between."""
    from archerysim.equipment import SetupError

    low, colon, high = (part.strip() for part in text.partition(":"))
    if not colon or not low or not high:
        raise SetupError("within", f"{text!r} is not LOW:HIGH", 'Write for example "4 mm:12 mm"')
    return low, high
