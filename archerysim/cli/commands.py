"""What each command of the command line does with its parsed options: calls, prints."""

from __future__ import annotations

import sys
import warnings
from collections.abc import Callable
from typing import Any


def _setup(options: Any, endings: tuple[str, ...] = ()) -> tuple[Any, Any]:
    """The setup with its changes; the file's own where there are any, for the cautions about what was changed."""
    from archerysim.equipment import load

    if options.plot is not None:
        from archerysim.show.style import check_picture

        check_picture(options.plot)
    if endings and options.out is not None:
        from archerysim.fields.file_writing import check_target

        check_target(options.out, "out", endings)
    setup = load(options.setup)
    changes = _once(options.changes)
    return (setup.replace(**changes), setup) if changes else (setup, None)


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """Pairs as a table; no path twice."""
    from archerysim.equipment import SetupError

    table = dict(pairs)
    for path in table:
        if sum(one == path for one, _ in pairs) > 1:
            raise SetupError(path, "is given twice", "Give it once")
    return table


def _plot(draw: Callable[[], Any], path: str) -> None:
    import logging

    from archerysim.show.style import save_figure

    logging.getLogger("matplotlib").setLevel(logging.ERROR)  # where it keeps its fonts is no matter of the archer's
    with warnings.catch_warnings():
        warnings.showwarning = _in_a_line
        save_figure(draw(), path)


def _in_a_line(message: Warning | str, *_: Any, **__: Any) -> None:
    """Print a warning without the place in the code."""
    print(f"archerysim: {message}", file=sys.stderr)


def run_check(options: Any) -> int:
    """``archerysim check``"""
    from archerysim.show.shots.table import check_table

    setup, before = _setup(options)
    print(check_table(setup, options.mesh, before))
    if options.plot:
        from archerysim import show

        _plot(lambda: show.square(setup), options.plot)
    return 0


def run_brace(options: Any) -> int:
    """``archerysim brace``"""
    from archerysim.errors import ShotError
    from archerysim.shot.before import before_of
    from archerysim.shot.shoot import brace, draw
    from archerysim.shot.statics.fit import fit
    from archerysim.show.shots.table import brace_table

    setup, before = _setup(options, (".toml",))
    fitted = fit(setup, options.mesh)
    braced = brace(fitted.setup, options.mesh)
    try:
        curve = draw(fitted.setup, 2, options.mesh, before=before_of(before, options.mesh, setup))
    except ShotError:
        curve = None
    print(brace_table(fitted, braced, curve))
    if options.out:
        fitted.setup.save(options.out)
    if options.plot:
        from archerysim import show

        _plot(lambda: show.square(fitted.setup), options.plot)
    return 0


def run_draw(options: Any) -> int:
    """``archerysim draw``"""
    from archerysim.shot.shoot import draw
    from archerysim.show.shots.table import draw_table

    setup, before = _setup(options, (".csv",))
    curve = draw(setup, options.points, options.mesh, before=before)
    print(draw_table(curve))
    if options.out:
        from archerysim.show.csv import write_curve

        write_curve(curve, options.out)
    if options.plot:
        from archerysim import show

        _plot(lambda: show.curve(curve), options.plot)
    return 0


def run_shoot(options: Any) -> int:
    """``archerysim shoot``"""
    from archerysim.shot.shoot import shoot
    from archerysim.show.shots.table import launch_table

    wanted = bool(options.plot or options.out)
    setup, before = _setup(options, (".csv",))
    launch = shoot(setup, options.mesh, trace=wanted, before=before)
    print(launch_table(launch))
    if options.out:
        from archerysim.show.csv import write_trace

        write_trace(launch, options.out)
    if options.plot:
        from archerysim import show

        pictures: dict[str, Callable[[Any], Any]] = {"traces": show.traces, "throat": show.throat, "bow": show.bow}
        picture = pictures[options.picture]
        _plot(lambda: picture(launch), options.plot)
    return 0


def run_explain(options: Any) -> int:
    """``archerysim explain``"""
    from archerysim.show.explanation.table import explain_table
    from archerysim.study.explanation.explain import explain

    setup, before = _setup(options)
    found = explain(setup, mesh=options.mesh, before=before)
    print(explain_table(found))
    if options.plot:
        from archerysim import show

        pictures: dict[str, Callable[[], Any]] = {
            "strip": lambda: show.explain(found, left_handed=options.left_handed),
            "parts": lambda: show.contributions(found),
        }
        _plot(pictures[options.picture], options.plot)
    return 0


def run_sweep(options: Any) -> int:
    """``archerysim sweep``"""
    from archerysim.show.shots.table import sweep_table
    from archerysim.study.run.interrupted import Interrupted
    from archerysim.study.sweeps.sweep import sweep
    from archerysim.study.sweeps.table_file import save

    with warnings.catch_warnings():
        warnings.showwarning = _in_a_line
        try:
            setup, before = _setup(options, (".csv", ".nc"))
            data = sweep(
                setup,
                _once(options.over),
                hold=options.hold,
                mesh=options.mesh,
                workers=options.workers,
                store=options.store,
                before=before,
            )
        except Interrupted as left:
            return _interrupted(left, options)
    if options.store:
        print("{points_read} points read, {points_computed} computed".format(**data.attrs), file=sys.stderr)
    if options.out:
        save(data, options.out)
    print(sweep_table(data))
    if options.plot:
        from archerysim import show

        _plot(lambda: show.sweep(data), options.plot)
    return 0


