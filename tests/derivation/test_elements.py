"""Every compiled force and tangent against the formulas that SymPy derives from the elements' energies."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
import sympy as sp

from archerysim.mechanics.arrays import Fingers, Grid, Marks, Throat
from archerysim.mechanics.forces.chain import chain_energy, chain_forces
from archerysim.mechanics.forces.friction import friction_force
from archerysim.mechanics.forces.rest import rest_force, rest_gap
from archerysim.mechanics.forces.throat import (
    add_throat_forces,
    edge_force,
    locator_force,
    tail_direction,
    throat_state,
)
from archerysim.mechanics.release.chain_loss import chain_loss
from archerysim.mechanics.release.forces import finger_fade
from archerysim.mechanics.statics.lay_arrow import edge_energy, locator_energy
from archerysim.mechanics.statics.room import Matrix
from archerysim.mechanics.statics.tangent import bend_block, chain_blocks, rest_tangent, throat_block
from archerysim.shot.arrays.build import make_cells
from tests.derivation import chain_elements as chains
from tests.derivation import riser_elements as risers
from tests.derivation import throat_elements as throats
from tests.derivation.element import Element, compiled, forces
from tests.derivation.states import COUNT, TWO_WAY, nocked, row, shaft_over_rest, throat, turned
from tests.support.mechanics.dense_matrices import blocks_for

RELATIVE = 1e-10

stretch = cache(chains.stretch)
string_cell = cache(chains.string_cell)
string_damper = cache(chains.string_damper)
bend = cache(chains.bend)
edge = cache(throats.edge)
touching = cache(throats.touching_locators)
gapped = cache(throats.gapped_locators)
friction = cache(throats.friction)
rest = cache(risers.rest)
finger = cache(risers.finger)


def same(got: np.ndarray, expected: np.ndarray, scale: float = 0.0) -> None:
    """Equal to 1e-10 of the largest entry, or of a force of which they are the difference."""
    size = max(np.abs(expected).max(), scale)
    assert np.abs(np.asarray(got) - expected).max() <= RELATIVE * size


def chain_force(chain, at: np.ndarray, rates: np.ndarray) -> np.ndarray:  # type: ignore[no-untyped-def]
    """The compiled chain's forces over x0, y0, x1, ... and its scratch space."""
    n = len(at)
    fx, fy, cells = np.empty(n), np.empty(n), make_cells(n)
    chain_forces(chain, *at.T.copy(), *rates.T.copy(), fx, fy, cells)
    return np.column_stack((fx, fy)).ravel()


def blocks(chain, at: np.ndarray) -> np.ndarray:  # type: ignore[no-untyped-def]
    """The compiled chain's tangent (2n, 2n)."""
    n = len(at)
    kept = blocks_for(n)
    chain_blocks(chain, *at.T.copy(), False, kept)
    diagonal, near, far, _ = kept
    matrix = np.zeros((2 * n, 2 * n))
    for i in range(n):
        xx, xy, yy = diagonal[:, i]
        matrix[2 * i : 2 * i + 2, 2 * i : 2 * i + 2] = [[xx, xy], [xy, yy]]
        for reach, block in ((1, near[:, i]), (2, far[:, i])):
            if i + reach < n:
                j = i + reach
                matrix[2 * i : 2 * i + 2, 2 * j : 2 * j + 2] = block.reshape(2, 2)
                matrix[2 * j : 2 * j + 2, 2 * i : 2 * i + 2] = block.reshape(2, 2).T
    return matrix


@pytest.mark.parametrize("kind", ["limb", "string"])
def test_stretch(kind: str) -> None:
    rng = np.random.default_rng(1)
    element, least = (stretch(), TWO_WAY) if kind == "limb" else (string_cell(), 0.0)
    slack = 0
    for _ in range(COUNT):
        at, still = turned(rng, 1), np.zeros((2, 2))
        stiff = 10.0 ** rng.uniform(3.0, 7.0)
        unloaded = np.hypot(*np.diff(at, axis=0)[0]) * (1.0 - rng.uniform(-0.01, 0.02))
        chain = row(2, stretch=[stiff], rest_length=[unloaded], least_force=[least])
        expected = element.forces_at(*at.ravel(), *still.ravel(), stiff, unloaded)
        # a relative difference of lengths of 1e-6 has lost six digits before it is multiplied
        same(chain_force(chain, at, still), expected, stiff * unloaded * 1e-5)
        same(blocks(chain, at), element.tangent_at(*at.ravel(), stiff, unloaded), 1e-3 * stiff)
        energy = element.energy_at(*at.ravel(), stiff, unloaded)
        assert chain_energy(chain, *at.T.copy(), 0, 1)[0] == pytest.approx(energy, rel=1e-9, abs=1e-14 * stiff)
        slack += energy == 0.0
    assert (50 < slack < COUNT - 50) == (kind == "string")


