"""One instant of the shot as a whole: momentum, moment and power of everything that acts.

A row of nodes in a random state with a riser, hand, fingers and rest: what goes in from outside is all that
changes the sums.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest

from archerysim.mechanics.arrays import Fingers, Model
from archerysim.mechanics.forces.riser import point_of
from archerysim.mechanics.forces.throat import throat_state
from archerysim.mechanics.release.forces import Acting, evaluate
from archerysim.mechanics.release.layout import Riser
from archerysim.shot.release.room import make_held, make_nodes
from tests.support.mechanics.random_rows import Row, random_row, seen_from_riser

SEEDS = range(12)
FORCE = np.array([-170.0, 21.0])
PINCH = np.array([0.4, 3.0])  # of the fingers on the nock
HAND = np.array([150.0, 9.0, -2.5])
TIME = 1.3e-3  # fingers are on their way off
STUCK = 2e-4  # where the string sticks to the floor [m]
RUBBING = {"friction": 0.03, "friction_stiffness": 1e5}


@dataclass
class Instant:
    """A state, and what `evaluate` finds in it."""

    row: Row
    fingers: Fingers
    pose: np.ndarray
    rate: np.ndarray
    fx: np.ndarray
    fy: np.ndarray
    turn: np.ndarray
    acting: Acting
    vx: np.ndarray
    vy: np.ndarray

    @property
    def at_fingers(self) -> tuple[slice, np.ndarray]:
        """Nodes touched, and each one's share of the fingers' force by now."""
        fade = 0.5 * (1.0 + np.cos(np.pi * np.clip((TIME - self.fingers.delay) / self.fingers.time, 0.0, 1.0)))
        return slice(self.fingers.first, self.fingers.first + 4), fade @ self.fingers.weight


def instant(seed: int, supported: bool = True) -> Instant:
    rng = np.random.default_rng(seed)
    row = random_row(rng, slope=0.05)
    fingers = Fingers(
        row.marks.edge_u - 1, rng.uniform(0.0, 0.2, (3, 4)), np.array([4e-3, 2e-3, 1e-3]), np.array([0.0, 1e-3, 2e-3])
    )
    pose, rate = rng.uniform(-0.1, 0.1, 3), rng.uniform(-2.0, 2.0, 3)
    support = row.support._replace(**dict(zip("xy", seen_from_riser(row, pose), strict=True)))
    model = Model(row.chain, row.marks, row.throat._replace(**RUBBING), support, row.frame, fingers, 0.0)
    held, riser = make_held(FORCE, HAND, np.array([0.7, -9.7]), PINCH), Riser(pose, rate, np.zeros(3))
    nodes = make_nodes(row.x, row.y)._replace(vx=row.vx.copy(), vy=row.vy.copy())
    acting = evaluate(model, held, nodes, riser, TIME, 0.0, True, STUCK, float(supported), row.marks.tail)
    return Instant(row, fingers, pose, rate, nodes.fx, nodes.fy, riser.gain, acting, nodes.vx, nodes.vy)


def parts(now: Instant) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Free nodes, and the pivot's place and the hand's force there."""
    fr = now.row.frame
    px, py, pvx, pvy = point_of(fr, now.pose, now.rate, 0.0, 0.0)
    hand = HAND[:2] - fr.hand_stiffness * np.array([px, py]) - fr.hand_damping * np.array([pvx, pvy])
    return now.row.chain.inverse_mass > 0.0, np.array([px, py]), np.array([pvx, pvy]), hand


@pytest.mark.parametrize("seed", SEEDS)
def test_momentum_changes_by_fingers_hand_and_weight_alone(seed: int) -> None:
    now = instant(seed)
    free, _, _, hand = parts(now)
    _, shares = now.at_fingers
    fr = now.row.frame
    found = np.array([now.fx[free].sum(), now.fy[free].sum()]) + fr.mass * (now.turn[:2] - [0.7, -9.7])
    size = np.abs(now.fx).max()
    assert found == pytest.approx(shares.sum() * (FORCE + PINCH) + hand, abs=1e-11 * size)


@pytest.mark.parametrize("seed", SEEDS)
def test_moment_of_momentum_too(seed: int) -> None:
    now = instant(seed)
    free, pivot, _, hand = parts(now)
    touched, shares = now.at_fingers
    row, fr = now.row, now.row.frame
    ax, ay = now.turn[:2] - [0.7, -9.7]
    found = np.sum((row.x * now.fy - row.y * now.fx)[free])
    found += fr.mass * (now.pose[0] * ay - now.pose[1] * ax) + fr.inertia * now.turn[2]
    expected = np.sum(shares * (row.x[touched] * FORCE[1] - row.y[touched] * FORCE[0]))
    tail = row.marks.tail
    expected += shares.sum() * (row.x[tail] * PINCH[1] - row.y[tail] * PINCH[0])
    expected += pivot[0] * hand[1] - pivot[1] * hand[0]
    expected += HAND[2] - fr.hand_turn_stiffness * now.pose[2] - fr.hand_turn_damping * now.rate[2]
    # the loss on whole differences of velocity resists turning cells
    expected -= row.chain.loss @ (np.diff(row.x) * np.diff(now.vy) - np.diff(row.y) * np.diff(now.vx))
    assert found == pytest.approx(expected, abs=1e-10 * np.abs(now.fx).max())


@pytest.mark.parametrize("seed", SEEDS)
def test_powers_are_force_times_velocity(seed: int) -> None:
    now = instant(seed)
    _, _, speed, _ = parts(now)
    touched, shares = now.at_fingers
    fr = now.row.frame
    pulled = np.sum(shares * (FORCE[0] * now.vx[touched] + FORCE[1] * now.vy[touched]))
    tail = now.row.marks.tail
    pulled += shares.sum() * (PINCH[0] * now.vx[tail] + PINCH[1] * now.vy[tail])
    assert now.acting.finger_power == pytest.approx(-pulled, rel=1e-12)
    lost = fr.hand_damping * (speed @ speed) + fr.hand_turn_damping * now.rate[2] ** 2
    assert now.acting.hand_power == pytest.approx(lost, rel=1e-12)


@pytest.mark.parametrize("seed", SEEDS)
def test_rest_presses_while_it_supports(seed: int) -> None:
    on, off = instant(seed), instant(seed, supported=False)
    assert on.acting.press == off.acting.press > 0.0
    assert off.acting.rest == off.acting.rest_power == 0.0
    change = on.fy - off.fy
    assert change.sum() == pytest.approx(on.acting.rest, abs=1e-9)
    assert np.count_nonzero(np.abs(change) > 1e-9) in (0, 1, 2)
    # and back on the riser
    assert on.row.frame.mass * (on.turn[1] - off.turn[1]) == pytest.approx(
        -on.acting.rest, abs=1e-13 * on.row.frame.mass * np.abs(on.turn).max()
    )


def test_the_kernel_s_rest_is_met_in_most_states() -> None:
    assert sum(instant(seed).acting.rest > 0.0 for seed in SEEDS) >= 6


def test_the_kernel_s_friction_sticks_and_slips() -> None:
    """And takes its force times the rate at which the string moves along the floor."""
    found = [instant(seed) for seed in SEEDS]
    assert {one.acting.stuck == STUCK for one in found if one.acting.friction != 0.0} == {True, False}
    for one in found:
        row, u, a = one.row, one.row.marks.edge_u, one.row.marks.tail
        rate = throat_state(row.throat, row.x, row.y, one.vx, one.vy, u, a)[5]
        assert one.acting.friction_power == pytest.approx(one.acting.friction * rate, rel=1e-12)
