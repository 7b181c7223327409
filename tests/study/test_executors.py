"""The same rows from any workers, in any order, and from workers that fail."""

from __future__ import annotations

import _thread
import multiprocessing
import os
import random
import signal
import threading
import time
from collections.abc import Callable
from concurrent.futures import Executor, Future, ProcessPoolExecutor, ThreadPoolExecutor
from typing import Any

import pytest
import xarray

from archerysim.equipment import SetupError
from archerysim.study.run import run as stream
from archerysim.study.run import workers
from tests.support.study import small_sweep
from tests.support.study.shared_sweeps import undated


class Later(Executor):
    """Keeps calls back and runs them in a shuffled order, in this thread, ``keep`` at a time."""

    def __init__(self, seed: int, keep: int) -> None:
        self.draw, self.keep = random.Random(seed), keep
        self.waiting: list[tuple[Future[Any], Callable[..., Any], tuple[Any, ...]]] = []
        self.calls = 0

    def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Future[Any]:
        self.calls += 1
        future: Future[Any] = Future()
        self.waiting.append((future, fn, args))
        if len(self.waiting) >= self.keep:
            self.draw.shuffle(self.waiting)
            while self.waiting:
                self.run(*self.waiting.pop())
        return future

    def run(self, future: Future[Any], fn: Callable[..., Any], args: tuple[Any, ...]) -> None:
        future.set_result(fn(*args))


class Failing(Later):
    """Runs a call at once; the first ``times`` tries of every batch fail."""

    def __init__(self, times: int) -> None:
        super().__init__(0, 1)
        self.times = times

    def run(self, future: Future[Any], fn: Callable[..., Any], args: tuple[Any, ...]) -> None:
        if args[3] <= self.times:
            future.set_exception(OSError("the node is gone"))
        else:
            future.set_result(fn(*args))


def same(data: Any) -> None:
    xarray.testing.assert_identical(undated(data), undated(small_sweep.plain_sweep()))


@pytest.mark.parametrize("count", [1, 2, 3])
def test_own_workers(count: int) -> None:
    same(small_sweep.sweep(workers=count))


@pytest.mark.parametrize("way", ["forkserver", "spawn"])  # fork: tests/study/test_store_killed.py
def test_own_workers_started_in_each_way(way: str, monkeypatch: pytest.MonkeyPatch) -> None:
    if way not in multiprocessing.get_all_start_methods():
        pytest.skip("not on this system")
    monkeypatch.setattr(workers, "way_to_start", lambda: way)
    same(small_sweep.sweep(workers=2))


def test_a_process_with_threads_is_not_forked() -> None:
    running, gate = threading.Event(), threading.Event()

    def wait() -> None:
        running.set()
        gate.wait()

    _thread.start_new_thread(wait, ())
    running.wait()  # a thread that has not begun has no frame to be counted by
    try:
        assert workers.way_to_start() != "fork"
    finally:
        gate.set()


def test_threads() -> None:
    with ThreadPoolExecutor(4) as executor:
        same(small_sweep.sweep(executor=executor))


@pytest.mark.parametrize("way", ["spawn", "forkserver"])
def test_processes_of_the_caller(way: str) -> None:
    if way not in multiprocessing.get_all_start_methods():
        pytest.skip("not on this system")
    with ProcessPoolExecutor(1, mp_context=multiprocessing.get_context(way)) as executor:
        same(small_sweep.sweep(executor=executor))


def test_loky() -> None:
    loky = pytest.importorskip("loky", reason="loky is not installed")
    with loky.get_reusable_executor(max_workers=1) as executor:
        same(small_sweep.sweep(executor=executor))


