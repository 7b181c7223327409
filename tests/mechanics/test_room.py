"""The memory that is handed to the kernels, divided: nothing of it has two uses, and it is long enough."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest

from archerysim.mechanics.arrays import Grid
from archerysim.mechanics.release.stable_step import size_of_swing, swing_in
from archerysim.mechanics.statics.room import BEND, BETWEEN, BORDERS, CELL, SAME, divided, size_of
from archerysim.shot.arrays.memory import memory_for
from tests.support.mechanics.random_rows import random_row

BEYOND = 7  # numbers more than are needed


def grids() -> list[Grid]:
    """That of a bow with its arrow, one with a single free node, and one whose envelope is the whole matrix."""
    whole = np.arange(10)
    return [
        random_row(np.random.default_rng(0)).grid,
        Grid(np.array([-1, 0, -1]), np.array([0, 0, 1]), np.array([0, 0])),
        Grid(np.arange(0, 10, 2), np.concatenate(([0], np.cumsum(whole))), np.zeros(10, dtype=int)),
    ]


def sizes(grid: Grid) -> tuple[int, int, int]:
    """Nodes, equations, and numbers on either side of the diagonal."""
    return grid.place.size, grid.first.size, int(grid.start[-1])


def pieces(room: Any) -> Iterator[np.ndarray]:
    """All arrays of a tuple and of those within it."""
    for one in room:
        if isinstance(one, tuple):
            yield from pieces(one)
        else:
            yield one


@pytest.mark.parametrize("grid", grids())
@pytest.mark.parametrize("beyond", [0, BEYOND])
def test_no_number_has_two_uses_and_what_is_left_is_spare(grid: Grid, beyond: int) -> None:
    needed = size_of(*sizes(grid))
    memory = np.full(needed + beyond, np.nan)
    room = divided.py_func(memory, grid)
    assert not room.zero.any()
    memory[:] = np.arange(memory.size)  # now every piece holds the places that it takes
    everything = np.concatenate([one.ravel() for one in pieces(room)])
    assert np.array_equal(np.sort(everything), memory)
    assert np.array_equal(room.spare, memory[memory.size - room.spare.size :])
    assert memory.size - room.spare.size <= needed


@pytest.mark.parametrize("grid", grids())
def test_in_as_much_as_is_said_to_be_needed_no_piece_is_cut_short(grid: Grid) -> None:
    n, m, k = sizes(grid)
    room = divided.py_func(np.empty(size_of(n, m, k)), grid)
    assert [one.shape for one in room.matrix] == [(k,), (k,), (m,), (m,)]
    assert [one.shape for one in room.blocks] == [(SAME, n), (BETWEEN, n), (BETWEEN, n), (CELL, n + 2)]
    assert [one.shape for one in room.border] == [(BORDERS,), (BORDERS,), (BORDERS, BORDERS)]
    assert room.bend.shape == (BEND, BEND)
    assert {one.shape for one in (*room.cells, room.zero, room.fx, room.fy, room.least)} == {(n,)}
    assert {one.shape for one in (room.step, room.one, room.other)} == {(m,)}


@pytest.mark.parametrize("grid", grids())
def test_the_search_for_the_longest_step_has_its_room_in_what_is_spare(grid: Grid) -> None:
    n, m, k = sizes(grid)
    memory = memory_for(grid)
    assert memory.size == size_of(n, m, k) + size_of_swing(n, m)
    swing = swing_in.py_func(divided.py_func(memory, grid).spare, n)
    assert [one.size for one in swing] == [n, n, n, n, m]
    memory[:] = np.arange(memory.size)
    assert np.unique(np.concatenate(swing)).size == size_of_swing(n, m)
