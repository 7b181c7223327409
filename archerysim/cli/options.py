"""What commands share of what they accept: a setup with its changes, a mesh, a picture."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from archerysim.shot.planes import PLANES

if TYPE_CHECKING:
    from archerysim.equipment import Setup
    from archerysim.shot.fitted_bow import FittedBow


Commands = Any  # argparse's own class for them has no public name


def add_command(
    commands: Commands, name: str, run: Callable[[Any], int], text: str, *, picture: bool = True,
    shoots: bool = True,
) -> argparse.ArgumentParser:  # fmt: skip
    """Add a command that reads a setup, with what all of these share.

    Parameters
    ----------
    picture, shoots : bool
        Whether it can draw a picture, and whether it shoots.
    """
    parser = add_plain_command(commands, name, run, text)
    parser.add_argument("setup", metavar="SETUP", help="setup file (.toml)")
    parser.add_argument(
        "--set", action="append", default=[], metavar="PATH=VALUE", type=_change, dest="changes",
        help='first change something on the bow as built, for example "archer.draw_length=27 in"; a whole table, '
        '"limbs.thickness=9, 8, 7 mm", one of its values, "limbs.thickness.0=9 mm", or all of them by a factor, '
        '"limbs.thickness.all=1.02 times"; may be given again. Changing what is measured on the bow, such as '
        "bow.upper_tiller, has the bow fitted anew",
    )  # fmt: skip
    parser.add_argument(
        "--hold", action="append", default=[], metavar="WHAT",
        help="what a change holds: reading (locators set back to it), brace-height (string twisted back to it), or "
        "refit (all changes go into the file and the bow is fitted anew); default: nothing else is touched",
    )  # fmt: skip
    if picture:
        _add_picture(parser)
    _add_mesh(parser)
    if shoots:
        _add_planes(parser)
    else:
        parser.set_defaults(planes=None)
    return parser


def add_fixed_command(
    commands: Commands, name: str, run: Callable[[Any], int], text: str, *, picture: bool = True
) -> argparse.ArgumentParser:  # fmt: skip
    """Add a command that takes its setup as the file has it: no ``--set``; ``picture`` as of `add_command`."""
    parser = add_plain_command(commands, name, run, text)
    parser.set_defaults(changes=[], hold=[])
    parser.add_argument("setup", metavar="SETUP", help="setup file (.toml)")
    if picture:
        _add_picture(parser)
    _add_mesh(parser)
    _add_planes(parser)
    return parser


def _add_picture(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--plot", metavar="FILE", help="write a picture (.png, .svg or .pdf)")


def _add_mesh(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--mesh", choices=("coarse", "default", "fine"), default="default", help="how finely to divide the bow"
    )


def _add_planes(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--planes", type=int, choices=(1, 2),
        help="2: the shaft moves sideways too and leaves the rest by itself; 1: up and down only, the rest "
        f"supports for rest.support_travel; default: {PLANES}",
    )  # fmt: skip


def add_plain_command(commands: Commands, name: str, run: Callable[[Any], int], text: str) -> argparse.ArgumentParser:
    """Add a command; ``text`` is its line in the list of commands and its description."""
    parser: argparse.ArgumentParser = commands.add_parser(name, help=text, description=text[0].upper() + text[1:] + ".")
    parser.set_defaults(run=run)
    return parser


def add_left_handed(parser: argparse.ArgumentParser) -> None:
    """``--left-handed``, for a command whose answer has a left and a right."""
    parser.add_argument(
        "--left-handed", action="store_true",
        help="for a left-handed archer: left and right are exchanged, everything up and down stays (without it, as "
        "archer.handed in the file says)",
    )  # fmt: skip


def add_motion(parser: argparse.ArgumentParser) -> None:
    """``--frames`` and ``--slow``, for a command that writes a moving picture."""
    parser.add_argument(
        "--frames", type=int, metavar="N",
        help="pictures, 2 to 1000 (default all that the shot keeps, 161 of a flight; 80 for a .gif)",
    )  # fmt: skip
    parser.add_argument(
        "--slow", type=float, metavar="TIMES",
        help="how many times slower than real, 1 to 100000 (default so that it lasts about 8 s)",
    )  # fmt: skip


def add_all(parser: argparse.ArgumentParser, what: str) -> None:
    """``--all``, for a command that answers in a few lines first; ``what`` it tells in their stead."""
    parser.add_argument("--all", action="store_true", dest="everything", help=f"print everything instead: {what}")


def add_workers(parser: argparse.ArgumentParser) -> None:
    """``--workers``, for a command that shoots many times."""
    parser.add_argument("--workers", type=int, metavar="N", help="processes (default: all cores where that is quicker)")


def add_workers_and_store(parser: argparse.ArgumentParser) -> None:
    """``--workers`` and ``--store``, for a command whose points can be kept."""
    add_workers(parser)
    parser.add_argument(
        "--store", metavar="FILE",
        help="keep every point in this file when it is done, and read those already in it: after an interrupt "
        "the same command goes on from there",
    )  # fmt: skip


def add_inputs(parser: argparse.ArgumentParser) -> None:
    """``--known-to``, for a command that asks how sure something is."""
    parser.add_argument(
        "--known-to", action="append", default=[], metavar="PATH=VALUE", type=pair,
        help='how well an input is known (one standard deviation), for example "rest.height=0.5 mm" or '
        '"riser.mass=5 %%"; may be given again; without any, all that an archer measures, by how well it is measured '
        "as a rule; in Python: uncertainty={path: value}",
    )  # fmt: skip


def known_to(options: Any, bow: FittedBow) -> Any:
    """What ``--known-to`` says; without it, where the file marks guesses, how far off they may be, too."""
    from archerysim.study.uncertainty.measure_next import with_guesses

    marked = marked_in(options)
    return once(options.known_to) or (with_guesses(bow.given, marked, bow.planes) if marked else {})


def marked_in(options: Any) -> dict[str, str]:
    """What the setup's file marks as assumed, but what is changed on the command line."""
    from archerysim.equipment.first_setup.setup_text import read_marked

    changed = once(options.changes)
    return {path: why for path, why in read_marked(options.setup)[1].items() if path not in changed}


