"""A progress bar for what takes longer than about two seconds, on a terminal only."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Iterator
from typing import TypeVar

T = TypeVar("T")
PATIENCE = 2.0  # [s]


def watched(items: Iterable[T], total: int, progress: bool | Callable[[int, int], None] | None) -> Iterator[T]:
    """The items, with what has been asked for as progress.

    Parameters
    ----------
    progress : bool, callable or None
        False: nothing. True: a bar. None: a bar on a terminal after two seconds. A callable gets
        (done, total) after each item.
    """
    if callable(progress):
        for done, item in enumerate(items, 1):
            progress(done, total)
            yield item
        return
    if progress is False or (progress is None and not sys.stderr.isatty()):
        yield from items
        return
    from tqdm import tqdm

    class Bar(tqdm):  # type: ignore[type-arg, misc, unused-ignore]
        monitor_interval = 0  # no thread of its own, which would stand in the way of forking workers

    yield from Bar(items, total=total, unit="shot", delay=0.0 if progress else PATIENCE, leave=False)
