"""How many shots are run: on which workers, what is kept, what is told meanwhile."""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import Executor
from dataclasses import dataclass

from archerysim.study.run.store import Store, file_name
from archerysim.study.run.workers import how_many

Progress = bool | Callable[[int, int], None] | None


@dataclass(frozen=True)
class HowToRun:
    """Workers, store and progress, as every study that shoots many times takes them; no number depends on them.

    Attributes
    ----------
    workers : int or None
        Processes; 1: this one alone; None: all cores where that pays. With an ``executor``, how many it has.
    executor : concurrent.futures.Executor or None
        Runs the points instead.
    store : path, Store or None
        Where points are kept as they end. A path is opened for the run; a store that is open is left so.
    progress : bool, callable or None
        None: a bar on a terminal after two seconds. A callable gets (done, all).

    Raises
    ------
    SetupError, StoreError
        Where the workers are no number of processes, or the store's name is no file's.
    """

    workers: int | None = None
    executor: Executor | None = None
    store: str | os.PathLike[str] | Store | None = None
    progress: Progress = None

    def __post_init__(self) -> None:
        how_many(self.workers, 1)
        if self.store is not None and not isinstance(self.store, Store):
            file_name(self.store)


SIMPLY = HowToRun()