def add_draws(parser: argparse.ArgumentParser, draws: int = 64) -> None:
    """``--draws`` and ``--seed``, for a command that draws so many bows that all fit what was measured."""
    parser.add_argument(
        "--draws", type=int, default=draws, metavar="N",
        help=f"bows drawn that all fit what was measured (default {draws})",
    )  # fmt: skip
    parser.add_argument(
        "--seed", type=int, default=0, metavar="N", help="the same seed draws the same bows (default 0)"
    )


def pair(text: str) -> tuple[str, str]:
    """PATH=VALUE in its two parts."""
    path, equals, value = text.partition("=")
    if not equals or not path.strip() or not value.strip():
        raise argparse.ArgumentTypeError(f"{text!r} is not PATH=VALUE")
    return path.strip(), value.strip()


def _change(text: str) -> tuple[str, str | list[str]]:
    """A path and its value: one text, or a list of them where it begins with a square bracket."""
    from archerysim.equipment import SetupError
    from archerysim.fields.given import listed

    path, value = pair(text)
    try:
        return path, listed(path, value) if value.startswith("[") else value
    except SetupError as error:
        raise argparse.ArgumentTypeError(str(error).rstrip(".")) from None


def once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """Pairs as a table; no path twice."""
    from archerysim.equipment import SetupError

    table = dict(pairs)
    for path in table:
        if sum(other == path for other, _ in pairs) > 1:
            raise SetupError(path, "is given twice", "Give it once")
    return table


def setup_of(options: Any, endings: tuple[str, ...] = ()) -> Setup:
    """The setup as its file has it, in a left-handed archer's hands where that was asked for.

    Refuses first a picture or a file (of these ``endings``) that could not be written.
    """
    from archerysim.equipment import load

    if getattr(options, "plot", None) is not None:
        from archerysim.show.style import check_picture

        check_picture(options.plot)
    if endings and options.out is not None:
        from archerysim.fields.file_writing import check_target

        check_target(options.out, "out", endings)
    setup = load(options.setup)
    return setup.replace({"archer.handed": "left"}) if getattr(options, "left_handed", False) else setup


def bow_of(options: Any, endings: tuple[str, ...] = ()) -> FittedBow:
    """The fitted bow of the file, with the changes that were asked for; refuses first what `setup_of` does."""
    from archerysim.shot.fitted_bow import FittedBow
    from archerysim.shot.hold import hold_words

    setup, changes, words = setup_of(options, endings), once(options.changes), hold_words(options.hold)
    return FittedBow.of(setup, options.mesh, changes, words, options.planes)
