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
  archerysim tune bow.toml --distance "18 m"
  archerysim fly bow.toml --distance "30 m" --bare --out flight.csv

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
    explain = add("explain", run_explain, "why the arrow left as it did: the shot told in time, and who turned it")
    explain.add_argument(
        "--picture", choices=("strip", "parts"), default="strip",
        help="what --plot draws: five frames of the shot, or bars of what each part does (default strip)",
    )  # fmt: skip
    explain.add_argument("--mirror", action="store_true", help="draw the strip with the target to the left")
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
    fly = add("fly", run_fly, "one flight to the target, and a bare shaft beside fletched ones")
    fly.add_argument("--distance", required=True, metavar="LENGTH", help='of the target, for example "18 m" or "20 yd"')
    fly.add_argument(
        "--bare", action="store_true", help="fly the shaft without fletching, with the fletched one's sight"
    )
    fly.add_argument("--untaped", action="store_true", help="the bare shaft carries no tape of the fletching's mass")
    fly.add_argument("--out", metavar="FILE", help="write the flight over time (.csv)")
    tune = add("tune", run_tune, "the best reading, or another setting, by an aim, and how far it is from today's")
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
        "--within", action="append", default=[], metavar="LOW:HIGH", help='range searched, for example "4 mm:12 mm"'
    )
    tune.add_argument("--size", metavar="VALUE", help='how far off the aim is still good, for example "5 mm"')
    tune.add_argument(
        "--crawl", action="append", default=[], metavar="VALUE",
        help="of a string-walker; given again: the compromise over all of them",
    )  # fmt: skip
    tune.add_argument("--no-others", action="store_true", help="leave out what the other aims would have said")
    tune.add_argument("--hold", action="append", default=[], metavar="WHAT", help="what a change holds, as for sweep")
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


def run_explain(options: Any) -> int:
    """``archerysim explain``"""
    from archerysim.show.explain_table import explain_table
    from archerysim.study.explain import explain

    found = explain(_setup(options), mesh=options.mesh)
    print(explain_table(found))
    if options.plot:
        from archerysim import show

        pictures: dict[str, Callable[[], Any]] = {
            "strip": lambda: show.explain(found, mirror=options.mirror),
            "parts": lambda: show.contributions(found),
        }
        _plot(pictures[options.picture], options.plot)
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


def run_fly(options: Any) -> int:
    """``archerysim fly``"""
    from archerysim.shot.bare import bare_difference
    from archerysim.shot.flight import check_distance, fly
    from archerysim.shot.shoot import shoot
    from archerysim.show.flying import flight_table

    check_distance(options.distance)
    launch = shoot(_setup(options, (".csv",)), options.mesh, trace=False)
    taped = not options.untaped
    flight = fly(launch, distance=options.distance, fletched=not options.bare, taped=taped)
    print(flight_table(launch, flight, bare_difference(launch, options.distance, taped=taped), taped))
    if options.out:
        from archerysim.show.files import write_flight

        write_flight(flight, options.out)
    if options.plot:
        import archerysim.show

        pictures: Any = archerysim.show
        _plot(lambda: pictures.flight([flight]), options.plot)
    return 0


def run_tune(options: Any) -> int:
    """``archerysim tune``"""
    from archerysim.equipment import SetupError
    from archerysim.show.tuning import tune_table
    from archerysim.study.tune import READING, today, tune

    if len(options.path) > 1 or len(options.aim) > 1:
        return _tune_two(options)
    path, within = (options.path or [READING])[0], [_range(text) for text in options.within]
    if len(within) > 1:
        raise SetupError("within", "two ranges are given for one setting", "Give one")
    setup = _setup(options)
    tuned = tune(
        setup, *options.aim, distance=options.distance, path=path, within=within[0] if within else None,
        size=options.size, crawls=tuple(options.crawl), hold=options.hold,
        others=not options.no_others, mesh=options.mesh,
    )  # fmt: skip
    print(tune_table(tuned, today(setup, path, options.mesh), options.distance, tuple(options.crawl)))
    return 0


def _tune_two(options: Any) -> int:
    from archerysim.equipment import SetupError, field_info
    from archerysim.show.tuning import two_table
    from archerysim.study.tune import today, tune_two

    paths, aims = tuple(options.path), tuple(options.aim) or ("no angle of attack", "no pitch rate")
    for name, given, wanted in (("path", paths, (2,)), ("aim", aims, (2,)), ("within", options.within, (0, 2))):
        if len(given) not in wanted:
            raise SetupError(name, f"{len(given)} given where two settings meet two aims", "Give two of each")
    if options.crawl or options.size:
        raise SetupError("crawl" if options.crawl else "size", "does not go with two settings", "Leave it out")
    setup = _setup(options)
    ranges: Any = tuple(_range(text) for text in options.within) or (None, None)
    values, launch = tune_two(
        setup, paths, aims, distance=options.distance, within=ranges, hold=options.hold, mesh=options.mesh
    )
    now = {path: today(setup, path, options.mesh) for path in paths}
    print(two_table(values, now, aims, launch, {path: field_info(path).unit for path in paths}))
    return 0


def _range(text: str) -> tuple[str, str]:
    """Two values with a colon between."""
    from archerysim.equipment import SetupError

    low, colon, high = (part.strip() for part in text.partition(":"))
    if not colon or not low or not high:
        raise SetupError("within", f"{text!r} is not LOW:HIGH", 'Write for example "4 mm:12 mm"')
    return low, high


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
