"""Rods that bend on a riser that floats free: frequency, momentum, energy, the stiff limit, the mirror."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from msgspec.structs import replace
from scipy.integrate import solve_ivp

from archerysim.equipment.filled_records import FilledRod
from archerysim.mechanics.arrays import Frame, Held
from archerysim.mechanics.forces.rods import FIRST, accelerate, energy_of_swing
from archerysim.shot.arrays.build import make_rods
from archerysim.shot.release.release import step_of_rods
from archerysim.shot.release.room import make_held
from tests.support.mechanics.risers import RODS, frame_of, rod

GRAVITY = np.array([0.7, -9.7])
FLOATING = make_held(np.zeros(2), np.zeros(3), np.zeros(2))
WEIGHING = make_held(np.zeros(2), np.zeros(3), GRAVITY)
UNDAMPED = tuple(replace(one, damping=0.0) for one in RODS)
Push = Callable[[float], tuple[float, float, float]]


def begin(frame: Frame) -> np.ndarray:
    """Pose and rates at full draw."""
    state = np.zeros(2 * (FIRST + frame.rods.mass.size))
    state[:2] = frame.cx, frame.cy
    return state


def moved(frame: Frame, held: Held, start: np.ndarray, times: np.ndarray, push: Push) -> np.ndarray:
    """States at times."""
    half = start.size // 2

    def rates(time: float, state: np.ndarray) -> np.ndarray:
        gain = np.zeros(half)
        accelerate(frame, held, state[:half].copy(), state[half:].copy(), gain, *push(time))
        return np.concatenate((state[half:], gain))

    run = solve_ivp(rates, (0.0, times[-1]), start, "DOP853", times, rtol=1e-11, atol=1e-13, max_step=1e-3)
    return np.asarray(run.y.T)


def none(_: float) -> tuple[float, float, float]:
    return 0.0, 0.0, 0.0


def test_frequency_on_a_free_riser_in_closed_form() -> None:
    """A weight m on a rod without mass, through the riser's mass centre: the two bodies meet at the weight, where the
    riser's mass M and inertia I are as 1 / (1/M + r^2/I): w^2 = k (1/m + 1/M + r^2/I)."""
    m, length = 0.25, 0.6
    bare = frame_of((), limb=0.0)
    one = rod(0.4, start_x=bare.cx, start_y=bare.cy, length=length, rod_mass=0.0, end_mass=m, damping=0.0)
    frame = frame_of((one,), limb=0.0)
    stiffness = m * (2.0 * math.pi * one.frequency) ** 2
    expected = math.sqrt(stiffness * (1.0 / m + 1.0 / bare.mass + length**2 / bare.inertia))
    start = begin(frame)
    start[FIRST] = 1e-6
    gain = np.zeros(FIRST + 1)
    accelerate(frame, FLOATING, start[: FIRST + 1].copy(), np.zeros(FIRST + 1), gain, 0.0, 0.0, 0.0)
    assert math.sqrt(-gain[FIRST] / 1e-6) == pytest.approx(expected, rel=1e-9)
    # and it swings so
    period = 2.0 * math.pi / expected
    end = moved(frame, FLOATING, start, np.array([0.25, 1.0]) * period, none)
    assert end[:, FIRST] == pytest.approx([0.0, 1e-6], abs=1e-12)


def test_step_limit_is_that_of_the_free_riser() -> None:
    """One rod alone: 2 / w; with several it is never longer than the stiffest mode's."""
    one = rod(0.0, damping=0.0)
    frame = frame_of((one,))
    gain = np.zeros(FIRST + 1)
    accelerate(frame, FLOATING, np.array([frame.cx, frame.cy, 0.0, 1.0]), np.zeros(4), gain, 0.0, 0.0, 0.0)
    # q of one metre moves the mass centre along the rod: the swing's own w is that of no swing
    small = gain.copy()
    accelerate(frame, FLOATING, np.array([frame.cx, frame.cy, 0.0, 1e-7]), np.zeros(4), small, 0.0, 0.0, 0.0)
    assert step_of_rods(frame) == pytest.approx(2.0 / math.sqrt(-small[FIRST] / 1e-7), rel=1e-6)
    frame = frame_of(UNDAMPED)
    columns = np.zeros((3, 3))
    for k in range(3):
        pose, gain = begin(frame)[: FIRST + 3].copy(), np.zeros(FIRST + 3)
        pose[FIRST + k] = 1e-7
        accelerate(frame, FLOATING, pose, np.zeros(FIRST + 3), gain, 0.0, 0.0, 0.0)
        columns[:, k] = -gain[FIRST:] / 1e-7
    top = math.sqrt(np.linalg.eigvals(columns).real.max())
    assert 0.7 * 2.0 / top < step_of_rods(frame) <= 2.0 / top * (1.0 + 1e-6)
    damped = frame_of(RODS)
    assert step_of_rods(damped) < step_of_rods(frame)
    assert step_of_rods(frame_of(())) == math.inf


