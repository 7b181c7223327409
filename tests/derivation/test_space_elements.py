"""Every compiled force of the shot in both planes against the formulas that SymPy derives from the elements."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from archerysim.mechanics.arrays import Arm, Chain, Fingers, Marks
from archerysim.mechanics.forces.chain import chain_energy, chain_forces
from archerysim.mechanics.forces.side_support import side_force, side_push
from archerysim.mechanics.forces.wrap import wrap_force, wrap_pull
from archerysim.mechanics.release.chain_loss import chain_loss
from archerysim.mechanics.release.forces import finger_fade, rolled_off
from archerysim.mechanics.release.side_forces import hold_tips, push_of_groove, reach_of_arm
from archerysim.mechanics.release.side_layout import AWAY, FOLDED, UP
from archerysim.shot.arrays.build import make_cells
from tests.derivation import side_elements as sides
from tests.derivation import space_elements as spaces
from tests.derivation.states import COUNT, TWO_WAY, aside, row, side_support, wound
from tests.mechanics.test_wrap import SEEDS, STIFFNESS, lower_too, random_end

RELATIVE = 1e-10
MARKS = Marks(0, 0, 0, 0, 1, 1, 2)

stretch = cache(spaces.stretch)
string_cell = cache(spaces.string_cell)
string_damper = cache(spaces.string_damper)
bend = cache(spaces.bend)
end_cell = cache(spaces.end_cell)
support = cache(sides.side_support)


def same(got: np.ndarray, expected: np.ndarray, scale: float = 0.0) -> None:
    """Equal to 1e-10 of the largest entry, or of a force of which they are the difference."""
    size = max(np.abs(expected).max(), scale)
    assert np.abs(np.asarray(got) - expected).max() <= RELATIVE * size


def chain_force(chain: Chain, at: np.ndarray, rates: np.ndarray, tail: int = 0) -> np.ndarray:
    """The compiled chain's forces (n, 3) on nodes of string and, from ``tail`` on, shaft."""
    n = len(at)
    fx, fy, side = np.empty(n), np.empty(n), aside(at[:, 2], rates[:, 2], tail)
    chain_forces(chain, *at[:, :2].T.copy(), *rates[:, :2].T.copy(), fx, fy, make_cells(n), side)
    return np.column_stack((fx, fy, side.motion.fz))


@pytest.mark.parametrize("kind", ["shaft", "string"])
def test_stretch(kind: str) -> None:
    rng = np.random.default_rng(1)
    element, least = (stretch(), TWO_WAY) if kind == "shaft" else (string_cell(), 0.0)
    slack = 0
    for _ in range(COUNT):
        at, still = wound(rng, 1), np.zeros((2, 3))
        stiff = 10.0 ** rng.uniform(3.0, 7.0)
        unloaded = np.linalg.norm(at[1] - at[0]) * (1.0 - rng.uniform(-0.01, 0.02))
        chain = row(2, stretch=[stiff], rest_length=[unloaded], least_force=[least])
        expected = element.forces_at(*at.ravel(), *still.ravel(), stiff, unloaded)
        # a relative difference of lengths of 1e-6 has lost six digits before it is multiplied
        same(chain_force(chain, at, still).ravel(), expected, stiff * unloaded * 1e-5)
        energy = element.energy_at(*at.ravel(), stiff, unloaded)
        x, y, z = at.T.copy()
        assert chain_energy(chain, x, y, 0, 1, z)[0] == pytest.approx(energy, rel=1e-9, abs=1e-14 * stiff)
        slack += energy == 0.0
    assert (50 < slack < COUNT - 50) == (kind == "string")


def test_string_damper() -> None:
    rng = np.random.default_rng(2)
    for _ in range(COUNT):
        at, rates = wound(rng, 1), rng.uniform(-50.0, 50.0, (2, 3))
        loss, along = rng.uniform(0.0, 2.0, 2)
        chain = row(2, loss=[loss], axial_loss=[along])
        expected = string_damper().forces_at(*at.ravel(), *rates.ravel(), loss, along)
        same(chain_force(chain, at, rates).ravel(), expected)
        fx, fy, cells, side = np.empty(2), np.empty(2), make_cells(2), aside(at[:, 2], rates[:, 2])
        vx, vy, _ = rates.T.copy()
        chain_forces(chain, *at[:, :2].T.copy(), vx, vy, fx, fy, cells, side)
        assert sum(chain_loss(chain, MARKS, vx, vy, cells, side)) == pytest.approx(-expected @ rates.ravel())


