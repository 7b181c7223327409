"""The command line, waiting at a place for an interrupt.

python interrupted_command.py PLACE COMMAND ...

"points": after 8 points; "first point", "worker": within a point, here or in a worker; "tables": while packages
are imported that cannot be imported by halves; "writing": as "points", and again while the file is written. There it
says so on a line of the second stream, and waits.
"""

from __future__ import annotations

import os
import signal
import sys
import time
from importlib.abc import MetaPathFinder
from typing import Any, NoReturn

from archerysim.cli.main import main


def wait(*_: Any, **__: Any) -> NoReturn:
    print("waiting", file=sys.stderr, flush=True)
    while True:
        time.sleep(3600.0)


class UntilInterrupted(MetaPathFinder):
    """Waits where pandas begins to be imported, and lets the import go on once an interrupt has come."""

    def find_spec(self, name: str, *_: Any) -> None:
        if name == "pandas._libs.tslibs":
            reader, writer = os.pipe()
            os.set_blocking(writer, False)
            before = signal.set_wakeup_fd(writer)
            print("waiting", file=sys.stderr, flush=True)
            os.read(reader, 1)
            signal.set_wakeup_fd(before)


def prepare(place: str) -> None:
    from archerysim.study.run import run as stream
    from archerysim.study.sweeps import table_file as table

    watched = stream.watched

    def count(done: int, total: int) -> None:
        if done == 8:
            wait()

    if place in ("points", "writing"):
        stream.watched = lambda items, total, progress: watched(items, total, count)
    if place == "writing":
        table.write_bytes = wait
    if place == "tables":
        sys.meta_path.insert(0, UntilInterrupted())
    if place == "first point":
        stream.row_of = wait
    if place == "worker":
        stream.rows_of = wait


if __name__ == "__main__":
    prepare(sys.argv.pop(1))
    sys.exit(main())