def points(rods: tuple[FilledRod, ...], frame: Frame) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Masses, places from the mass centre, and how far each moves with its rod's swing, across: Gauss points."""
    at, weight = np.polynomial.legendre.leggauss(5)
    bare = frame_of(())
    masses, places, moves, owner = [], [], [], []
    for k, one in enumerate(rods):
        along = np.array([math.cos(one.direction), math.sin(one.direction)])
        share = np.append(0.5 * (at + 1.0), 1.0)
        masses.append(np.append(0.5 * weight * one.rod_mass, one.end_mass))
        start = [one.start_x - frame.cx, one.start_y - frame.cy]
        places.append(start + np.outer(share * one.length, along))
        moves.append(np.outer(0.5 * (3.0 * share**2 - share**3), [-along[1], along[0]]))
        owner.append(np.full(share.size, k))
    # the riser: four points of its mass and inertia
    arm = math.sqrt(bare.inertia / bare.mass)
    cross = np.array([[1.0, 0.0], [-1.0, 0.0], [0.0, 1.0], [0.0, -1.0]]) * arm
    masses.append(np.full(4, 0.25 * bare.mass))
    places.append(np.array([bare.cx - frame.cx, bare.cy - frame.cy]) + cross)
    moves.append(np.zeros((4, 2)))
    owner.append(np.zeros(4, dtype=int))
    return np.concatenate(masses), np.vstack(places), np.vstack(moves), np.concatenate(owner)


def test_a_free_riser_keeps_momentum_moment_of_momentum_and_energy() -> None:
    """Summed over points of riser and rods, in free fall, with swings of centimetres."""
    frame = frame_of(UNDAMPED)
    count = frame.rods.mass.size
    half = FIRST + count
    start = begin(frame)
    start[FIRST:half] = 0.02, -0.01, 0.005
    start[half:] = 0.4, -0.3, 2.5, -1.0, 0.7, 0.9
    times = np.linspace(0.0, 0.2, 9)
    states = moved(frame, WEIGHING, start, times, none)
    mass, place, move, owner = points(UNDAMPED, frame)
    assert mass.sum() == pytest.approx(frame.mass, rel=1e-14)
    assert mass @ place == pytest.approx(np.zeros(2), abs=1e-15)
    assert mass @ (place**2).sum(axis=1) == pytest.approx(frame.inertia, rel=1e-13)
    sums = []
    for time, state in zip(times, states, strict=True):
        pose, rate = state[:half], state[half:]
        c, s = math.cos(pose[2]), math.sin(pose[2])
        turned = np.array([[c, -s], [s, c]])
        arm = (place + pose[FIRST + owner][:, None] * move) @ turned.T
        at = pose[:2] + arm
        speed = rate[:2] + rate[2] * np.column_stack((-arm[:, 1], arm[:, 0]))
        speed += rate[FIRST + owner][:, None] * move @ turned.T
        momentum = mass @ speed - frame.mass * GRAVITY * time
        centre = mass @ at / frame.mass
        moment = mass @ ((at - centre)[:, 0] * speed[:, 1] - (at - centre)[:, 1] * speed[:, 0])
        # the spring's and the weight's energy
        swings = pose[FIRST:]
        resting = np.column_stack((frame.rods.across_x, frame.rods.across_y)) @ GRAVITY
        potential = 0.5 * frame.rods.stiffness @ swings**2 + frame.rods.share * resting @ swings - mass @ at @ GRAVITY
        sums.append([*momentum, moment, 0.5 * mass @ (speed**2).sum(axis=1) + potential])
        # by the account
        rigid = 0.5 * frame.mass * (rate[:2] @ rate[:2]) + 0.5 * frame.inertia * rate[2] ** 2
        swinging = sum(
            energy_of_swing(frame.rods, k, WEIGHING, swings[k], rate[FIRST + k], pose[2], *rate[:3])
            for k in range(count)
        )
        assert rigid + swinging - frame.mass * GRAVITY @ pose[:2] == pytest.approx(sums[-1][-1], rel=1e-12)
    np.testing.assert_allclose(sums, [sums[0]] * times.size, rtol=1e-9, atol=1e-10)
    assert np.ptp(states[:, FIRST]) > 0.03


def test_stiff_rods_are_rigid_ones_with_an_error_that_falls_as_one_over_frequency_squared() -> None:
    """In the middle of a smooth push of 20 ms, which the swing follows from 250 Hz on."""

    def push(time: float) -> tuple[float, float, float]:
        now = math.sin(math.pi * min(time / 0.02, 1.0)) ** 6
        return -60.0 * now, 25.0 * now, 3.0 * now

    times = np.array([0.009, 0.01, 0.011])
    rigid = moved(frame := frame_of((rod(0.3, rigid=True),)), WEIGHING, begin(frame), times, push)
    errors = []
    for frequency in (250.0, 500.0, 1000.0, 2000.0):
        frame = frame_of((rod(0.3, frequency=frequency, damping=0.0),))
        states = moved(frame, WEIGHING, begin(frame), times, push)
        errors.append(np.abs(states[:, :FIRST] - rigid[:, :FIRST]).max())
    slopes = np.log2(np.array(errors[:-1]) / errors[1:])
    assert slopes == pytest.approx([2.0, 2.0, 2.0], abs=0.1)


@pytest.mark.parametrize("seed", range(6))
def test_mirror(seed: int) -> None:
    """Upside down: heights, turns and swings change sign, and nothing else."""
    rng = np.random.default_rng(seed)
    pose, rate = rng.uniform(-0.3, 0.3, 6), rng.uniform(-2.0, 2.0, 6)
    sign = np.array([1.0, -1.0, -1.0, -1.0, -1.0, -1.0])
    over = tuple(replace(one, direction=-one.direction, start_y=-one.start_y) for one in RODS)
    frame = frame_of(RODS)
    mirrored = frame._replace(cy=-frame.cy, rods=make_rods(over, frame.cx, -frame.cy))
    here, there = np.zeros((2, 6))
    accelerate(frame, WEIGHING, pose, rate, here, 11.0, -7.0, 2.0)
    held = make_held(np.zeros(2), np.zeros(3), GRAVITY * [1.0, -1.0])
    accelerate(mirrored, held, pose * sign, rate * sign, there, 11.0, 7.0, -2.0)
    assert there == pytest.approx(here * sign, rel=1e-11, abs=1e-12)