def test_bend() -> None:
    """Of nodes that move: nothing is lost in it."""
    rng = np.random.default_rng(3)
    for _ in range(COUNT):
        at, rates = wound(rng, 2), rng.uniform(-50.0, 50.0, (3, 3))
        stiff = 10.0 ** rng.uniform(1.0, 3.0)
        chain = row(3, bend=[0.0, stiff, 0.0])
        same(chain_force(chain, at, rates).ravel(), bend().forces_at(*at.ravel(), *rates.ravel(), stiff))
        x, y, z = at.T.copy()
        energy = bend().energy_at(*at.ravel(), stiff)
        assert chain_energy(chain, x, y, 0, 2, z)[1] == pytest.approx(energy, rel=1e-9, abs=1e-14 * stiff)


def shaft(rng: np.random.Generator, cells: int) -> tuple[Chain, np.ndarray]:
    """A bent shaft of so many cells, squeezed and stretched, and its nodes' places."""
    at = wound(rng, cells, 1.0)
    length = np.linalg.norm(np.diff(at, axis=0), axis=1)
    bends = np.append(np.append(0.0, 10.0 ** rng.uniform(1.0, 3.0, cells - 1)), 0.0)
    unloaded = length * (1.0 + rng.uniform(-0.01, 0.01, cells))
    stiff, least = 10.0 ** rng.uniform(3.0, 5.0, cells), np.full(cells, TWO_WAY)
    return row(cells + 1, stretch=stiff, rest_length=unloaded, least_force=least, bend=bends), at


def test_a_whole_shaft_is_the_sum_of_its_elements() -> None:
    rng = np.random.default_rng(4)
    for _ in range(COUNT):
        chain, at = shaft(rng, 5)
        expected = np.zeros((6, 3))
        for j in range(5):
            numbers = chain.stretch[j], chain.rest_length[j]
            expected[j : j + 2] += stretch().forces_at(*at[j : j + 2].ravel(), *np.zeros(6), *numbers).reshape(2, 3)
        for i in range(1, 5):
            ends = at[i - 1 : i + 2].ravel()
            expected[i - 1 : i + 2] += bend().forces_at(*ends, *np.zeros(9), chain.bend[i]).reshape(3, 3)
        same(chain_force(chain, at, np.zeros((6, 3))), expected)


def test_a_whole_shaft_keeps_its_momentum_and_spin() -> None:
    """Along all three axes and about them; and its mirror image gets the mirror image of its forces."""
    rng = np.random.default_rng(5)
    mirror = np.array([1.0, 1.0, -1.0])
    for _ in range(COUNT):
        chain, at = shaft(rng, 5)
        rates = rng.uniform(-50.0, 50.0, at.shape)
        force = chain_force(chain, at, rates)
        size = np.abs(force).max()
        assert np.abs(force.sum(axis=0)).max() <= 1e-12 * size
        assert np.abs(np.cross(at, force).sum(axis=0)).max() <= 1e-12 * size
        assert np.array_equal(chain_force(chain, at * mirror, rates * mirror), force * mirror)


