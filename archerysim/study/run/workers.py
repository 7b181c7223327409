"""Processes of our own that compute points.

Processes, not threads: two of them come to 1.9 of one, two threads to 1.6, for the Python in a shot is done
by one thread at a time (docs/scale.md).

How they are started, by measurement (benchmarks/throughput.py): forking this process is quickest (0.06 s to
the first shot; spawning takes 1.8 s), as its copies have the kernels loaded. But a fork copies locks that
other threads may hold at that moment, so it is done on Linux only and only while there is one thread. Else
(a notebook, a window) the workers are forked from a server process that has loaded the kernels once and
stays for later sweeps; where there is none, each is started from nothing.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import sys
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import BrokenExecutor, Executor, Future, ProcessPoolExecutor
from contextlib import contextmanager
from types import TracebackType
from typing import Any, TypeVar

from archerysim.fields.given import whole_number
from archerysim.kernel_cache.interrupts import uninterrupted

T = TypeVar("T")
WORTH = {"fork": 40, "forkserver": 160, "spawn": 400}  # points from which starting workers pays, by way of starting


def cores() -> int:
    """Cores that this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def way_to_start() -> str:
    """How `multiprocessing` shall start workers: "fork", "forkserver" or "spawn"."""
    threads = len(sys._current_frames())  # those too that the threading module does not know
    if sys.platform == "linux" and threads == 1:
        return "fork"
    return "forkserver" if "forkserver" in multiprocessing.get_all_start_methods() else "spawn"


def how_many(wanted: int | None, points: int, executor: Executor | None = None) -> int | None:
    """Workers for so many points: as wanted, else all cores where that pays; None: an executor's, not known.

    Raises
    ------
    SetupError
    """
    if wanted is not None:
        return whole_number("workers", wanted, "a number of processes", 1)
    if executor is not None:
        return None
    return cores() if points >= WORTH[way_to_start()] else 1


class WorkerPool(Executor):
    """Processes that are started again when one of them is killed.

    Parameters
    ----------
    count : int
        Processes.
    """

    def __init__(self, count: int) -> None:
        self._count = count
        self._pool = self._new()

    def _new(self) -> ProcessPoolExecutor:
        way = way_to_start()
        if way != "fork":
            from multiprocessing import resource_tracker

            resource_tracker.ensure_running()  # lets interrupts through again when it has started
        context: Any = multiprocessing.get_context(way)
        with _starting():
            if way == "forkserver":
                from multiprocessing import forkserver

                context.set_forkserver_preload(["archerysim.study.run.preload"])
                forkserver.ensure_running()  # loads while this process computes the first point
            return ProcessPoolExecutor(self._count, mp_context=context, initializer=_begin)

    def submit(self, fn: Callable[..., T], /, *args: Any, **kwargs: Any) -> Future[T]:
        with _starting():
            try:
                return self._pool.submit(fn, *args, **kwargs)
            except BrokenExecutor:
                self._pool.shutdown()
                self._pool = self._new()
                return self._pool.submit(fn, *args, **kwargs)

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = True) -> None:
        self._pool.shutdown(wait, cancel_futures=cancel_futures)

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if kind is None:
            self.shutdown()
        else:
            self.end()

    def end(self) -> None:
        """End the workers where they are: nobody waits for their answers, and they hold nothing else."""
        with uninterrupted():
            running = list((getattr(self._pool, "_processes", None) or {}).values())
            for worker in running:
                worker.kill()
            for worker in running:
                worker.join()
            self._pool.shutdown(wait=False)


def _begin() -> None:
    """In a worker: leave an interrupt to the parent, and end when the parent has been killed."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


@contextmanager
def _starting() -> Iterator[None]:
    """While a worker may be started: it never gets an interrupt, not even before it can refuse it."""
    with uninterrupted(), _script_hidden():
        if not hasattr(signal, "pthread_sigmask"):
            yield
            return
        before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})  # a process inherits it
        try:
            yield
        finally:
            signal.pthread_sigmask(signal.SIG_SETMASK, before)


@contextmanager
def _script_hidden() -> Iterator[None]:
    """While a worker starts: it needs nothing of the caller's script and shall not run it a second time."""
    script = vars(sys.modules["__main__"])
    kept: dict[str, Any] = {name: script[name] for name in ("__file__", "__spec__") if name in script}
    script.update(dict.fromkeys(kept))
    try:
        yield
    finally:
        script.update(kept)
