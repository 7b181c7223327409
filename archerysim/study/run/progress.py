"""What is told of a wait: a bar on a terminal after two seconds; elsewhere, of a long one, how long it will be.

The latter by `logging`, under the name "archerysim" at level INFO, with an attribute ``wait``: how many there are, and
the seconds that are left.
"""

from __future__ import annotations

import logging
import sys
import time
from collections.abc import Callable, Iterable, Iterator
from typing import TypeVar

T = TypeVar("T")
PATIENCE = 2.0  # [s]
LONG = 8.0  # [s] still to wait: less is not told where there is no bar

log = logging.getLogger("archerysim")


def watched(items: Iterable[T], total: int, progress: bool | Callable[[int, int], None] | None) -> Iterator[T]:
    """The items, with what has been asked for as progress.

    Parameters
    ----------
    progress : bool, callable or None
        False: nothing. True: a bar. None: a bar on a terminal after two seconds, elsewhere a line once, of a long
        wait. A callable gets (done, total) after each item.
    """
    if callable(progress):
        for done, item in enumerate(items, 1):
            progress(done, total)
            yield item
        return
    if progress is False:
        yield from items
        return
    if progress is None and not sys.stderr.isatty():
        yield from _told(items, total)
        return
    from tqdm import tqdm

    class Bar(tqdm):  # type: ignore[type-arg, misc, unused-ignore]
        monitor_interval = 0  # no thread of its own, which would stand in the way of forking workers

    yield from Bar(items, total=total, unit="shot", delay=0.0 if progress else PATIENCE, leave=False)


def _told(items: Iterable[T], total: int) -> Iterator[T]:
    """The items; once there is something to go by, a line of how long it will take, if that is long."""
    begin, told = time.monotonic(), False
    for done, item in enumerate(items, 1):
        took = time.monotonic() - begin
        if not told and (took > 0.5 * PATIENCE or done > 2):
            left = took / done * (total - done)
            told = left <= LONG and took > PATIENCE
            if left > LONG:
                log.info("%d bows or settings to be shot: %s", total, how_long(left), extra={"wait": (total, left)})
                told = True
        yield item


def how_long(seconds: float) -> str:
    """A wait in words."""
    if seconds < 20.0:
        return "some ten seconds"
    if seconds < 45.0:
        return "about half a minute"
    minutes = round(seconds / 60.0)
    return "about a minute" if minutes <= 1 else f"about {minutes} minutes"
