"""The command line: parses, calls, prints."""

from __future__ import annotations

import argparse
import sys
import warnings
from collections.abc import Callable, Sequence
from typing import Any, NoReturn

from archerysim.version import VERSION

DESCRIPTION = """\
How a bow throws an arrow. A setup file says what can be measured on a bow, its string, an arrow and the
archer; out come brace, draw, and the arrow's pitch, pitch rate and vertical velocity as it leaves the string."""

EPILOG = """\
examples:
  archerysim check bow.toml
  archerysim shoot bow.toml --set "nock.locators.reading=9 mm" --plot shot.png
  archerysim sweep bow.toml --over "nock.locators.reading=4 mm:12 mm:0.5 mm" --out sweep.csv --plot sweep.png

Values carry units: 8 mm, 5/8 in, 34 lb, 300 gr. Results are for learning and planning; a real bow has its
maker's limits, a range has its rules, and a qualified instructor knows more than a model."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit status (0 fine, 2 bad input, 130 interrupted)."""
    options = parser().parse_args(arguments)
    try:
        return int(options.run(options))
    except BrokenPipeError:
        return 0
    except KeyboardInterrupt:
        print("archerysim: interrupted", file=sys.stderr)
        return 130
    except Exception as error:
        if type(error).__name__ not in ("SetupError", "ShotError", "StoreError"):
            raise
        print(f"archerysim: {' '.join(str(error).split())}", file=sys.stderr)
        return 2


def parser() -> argparse.ArgumentParser:
    """The whole command line."""
    top = _Parser(
        prog="archerysim", description=DESCRIPTION, epilog=EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )  # fmt: skip
    top.add_argument("--version", action="version", version=f"archerysim {VERSION}")
    commands = top.add_subparsers(metavar="COMMAND", required=True)
    add = _Adder(commands)
    add("check", run_check, "every value with its source, what is odd, brace, draw weight, arrow, warnings")
    brace = add("brace", run_brace, "the braced bow: brace height, tillers, readings; a fit's misses")
    brace.add_argument("--out", metavar="FILE", help="write the setup as built (.toml)")
    draw = add("draw", run_draw, "the draw-force curve and the energy stored")
    draw.add_argument("--out", metavar="FILE", help="write the curve (.csv)")
    draw.add_argument("--points", type=int, default=25, metavar="N", help="points of the curve (default 25)")
    shoot = add("shoot", run_shoot, "one shot: how the arrow leaves, where the energy went")
    shoot.add_argument("--out", metavar="FILE", help="write the traces over time (.csv)")
    shoot.add_argument(
        "--picture", choices=("traces", "throat", "bow"), default="traces",
        help="what --plot draws (default traces)",
    )  # fmt: skip
    sweep = add("sweep", run_sweep, "many shots over ranges of values")
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
        help="keep every point in this file as it ends, and read those that it holds already",
    )  # fmt: skip
    notes = add("read-group", run_read_group, "bare and fletched groups: the move to make, and what they speak for")
    notes.add_argument("notes", metavar="NOTES", help="notes file (.toml)")
    text = "compile ahead what the first shot would have to wait for"
    warmup = commands.add_parser("warmup", help=text, description=text[0].upper() + text[1:] + ".")
    warmup.set_defaults(run=run_warmup)
    return top


class _Parser(argparse.ArgumentParser):
    """Says what is wrong in one line."""

    def error(self, message: str) -> NoReturn:
        self.exit(2, f"{self.prog}: {' '.join(message.split())}; see {self.prog} --help\n")


