"""The command line: parses, calls, prints."""

from __future__ import annotations

import argparse
import atexit
import gc
import os
import signal
import sys
from collections.abc import Callable, Sequence
from typing import Any, NoReturn

from archerysim.cli import commands
from archerysim.cli.streams import heard, tell
from archerysim.version import VERSION

DESCRIPTION = """\
How a bow throws an arrow. A setup file says what can be measured on a bow, its string, an arrow and the
archer; out come brace, draw, and the arrow's pitch, pitch rate and vertical velocity as it leaves the string."""

EPILOG = """\
examples:
  archerysim check bow.toml
  archerysim shoot bow.toml --set "nock.locators.reading=9 mm" --plot shot.png
  archerysim sweep bow.toml --over "nock.locators.reading=4 mm:12 mm:0.5 mm" --out sweep.csv --plot sweep.png
  archerysim tune bow.toml --distance "18 m"
  archerysim fly bow.toml --distance "30 m" --bare --out flight.csv

Values carry units: 8 mm, 5/8 in, 34 lb, 300 gr. Results are for learning and planning; a real bow has its
maker's limits, a range has its rules, and a qualified instructor knows more than a model."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit status (0 fine, 2 bad input or no place to print, 130 interrupted)."""
    return heard(lambda: _run(arguments))


def _run(arguments: Sequence[str] | None) -> int:
    options = parser().parse_args(arguments)
    _spare_the_collector()
    from archerysim.cli.messages import told

    try:
        _refuse_one_file(options)
        with told():
            return int(options.run(options))
    except KeyboardInterrupt:
        if arguments is None:  # the process ends with this: another Ctrl-C does not wait for it
            signal.signal(signal.SIGINT, lambda *_: os._exit(130))
        tell("interrupted")
        return 130
    except Exception as error:
        from archerysim.errors import ArcherysimError, printable

        if not isinstance(error, ArcherysimError):
            raise
        tell(printable(" ".join(str(error).split())))
        return 2


def _refuse_one_file(options: argparse.Namespace) -> None:
    """Refuse a job that would write over a file that it reads, or that it writes twice."""
    from archerysim.fields.file_reading import refuse_one_file

    refuse_one_file({name: getattr(options, name, None) for name in ("setup", "notes", "store", "out", "plot")})


def _spare_the_collector() -> None:
    """Look less often for unused objects, and no more at the end: what is loaded, half a million of them, stays."""
    gc.set_threshold(20_000, 20, 50)
    atexit.unregister(gc.freeze)  # once, however often a process runs a command
    atexit.register(gc.freeze)


