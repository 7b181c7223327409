"""The shaft's bending in space: the same in every plane through it, at rest and free."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from archerysim.mechanics.forces.chain import chain_energy, chain_forces
from archerysim.shot.arrays.build import make_cells
from archerysim.shot.release.bending_modes import free_modes
from tests.support.mechanics.shaft_in_space import X, Y, Z, frequencies, shaft_forces, shaft_of
from tests.support.shot.reference_case import shot

DONE = shot(0.009, 24)
TAIL = DONE.braced.marks.tail
SHAFT = shaft_of(DONE.braced.chain, TAIL)
STRAIGHT = np.array([np.concatenate(([0.0], np.cumsum(SHAFT.rest_length))), *np.zeros((2, SHAFT.mass.size))])


def test_free_modes_are_alike_in_both_planes() -> None:
    """From the forces, along y and along z, and those that the results are told by."""
    up, out = (frequencies(SHAFT, STRAIGHT, axis, 4) for axis in (Y, Z))
    np.testing.assert_allclose(out, up, rtol=1e-7)
    np.testing.assert_allclose(out[:2], free_modes(DONE.braced.chain, TAIL)[0], rtol=1e-5)


def test_a_free_shaft_whirls() -> None:
    """First mode along z, and along y a quarter of a period later: leapfrog on the forces, for one and a half periods.

    Every node goes round the shaft's axis in a circle, with the mode's frequency in both planes.
    """
    (frequency, _), (shape, _) = free_modes(DONE.braced.chain, TAIL)
    dt, size = 3e-6, 5e-4
    place = STRAIGHT.copy()
    place[Z] = size * shape
    velocity = np.zeros_like(place)
    velocity[Y] = size * frequency * shape
    gain = 0.5 * dt
    tails = []
    for _ in range(round(3.0 * np.pi / frequency / dt)):
        velocity += gain * shaft_forces(SHAFT, place) * SHAFT.inverse_mass
        place += dt * velocity
        gain = dt
        tails.append(place[1:, 0].copy())
    up, out = np.array(tails).T
    angle = np.unwrap(np.arctan2(up, out))
    time = dt * np.arange(1, angle.size + 1)
    np.testing.assert_allclose(np.hypot(up, out), size, rtol=2e-3)
    np.testing.assert_allclose(angle, frequency * time, atol=5e-3)


@pytest.mark.parametrize("seed", range(6))
def test_a_bent_shaft_turned_in_space_carries_the_same_forces_with_it(seed: int) -> None:
    rng = np.random.default_rng(seed)
    place = STRAIGHT + rng.normal(scale=3e-3, size=STRAIGHT.shape)
    speed = rng.normal(scale=2.0, size=STRAIGHT.shape)
    turn = Rotation.random(rng=seed).as_matrix()
    force = shaft_forces(SHAFT, place, speed)
    turned = shaft_forces(SHAFT, turn @ place, turn @ speed)
    np.testing.assert_allclose(turned, turn @ force, atol=1e-9 * np.abs(force).max())
    np.testing.assert_allclose(force.sum(axis=1), 0.0, atol=1e-10 * np.abs(force).max())
    moment = np.cross(place.T, force.T).sum(axis=0)
    np.testing.assert_allclose(moment, 0.0, atol=1e-10 * np.abs(force).max())


@pytest.mark.parametrize("seed", range(6))
def test_in_the_bow_s_plane_it_bends_by_the_flat_law(seed: int) -> None:
    """Without a bend at rest or a loss in bending, which a shaft has not."""
    rng = np.random.default_rng(seed)
    place = STRAIGHT + rng.normal(scale=3e-3, size=STRAIGHT.shape) * [[1.0], [1.0], [0.0]]
    still, fx, fy = np.zeros((3, SHAFT.mass.size))
    chain_forces(SHAFT, place[X], place[Y], still, still, fx, fy, make_cells(still.size))
    force = shaft_forces(SHAFT, place)
    np.testing.assert_allclose(force[:2], [fx, fy], atol=1e-9 * np.abs(fy).max())
    assert not force[Z].any()


@pytest.mark.parametrize("seed", range(6))
def test_forces_are_the_energy_s_slope(seed: int) -> None:
    rng = np.random.default_rng(seed)
    place = STRAIGHT + rng.normal(scale=3e-3, size=STRAIGHT.shape)
    force, n, step = shaft_forces(SHAFT, place), SHAFT.mass.size, 1e-7

    def energy(p: np.ndarray) -> float:
        return float(sum(chain_energy(SHAFT, *(p[k].copy() for k in (X, Y)), 0, n - 1, p[Z].copy())))

    for axis in (X, Y, Z):
        for i in rng.choice(n, 5, replace=False):
            away = np.zeros_like(place)
            away[axis, i] = step
            slope = (energy(place + away) - energy(place - away)) / (2.0 * step)
            assert force[axis, i] == pytest.approx(-slope, rel=1e-5, abs=1e-6 * np.abs(force).max())
