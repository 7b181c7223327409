"""The nock's throat: offsets, forces and rates against derived ones; the laws of edges and locators."""

from __future__ import annotations

import numpy as np
import pytest

from archerysim.mechanics.arrays import Throat
from archerysim.mechanics.forces.throat import edge_force, locator_force, tail_direction, throat_state
from archerysim.shot.arrays.build import make_throat
from tests.support.mechanics.contact_laws import edge_law, grip_law, locator_law
from tests.support.mechanics.derived_elements import tail_angle, throat_offset
from tests.support.mechanics.random_rows import forces, random_row
from tests.support.shot.reference_case import reference

SEEDS = range(12)
CASES = [(0.0, 0.0), (0.08, 0.0), (-0.15, 4e-4)]


def nock(**changes: float) -> Throat:
    """The reference nock with other numbers."""
    return make_throat(reference().nock)._replace(**changes)


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize(("slope", "gap"), CASES)
def test_offsets_and_their_rates(seed: int, slope: float, gap: float) -> None:
    row = random_row(np.random.default_rng(seed), slope=slope, gap=gap)
    at = np.column_stack((row.x, row.y))[row.contact].ravel()
    velocity = np.column_stack((row.vx, row.vy))[row.contact].ravel()
    state = throat_state(row.throat, row.x, row.y, row.vx, row.vy, row.marks.edge_u, row.marks.tail)
    for k, name in enumerate(("upper", "lower", "along")):
        value, gradient, _ = throat_offset(name, at, slope)
        assert state[k] == pytest.approx(value, abs=1e-15)
        assert state[3 + k] == pytest.approx(gradient @ velocity, abs=1e-13)


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize(("slope", "gap"), CASES)
def test_forces_are_each_law_times_its_gradient(seed: int, slope: float, gap: float) -> None:
    row = random_row(np.random.default_rng(seed), slope=slope, gap=gap)
    at = np.column_stack((row.x, row.y))[row.contact].ravel()
    still = 0.0 * row.x
    expected = np.zeros(10)
    for name, law in (("upper", edge_law), ("lower", edge_law), ("along", locator_law)):
        offset, gradient, _ = throat_offset(name, at, slope)
        expected -= law(row.throat, offset)[0] * gradient
    got = (forces(row, still, still) - forces(row, still, still, throat=False)).T
    np.testing.assert_allclose(got[row.contact].ravel(), expected, atol=1e-10 * max(1.0, np.abs(expected).max()))
    got[row.contact] = 0.0
    assert not got.any()


@pytest.mark.parametrize("seed", SEEDS)
def test_tail_direction(seed: int) -> None:
    row = random_row(np.random.default_rng(seed))
    a = row.marks.tail
    tx, ty, a1, a2, second = tail_direction(row.x, row.y, a)
    angle, gradient, _ = tail_angle(np.column_stack((row.x, row.y))[a : a + 3].ravel())
    assert (tx, ty) == pytest.approx((np.cos(angle), np.sin(angle)), abs=1e-14)
    assert a1 + a2 == pytest.approx(1.0, abs=1e-15)
    # turning only the second cell about its own tail turns the direction by a2
    ex, ey = np.diff(row.x)[a + 1], np.diff(row.y)[a + 1]
    assert gradient[4:] @ (-ey, ex) == pytest.approx(a2, abs=1e-13)
    # and the second derivative is how fast that share grows as it goes on turning
    step = 1e-5
    shares = []
    for sign in (1.0, -1.0):
        x, y = row.x.copy(), row.y.copy()
        cosine, sine = np.cos(sign * step), np.sin(sign * step)
        x[a + 2] = x[a + 1] + cosine * ex - sine * ey
        y[a + 2] = y[a + 1] + sine * ex + cosine * ey
        shares.append(tail_direction(x, y, a)[3])
    # central difference: error step^2 / 6 times a third derivative of order 10
    assert (shares[0] - shares[1]) / (2.0 * step) == pytest.approx(second, abs=1e-8)


