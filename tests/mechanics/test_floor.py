"""The inertia against the stretching of the cell on the nock's floor."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from archerysim.mechanics.release.floor_inertia import share_floor
from archerysim.mechanics.rigid_body import rigid_motion
from archerysim.shot.arrays.build import make_cells
from archerysim.shot.release.release import floor_inertia
from tests.support.mechanics.release_of_arrays import Start, run, start_of
from tests.support.shot.reference_case import shot


def test_it_solves_the_mass_matrix_with_the_inertia_in_it() -> None:
    rng = np.random.default_rng(5)
    start = start_of(shot(0.009, 12))
    n, u, free = start.x.size, start.marks.edge_u, start.chain.inverse_mass > 0.0
    forces = rng.normal(size=(2, n))
    angle = 0.7
    cells = make_cells(n)
    cells.along_x[u], cells.along_y[u] = np.cos(angle), np.sin(angle)
    fx, fy = forces.copy()
    share_floor(start.chain, u, 3e-4, cells, fx, fy)
    mass = np.diag(np.tile(np.where(free, start.chain.mass, 1.0), 2))
    row = np.zeros(2 * n)
    row[[u, u + 1]] = -np.cos(angle), np.cos(angle)
    row[[n + u, n + u + 1]] = -np.sin(angle), np.sin(angle)
    expected = np.linalg.solve(mass + 3e-4 * np.outer(row, row), forces.ravel())
    inverse = np.tile(np.where(free, start.chain.inverse_mass, 1.0), 2)
    np.testing.assert_allclose(np.concatenate((fx, fy)) * inverse, expected, rtol=1e-12, atol=1e-12)
    assert (fx.sum(), fy.sum()) == pytest.approx(tuple(forces.sum(axis=1)), abs=1e-13)


def test_none_where_the_floor_is_no_shorter_than_its_neighbours() -> None:
    start = start_of(shot(0.009, 12))
    u, cells = start.marks.edge_u, start.chain.rest_length.copy()
    assert floor_inertia(start.chain, start.marks) > 0.0
    cells[u] = cells[u - 1]
    assert floor_inertia(start.chain._replace(rest_length=cells), start.marks) == 0.0


def launch(start: Start, dt: float) -> np.ndarray:
    """Arrow's speed [m/s], pitch [deg] and angle of attack [deg] at separation and at clear."""
    end = run(start, dt)
    a = start.marks.tail
    out = []
    for state in end.states:
        _, _, vx, vy, pitch, _ = rigid_motion(start.chain.mass[a:], *np.ascontiguousarray(state[:, a:]))
        out.append((np.hypot(vx, vy), np.degrees(pitch), np.degrees(pitch - np.arctan2(vy, vx))))
    return np.array(out)


def test_the_launch_is_the_same_without_it() -> None:
    """With a step short enough for either: what it changes is a hundredth of what the mesh leaves open."""
    done = shot(0.009, 24)
    start, dt = start_of(done), 0.25 * done.loosed.dt
    with_it, without = launch(start, dt), launch(replace(start, inertia=0.0), dt)
    assert np.abs(with_it / without - 1.0)[:, 0].max() < 1e-6
    assert np.abs(with_it - without)[:, 1:].max() < 3e-4
    assert np.abs(with_it - without).max() > 1e-9
