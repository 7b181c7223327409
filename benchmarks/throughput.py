"""Shots a second: alone, by threads, by processes, with a store, by a dask cluster; prints the tables of docs/scale.md.

    python benchmarks/throughput.py              # 400 shots each way, some minutes
    python benchmarks/throughput.py --points 100

Busy machines blur times. Each way is tried three times and the best is kept, and the column "cores got" shows
how many cores' worth of time the shots really had: where it is well below the number of workers, something else was
running, or the workers waited for one another.
"""

from __future__ import annotations

import argparse
import multiprocessing
import os
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, ProcessPoolExecutor, ThreadPoolExecutor
from contextlib import ExitStack, contextmanager, nullcontext
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from machine import machine

import archerysim
from archerysim.shot.fitted_bow import FittedBow
from archerysim.study.run import workers
from archerysim.study.run.how_to_run import HowToRun
from archerysim.study.run.points import points_of
from archerysim.study.run.row import LaunchNumbers, row_of, rows_of
from archerysim.study.run.run import run
from archerysim.study.run.store import Store

SETUP = Path(__file__).parents[1] / "examples" / "club-outdoor.toml"
ROUNDS = 3
STORED = "{} processes and a store"


@dataclass
class Got:
    """Time of some shots [s]: by the clock, on all cores, on the parent's core alone."""

    shots: int
    wall: float
    cpu: float
    parent: float


def spent(pids: list[int]) -> float:
    """Time that processes have spent on cores [s]; 0 where the system does not tell."""
    total = 0
    for pid in pids:
        try:
            fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
        except OSError:
            continue
        total += int(fields[11]) + int(fields[12])
    return total / os.sysconf("SC_CLK_TCK") if total else 0.0


def timed(points: int, count: int, executor: Executor | None, pids: list[int], store: str | None) -> Got:
    """A sweep's rows, from the first to the last."""
    base = FittedBow.of(archerysim.load(SETUP), "default")
    places = points_of({"nock.locators.reading": (np.linspace(4.0, 12.0, points), "mm")}, None, base)
    wall, parent, others = time.perf_counter(), time.process_time(), spent(pids)
    with Store(store) if store else nullcontext() as kept:
        for _ in run(base, places, LaunchNumbers(), HowToRun(count, executor, kept, False)):
            pass
    own = time.process_time() - parent
    return Got(points, time.perf_counter() - wall, own + spent(pids) - others, own)


@contextmanager
def own_workers(count: int) -> Iterator[tuple[Executor, list[int]]]:
    """Our own processes, started and warm, and their ids."""
    base = FittedBow.of(archerysim.load(SETUP), "default")
    with workers.WorkerPool(count) as pool:
        for future in [pool.submit(rows_of, LaunchNumbers(), base, [{}] * 4) for _ in range(4 * count)]:
            future.result()
        yield pool, [child.pid for child in multiprocessing.active_children() if child.pid]


def best(ways: dict[str, Callable[[], Got]]) -> dict[str, Got]:
    """The quickest of some rounds of each way; the ways take turns, so that a busy minute hits all alike."""
    rounds = [{name: shoot() for name, shoot in ways.items()} for _ in range(ROUNDS)]
    return {name: min((one[name] for one in rounds), key=lambda got: got.wall) for name in ways}


