"""Rows of a sweep, streamed as they end: those in the store first, then the others, computed."""

from __future__ import annotations

import os
import warnings
from collections.abc import Callable, Generator, Iterator, Mapping
from concurrent.futures import BrokenExecutor, Executor, Future
from dataclasses import dataclass
from itertools import islice
from queue import SimpleQueue
from typing import Any

import numpy as np

from archerysim.equipment import SetupError
from archerysim.shot.fitted_bow import FittedBow
from archerysim.study.run.points import Points
from archerysim.study.run.row import More, Row, row_of, rows_of
from archerysim.study.run.store import Store, key_maker
from archerysim.study.run.workers import WorkerPool

BATCH = 8  # points a worker takes at a time
AHEAD = 4  # batches handed out for each worker, so that none waits for the next
UNKNOWN = 256  # workers assumed behind an executor when their number is not given
TRIES = 3  # of a batch whose worker failed
AT_ONCE = 500  # points looked up in the store at a time

DAMAGED = "{} holds damaged rows ({}); they are computed again"

Found = tuple[int, Row]
Key = Callable[[Mapping[str, Any]], str]


def rows(
    bow: FittedBow, points: Points, *more: More, workers: int | None, executor: Executor | None = None,
    store: Store | None = None, meanwhile: Callable[[], None] | None = None,
) -> Generator[Found, None, None]:  # fmt: skip
    """Index and row of every point, as they end.

    Nothing that is kept here grows with the number of points but one byte each.

    Parameters
    ----------
    *more : callable
        From a launch to further entries of its row, computed where the shot is; to be pickled. Without a store,
        which holds shots alone.
    workers : int or None
        Processes; 1: this one alone. With ``executor``, how many workers it has, None: not known.
    executor : concurrent.futures.Executor, optional
        Runs the points instead.
    store : Store, optional
        Read first; each point is written into it as it ends.
    meanwhile : callable, optional
        Called once others have been given their first points, while they compute.
    """
    missing = np.ones(points.size, dtype=bool)
    key = key_maker(bow, points.hold)
    if store is not None:
        for index, row in stored(store, points, key):
            missing[index] = False
            yield index, row
        if store.damaged:
            warnings.warn(DAMAGED.format(os.fspath(store.path), len(store.damaged)), stacklevel=2)
    for bunch in _computed(bow, points, more, missing, workers, executor, meanwhile):
        if store is not None:
            store.write([(key(points.change(index)), row) for index, row in bunch])
        yield from bunch


def stored(store: Store, points: Points, key: Key, of_version: str = "") -> Iterator[Found]:
    """Index and row of every point that a store holds, of this version or of another."""
    for start in range(0, points.size, AT_ONCE):
        keys = {i: key(points.change(i)) for i in range(start, min(start + AT_ONCE, points.size))}
        found = store.read(list(keys.values()), of_version)
        for index in keys:
            if keys[index] in found:
                yield index, found[keys[index]]


def _computed(
    bow: FittedBow, points: Points, more: tuple[More, ...], missing: np.ndarray, workers: int | None,
    executor: Executor | None, meanwhile: Callable[[], None] | None,
) -> Iterator[list[Found]]:  # fmt: skip
    """The missing points' indices and rows, some at a time."""
    count = int(missing.sum())
    wanted = (index for index in range(points.size) if missing[index])
    if executor is not None:
        yield from _spread(bow, points, more, wanted, BATCH, executor, AHEAD * (workers or UNKNOWN), meanwhile)
        return
    workers = min(workers or 1, count)
    if workers <= 1:
        for index in wanted:
            yield [(index, row_of(bow, points.change(index), points.hold, *more))]
        return
    with WorkerPool(workers) as pool:
        for index in islice(wanted, 1):  # compiles here, so that the workers find the kernels on disk
            yield [(index, row_of(bow, points.change(index), points.hold, *more))]
        size = max(1, min(BATCH, count // (AHEAD * workers)))
        yield from _spread(bow, points, more, wanted, size, pool, AHEAD * workers, meanwhile)


@dataclass(frozen=True)
class _Batch:
    """Points handed out together, and how many times."""

    indices: list[int]
    attempt: int = 1


def _spread(
    bow: FittedBow, points: Points, more: tuple[More, ...], wanted: Iterator[int], size: int, executor: Executor,
    ahead: int, meanwhile: Callable[[], None] | None,
) -> Iterator[list[Found]]:  # fmt: skip
    """Hands out batches, at most ``ahead`` at a time, and takes them in as they end.

    A point's own errors are rows. Whatever else goes wrong is the worker's: its batch is handed out again.
    """
    ended: SimpleQueue[Future[list[Row]]] = SimpleQueue()
    running: dict[Future[list[Row]], _Batch] = {}

    def hand_out(batch: _Batch) -> None:
        changes = [points.change(index) for index in batch.indices]
        future = executor.submit(rows_of, bow, changes, points.hold, batch.attempt, *more)
        running[future] = batch
        future.add_done_callback(ended.put)

    def hand_out_next() -> None:
        indices = list(islice(wanted, size))
        if indices:
            hand_out(_Batch(indices))

    try:
        for _ in range(ahead):
            hand_out_next()
        if meanwhile is not None:
            meanwhile()
        while running:
            future = ended.get()
            batch = running.pop(future)
            try:
                got = future.result()
            except Exception as error:
                if batch.attempt == TRIES:
                    raise _lost(error) from error
                hand_out(_Batch(batch.indices, batch.attempt + 1))
                continue
            hand_out_next()
            yield list(zip(batch.indices, got, strict=True))
    finally:
        if not isinstance(executor, WorkerPool):  # which ends with its workers
            for future in running:
                future.cancel()


def _lost(error: Exception) -> Exception:
    if not isinstance(error, BrokenExecutor):
        return error
    return SetupError(
        "workers",
        f"a worker ended before its points were done, {TRIES} times (killed, or short of memory)",
        "Use fewer workers, and a store, which keeps the points that are done",
    )