def _interrupted(left: Any, options: Any) -> int:
    """A sweep that was interrupted: what is done is printed and written, and how to go on."""
    from archerysim.show.shots.table import sweep_table
    from archerysim.study.sweeps.table_file import save

    told = [f"interrupted: {left.done} of {left.total} points are shot"]
    print(sweep_table(left.data), flush=True)
    if options.out:
        save(left.data, options.out)
        others = ", and the others as not shot" if left.done < left.total else ""
        told.append(f"{options.out} holds them{others}")
    if options.plot:
        told.append("no picture is drawn")
    if options.store:
        told.append(f"they are kept in {options.store}: the same command goes on from there")
    else:
        told.append("with --store FILE they would be kept, and the same command would go on from there")
    print(f"archerysim: {'; '.join(told)}", file=sys.stderr)
    return 130


def run_fly(options: Any) -> int:
    """``archerysim fly``"""
    from archerysim.shot.flight.bare_shaft import bare_difference
    from archerysim.shot.flight.fly import check_distance, fly
    from archerysim.shot.shoot import shoot
    from archerysim.show.flights.table import flight_table

    check_distance(options.distance)
    setup, before = _setup(options, (".csv",))
    launch = shoot(setup, options.mesh, trace=False, before=before)
    taped = not options.untaped
    flight = fly(launch, distance=options.distance, fletched=not options.bare, taped=taped)
    both = bare_difference(launch, options.distance, taped=taped)
    print(flight_table(launch, flight, both, taped))
    if options.out:
        from archerysim.show.csv import write_flight

        write_flight(flight, options.out)
    if options.plot:
        from archerysim import show

        _plot(lambda: show.flight([both.fletched, both.bare]), options.plot)
    return 0


def run_tune(options: Any) -> int:
    """``archerysim tune``"""
    from archerysim.equipment import SetupError
    from archerysim.equipment.readings import READING
    from archerysim.shot.fitted_bow import FittedBow
    from archerysim.show.tuning.table import tune_table
    from archerysim.study.tuning.tune import today, tune

    if len(options.path) > 1 or len(options.aim) > 1:
        return _tune_two(options)
    path, within = (options.path or [READING])[0], [_range(text) for text in options.within]
    if len(within) > 1:
        raise SetupError("within", "two ranges are given for one setting", "Give one")
    setup, before = _setup(options)
    bow = FittedBow.of(setup, options.mesh, before)
    now = today(bow, path)
    tuned = tune(
        bow, *options.aim, distance=options.distance, path=path, within=within[0] if within else None,
        size=options.size, crawls=tuple(options.crawl), hold=options.hold,
        others=not options.no_others,
    )  # fmt: skip
    print(tune_table(tuned, now, options.distance, tuple(options.crawl)))
    if options.plot:
        from archerysim import show

        _plot(lambda: show.tuned(tuned, now), options.plot)
    return 0


def _tune_two(options: Any) -> int:
    from archerysim.equipment import SetupError
    from archerysim.shot.fitted_bow import FittedBow
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
    setup, before = _setup(options)
    ranges: Any = tuple(_range(text) for text in options.within) or (None, None)
    bow = FittedBow.of(setup, options.mesh, before)
    now = {path: today(bow, path) for path in paths}
    found = tune_two(bow, paths, aims, distance=options.distance, within=ranges, hold=options.hold)
    print(two_table(found, now))
    return 0


def _range(text: str) -> tuple[str, str]:
    """Two values with a colon between."""
    from archerysim.equipment import SetupError

    low, colon, high = (part.strip() for part in text.partition(":"))
    if not colon or not low or not high:
        raise SetupError("within", f"{text!r} is not LOW:HIGH", 'Write for example "4 mm:12 mm"')
    return low, high


def run_read_group(options: Any) -> int:
    """``archerysim read-group``"""
    from archerysim.show.notes.table import diagnosis_table
    from archerysim.study.notes.notes_file import load_notes
    from archerysim.study.notes.read_group import diagnose

    notes = load_notes(options.notes)
    setup, before = _setup(options)
    found = diagnose(setup, notes, mesh=options.mesh, before=before)
    print(diagnosis_table(found), end="")
    if options.plot:
        from archerysim import show

        _plot(lambda: show.diagnosis(found), options.plot)
    return 0


def run_warmup(options: Any) -> int:
    """``archerysim warmup``"""
    from archerysim.shot.warm_up import folder, is_cold, warm_up

    if is_cold():
        print(f"compiling into {folder()} (about a minute)", flush=True)
    warm_up()
    print("ready: the next shot does not wait")
    return 0
