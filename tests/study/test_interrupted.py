"""An interrupted sweep from Python: the exception carries what is done."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import xarray

import archerysim
from archerysim.study.run.row import NOT_SHOT, LaunchNumbers
from archerysim.study.sweeps.dataset import Table
from tests.support.study import small_sweep


def after(count: int) -> Callable[[int, int], None]:
    def stop(done: int, total: int) -> None:
        if done > count:
            raise KeyboardInterrupt

    return stop


def stopped(over: Any, count: int, **options: Any) -> archerysim.Interrupted:
    with pytest.raises(KeyboardInterrupt) as caught:
        archerysim.sweep(small_sweep.bow(), over, mesh="coarse", progress=after(count), **options)
    assert isinstance(caught.value, archerysim.Interrupted)
    return caught.value


@pytest.mark.parametrize("workers", [1, 2])
def test_it_carries_the_points_that_are_done(workers: int) -> None:
    left = stopped(small_sweep.READINGS, 7, workers=workers)
    assert (left.done, left.total) == (7, 17)
    assert str(left).startswith("7 of 17 points")
    done = left.data["status"].values == 0
    assert done.sum() == 7
    assert set(left.data["status"].values[~done]) == {NOT_SHOT}
    assert set(left.data["reason"].values[~done]) == {"interrupted: not shot"}
    whole = small_sweep.plain_sweep()
    places = np.flatnonzero(done)
    xarray.testing.assert_equal(left.data.isel(nock_locators_reading=places), whole.isel(nock_locators_reading=places))


def test_cases_and_several_axes() -> None:
    left = stopped(None, 1, cases={"nock.locators.reading": ["6 mm", "8 mm", "9 mm"]}, workers=1)
    assert left.data["status"].values.tolist() == [0, NOT_SHOT, NOT_SHOT]
    left = stopped({"nock.locators.reading": "6 mm, 8 mm", "archer.draw_length": "27 in, 28 in"}, 3, workers=1)
    assert left.data["status"].values.tolist() == [[0, 0], [0, NOT_SHOT]]


@pytest.mark.parametrize("ending", [".csv", ".nc"])
def test_it_can_be_written_and_read(ending: str, tmp_path: Path) -> None:
    data = stopped(small_sweep.READINGS, 3, workers=1).data
    path = tmp_path / f"left{ending}"
    archerysim.save(data, path)
    again = archerysim.read(path)
    np.testing.assert_array_equal(again["status"], data["status"])
    np.testing.assert_array_equal(again["pitch"], data["pitch"])
    assert again["reason"].values.tolist() == data["reason"].values.tolist()


def test_with_a_store_the_same_call_goes_on(tmp_path: Path) -> None:
    path = tmp_path / "runs.sqlite"
    stopped(small_sweep.READINGS, 7, workers=1, store=path)
    data = small_sweep.sweep(workers=1, store=path)
    assert data.attrs["points_read"] >= 7
    assert data.equals(small_sweep.plain_sweep())


def test_a_row_that_was_being_filled_in_counts_as_not_shot() -> None:
    class Row(dict[str, Any]):
        def __getitem__(self, name: str) -> Any:
            if name == "status":
                raise KeyboardInterrupt
            return super().__getitem__(name)

    table = Table(2)
    with pytest.raises(KeyboardInterrupt):
        table.put(0, Row(small_sweep.fake_row(LaunchNumbers(), small_sweep.base(), {"a": 1.0})))
    assert table.close() == 0
    assert np.isnan(table.moments["pitch"]).all()
    assert table.words["reason"].tolist() == ["interrupted: not shot"] * 2
    assert table.words["warnings"].tolist() == ["", ""]


def test_a_second_interrupt_is_not_held_back() -> None:
    def stop(done: int, total: int) -> None:
        try:
            raise KeyboardInterrupt
        except KeyboardInterrupt:
            raise KeyboardInterrupt  # noqa: B904  # as one that comes while the first is seen to

    with pytest.raises(KeyboardInterrupt) as caught:
        archerysim.sweep(small_sweep.bow(), small_sweep.READINGS, mesh="coarse", workers=1, progress=stop)
    assert not isinstance(caught.value, archerysim.Interrupted)
