"""The command line as a whole: its commands, what is refused, how it ends."""

from __future__ import annotations

import argparse
import atexit
import gc
import os
import signal
import sys
from collections.abc import Sequence
from functools import cache
from typing import NoReturn

from archerysim.cli import warm_up
from archerysim.cli.bench import (
    after_shot,
    bench_map,
    change,
    even_tiller,
    let_down,
    limb_design,
    tillering_tree,
    timed_tiller,
)
from archerysim.cli.many_shots import own_data, sensitivity, sweep, uncertainty
from archerysim.cli.one_shot import animate, brace, check, draw, explain, flight_path, fly, shoot, strain, target
from archerysim.cli.streams import heard, tell
from archerysim.cli.tuning import (
    bare_shaft,
    compare,
    flights,
    group,
    journal,
    lesson,
    measures,
    new,
    read_group,
    sheet,
    sideways,
    tune,
)
from archerysim.version import VERSION

# in the order of the help
COMMANDS = (
    new, measures, check, brace, draw, strain, shoot, explain, animate, sweep, fly, flights, flight_path, target,
    bare_shaft, tune, sideways, group, sensitivity, uncertainty, read_group, journal, own_data, lesson, compare,
    change, even_tiller, limb_design, tillering_tree, timed_tiller, bench_map, let_down, after_shot, sheet, warm_up,
)  # fmt: skip
DESCRIPTION = """\
How a bow throws an arrow. A setup file holds what can be measured on a bow, its string, an arrow and the
archer; out come brace, draw, and the arrow's pitch, pitch rate and vertical velocity as it leaves the string."""

EPILOG = """\
examples:
  archerysim check bow.toml
  archerysim shoot bow.toml --set "nock.locators.reading=9 mm" --plot shot.png
  archerysim sweep bow.toml --over "nock.locators.reading=4 mm:12 mm:0.5 mm" --out sweep.csv --plot sweep.png
  archerysim tune bow.toml --distance "18 m"
  archerysim fly bow.toml --distance "30 m" --bare --out flight.csv
  archerysim bare-shaft bow.toml --distance "18 m" --known-to "rest.height=0.2 mm" --plot band.png

Values carry units: 8 mm, 5/8 in, 34 lb, 300 gr. Results are for learning and planning; a real bow has its
maker's limits, a range has its rules, and a qualified instructor knows more than a model."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit status (0 fine, 2 bad input or no place to print, 130 interrupted)."""
    return heard(lambda: _run(arguments))


def _run(arguments: Sequence[str] | None) -> int:
    options = parser().parse_args(arguments)
    _spare_the_collector()
    from archerysim.cli.messages import log_shown

    try:
        _refuse_one_file(options)
        with log_shown():
            return int(options.run(options))
    except KeyboardInterrupt:
        if arguments is None:  # the process ends with this: another Ctrl-C does not wait for it
            signal.signal(signal.SIGINT, lambda *_: os._exit(130))
        store = getattr(options, "store", None)
        tell(
            f"interrupted; what is done is kept in {store}: the same command goes on from there"
            if store
            else "interrupted"
        )
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

    names = ("setup", "notes", "draw_force", "speeds", "track", "store", "out", "plot", "bow", "sections")
    files = {name: getattr(options, name, None) for name in names}
    for k, path in enumerate(getattr(options, "before", ())):
        files["from" if not k else f"from, {k + 1}"] = path
    refuse_one_file(files)


def _spare_the_collector() -> None:
    """Look less often for unused objects, and no more at the end: what is loaded, half a million of them, stays."""
    gc.set_threshold(20_000, 20, 50)
    atexit.unregister(gc.freeze)  # once, however often a process runs a command
    atexit.register(gc.freeze)


@cache  # it takes longer than many a command
def parser() -> argparse.ArgumentParser:
    """The whole command line."""
    top = _Parser(
        prog="archerysim", description=DESCRIPTION, epilog=EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )  # fmt: skip
    top.add_argument("--version", action="version", version=f"archerysim {VERSION}")
    commands = top.add_subparsers(metavar="COMMAND", required=True)
    for command in COMMANDS:
        command.add(commands)
    return top


class _Parser(argparse.ArgumentParser):
    """Says what is wrong in one line."""

    def error(self, message: str) -> NoReturn:
        self.exit(2, f"{self.prog}: {' '.join(message.split())}; see {self.prog} --help\n")


if __name__ == "__main__":
    sys.exit(main())