def way_table(points: int, count: int) -> None:
    with ExitStack() as stack:
        folder = stack.enter_context(tempfile.TemporaryDirectory())
        names = iter(range(1000))
        pool, pids = stack.enter_context(own_workers(count))
        threads = stack.enter_context(ThreadPoolExecutor(count))
        ways: dict[str, Callable[[], Got]] = {
            "this process alone": lambda: timed(points, 1, None, [], None),
            f"{count} threads": lambda: timed(points, count, threads, [], None),
            f"{count} processes": lambda: timed(points, count, pool, pids, None),
            STORED.format(count): lambda: timed(points, count, pool, pids, f"{folder}/{next(names)}.sqlite"),
            "the store read back": lambda: timed(points, 1, None, [], f"{folder}/0.sqlite"),
        }
        found = best(ways)
    with ExitStack() as stack:  # afterwards: its own threads and processes are never quite idle
        cluster = dask_cluster(stack, count)
        if cluster:
            executor, there = cluster
            timed(4 * 8 * count, count, executor, there, None)  # loads the kernels there
            found |= best({f"dask, {count} workers": lambda: timed(points, count, executor, there, None)})
    alone = found["this process alone"]
    print("| way | shots a second | against one process | cores got | core-hours for a million shots |")
    print("| --- | --- | --- | --- | --- |")
    for name, got in found.items():
        rate, ratio, hours = got.shots / got.wall, alone.wall / got.wall, 1e6 * got.cpu / got.shots / 3600.0
        print(f"| {name} | {rate:.0f} | {ratio:.2f} | {got.cpu / got.wall:.2f} | {hours:.2f} |")
    parent = found[STORED.format(count)].parent / points
    print(f"\nThe parent spends {1e3 * parent:.2f} ms on a shot of a worker, the store's writing included.")


def dask_cluster(stack: ExitStack, count: int) -> tuple[Executor, list[int]] | None:
    """An executor of dask workers on this machine and their process ids; None where dask is not installed."""
    try:
        import distributed
    except ImportError:
        return None
    cluster = distributed.LocalCluster(  # type: ignore[no-untyped-call]
        n_workers=count, threads_per_worker=1, dashboard_address=None, silence_logs=50
    )
    client = stack.enter_context(distributed.Client(stack.enter_context(cluster)))  # type: ignore[no-untyped-call]
    return client.get_executor(), list(client.run(os.getpid).values())


def point_table(points: int, count: int) -> None:
    """How the time grows with the points, the start of the workers included."""
    print("\n| points | one process [s] | workers, their start included [s] | against one process |")
    print("| --- | --- | --- | --- |")
    for size in (points // 8, points // 4, points // 2, points):
        got = best(
            {
                "alone": lambda size=size: timed(size, 1, None, [], None),  # type: ignore[misc]
                "spread": lambda size=size: timed(size, count, None, [], None),  # type: ignore[misc]
            }
        )
        alone, spread = got["alone"].wall, got["spread"].wall
        print(f"| {size} | {alone:.2f} | {spread:.2f} | {alone / spread:.2f} |")


def start_table(count: int) -> None:
    """How long workers take from nothing to their first shot, by the way they are started."""
    base = FittedBow.of(archerysim.load(SETUP), "default")
    row_of(LaunchNumbers(), base, {})

    def started(make: Callable[[], Executor]) -> float:
        begin = time.perf_counter()
        with make() as pool:
            for future in [pool.submit(rows_of, LaunchNumbers(), base, [{}]) for _ in range(count)]:
                future.result()
            return time.perf_counter() - begin

    def way(name: str) -> Callable[[], Executor]:
        context: Any = multiprocessing.get_context(name)
        return lambda: ProcessPoolExecutor(count, mp_context=context)

    print(f"\n| {count} workers started by | to their first shot [s] |")
    print("| --- | --- |")
    print(f"| spawn | {min(started(way('spawn')) for _ in range(ROUNDS)):.2f} |")
    print(f"| fork | {min(started(way('fork')) for _ in range(ROUNDS)):.2f} |")
    safe, workers.way_to_start = workers.way_to_start, lambda: "forkserver"
    first = started(lambda: workers.WorkerPool(count))
    again = min(started(lambda: workers.WorkerPool(count)) for _ in range(ROUNDS))
    workers.way_to_start = safe
    print(f"| a server that has the kernels loaded, the first time | {first:.2f} |")
    print(f"| the same, for each later sweep | {again:.2f} |\n")


def main() -> int:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--points", type=int, default=400, help="shots each way (default 400)")
    options.add_argument("--workers", type=int, default=workers.cores(), help="workers (default: all cores)")
    given = options.parse_args()
    print(f"{machine()}; default mesh, {given.points} shots each way, best of {ROUNDS}\n")
    if "fork" in multiprocessing.get_all_start_methods():
        start_table(given.workers)
    way_table(given.points, given.workers)
    point_table(given.points, given.workers)
    return 0


if __name__ == "__main__":
    sys.exit(main())