def test_string_damper() -> None:
    rng = np.random.default_rng(2)
    marks = Marks(0, 0, 0, 0, 1, 1, 2)
    for _ in range(COUNT):
        at, rates = turned(rng, 1), rng.uniform(-50.0, 50.0, (2, 2))
        loss, along = rng.uniform(0.0, 2.0, 2)
        chain = row(2, loss=[loss], axial_loss=[along])
        expected = string_damper().forces_at(*at.ravel(), *rates.ravel(), loss, along)
        same(chain_force(chain, at, rates), expected)
        fx, fy, cells = np.empty(2), np.empty(2), make_cells(2)
        chain_forces(chain, *at.T.copy(), *rates.T.copy(), fx, fy, cells)
        assert sum(chain_loss(chain, marks, *rates.T.copy(), cells)) == pytest.approx(-expected @ rates.ravel())


def test_bend() -> None:
    rng = np.random.default_rng(3)
    for _ in range(COUNT):
        at, rates = turned(rng, 2), rng.uniform(-50.0, 50.0, (3, 2))
        numbers = (10.0 ** rng.uniform(1.0, 3.0), rng.uniform(-0.5, 0.5), 10.0 ** rng.uniform(-3.0, 0.0))
        stiff, natural, loss = ([0.0, value, 0.0] for value in numbers)
        chain = row(3, bend=stiff, natural=natural, bend_loss=loss)
        elastic = bend().forces_at(*at.ravel(), *(0.0 * rates).ravel(), *numbers)
        same(chain_force(chain, at, 0.0 * rates), elastic)
        same(chain_force(chain, at, rates), bend().forces_at(*at.ravel(), *rates.ravel(), *numbers))
        expected = bend().tangent_at(*at.ravel(), *numbers)
        block = np.empty((6, 6))
        bend_block(chain, *at.T.copy(), 1, block)
        same(block, expected)
        same(blocks(chain, at), expected)
        energy = bend().energy_at(*at.ravel(), *numbers)
        assert chain_energy(chain, *at.T.copy(), 0, 2)[1] == pytest.approx(energy, rel=1e-9, abs=1e-14 * numbers[0])