def test_a_limb_does_not_know_of_its_tip_sideways() -> None:
    """Its cells and bends stay in their plane: the string's cells alone pull the tip aside."""
    rng = np.random.default_rng(6)
    for _ in range(COUNT):
        at, rates = wound(rng, 3), rng.uniform(-50.0, 50.0, (4, 3))
        at[:3, 2] = 0.0
        length = np.linalg.norm(np.diff(at[:, :2], axis=0), axis=1)
        chain = row(
            4, stretch=rng.uniform(1e3, 1e5, 3), rest_length=length * 0.99, loss=rng.uniform(0.0, 1.0, 3),
            bend=[0.0, 50.0, 0.0, 0.0], bend_loss=[0.0, 0.1, 0.0, 0.0], natural=[0.0, 0.2, 0.0, 0.0],
        )  # fmt: skip
        span = np.array([0.0, 0.0, 1.0])  # the last cell is the string's, the node before it the tip
        found = []
        for place, rate in ((0.0, 0.0), (0.01, 20.0)):
            side = aside(np.array([0.0, 0.0, place, place]), np.array([0.0, 0.0, rate, rate]), 3, span=span)
            fx, fy = np.empty((2, 4))
            chain_forces(chain, *at[:, :2].T.copy(), *rates[:, :2].T.copy(), fx, fy, make_cells(4), side)
            found.append((fx, fy, side.motion.fz.copy()))
        assert np.array_equal(found[0], found[1])
        assert not np.any(found[1][2])


@pytest.mark.parametrize("seed", SEEDS)
def test_end_cell(seed: int) -> None:
    """Free and lying, at either limb: the flat way's derivatives with every node, and the pulls sideways."""
    rng = np.random.default_rng(seed)
    for end in lower_too(random_end(seed)[0]):
        w, length, n = end.wrap, end.path()[4], end.x.size
        slope = end.force() / (-STIFFNESS * (length - end.rest[w.cell]))  # of the flat way's length
        z = rng.uniform(-0.02, 0.02, n)
        numbers = STIFFNESS, end.rest[w.cell]
        expected = end_cell().forces_at(length, z[w.tip], z[w.string], 0.0, 0.0, 0.0, *numbers)
        side = aside(z, np.zeros(n))
        fx, fy, room = np.zeros(n), np.zeros(n), np.zeros((2, w.reach + 2))
        wrap_force(w, end.rest, end.least, end.x, end.y, *room, fx, fy, side)
        scale = STIFFNESS * length * 1e-5
        same(np.column_stack((fx, fy)).ravel(), expected[0] * slope, scale)
        sideways = np.zeros(n)
        sideways[[w.tip, w.string]] = expected[1:]
        same(side.motion.fz, sideways, scale)
        energy = end_cell().energy_at(length, z[w.tip], z[w.string], *numbers)
        pull = wrap_pull(w, end.rest, end.x, end.y, *room, z)
        assert 0.5 * pull * pull / STIFFNESS == pytest.approx(energy, rel=1e-9)


def test_side_support() -> None:
    """At the riser as it stands: the shaft's forces; where it acts on the riser is seen on a whole bow."""
    rng = np.random.default_rng(7)
    where = set()
    for _ in range(COUNT):
        ss = side_support(rng)
        x = np.sort(rng.uniform(0.0, 0.4, 2))
        at_x, at_vx = float(rng.uniform(*x)), float(rng.uniform(-1.0, 1.0))
        vx, vz = rng.uniform(-60.0, 60.0) + rng.uniform(-1.0, 1.0, 2), rng.uniform(-1.0, 1.0, 2)
        past, slope = rng.uniform(-0.2, 1.0) * rng.choice((1e-4, 1e-3, 6e-3)), rng.uniform(-0.03, 0.03)
        z = ss.offset - past + slope * (x - at_x)
        p, rate, xi, lean = side_push(ss, x, z, vx, vz, 0, at_x, at_vx)
        force = side_force(ss, p, rate)
        got = [-(1.0 - xi) * lean * force, (1.0 - xi) * force, -xi * lean * force, xi * force]
        seat = max(ss.stiffness, ss.seat)
        numbers = (0.0, 0.0, ss.offset, ss.stiffness, ss.preload, seat, ss.travel, ss.seat, ss.damping)
        at = (x[0], z[0], x[1], z[1], at_x, 0.0, 0.0)
        rates = (vx[0], vz[0], vx[1], vz[1], at_vx, 0.0, 0.0)
        expected = support().forces_at(*at, *rates, *numbers)
        same(got, expected[:4], 1e-6 * seat)
        same(expected[4:], [lean * force, 0.0, 0.0], 1e-6 * seat)
        assert force * rate == pytest.approx(-expected @ rates, rel=1e-9, abs=1e-9 * seat)
        where.add((p > 0.0, seat * p > ss.preload + ss.stiffness * p, p > ss.travel, ss.stiffness > ss.seat, force > 0))
    assert {(True, True, False, False, True), (True, True, True, False, True)} <= where  # the spring, and its stop
    assert {(True, False, False, False, True), (True, False, False, True, True)} <= where  # the seat, and a plate
    assert {(True, False, False, False, False), (False, False, False, False, False)} <= where  # leaving, and away


