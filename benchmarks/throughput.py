"""Shots a second: alone, by threads, by processes, with a store, by a dask cluster; prints the tables of docs/scale.md.

    python benchmarks/throughput.py              # 400 shots each way, about two minutes
    python benchmarks/throughput.py --points 100

Busy machines blur times. Each way is tried three times and the best is kept, and the column "cores got" shows
how many cores' worth of time the shots really had: where it is well below the number of workers, something else was
running, or the workers waited for one another.
"""

from __future__ import annotations

import argparse
import multiprocessing
import os
import platform
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, ProcessPoolExecutor, ThreadPoolExecutor
from contextlib import contextmanager, nullcontext
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

import archerysim
from archerysim.study import workers
from archerysim.study.held import base_of
from archerysim.study.points import points_of
from archerysim.study.row import row_of, rows_of
from archerysim.study.store import Store
from archerysim.study.stream import rows

SETUP = Path(__file__).parents[1] / "examples" / "club-outdoor.toml"
ROUNDS = 3


@dataclass
class Got:
    """Time of some shots [s]: by the clock, on all cores, on the parent's core alone."""

    shots: int
    wall: float
    cpu: float
    parent: float


def machine() -> str:
    """Processor, cores, Python."""
    name = platform.processor() or platform.machine()
    try:
        lines = Path("/proc/cpuinfo").read_text().splitlines()
        name = next(line.split(":", 1)[1].strip() for line in lines if line.startswith("model name"))
    except (OSError, StopIteration):
        pass
    return f"{name}, {workers.cores()} cores, Python {platform.python_version()}, numpy {np.__version__}"


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
    base = base_of(archerysim.load(SETUP), None, "default")
    places = points_of({"nock.locators.reading": np.linspace(0.004, 0.012, points)}, None, base.built)
    wall, parent, others = time.perf_counter(), time.process_time(), spent(pids)
    with Store(store) if store else nullcontext() as kept:
        for _ in rows(base, places, workers=count, executor=executor, store=kept):
            pass
    own = time.process_time() - parent
    return Got(points, time.perf_counter() - wall, own + spent(pids) - others, own)


def best(run: Callable[[], Got]) -> Got:
    return min((run() for _ in range(ROUNDS)), key=lambda got: got.wall)


@contextmanager
def own_workers(count: int) -> Iterator[tuple[Executor, list[int]]]:
    """Our own processes, started and warm, and their ids."""
    base = base_of(archerysim.load(SETUP), None, "default")
    with workers.WorkerPool(count) as pool:
        for future in [pool.submit(rows_of, base, [{}] * 4) for _ in range(4 * count)]:
            future.result()
        yield pool, [child.pid for child in multiprocessing.active_children() if child.pid]


def ways(points: int, count: int) -> list[tuple[str, int, Got]]:
    """Name, number of workers and time of each way."""
    out = [("this process alone", 1, best(lambda: timed(points, 1, None, [], None)))]
    with ThreadPoolExecutor(count) as threads:
        out.append((f"{count} threads", count, best(lambda: timed(points, count, threads, [], None))))
    with own_workers(count) as (pool, pids), tempfile.TemporaryDirectory() as folder:
        out.append((f"{count} processes", count, best(lambda: timed(points, count, pool, pids, None))))
        fresh = iter(range(ROUNDS))
        stored = best(lambda: timed(points, count, pool, pids, f"{folder}/{next(fresh)}.sqlite"))
        out.append((f"{count} processes and a store", count, stored))
        out.append(("the store read back", 1, best(lambda: timed(points, 1, None, [], f"{folder}/0.sqlite"))))
    try:
        import distributed
    except ImportError:
        return out
    with (
        distributed.LocalCluster(
            n_workers=count, threads_per_worker=1, dashboard_address=None, silence_logs=50
        ) as cluster,
        distributed.Client(cluster) as client,
    ):
        pids = list(client.run(os.getpid).values())
        executor = client.get_executor()
        timed(4 * 8 * count, count, executor, pids, None)  # loads the kernels there
        out.append((f"dask, {count} workers", count, best(lambda: timed(points, count, executor, pids, None))))
    return out


def way_table(points: int, count: int) -> None:
    found = ways(points, count)
    alone = found[0][2]
    print("| way | shots a second | against one process | cores got | core-hours for a million shots |")
    print("| --- | --- | --- | --- | --- |")
    for name, _, got in found:
        rate = got.shots / got.wall
        ratio = alone.wall / got.wall
        hours = 1e6 * got.cpu / got.shots / 3600.0
        print(f"| {name} | {rate:.0f} | {ratio:.2f} | {got.cpu / got.wall:.2f} | {hours:.1f} |")
    parent = next(got.parent for name, _, got in found if name.endswith("a store")) / points
    print(f"\nThe parent spends {1e3 * parent:.2f} ms on a shot of a worker, the store's writing included.")


def point_table(points: int, count: int) -> None:
    """How the time grows with the points, from a cold pool of workers on."""
    print("\n| points | one process [s] | workers, their start included [s] | against one process |")
    print("| --- | --- | --- | --- |")
    for size in (points // 8, points // 4, points // 2, points):
        alone = best(lambda size=size: timed(size, 1, None, [], None)).wall  # type: ignore[misc]
        spread = best(lambda size=size: timed(size, count, None, [], None)).wall  # type: ignore[misc]
        print(f"| {size} | {alone:.2f} | {spread:.2f} | {alone / spread:.2f} |")


def start_table(count: int) -> None:
    """How long workers take from nothing to their first shot, by the way they are started."""
    base = base_of(archerysim.load(SETUP), None, "default")
    row_of(base, {})

    def started(make: Callable[[], Executor]) -> float:
        begin = time.perf_counter()
        with make() as pool:
            for future in [pool.submit(rows_of, base, [{}]) for _ in range(count)]:
                future.result()
            return time.perf_counter() - begin

    def way(name: str) -> Callable[[], Executor]:
        context: Any = multiprocessing.get_context(name)
        return lambda: ProcessPoolExecutor(count, mp_context=context)

    print(f"\n| {count} workers started by | to their first shot [s] |")
    print("| --- | --- |")
    print(f"| spawn | {min(started(way('spawn')) for _ in range(ROUNDS)):.2f} |")
    print(f"| fork | {min(started(way('fork')) for _ in range(ROUNDS)):.2f} |")
    first = started(lambda: workers.WorkerPool(count))
    again = min(started(lambda: workers.WorkerPool(count)) for _ in range(ROUNDS))
    print(f"| a server with the kernels loaded (ours), the first time | {first:.2f} |")
    print(f"| ours, each later sweep of the same session | {again:.2f} |")


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
