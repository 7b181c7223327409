"""The energy account: what the drawn bow held is found again, and the parts add up by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from archerysim.equipment import filled
from archerysim.equipment.arrow import total_mass
from archerysim.mechanics.rigid_body import rigid_motion
from archerysim.shot.energy import Energy, elastic_parts
from archerysim.shot.moment import Moment
from archerysim.shot.shoot import shoot
from tests.support.equipment.random_setups import random_setup
from tests.support.shot.example_bows import NAMES, built, fitted, shot, traced

MISSED = 0.001  # of the stored energy
GRAVITY = 9.81


def moments(name: str) -> tuple[Moment, Moment]:
    return shot(name).separation, shot(name).clear


@pytest.mark.parametrize("name", NAMES)
def test_little_is_missed(name: str) -> None:
    for moment in moments(name):
        assert abs(moment.energy.residual) < MISSED * moment.energy.stored


@pytest.mark.parametrize("seed", range(12))
def test_little_is_missed_in_random_shots(seed: int) -> None:
    done = shoot(random_setup(np.random.default_rng([7, seed])), trace=False)
    for moment in (done.separation, done.clear):
        assert abs(moment.energy.residual) < MISSED * moment.energy.stored


@pytest.mark.parametrize("name", NAMES)
def test_a_shorter_step_misses_less(name: str) -> None:
    half = replace(fitted(name), step_factor=0.5).launch()
    missed = abs(half.clear.energy.residual)
    assert missed < MISSED * half.stored_energy
    assert missed <= abs(shot(name).clear.energy.residual) + 2e-5 * half.stored_energy
    assert half.step == pytest.approx(0.5 * shot(name).step, rel=1e-3)


@pytest.mark.parametrize("name", NAMES)
def test_dampers_take_and_never_give(name: str) -> None:
    """What nock, locators and rest are charged with holds what their springs hold, so it may fall again."""
    first, last = (m.energy.table() for m in moments(name))
    for part in first:
        if part.startswith("lost_"):
            assert first[part] >= 0.0, part
            assert last[part] >= 0.0, part
    for part in ("lost_string", "lost_limbs", "lost_arrow", "lost_hand", "fingers"):
        assert first[part] <= last[part], part
    assert first["fingers"] > 0.0


def added(energy: Energy) -> float:
    return sum(value for name, value in energy.table().items() if name != "stored")


@pytest.mark.parametrize("name", NAMES)
def test_parts_add_up(name: str) -> None:
    for moment in moments(name):
        assert added(moment.energy) == pytest.approx(moment.energy.stored, rel=1e-12)


@pytest.mark.parametrize("name", NAMES)
def test_stored_energy_by_hand(name: str) -> None:
    """Elastic energy at full draw less that at brace, from the nodes' places."""
    done = shot(name)
    drawn = elastic_parts(done.drawing, done.drawn.x, done.drawn.y)
    braced = elastic_parts(done.drawing, done.braced.x, done.braced.y)
    assert done.stored_energy == pytest.approx((drawn - braced)[:2].sum(), rel=1e-12)
    for moment in moments(name):
        assert moment.energy.stored == done.stored_energy


@pytest.mark.parametrize("name", NAMES)
def test_arrow_by_hand(name: str) -> None:
    """Kinetic energy of a rigid arrow of the setup's mass at the reported speeds."""
    done = shot(name)
    mass = total_mass(filled(built(name)).arrow)
    assert done.braced.chain.mass[done.braced.marks.tail :].sum() == pytest.approx(mass, rel=1e-12)
    for moment in moments(name):
        speed = np.linalg.norm((moment.speed, moment.vertical_velocity, moment.sideways_velocity))
        assert moment.energy.arrow_translation == pytest.approx(0.5 * mass * speed**2, rel=1e-12)
        assert moment.energy.arrow_bending >= 0.0
    energy = done.separation.energy
    held = energy.arrow_translation + energy.arrow_rotation + energy.arrow_bending
    assert done.efficiency == pytest.approx(held / done.stored_energy, rel=1e-12)
    assert 0.5 < done.efficiency < 0.9


@pytest.mark.parametrize("name", NAMES)
def test_rotation_by_hand(name: str) -> None:
    """Half the inertia of the shaft as it lies at full draw, times pitch rate and yaw rate squared."""
    done = shot(name)
    tail = done.braced.marks.tail
    mass = done.braced.chain.mass[tail:]
    x, y = done.drawn.x[tail:], done.drawn.y[tail:]
    along = np.hypot(x - mass @ x / mass.sum(), y - mass @ y / mass.sum())
    for moment in moments(name):
        expected = 0.5 * float(mass @ along**2) * (moment.pitch_rate**2 + moment.yaw_rate**2)
        assert moment.energy.arrow_rotation == pytest.approx(expected, rel=1e-3)


@pytest.mark.parametrize("name", NAMES)
def test_momentum_after_separation(name: str) -> None:
    """The locators guide the nock until the string is out of the throat; then only its weight moves the arrow."""
    done = traced(name)
    trace = done.trace
    assert trace is not None
    mass = total_mass(filled(built(name)).arrow)
    touched = (trace.locator != 0.0) | (trace.edge_upper != 0.0) | (trace.edge_lower != 0.0) | (trace.rest != 0.0)
    free = int(np.flatnonzero(touched)[-1]) + 1
    after = trace.time - trace.time[free]
    falling = trace.vertical_velocity[free] - GRAVITY * after
    np.testing.assert_allclose(trace.vertical_velocity[free:], falling[free:], atol=2e-4)
    np.testing.assert_allclose(trace.speed[free:], trace.speed[free], rtol=1e-5)
    held = trace.time >= done.separation.time
    impulse = float(np.trapezoid(trace.locator[held], trace.time[held]))
    gained = done.clear.vertical_velocity - done.separation.vertical_velocity
    weight = -GRAVITY * (done.clear.time - done.separation.time)
    assert mass * (gained - weight) == pytest.approx(impulse, rel=0.15, abs=2e-5)


@pytest.mark.parametrize("name", NAMES)
def test_nothing_else_in_the_trace_adds_energy(name: str) -> None:
    """The arrow's kinetic energy never passes what was stored."""
    trace, stored = traced(name).trace, shot(name).stored_energy
    assert trace is not None
    mass = total_mass(filled(built(name)).arrow)
    kinetic = 0.5 * mass * (trace.speed**2 + trace.vertical_velocity**2 + trace.sideways_velocity**2)
    assert kinetic.max() < stored


def test_rigid_motion_of_a_turning_rod() -> None:
    """Pitch, rate and velocity of a rod that turns about its middle while it flies."""
    along = np.linspace(-0.3, 0.4, 8)
    mass = np.array([2.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 5.0]) * 1e-3
    angle, rate = 0.05, 3.0
    x, y = along * np.cos(angle), along * np.sin(angle)
    centre = np.array([mass @ x, mass @ y]) / mass.sum()
    vx, vy = 50.0 - rate * (y - centre[1]), 0.3 + rate * (x - centre[0])
    cx, cy, ux, uy, pitch, found = rigid_motion(mass, x, y, vx, vy)
    np.testing.assert_allclose((cx, cy, ux, uy, pitch, found), (*centre, 50.0, 0.3, angle, rate), rtol=1e-12)
