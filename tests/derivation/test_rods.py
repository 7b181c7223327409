"""A riser with rods that bend against its Lagrangian, derived by SymPy from places along the rods.

Each place of a rod stands where the file says, and moves across the rod by the shape that a force at its end gives a
cantilever. The kinetic energy is summed over the rod's length; the spring is so wound that the rod hangs at rest in
the weight of full draw.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import Any

import msgspec
import numpy as np
import pytest
import sympy as sp

from archerysim.equipment.filled_records import FilledRod
from archerysim.mechanics.arrays import Frame
from archerysim.mechanics.forces.rods import accelerate, energy_of_swing
from archerysim.shot.release.room import make_held
from tests.support.mechanics.risers import RODS, frame_of

GRAVITY = np.array([0.7, -9.7])
FORCE, TORQUE = np.array([-31.0, 12.0]), 1.7
COUNT = len(RODS)


@cache
def derived() -> Callable[..., list[Any]]:
    """Mass matrix, what stands beside it, and T + V, from coordinates and rates."""
    bare = frame_of(())  # the riser alone
    frame = frame_of(RODS)
    x, y, turn = place = list(sp.symbols("x y turn"))
    swings = list(sp.symbols(f"q:{COUNT}"))
    coordinates = [*place, *swings]
    rates = list(sp.symbols(f"v:{3 + COUNT}"))
    s = sp.Symbol("s")
    cosine, sine = sp.cos(turn), sp.sin(turn)

    def at(px: sp.Expr, py: sp.Expr) -> sp.Matrix:
        return sp.Matrix([x + cosine * px - sine * py, y + sine * px + cosine * py])

    def speed(point: sp.Matrix) -> sp.Matrix:
        return point.jacobian(coordinates) * sp.Matrix(rates)

    def square(vector: sp.Matrix) -> sp.Expr:
        return sp.expand(vector.dot(vector))

    gravity = sp.Matrix(GRAVITY)
    own = at(bare.cx - frame.cx, bare.cy - frame.cy)
    kinetic = bare.mass * square(speed(own)) / 2 + bare.inertia * rates[2] ** 2 / 2
    potential = -bare.mass * gravity.dot(own)
    for rod, q in zip(RODS, swings, strict=True):
        along = np.array([np.cos(rod.direction), np.sin(rod.direction)])
        start = np.array([rod.start_x - frame.cx, rod.start_y - frame.cy])
        length = rod.length
        shape = (3 * length * s**2 - s**3) / (2 * length**3)
        point = at(start[0] + s * along[0] - q * shape * along[1], start[1] + s * along[1] + q * shape * along[0])
        moving = square(speed(point))
        per_length = rod.rod_mass / length

        def summed(over: sp.Expr, rod: FilledRod = rod, per_length: float = per_length) -> sp.Expr:
            """Over the rod's mass and its end's."""
            at, weight = np.polynomial.legendre.leggauss(5)  # exact: nothing is of a higher power of s than the ninth
            even = sp.Add(
                *(w * over.subs(s, 0.5 * rod.length * (1.0 + one)) for one, w in zip(at, weight, strict=True))
            )
            return 0.5 * rod.length * per_length * even + rod.end_mass * over.subs(s, rod.length)

        kinetic += summed(moving) / 2
        hanging = -summed(gravity.dot(point))
        potential += hanging
        mass = float(summed(shape**2))
        stiffness = mass * (2.0 * np.pi * rod.frequency) ** 2
        wound = -sp.diff(hanging, q).subs({turn: 0})
        potential += stiffness * q**2 / 2 + wound * q
    matrix = sp.hessian(kinetic, rates)
    momenta = sp.Matrix([sp.diff(kinetic, v) for v in rates])
    beside = momenta.jacobian(coordinates) * sp.Matrix(rates)
    beside -= sp.Matrix([sp.diff(kinetic - potential, q) for q in coordinates])
    found: Callable[..., list[Any]] = sp.lambdify(
        [*coordinates, *rates], [matrix, beside, kinetic, potential], "numpy", cse=True
    )
    return found


def state(seed: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Pose and rates, far from full draw, and the pose at full draw."""
    rng = np.random.default_rng(seed)
    frame = frame_of(RODS)
    begin = np.concatenate(([frame.cx, frame.cy, 0.0], np.zeros(COUNT)))
    pose = begin + np.concatenate(
        (rng.uniform(-0.2, 0.2, 2), rng.uniform(-0.7, 0.7, 1), rng.uniform(-0.05, 0.05, COUNT))
    )
    rate = np.concatenate((rng.uniform(-3.0, 3.0, 3), rng.uniform(-2.0, 2.0, COUNT)))
    return pose, rate, begin


@pytest.mark.parametrize("seed", range(20))
def test_accelerations(seed: int) -> None:
    frame, held = frame_of(RODS), make_held(np.zeros(2), np.zeros(3), GRAVITY)
    pose, rate, _ = state(seed)
    matrix, beside, _, _ = derived()(*pose, *rate)
    pushed = np.concatenate((FORCE, [TORQUE], -frame.rods.loss * rate[3:]))
    expected = np.linalg.solve(matrix, pushed - np.ravel(beside))
    gain = np.full(3 + COUNT, np.nan)
    lost = accelerate(frame, held, pose, rate, gain, *FORCE, TORQUE)
    assert gain == pytest.approx(expected, rel=1e-11, abs=1e-10)
    assert lost == pytest.approx(frame.rods.loss @ rate[3:] ** 2, rel=1e-13)


@pytest.mark.parametrize("seed", range(20))
def test_energy(seed: int) -> None:
    """Of all, counted from full draw: the rigid riser's, and what its rods hold by swinging."""
    frame, held = frame_of(RODS), make_held(np.zeros(2), np.zeros(3), GRAVITY)
    pose, rate, begin = state(seed)
    _, _, kinetic, potential = derived()(*pose, *rate)
    _, _, _, resting = derived()(*begin, *np.zeros_like(rate))
    rigid = 0.5 * frame.mass * (rate[:2] @ rate[:2]) + 0.5 * frame.inertia * rate[2] ** 2
    rigid -= frame.mass * (GRAVITY @ (pose - begin)[:2])
    swinging = sum(
        energy_of_swing(frame.rods, k, held, pose[3 + k], rate[3 + k], pose[2], *rate[:3]) for k in range(COUNT)
    )
    assert rigid + swinging == pytest.approx(kinetic + potential - resting, rel=1e-11)


def test_at_rest_at_full_draw() -> None:
    """The weight borne at the mass centre, nothing moves, swings or falls."""
    frame, held = frame_of(RODS), make_held(np.zeros(2), np.zeros(3), GRAVITY)
    _, _, begin = state(0)
    gain = np.full(3 + COUNT, np.nan)
    accelerate(frame, held, begin, np.zeros_like(begin), gain, *(-frame.mass * GRAVITY), 0.0)
    assert gain == pytest.approx(np.zeros_like(gain), abs=1e-13)
    matrix, beside, _, _ = derived()(*begin, *np.zeros_like(begin))
    expected = np.linalg.solve(matrix, np.concatenate((-frame.mass * GRAVITY, np.zeros(1 + COUNT))) - np.ravel(beside))
    assert expected == pytest.approx(np.zeros_like(gain), abs=1e-12)


def test_the_rigid_sums_are_those_of_full_draw() -> None:
    frame: Frame = frame_of(RODS)
    rigid = frame_of(tuple(msgspec.structs.replace(rod, rigid=True) for rod in RODS))
    assert rigid.rods.mass.size == 0
    assert rigid[:4] == frame[:4]
