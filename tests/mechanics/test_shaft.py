"""The rigid shaft's motion: closed form for rods that turn, and blind to bending."""

from __future__ import annotations

import numpy as np
import pytest

from archerysim.mechanics.rigid_body import rigid_motion
from archerysim.shot.arrays.build import arrow_cells
from tests.support.shot.reference_case import reference


@pytest.mark.parametrize("angle", np.radians([-80.0, -30.0, -1.0, 0.0, 0.3, 45.0, 89.0]))
@pytest.mark.parametrize("spin", [-30.0, 0.0, 7.0])
def test_a_rod_that_turns_and_flies(angle: float, spin: float) -> None:
    mass = arrow_cells(reference().arrow, 24)["mass"]
    along = np.linspace(0.0, 0.72, mass.size)
    centre = mass @ along / mass.sum()
    x, y = -0.4 + along * np.cos(angle), 0.1 + along * np.sin(angle)
    vx, vy = 55.0 - spin * (y - 0.1), 0.3 + spin * (x + 0.4)
    got = rigid_motion(mass, x, y, vx, vy)
    place = (-0.4 + centre * np.cos(angle), 0.1 + centre * np.sin(angle))
    velocity = (55.0 - spin * centre * np.sin(angle), 0.3 + spin * centre * np.cos(angle))
    assert got == pytest.approx((*place, *velocity, angle, spin), rel=1e-12, abs=1e-11)


def test_bending_that_leaves_the_mass_weighted_line_counts_for_nothing() -> None:
    rng = np.random.default_rng(0)
    mass = arrow_cells(reference().arrow, 24)["mass"]
    x = np.linspace(0.0, 0.72, mass.size)
    off = rng.normal(size=(2, mass.size)) * [[1e-3], [3.0]]
    # take sum and moment out of a random bend and its speed
    base = np.column_stack((np.ones(mass.size), x - mass @ x / mass.sum()))
    bend, speed = (v - base @ np.linalg.solve(base.T @ (mass[:, None] * base), base.T @ (mass * v)) for v in off)
    straight = rigid_motion(mass, x, 0.0 * x, 0.0 * x + 50.0, 2.0 * x)
    bent = rigid_motion(mass, x, bend, 0.0 * x + 50.0, 2.0 * x + speed)
    assert bent[:5] == pytest.approx(straight[:5], abs=1e-12)
    # the moment of inertia grows with the bend squared, nothing else
    inertia = mass @ (x - mass @ x / mass.sum()) ** 2
    assert bent[5] == pytest.approx(straight[5] * inertia / (inertia + mass @ bend**2), rel=1e-12)