def test_a_straight_tail_points_along_the_shaft_and_a_bent_one_as_a_circle_does() -> None:
    """Half a cell beyond the first cell, extrapolated: on a circle the error is of second order."""
    errors = []
    for cell in (0.04, 0.02, 0.01):
        angle = np.arange(3) * cell / 1.5  # radius 1.5 m
        x, y = 1.5 * np.sin(angle), 1.5 * (1.0 - np.cos(angle))
        tx, ty, *_ = tail_direction(x, y, 0)
        errors.append(abs(np.arctan2(ty, tx)))
    assert errors[2] < 1e-4
    assert np.log2(np.array(errors[:-1]) / np.array(errors[1:])) == pytest.approx([2.0, 2.0], abs=1.1)
    assert np.all(np.array(errors[1:]) <= 0.3 * np.array(errors[:-1]))


def test_edge_law() -> None:
    th = nock()
    for d in np.linspace(-1.5 * th.snap, 0.5 * th.snap, 2001):
        for rate in (-40.0, -1.0, 0.0, 0.3, 25.0):
            held, _ = grip_law(th, -d)
            force, _ = edge_force(th, d, rate)
            assert force == pytest.approx(max(th.stiffness * d + th.loss * rate, -held), abs=1e-12)


def test_edge_force_goes_on_without_a_jump() -> None:
    """At the grip, at half the snap travel and at its end, at rest and moving."""
    th = nock()
    for rate in (-1.0, 0.0, 1.0):
        corners = [-th.snap, -0.5 * th.snap, -th.grip / th.stiffness, 0.0, -(th.grip + th.loss * rate) / th.stiffness]
        for corner in corners:
            before, _ = edge_force(th, corner - 1e-13, rate)
            after, _ = edge_force(th, corner + 1e-13, rate)
            assert before == pytest.approx(after, abs=1e-5)
            assert after >= -th.grip


def test_edge_holds_no_more_than_the_grip_and_nothing_beyond_the_snap() -> None:
    th = nock()
    depths = np.linspace(0.0, 2.0 * th.snap, 401)
    at_rest = np.array([edge_force(th, -depth, 0.0)[0] for depth in depths])
    assert at_rest.min() == -th.grip
    np.testing.assert_allclose(at_rest[depths >= th.snap], 0.0, atol=1e-12)
    assert np.all(np.diff(at_rest[depths >= 0.5 * th.snap]) >= 0.0)
    # drawn away fast, the loss alone does not pull harder than the grip
    assert edge_force(th, 1e-6, -1e4)[0] == -th.grip
    assert edge_force(nock(grip=0.0), -1e-6, -1.0) == (0.0, 0.0)


@pytest.mark.parametrize("present", [(1.0, 1.0), (1.0, 0.0), (0.0, 1.0), (0.0, 0.0)])
@pytest.mark.parametrize("half_gap", [0.0, 2e-4])
def test_locator_law(present: tuple[float, float], half_gap: float) -> None:
    th = nock(half_gap=half_gap, lower=present[0], upper=present[1])
    for s in np.linspace(-1e-3, 1e-3, 401):
        if half_gap == 0.0 and abs(s) < 1e-12:
            continue
        assert locator_force(th, s, 0.0) == pytest.approx(locator_law(th, s), abs=1e-10)


def test_locators_with_a_gap_only_push() -> None:
    th = nock(half_gap=2e-4)
    for s in np.linspace(-1e-3, 1e-3, 101):
        for rate in (-100.0, -1.0, 0.0, 1.0, 100.0):
            force, slope = locator_force(th, s, rate)
            assert force * s >= 0.0
            if abs(s) < th.half_gap:
                assert (force, slope) == (0.0, 0.0)


def test_touching_locators_act_both_ways_with_their_loss() -> None:
    th = nock()
    assert locator_force(th, 1e-5, 0.2)[0] == pytest.approx(1e-5 * th.locator_stiffness + 0.2 * th.locator_loss)
    assert locator_force(th, -1e-5, -0.2)[0] == pytest.approx(-locator_force(th, 1e-5, 0.2)[0])
    assert locator_force(th, 1e-5, -0.2)[0] < 0.0