def test_groove() -> None:
    rng = np.random.default_rng(8)
    groove = sides.groove()
    for _ in range(COUNT):
        z, rates, share = rng.uniform(-5e-3, 5e-3, 3), rng.uniform(-1.0, 1.0, 3), rng.uniform(0.0, 1.0)
        numbers = 10.0 ** rng.uniform(3.0, 7.0), rng.uniform(0.0, 100.0)
        side = aside(z, rates, groove_stiffness=numbers[0], groove_loss=numbers[1])
        force, power = push_of_groove(side, 0, 2, share)
        expected = share * groove.forces_at(*z, *rates, *numbers)
        same(side.motion.fz, expected)
        assert force == pytest.approx(expected[2], rel=1e-10)
        assert power == pytest.approx(-expected @ rates, rel=1e-9)


def test_tips() -> None:
    rng = np.random.default_rng(9)
    tip = sides.tip()
    for _ in range(COUNT):
        z, rates, weight = rng.uniform(-5e-3, 5e-3, 4), rng.uniform(-1.0, 1.0, 4), rng.uniform(-0.1, 0.1, 4)
        stiff, loss = rng.uniform(50.0, 1e5, 2), rng.uniform(0.0, 50.0, 2)
        side = aside(z, rates, tip_u=1, tip_l=2, tip_stiffness=stiff, tip_loss=loss, weight=weight)
        lost = hold_tips(side)
        expected = weight.copy()
        for k in (0, 1):
            expected[1 + k] += tip.forces_at(z[1 + k], rates[1 + k], stiff[k], loss[k])[0]
        same(side.motion.fz, expected)
        assert lost == pytest.approx(loss @ rates[1:3] ** 2, rel=1e-12)


def test_reach_of_the_arm() -> None:
    """Up it supports within its reach; once struck it pushes the shaft out while it folds away."""
    rng = np.random.default_rng(10)
    folding = sides.folding()
    for _ in range(COUNT):
        z, rates, xi = rng.uniform(-3e-3, 8e-3, 2), rng.uniform(-2.0, 2.0, 2), rng.uniform(0.0, 1.0)
        arm = Arm(rng.uniform(0.0, 6e-3), rng.uniform(0.0, 1.0))
        over = (1.0 - xi) * z[0] + xi * z[1]
        for state, pushed in ((UP, 0.0), (AWAY, 0.0), (FOLDED, arm.fold_force)):
            side = aside(z, rates, arm=arm)
            side.kept.notes.arm = state
            place, supported, power = reach_of_arm(side, 0, xi, 0.0)
            assert place == pytest.approx(over, rel=1e-10, abs=1e-15)
            assert supported == (state == UP and over < arm.outer)
            expected = folding.forces_at(0.0, z[0], 1.0, z[1], xi, 0.0, 0.0, *np.zeros(7), 0.0, 0.0, pushed)
            same(side.motion.fz, expected[[1, 3]], 1e-12)
            assert power == pytest.approx(-(expected[1] * rates[0] + expected[3] * rates[1]), rel=1e-9, abs=1e-15)


def test_fingers() -> None:
    rng = np.random.default_rng(11)
    finger = sides.finger()
    for _ in range(COUNT):
        share, size, roll, hold, time, delay, release = rng.uniform(0.1, 1.0, 7) * (1, 300, 0.5, 9, 8e-3, 2e-3, 5e-3)
        fi = Fingers(0, np.ones((1, 1)), np.array([release]), np.array([delay]))
        got = share * finger_fade(fi, 0, time) * (hold + size * np.tan(roll) * rolled_off(fi, 0, time))
        same([got], finger.forces_at(0.0, 0.0, share, size, roll, hold, time, delay, release), 1e-3)
