"""Rows stream into columns made once: memory that does not grow with the points otherwise."""

from __future__ import annotations

import tracemalloc
from concurrent.futures import ThreadPoolExecutor
from contextlib import nullcontext
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from archerysim.shot.columns import MOMENT, SHOT
from archerysim.study.run.how_to_run import HowToRun
from archerysim.study.run.points import Axis, Points
from archerysim.study.run.row import NOT_SHOT, LaunchNumbers
from archerysim.study.run.run import run
from archerysim.study.run.store import Store
from archerysim.study.sweeps.dataset import WORDS, Table
from tests.support.study import small_sweep

COLUMNS = 8 * (2 * len(MOMENT) + len(SHOT) + 1 + len(WORDS))  # bytes a point of a table: numbers, status, words


@pytest.fixture(autouse=True)
def _fake(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("archerysim.study.run.run.row_of", small_sweep.fake_row)
    monkeypatch.setattr("archerysim.study.run.row.row_of", small_sweep.fake_row)


def peak(size: int, store: Path | None, executor: Any, workers: int) -> float:
    """Most memory in use at a time while so many points stream into a table [bytes]."""
    side = round(size**0.5)
    axis = tuple(float(k) for k in range(side))
    points = Points((Axis("nock.locators.reading", "mm", axis), Axis("archer.draw_length", "in", axis)), False)
    base = small_sweep.base()
    tracemalloc.start()
    try:
        table = Table(len(points))
        with Store(store) if store else nullcontext() as kept:
            for index, row in run(base, points, LaunchNumbers(), HowToRun(workers, executor, kept)):
                table.put(index, row)
        most = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert table.shots["reading"][-1] == 2.0 * (side - 1)
    assert len({id(text) for text in table.words["warnings"]}) == 1
    return most


def test_something_else_is_done_while_others_compute() -> None:
    """Once, after the first points have been handed out; not where this process computes them."""
    axis = Axis("nock.locators.reading", "mm", tuple(float(k) for k in range(100)))
    calls: list[str] = []
    with ThreadPoolExecutor(2) as executor:
        points = Points((axis,), False)
        flow = run(small_sweep.base(), points, LaunchNumbers(), HowToRun(2, executor), lambda: calls.append("x"))
        found = [index for index, _ in flow]
    assert sorted(found) == list(range(100))
    assert calls == ["x"]
    for _ in run(small_sweep.base(), points, LaunchNumbers(), HowToRun(1), lambda: calls.append("y")):
        pass
    assert calls == ["x"]


@pytest.mark.parametrize("stored", [False, True])
@pytest.mark.parametrize("threads", [0, 2])
def test_memory_is_that_of_the_columns(stored: bool, threads: int, tmp_path: Path) -> None:
    with ThreadPoolExecutor(threads) if threads else nullcontext() as executor:
        small_size, large_size = (30**2, 70**2) if stored else (40**2, 120**2)
        few, many = (
            peak(size, tmp_path / f"{size}.sqlite" if stored else None, executor, 2 if threads else 1)
            for size in (small_size, large_size)
        )
        again = peak(large_size, tmp_path / f"{large_size}.sqlite", executor, 1) if stored else many
    each = (many - few) / (large_size - small_size)
    assert each < COLUMNS + 10
    assert again < many + 1e6


@pytest.mark.parametrize("size", [1, 40**2])
def test_the_columns_are_made_once_and_whole(size: int) -> None:
    table = Table(size)
    held = [*table.moments.values(), *table.shots.values(), table.status, *table.words.values()]
    assert sum(column.nbytes for column in held) == COLUMNS * size
    assert all(column.base is None for column in held)  # memory of its own
    table.put(0, small_sweep.fake_row(LaunchNumbers(), small_sweep.base(), {}))
    after = [*table.moments.values(), *table.shots.values(), table.status, *table.words.values()]
    assert all(one is other for one, other in zip(held, after, strict=True))


def test_columns_are_what_the_rows_say() -> None:
    table = Table(3)
    for index in (2, 0):
        table.put(
            index, {"status": index, "reason": f"r{index}", "pitch": (1.0, index), "reading": 5.0, "warnings": ""}
        )
    assert table.status.tolist() == [0, NOT_SHOT, 2]  # the second never came
    assert table.words["reason"].tolist() == ["r0", "", "r2"]
    assert table.close() == 2
    assert table.words["reason"].tolist() == ["r0", "interrupted: not shot", "r2"]
    assert table.moments["pitch"][2].tolist() == [1.0, 2.0]
    assert np.isnan(table.moments["speed"]).all()
    assert np.isnan(table.shots["reading"][1])


def test_points_in_order() -> None:
    axes = (Axis("a", "", (1.0, 2.0)), Axis("b", "", ("x", "y", "z")))
    points = Points(axes, False)
    assert len(points) == 6
    assert [tuple(points[k].values()) for k in range(6)] == [
        (1.0, "x"), (1.0, "y"), (1.0, "z"), (2.0, "x"), (2.0, "y"), (2.0, "z"),
    ]  # fmt: skip
    paired = Points((Axis("a", "", (1.0, 2.0)), Axis("b", "", ("x", "y"))), True)
    assert [paired[k] for k in range(len(paired))] == [{"a": 1.0, "b": "x"}, {"a": 2.0, "b": "y"}]