def parser() -> argparse.ArgumentParser:
    """The whole command line."""
    top = _Parser(
        prog="archerysim", description=DESCRIPTION, epilog=EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )  # fmt: skip
    top.add_argument("--version", action="version", version=f"archerysim {VERSION}")
    kinds = top.add_subparsers(metavar="COMMAND", required=True)
    add = _Adder(kinds)
    add("check", commands.run_check, "every value with its source, what is odd, brace, draw weight, arrow, warnings")
    brace = add("brace", commands.run_brace, "the braced bow: brace height, tillers, readings; a fit's misses")
    brace.add_argument("--out", metavar="FILE", help="write the setup as built (.toml)")
    draw = add("draw", commands.run_draw, "the draw-force curve and the energy stored")
    draw.add_argument("--out", metavar="FILE", help="write the curve (.csv)")
    draw.add_argument("--points", type=int, default=25, metavar="N", help="points of the curve (default 25)")
    shoot = add("shoot", commands.run_shoot, "one shot: how the arrow leaves, where the energy went")
    shoot.add_argument("--out", metavar="FILE", help="write the traces over time (.csv)")
    shoot.add_argument(
        "--picture", choices=("traces", "throat", "bow"), default="traces",
        help="what --plot draws (default traces)",
    )  # fmt: skip
    explain = add(
        "explain", commands.run_explain, "why the arrow left as it did: the shot told in time, and who turned it"
    )
    explain.add_argument(
        "--picture", choices=("strip", "parts"), default="strip",
        help="what --plot draws: five frames of the shot, or bars of what each part does (default strip)",
    )  # fmt: skip
    explain.add_argument("--left-handed", action="store_true", help="draw the strip with the target to the left")
    sweep = add("sweep", commands.run_sweep, "many shots over ranges of values")
    sweep.add_argument(
        "--over", action="append", required=True, metavar="PATH=START:STOP:STEP", type=_pair,
        help='what is varied, for example "nock.locators.reading=4 mm:12 mm:0.5 mm", or values with commas; '
        "given again, every combination is shot",
    )  # fmt: skip
    sweep.add_argument("--out", metavar="FILE", help="write the table (.csv or .nc)")
    sweep.add_argument(
        "--hold", action="append", default=[], metavar="WHAT",
        help="what a change holds: reading (locators set again), brace-height (string twisted again), or "
        "refit; default: nothing else touched",
    )  # fmt: skip
    sweep.add_argument("--workers", type=int, metavar="N", help="processes (default: all cores where it pays)")
    sweep.add_argument(
        "--store", metavar="FILE",
        help="keep every point in this file as it ends, and read those that it holds already: after an interrupt "
        "the same command goes on from there",
    )  # fmt: skip
    fly = add("fly", commands.run_fly, "one flight to the target, and a bare shaft beside fletched ones")
    fly.add_argument("--distance", required=True, metavar="LENGTH", help='of the target, for example "18 m" or "20 yd"')
    fly.add_argument(
        "--bare", action="store_true", help="fly the shaft without fletching, with the fletched one's sight"
    )
    fly.add_argument("--untaped", action="store_true", help="the bare shaft carries no tape of the fletching's mass")
    fly.add_argument("--out", metavar="FILE", help="write the flight over time (.csv)")
    tune = add(
        "tune", commands.run_tune, "the best reading, or another setting, by an aim, and how far it is from today's"
    )
    tune.add_argument(
        "--aim", action="append", default=[], metavar="NAME",
        help='"bare-and-fletched-together" (default), "bare-slightly-low", "no-angle-of-attack", "no-pitch-rate" or '
        '"least-swing"; given twice with two settings',
    )  # fmt: skip
    tune.add_argument(
        "--path", action="append", default=[], metavar="PATH",
        help="what is tuned (default nock.locators.reading); given twice: both together",
    )  # fmt: skip
    tune.add_argument("--distance", default="18 m", metavar="LENGTH", help='of the target (default "18 m")')
    tune.add_argument(
        "--within", action="append", default=[], metavar="LOW:HIGH",
        help='range searched, for example "4 mm:12 mm"; a reading by the file\'s convention',
    )  # fmt: skip
    tune.add_argument("--size", metavar="VALUE", help='how far off the aim is still good, for example "5 mm"')
    tune.add_argument(
        "--crawl", action="append", default=[], metavar="VALUE",
        help="of a string-walker; given again: the compromise over all of them",
    )  # fmt: skip
    tune.add_argument("--no-others", action="store_true", help="leave out what the other aims would have said")
    tune.add_argument("--hold", action="append", default=[], metavar="WHAT", help="what a change holds, as for sweep")
    notes = add(
        "read-group", commands.run_read_group, "bare and fletched groups: the move to make, and what they speak for"
    )
    notes.add_argument("notes", metavar="NOTES", help="notes file (.toml)")
    text = "compile ahead what the first shot would have to wait for"
    warmup = kinds.add_parser("warmup", help=text, description=text[0].upper() + text[1:] + ".")
    warmup.set_defaults(run=commands.run_warmup)
    return top


class _Parser(argparse.ArgumentParser):
    """Says what is wrong in one line."""

    def error(self, message: str) -> NoReturn:
        self.exit(2, f"{self.prog}: {' '.join(message.split())}; see {self.prog} --help\n")


class _Adder:
    """Adds a command with what all commands share."""

    def __init__(self, kinds: Any) -> None:
        self.kinds = kinds

    def __call__(self, name: str, run: Callable[[Any], int], text: str) -> argparse.ArgumentParser:
        one: argparse.ArgumentParser = self.kinds.add_parser(
            name, help=text, description=text[0].upper() + text[1:] + "."
        )
        one.add_argument("setup", metavar="SETUP", help="setup file (.toml)")
        one.add_argument(
            "--set", action="append", default=[], metavar="PATH=VALUE", type=_change, dest="changes",
            help='change a value of the file first, for example "archer.draw_length=27 in"; a list in square brackets, '
            '"limbs.thickness=[9 mm, 7 mm]", or one of its members, "limbs.thickness.0=9 mm"; may be given again',
        )  # fmt: skip
        one.add_argument("--plot", metavar="FILE", help="write a picture (.png, .svg or .pdf)")
        one.add_argument(
            "--mesh", choices=("coarse", "default", "fine"), default="default", help="how finely to divide the bow"
        )
        one.set_defaults(run=run)
        return one


def _pair(text: str) -> tuple[str, str]:
    path, equals, value = text.partition("=")
    if not equals or not path.strip() or not value.strip():
        raise argparse.ArgumentTypeError(f"{text!r} is not PATH=VALUE")
    return path.strip(), value.strip()


def _change(text: str) -> tuple[str, str | list[str]]:
    """A path and its value: one text, or a list of them in square brackets, with quotation marks or without."""
    path, value = _pair(text)
    if not (value.startswith("[") and value.endswith("]")):
        return path, value
    return path, [part.strip().strip("\"'") for part in value[1:-1].split(",") if part.strip()]


if __name__ == "__main__":
    sys.exit(main())
