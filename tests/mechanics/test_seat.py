"""The stiff arrow laid on a string that stands still: energies against forces, and where it ends."""

from __future__ import annotations

import numpy as np
import pytest

from archerysim.mechanics.forces.throat import edge_force, locator_force
from archerysim.mechanics.statics.lay_arrow import (
    SETTLING,
    Lying,
    Slopes,
    edge_energy,
    locator_energy,
    seat_arrow,
    seat_energy,
)
from archerysim.shot.arrays.build import make_support, make_throat
from tests.support.shot.reference_case import reference

MASS, BALANCE = 0.0202, 0.43


def nock(**changes: float):  # type: ignore[no-untyped-def]
    return make_throat(reference().nock)._replace(**changes)


@pytest.mark.parametrize("grip", [2.5, 0.0])
def test_edge_energy_belongs_to_the_edge_force(grip: float) -> None:
    th = nock(grip=grip)
    for d in np.linspace(-1.2 * th.snap, 0.1 * th.snap, 131) + 1.7e-9:
        energy, force, slope = edge_energy(th, d)
        assert (force, slope) == pytest.approx(edge_force(th, d, 0.0), abs=1e-12)
        step = 1e-9
        # central difference of a piecewise quadratic: exact inside a piece, half a step's slope across a corner
        change = (edge_energy(th, d + step)[0] - edge_energy(th, d - step)[0]) / (2.0 * step)
        assert change == pytest.approx(force, abs=1e-6 + 0.5 * step * th.stiffness)
        assert energy >= 0.0


@pytest.mark.parametrize("present", [(1.0, 1.0), (1.0, 0.0), (0.0, 1.0)])
@pytest.mark.parametrize("half_gap", [0.0, 2e-4])
def test_locator_energy_belongs_to_the_locator_force(present: tuple[float, float], half_gap: float) -> None:
    th = nock(half_gap=half_gap, lower=present[0], upper=present[1])
    for s in np.linspace(-1e-3, 1e-3, 101) + 3e-9:
        _, force, slope = locator_energy(th, s)
        assert (force, slope) == pytest.approx(locator_force(th, s, 0.0), abs=1e-12)
        step = 1e-8
        change = (locator_energy(th, s + step)[0] - locator_energy(th, s - step)[0]) / (2.0 * step)
        assert change == pytest.approx(force, abs=1e-5 + 0.5 * step * th.locator_stiffness)


def energy_of(q: np.ndarray, slope: float) -> tuple[float, np.ndarray, np.ndarray]:
    th = nock(sin_slope=np.sin(slope), cos_slope=np.cos(slope))
    grad, hess = np.empty(3), np.empty((3, 3))
    lying = Lying(-0.6712, 0.0722, -0.6709, 0.0682, MASS, BALANCE, 0.4, -9.8)
    energy = seat_energy(th, make_support(reference()), lying, q, Slopes(grad, hess))
    return energy, grad, hess


@pytest.mark.parametrize("slope", [0.0, 0.1])
@pytest.mark.parametrize("lifted", [-0.004, 0.004])
def test_gradient_and_hessian(slope: float, lifted: float) -> None:
    """Central differences; the rest's own curvature (press times the gap's second derivative) is left out of
    the matrix on purpose, so it is compared with the shaft lifted off."""
    rng = np.random.default_rng(4)
    for _ in range(10):
        q = np.array([-0.6711, 0.0702, 0.0])
        q[2] = np.arctan2(0.045 + 0.00275 + lifted - q[1], -q[0])
        q += rng.uniform(-2e-4, 2e-4, 3) * [1.0, 1.0, 5.0]
        _, grad, hess = energy_of(q, slope)
        step = 1e-8
        moved = [(energy_of(q + step * e, slope), energy_of(q - step * e, slope)) for e in np.eye(3)]
        change = np.array([(up[0] - down[0]) / (2.0 * step) for up, down in moved])
        # rounding of an energy of 1 J over the step: 1e-8
        np.testing.assert_allclose(change, grad, atol=1e-6 * max(1.0, np.abs(grad).max()))
        if lifted > 0.0:
            change = np.array([(up[1] - down[1]) / (2.0 * step) for up, down in moved])
            np.testing.assert_allclose(change, hess, atol=1e-5 * np.abs(hess).max())


@pytest.mark.parametrize("seed", range(8))
def test_the_seated_arrow_is_in_balance(seed: int) -> None:
    rng = np.random.default_rng(seed)
    su = make_support(reference())
    th = nock(snap=1e3)
    lean = rng.uniform(-0.05, 0.05)
    middle = np.array([-0.671, 0.0702 + rng.uniform(-0.003, 0.006)])
    upper, lower = middle + 2e-3 * np.array([lean, 1.0]), middle - 2e-3 * np.array([lean, 1.0])
    q = np.array([*middle, np.arctan2(su.y + su.half_diameter - middle[1], -middle[0])])
    q[:2] += rng.uniform(-1e-3, 1e-3, 2)
    lying = Lying(*upper, *lower, MASS, BALANCE, 0.3, -9.8)
    steps = seat_arrow(th, su, lying, q, np.empty(SETTLING))
    assert steps < 400
    grad, hess = np.empty(3), np.empty((3, 3))
    seat_energy(th, su, lying, q, Slopes(grad, hess))
    assert np.abs(grad).max() < 1e-8
    # on the rest: its press is the shaft's weight or more and the tail is in the string
    tail = su.y + su.half_diameter - (q[1] + (su.x - q[0]) * np.tan(q[2]))
    assert tail > 0.0
    assert np.hypot(*(q[:2] - middle)) < 1e-3
