"""Rows of many points, streamed as they end: those in the store first, then the others, computed."""

from __future__ import annotations

import os
import warnings
from collections.abc import Callable, Generator, Iterator, Sequence
from concurrent.futures import BrokenExecutor, Executor, Future
from contextlib import closing
from dataclasses import dataclass
from itertools import islice
from queue import SimpleQueue

import numpy as np

from archerysim.equipment import SetupError
from archerysim.shot.fitted_bow import FittedBow
from archerysim.study.run.how_to_run import SIMPLY, HowToRun
from archerysim.study.run.points import Points
from archerysim.study.run.progress import watched
from archerysim.study.run.row import Change, Question, Row, row_of, rows_of
from archerysim.study.run.store import Store, key_maker, opened
from archerysim.study.run.workers import WorkerPool, how_many

BATCH = 8  # shots' worth of points a worker takes at a time
AHEAD = 4  # batches handed out for each worker, so that none waits for the next
UNKNOWN = 256  # workers assumed behind an executor when their number is not given
TRIES = 3  # of a batch whose worker failed
AT_ONCE = 500  # points looked up in the store at a time

DAMAGED = "{} holds damaged rows ({}); they are computed again"

Found = tuple[int, Row]
Key = Callable[[Change], str]


def run(
    bow: FittedBow, points: Points | Sequence[Change], question: Question, how: HowToRun = SIMPLY,
    meanwhile: Callable[[], None] | None = None,
) -> Generator[Found, None, None]:  # fmt: skip
    """Index and row of every point, as they end: of everything that is shot many times.

    Nothing that is kept here grows with the number of points but one byte each.

    Parameters
    ----------
    points : Points or sequence of changes
        What the question is handed beside the bow.
    question : Question
        From the bow and a change to a row; asked where the shot is.
    how : HowToRun
        Its store is read first; each point is written into it as it ends.
    meanwhile : callable, optional
        Called once others have been given their first points, while they compute.
    """
    with opened(how.store) as store, closing(_rows(bow, points, question, how, store, meanwhile)) as flow:
        yield from watched(flow, len(points), how.progress)


def run_in_order(
    bow: FittedBow, points: Points | Sequence[Change], question: Question, how: HowToRun = SIMPLY
) -> list[Row]:
    """Rows of all points in their order, as of `run`."""
    found: list[Row] = [{}] * len(points)
    with closing(run(bow, points, question, how)) as flow:
        for index, row in flow:
            found[index] = row
    return found


def _rows(
    bow: FittedBow, points: Points | Sequence[Change], question: Question, how: HowToRun, store: Store | None,
    meanwhile: Callable[[], None] | None,
) -> Generator[Found, None, None]:  # fmt: skip
    missing = np.ones(len(points), dtype=bool)
    if store is None:
        for bunch in _computed(bow, points, question, missing, how, meanwhile):
            yield from bunch
        return
    key = key_maker(bow, question)
    for index, row in stored(store, points, key):
        missing[index] = False
        yield index, row
    if store.damaged:
        warnings.warn(DAMAGED.format(os.fspath(store.path), len(store.damaged)), stacklevel=2)
    for bunch in _computed(bow, points, question, missing, how, meanwhile):
        store.write([(key(points[index]), row) for index, row in bunch])
        yield from bunch


def stored(store: Store, points: Points | Sequence[Change], key: Key, of_version: str = "") -> Iterator[Found]:
    """Index and row of every point that a store holds, of this version or of another."""
    for start in range(0, len(points), AT_ONCE):
        keys = {i: key(points[i]) for i in range(start, min(start + AT_ONCE, len(points)))}
        found = store.read(list(keys.values()), of_version)
        for index in keys:
            if keys[index] in found:
                yield index, found[keys[index]]


def _computed(
    bow: FittedBow, points: Points | Sequence[Change], question: Question, missing: np.ndarray, how: HowToRun,
    meanwhile: Callable[[], None] | None,
) -> Iterator[list[Found]]:  # fmt: skip
    """The missing points' indices and rows, some at a time."""
    count = int(missing.sum())
    wanted = (index for index in range(len(points)) if missing[index])
    workers = how_many(how.workers, len(points) * question.shots, how.executor)
    most = max(1, BATCH // question.shots)

    def hand_out(executor: Executor, batch: list[int], attempt: int) -> Future[list[Row]]:
        return executor.submit(rows_of, question, bow, [points[index] for index in batch], attempt)

    if how.executor is not None:
        yield from _spread(hand_out, wanted, most, how.executor, AHEAD * (workers or UNKNOWN), meanwhile)
        return
    workers = min(workers or 1, count)
    if workers <= 1:
        for index in wanted:
            yield [(index, row_of(question, bow, points[index]))]
        return
    with WorkerPool(workers) as pool:
        for index in islice(wanted, 1):  # compiles here, so that the workers find the kernels on disk
            yield [(index, row_of(question, bow, points[index]))]
        size = max(1, min(most, count // (AHEAD * workers)))
        yield from _spread(hand_out, wanted, size, pool, AHEAD * workers, meanwhile)


@dataclass(frozen=True)
class _Batch:
    """Points handed out together, and how many times."""

    indices: list[int]
    attempt: int = 1


def _spread(
    submit: Callable[[Executor, list[int], int], Future[list[Row]]], wanted: Iterator[int], size: int,
    executor: Executor, ahead: int, meanwhile: Callable[[], None] | None,
) -> Iterator[list[Found]]:  # fmt: skip
    """Hands out batches, at most ``ahead`` at a time, and takes them in as they end.

    A point's own errors are rows. Whatever else goes wrong is the worker's: its batch is handed out again.
    """
    ended: SimpleQueue[Future[list[Row]]] = SimpleQueue()
    running: dict[Future[list[Row]], _Batch] = {}

    def hand_out(batch: _Batch) -> None:
        future = submit(executor, batch.indices, batch.attempt)
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
        f"a worker stopped before its points were done, {TRIES} times (killed, or short of memory)",
        "Use fewer workers, and a store, which keeps the points that are done",
    )