def throat_forces(th: Throat, at: np.ndarray, rates: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The compiled throat's forces over its five nodes, and the tangent's block."""
    x, y, vx, vy = *at.T.copy(), *rates.T.copy()
    du, dl, s, ru, rl, rs, nx, ny = throat_state(th, x, y, vx, vy, 0, 2)
    fx, fy, block = np.zeros(5), np.zeros(5), np.empty((10, 10))
    pushes = edge_force(th, du, ru)[0], edge_force(th, dl, rl)[0], locator_force(th, s, rs)[0]
    add_throat_forces(x, y, 0, 2, nx, ny, *pushes, fx, fy)
    throat_block(th, x, y, 0, 2, block)
    return np.column_stack((fx, fy)).ravel(), block


def slope_of(th: Throat) -> float:
    return float(np.arctan2(th.sin_slope, th.cos_slope))


def test_edges() -> None:
    rng = np.random.default_rng(4)
    branches = set()
    for _ in range(COUNT):
        th = throat(rng)._replace(locator_stiffness=0.0, locator_loss=0.0)
        at, rates = nocked(rng, th), rng.uniform(-2.0, 2.0, (5, 2))
        numbers = (slope_of(th), th.stiffness, th.loss, th.grip, th.snap)
        force, tangent = np.zeros(10), np.zeros((10, 10))
        for nodes in ((0, 2, 3, 4), (1, 2, 3, 4)):
            own = [2 * i + k for i in nodes for k in (0, 1)]
            place, rate = at[list(nodes)].ravel(), rates[list(nodes)].ravel()
            force[own] += edge().forces_at(*place, *rate, *numbers)
            tangent[np.ix_(own, own)] += edge().tangent_at(*place, *numbers)
        got, block = throat_forces(th, at, rates)
        same(got, force, 1e-6 * th.stiffness)
        same(block, tangent)
        d, *_ = throat_state(th, *at.T.copy(), *(0.0 * rates).T.copy(), 0, 2)
        energy = edge().energy_at(*at[[0, 2, 3, 4]].ravel(), *numbers)
        got_energy, _, slope = edge_energy(th, d)
        assert got_energy == pytest.approx(energy, rel=1e-9, abs=1e-15)
        branches.add("push" if slope == th.stiffness else "part" if slope else "whole" if -d < th.snap / 2 else "gone")
    assert branches == {"push", "whole", "part", "gone"}


@pytest.mark.parametrize(("lower", "upper", "gap"), [(1, 1, 0.0), (1, 1, 2e-4), (1, 0, 0.0), (0, 1, 1e-4), (0, 0, 0.0)])
def test_locators(lower: int, upper: int, gap: float) -> None:
    rng = np.random.default_rng(5)
    acting = 0
    for _ in range(COUNT):
        th = throat(rng, gap, lower, upper)._replace(stiffness=0.0, loss=0.0, grip=0.0)
        at, rates = nocked(rng, th), rng.uniform(-2.0, 2.0, (5, 2))
        numbers = [slope_of(th), th.locator_stiffness, th.locator_loss]
        element = touching()
        if not (lower and upper and gap == 0.0):
            element = gapped()
            numbers += [gap, lower, upper]
        got, block = throat_forces(th, at, rates)
        force = element.forces_at(*at.ravel(), *rates.ravel(), *numbers)
        same(got, force, 1e-6 * th.locator_stiffness)
        same(block, element.tangent_at(*at.ravel(), *numbers))
        *_, s = throat_state(th, *at.T.copy(), *rates.T.copy(), 0, 2)[:3]
        energy = element.energy_at(*at.ravel(), *numbers)
        assert locator_energy(th, s)[0] == pytest.approx(energy, rel=1e-9, abs=1e-15)
        acting += bool(np.any(force))
    assert acting > 60 or not (lower or upper)


def test_friction() -> None:
    """Stuck and slipping either way, with both edges on the string, one, or none."""
    rng = np.random.default_rng(10)
    seen = set()
    for _ in range(COUNT):
        th = throat(rng)._replace(friction=rng.uniform(0.05, 0.5), friction_stiffness=10.0 ** rng.uniform(4.0, 6.0))
        at, rates = nocked(rng, th), rng.uniform(-2.0, 2.0, (5, 2))
        *_, nx, ny = throat_state(th, *at.T.copy(), *rates.T.copy(), 0, 2)
        at[:2] += rng.choice((0.0, 1e-3)) * np.array([nx, ny])  # of the string, on to the floor
        x, y, vx, vy = *at.T.copy(), *rates.T.copy()
        du, dl, s, ru, rl, _, nx, ny = throat_state(th, x, y, vx, vy, 0, 2)
        pushes = [max(edge_force(th, d, rate)[0], 0.0) for d, rate in ((du, ru), (dl, rl))]
        stuck = s + rng.uniform(-2.0, 2.0) * max(th.friction * sum(pushes), 1.0) / th.friction_stiffness
        force, then = friction_force(th, s, stuck, sum(pushes))
        fx, fy = np.zeros((2, 5))
        add_throat_forces(x, y, 0, 2, nx, ny, 0.0, 0.0, force, fx, fy)
        numbers = (slope_of(th), th.stiffness, th.loss, th.friction, th.friction_stiffness, stuck)
        expected = friction().forces_at(*at.ravel(), *rates.ravel(), *numbers)
        same(np.column_stack((fx, fy)).ravel(), expected, 1e-3)
        seen.add((then != stuck, float(np.sign(force)), sum(p > 0.0 for p in pushes)))
    assert {(slips, sign, edges) for slips in (True, False) for sign in (1.0, -1.0) for edges in (1, 2)} <= seen
    assert (True, 0.0, 0) in seen or (True, -0.0, 0) in seen


def test_tail_direction() -> None:
    """The kernel's closed forms of the tail's first and second derivatives with the two cells' angles."""
    rng = np.random.default_rng(6)
    one, two = sp.symbols("one two", real=True)
    tail = sp.atan2(3 * sp.sin(one) / 2 - sp.sin(two) / 2, 3 * sp.cos(one) / 2 - sp.cos(two) / 2)
    first, second = sp.diff(tail, one), sp.diff(tail, two)
    wanted = [sp.cos(tail), sp.sin(tail), first, second, sp.diff(second, two)]
    function = sp.lambdify([one, two], wanted, "math")
    for _ in range(COUNT):
        at = turned(rng, 2)
        angles = np.arctan2(*np.diff(at, axis=0).T[::-1])
        assert tail_direction(*at.T.copy(), 0) == pytest.approx(function(*angles), rel=1e-9, abs=1e-13)


def test_rest() -> None:
    rng = np.random.default_rng(7)
    touching_ones = 0
    push = risers.push(rest().parameters[3], risers.PRESS, sp.S.Zero)
    follow = rest().second_order([risers.SIDE * push * (1 - risers.PLACE), risers.SIDE * push * risers.PLACE])
    for _ in range(COUNT):
        at, su = shaft_over_rest(rng)
        rates, pose_rates = rng.uniform(-1.0, 1.0, (2, 2)), rng.uniform(-1.0, 1.0, 3)
        reach = rng.uniform(-0.3, 0.3, 2)
        turn = rng.uniform(-0.2, 0.2)
        cosine, sine = np.cos(turn), np.sin(turn)
        arm = np.array([cosine * reach[0] - sine * reach[1], sine * reach[0] + cosine * reach[1]])
        pose = [su.x - arm[0], su.y - arm[1], turn]
        numbers = (*reach, su.half_diameter, su.stiffness, su.damping, su.side)
        top_rate = pose_rates[1] + pose_rates[2] * arm[0]
        x, y = at.T.copy()
        g, rate, xi, _ = rest_gap(su, x, y, rates[:, 1].copy(), 0, su.x, su.y, top_rate)
        f = su.side * rest_force(su, g, rate)
        expected = rest().forces_at(*at.ravel(), *pose, *rates.ravel(), *pose_rates, *numbers)
        same([0.0, (1.0 - xi) * f, 0.0, xi * f, 0.0, -f, -arm[0] * f], expected, 1e-6 * su.stiffness)
        tangent = np.zeros((4, 4))
        for line, (_, gradient, _) in zip((1, 3), follow(*at.ravel(), *pose, *numbers), strict=True):
            tangent[line] = -gradient[:4]
        got = rest_block(su, x, y)
        same(got, tangent, 1e-3 * su.stiffness)
        touching_ones += f != 0.0
    assert 100 < touching_ones < COUNT - 50


def rest_block(su, x: np.ndarray, y: np.ndarray) -> np.ndarray:  # type: ignore[no-untyped-def]
    """The compiled rest's tangent over a shaft of one cell (4, 4)."""
    first, start = np.zeros(4, dtype=np.int64), np.array([0, 0, 1, 3, 6])
    low, up, diagonal = np.zeros(6), np.zeros(6), np.zeros(4)
    kept = Matrix(low, up, diagonal, np.zeros(4))
    rest_tangent(su, Marks(0, 0, 0, 0, 0, 0, 0), Grid(np.array([0, 2]), start, first), x, y, kept)
    matrix = np.diag(diagonal)
    rows, columns = np.tril_indices(4, -1)
    matrix[rows, columns], matrix[columns, rows] = low, up
    return matrix


def test_finger() -> None:
    rng = np.random.default_rng(8)
    for _ in range(COUNT):
        share, fx, fy, time, delay, release = rng.uniform(0.1, 1.0, 6) * (1.0, -100.0, 30.0, 8e-3, 2e-3, 5e-3)
        left = finger_fade(Fingers(0, np.ones((1, 1)), np.array([release]), np.array([delay])), 0, time)
        expected = finger().forces_at(*rng.uniform(-1.0, 1.0, 4), share, fx, fy, time, delay, release)
        same(share * left * np.array([fx, fy]), expected, 1e-3)


@pytest.mark.parametrize("element", [chains.stretch(), chains.bend(), throats.closed_edge()], ids=lambda e: e.name)
def test_layers_joined_by_the_chain_rule_are_the_whole_expression_differentiated(element: Element) -> None:
    rng = np.random.default_rng(9)
    whole = element.energy
    for layer in reversed(element.layers):
        whole = whole.xreplace(dict(layer))
    gradient = compiled(element.arguments, [], [-sp.diff(whole, q) for q in element.coordinates])
    layered = compiled(element.arguments, *forces(element.coordinates, [element]))
    still = np.zeros(len(element.coordinates))
    for _ in range(20):
        given = (*rng.uniform(-1.0, 1.0, still.size), *still, *rng.uniform(0.5, 1.0, len(element.parameters)))
        same(layered(*given), gradient(*given))