def test_any_order(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(stream, "BATCH", 1)
    for seed in range(3):
        same(small_sweep.sweep(executor=Later(seed, 17)))


@pytest.mark.parametrize("hold", ["reading", "brace height", "refit"])
def test_any_order_with_what_is_held(hold: str) -> None:
    over = {"archer.draw_length": "27 in, 27.5 in, 28 in"}
    alone = small_sweep.sweep(over, hold=hold, workers=1)
    backwards = small_sweep.sweep({"archer.draw_length": "28 in, 27.5 in, 27 in"}, hold=hold, workers=2)
    xarray.testing.assert_equal(backwards.sortby("archer_draw_length"), alone.sortby("archer_draw_length"))


class Counting(ThreadPoolExecutor):
    """One thread, which begins when no more calls come; counts those that wait for it."""

    def __init__(self) -> None:
        super().__init__(1, initializer=self.hold_back)
        self.waiting: list[Future[Any]] = []
        self.calls = self.most = 0

    def hold_back(self) -> None:
        seen = -1
        while seen != self.calls:
            seen = self.calls
            time.sleep(0.3)

    def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Future[Any]:
        self.calls += 1
        self.waiting = [future for future in self.waiting if not future.done()]
        self.waiting.append(super().submit(fn, *args, **kwargs))
        self.most = max(self.most, len(self.waiting))
        return self.waiting[-1]


@pytest.mark.parametrize(
    ("count", "most", "step", "lengths"), [(1, 4, "2 in", 3), (3, 12, "2 in", 3), (None, 1024, "0.05 in", 81)]
)
def test_batches_handed_out_at_once_are_bounded(
    count: int | None, most: int, step: str, lengths: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of more batches than may wait, by eights."""
    monkeypatch.setattr("archerysim.study.run.row.row_of", small_sweep.fake_row)
    over = {"nock.locators.reading": "4 mm:12 mm:0.05 mm", "archer.draw_length": f"26 in:30 in:{step}"}
    with Counting() as executor:
        data = small_sweep.sweep(over, executor=executor, workers=count)
    assert executor.most == most
    assert data["status"].size == 161 * lengths
    assert not data["pitch"].isnull().any()


def test_a_batch_that_fails_is_tried_again() -> None:
    executor = Failing(2)
    same(small_sweep.sweep(executor=executor))
    assert executor.calls == 3 * 3  # three batches, three tries each


def test_a_batch_that_always_fails_ends_the_sweep_and_leaves_the_store_usable(tmp_path: Any) -> None:
    path = tmp_path / "runs.sqlite"
    with pytest.raises(OSError, match="the node is gone"):
        small_sweep.sweep(executor=Failing(3), store=path)
    assert small_sweep.sweep(store=path).attrs["points_computed"] == 17


@pytest.mark.skipif(os.name != "posix", reason="kills by POSIX signals")
def test_a_killed_worker_of_our_own_is_replaced() -> None:
    import archerysim

    killed = []

    def kill(done: int, total: int) -> None:
        if done in (10, 50):
            killed.append(multiprocessing.active_children()[0].pid)
            os.kill(killed[-1], signal.SIGKILL)  # type: ignore[arg-type]

    data = archerysim.sweep(small_sweep.bow(), small_sweep.MORE, mesh="coarse", workers=2, progress=kill)
    assert len(set(killed)) == 2
    xarray.testing.assert_identical(undated(data), undated(small_sweep.longer_sweep()))


def _end(*_: Any) -> None:
    os._exit(1)


def test_workers_that_always_die_are_told_of_in_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(stream, "rows_of", _end)
    with pytest.raises(SetupError, match=r"workers.*3 times.*store"):
        small_sweep.sweep(workers=2)


def test_an_interrupted_sweep_closes_what_it_opened(tmp_path: Any) -> None:
    import archerysim

    path = tmp_path / "runs.sqlite"

    def stop(done: int, total: int) -> None:
        if done == 40:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        archerysim.sweep(small_sweep.bow(), small_sweep.MORE, mesh="coarse", workers=2, store=path, progress=stop)
    assert not multiprocessing.active_children()
    assert not path.with_name("runs.sqlite-wal").exists()
    data = small_sweep.sweep(small_sweep.MORE, workers=1, store=path)
    assert data.attrs["points_read"] >= 40
    assert data.attrs["points_computed"] == 101 - data.attrs["points_read"]