class _Adder:
    """Adds a command with what all commands share."""

    def __init__(self, commands: Any) -> None:
        self.commands = commands

    def __call__(self, name: str, run: Callable[[Any], int], text: str) -> argparse.ArgumentParser:
        one: argparse.ArgumentParser = self.commands.add_parser(
            name, help=text, description=text[0].upper() + text[1:] + "."
        )
        one.add_argument("setup", metavar="SETUP", help="setup file (.toml)")
        one.add_argument(
            "--set", action="append", default=[], metavar="PATH=VALUE", type=_pair, dest="changes",
            help='change a value of the file first, for example "archer.draw_length=27 in"',
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


def _setup(options: Any, endings: tuple[str, ...] = ()) -> Any:
    from archerysim.equipment import load

    if options.plot:
        from archerysim.show.style import check_picture

        check_picture(options.plot)
    if endings and options.out:
        from archerysim.equipment.whole import check_target

        check_target(options.out, "out", endings)
    setup = load(options.setup)
    changes = _once(options.changes)
    _say_first_run()
    return setup.replace(**changes) if changes else setup


def _once(pairs: list[tuple[str, str]]) -> dict[str, str]:
    """Pairs as a table; no path twice."""
    from archerysim.equipment import SetupError

    table = dict(pairs)
    for path in table:
        if sum(one == path for one, _ in pairs) > 1:
            raise SetupError(path, "is given twice", "Give it once")
    return table


def _say_first_run() -> None:
    from archerysim.shot.compiled import is_cold

    if is_cold():
        print("archerysim: first run here, compiling (about a minute, once)", file=sys.stderr)


def _plot(draw: Callable[[], Any], path: str) -> None:
    from archerysim.show.style import save_figure

    save_figure(draw(), path)


def run_check(options: Any) -> int:
    """``archerysim check``"""
    from archerysim.show.report import check_table

    setup = _setup(options)
    print(check_table(setup, options.mesh))
    if options.plot:
        from archerysim import show

        _plot(lambda: show.square(setup), options.plot)
    return 0


def run_brace(options: Any) -> int:
    """``archerysim brace``"""
    from archerysim.shot.fit import fit
    from archerysim.shot.shoot import brace
    from archerysim.show.report import brace_table

    fitted = fit(_setup(options, (".toml",)), options.mesh)
    braced = brace(fitted.setup, options.mesh)
    print(brace_table(fitted, braced))
    if options.out:
        fitted.setup.save(options.out)
    if options.plot:
        from archerysim import show

        _plot(lambda: show.square(fitted.setup), options.plot)
    return 0


def run_draw(options: Any) -> int:
    """``archerysim draw``"""
    from archerysim.shot.shoot import draw
    from archerysim.show.report import draw_table

    curve = draw(_setup(options, (".csv",)), options.points, options.mesh)
    print(draw_table(curve))
    if options.out:
        from archerysim.show.files import write_curve

        write_curve(curve, options.out)
    if options.plot:
        from archerysim import show

        _plot(lambda: show.curve(curve), options.plot)
    return 0


def run_shoot(options: Any) -> int:
    """``archerysim shoot``"""
    from archerysim.shot.shoot import shoot
    from archerysim.show.report import launch_table

    wanted = bool(options.plot or options.out)
    launch = shoot(_setup(options, (".csv",)), options.mesh, trace=wanted)
    print(launch_table(launch))
    if options.out:
        from archerysim.show.files import write_trace

        write_trace(launch, options.out)
    if options.plot:
        from archerysim import show

        pictures: dict[str, Callable[[Any], Any]] = {"traces": show.traces, "throat": show.throat, "bow": show.bow}
        picture = pictures[options.picture]
        _plot(lambda: picture(launch), options.plot)
    return 0


def run_sweep(options: Any) -> int:
    """``archerysim sweep``"""
    from archerysim.show.report import sweep_table
    from archerysim.study.sweep import sweep
    from archerysim.study.table import save

    with warnings.catch_warnings():
        warnings.showwarning = lambda message, *_, **__: print(f"archerysim: {message}", file=sys.stderr)
        data = sweep(
            _setup(options, (".csv", ".nc")),
            _once(options.over),
            hold=options.hold,
            mesh=options.mesh,
            workers=options.workers,
            store=options.store,
        )
    if options.store:
        print("{points_read} points read, {points_computed} computed".format(**data.attrs), file=sys.stderr)
    if options.out:
        save(data, options.out)
    print(sweep_table(data))
    if options.plot:
        from archerysim import show

        _plot(lambda: show.sweep(data), options.plot)
    return 0


def run_read_group(options: Any) -> int:
    """``archerysim read-group``"""
    from archerysim.equipment import load_notes
    from archerysim.show.notes import diagnosis_table
    from archerysim.study.diagnose import diagnose

    notes = load_notes(options.notes)
    found = diagnose(_setup(options), notes, mesh=options.mesh)
    print(diagnosis_table(found), end="")
    if options.plot:
        from archerysim import show

        _plot(lambda: show.diagnosis(found), options.plot)
    return 0


def run_warmup(options: Any) -> int:
    """``archerysim warmup``"""
    from archerysim.shot.compiled import folder, is_cold, warm_up

    if is_cold():
        print(f"compiling into {folder()} (about a minute)", flush=True)
    warm_up()
    print("ready: the next shot does not wait")
    return 0


if __name__ == "__main__":
    sys.exit(main())
