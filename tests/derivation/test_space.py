"""What the elements of both planes promise: the flat shot in any plane, no force and torque of their own, mirror
images, the shortest way on a limb, and a side support that pushes square to the shaft."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
import sympy as sp
from scipy.spatial.transform import Rotation

from tests.derivation import chain_elements as chains
from tests.derivation import formulas
from tests.derivation import riser_elements as risers
from tests.derivation import side_elements as sides
from tests.derivation import space_elements as spaces
from tests.derivation.element import Element, dot
from tests.derivation.states import COUNT, turned

stretch = cache(spaces.stretch)
string_cell = cache(spaces.string_cell)
string_damper = cache(spaces.string_damper)
bend = cache(spaces.bend)
side_support = cache(sides.side_support)
arm = cache(sides.arm)

EVERYWHERE = [spaces.stretch(), spaces.string_cell(), spaces.string_damper(), spaces.bend()]


def close(got: np.ndarray, expected: np.ndarray) -> None:
    """Equal to rounding."""
    assert np.abs(got - expected).max() <= 1e-11 * np.abs(expected).max()


def test_the_bend_is_the_flat_one() -> None:
    half = sp.Symbol("half", real=True)
    flat = chains.bend().energy.subs({chains.NATURAL: 0, chains.BEND: 2 * sp.tan(half)})
    assert sp.simplify(bend().energy.subs(spaces.COSINE, sp.cos(2 * half)) - flat) == 0


@pytest.mark.parametrize(
    ("cells", "inside", "flat", "numbers"),
    [
        (1, spaces.stretch(), chains.stretch(), (2e5, 0.1)),
        (1, spaces.string_cell(), chains.string_cell(), (2e5, 0.1)),
        (1, spaces.string_damper(), chains.string_damper(), (0.3, 0.8)),
        (2, spaces.bend(), chains.bend(), (40.0,)),
    ],
    ids=lambda value: value.name if isinstance(value, Element) else "",
)
def test_flat_forces_in_any_plane(cells: int, inside: Element, flat: Element, numbers: tuple[float, ...]) -> None:
    """The flat element's forces, energy and power, turned with its plane."""
    rng = np.random.default_rng(1)
    more = (0.0,) * (len(flat.parameters) - len(numbers))  # no natural bend, no loss in it
    for k in range(COUNT):
        at, rates = turned(rng, cells), rng.uniform(-3.0, 3.0, (cells + 1, 2))
        turn = Rotation.random(random_state=k).as_matrix()[:, :2]
        expected = flat.forces_at(*at.ravel(), *rates.ravel(), *numbers, *more).reshape(-1, 2) @ turn.T
        there, moving = (at @ turn.T).ravel(), (rates @ turn.T).ravel()
        got = inside.forces_at(*there, *moving, *numbers).reshape(-1, 3)
        if np.any(expected):
            close(got, expected)
        else:
            assert not np.any(got)
        energy = flat.energy_at(*at.ravel(), *numbers, *more)
        assert inside.energy_at(*there, *numbers) == pytest.approx(energy, rel=1e-10, abs=1e-12)


E = sp.Matrix([spaces.EX, spaces.EY, spaces.EZ])
G = sp.Matrix([spaces.GX, spaces.GY, spaces.GZ])
IN_UNITS = {
    **dict(zip(E, spaces.LENGTH * sp.Matrix([spaces.UX, spaces.UY, spaces.UZ]), strict=True)),
    **dict(zip(G, spaces.NEXT * sp.Matrix([spaces.VX, spaces.VY, spaces.VZ]), strict=True)),
}


def sums(element: Element) -> tuple[sp.Matrix, sp.Matrix]:
    """Sum of the forces and of their torques about the origin, over pulls, unit vectors and lengths."""
    pulls, force = formulas.whole_pulls(element)
    total, torque = sp.zeros(3, 1), sp.zeros(3, 1)
    place = sp.Matrix(element.coordinates[:3])
    for node, cell in zip(np.reshape(element.coordinates, (-1, 3)), (E, G, G), strict=False):
        acting = sp.Matrix([force[q] for q in node])
        for symbol, value in reversed(pulls.items()):
            acting = acting.subs(formulas.whole_pull_of(symbol), value)
        total += acting
        torque += place.cross(acting)
        place += cell
    return total.subs(IN_UNITS).expand(), torque.subs(IN_UNITS).expand()


@pytest.mark.parametrize("element", EVERYWHERE, ids=lambda e: e.name)
def test_forces_leave_momentum_and_spin(element: Element) -> None:
    """A cell's loss across itself alone takes spin: it resists that the cell turns."""
    total, torque = sums(element)
    across = sp.zeros(3, 1)
    if element.loss != 0:
        pull = sp.Matrix([formulas.pull_of(s) for s in E])  # c times the rate of e
        assert [sp.diff(element.loss, dot(s)) for s in E] == [chains.LOSS * dot(s) for s in E]
        across = -E.cross(pull).subs(IN_UNITS)
    assert total == sp.zeros(3, 1)
    assert (torque - across).expand() == sp.zeros(3, 1)


@pytest.mark.parametrize("element", [*EVERYWHERE, spaces.end_cell(), sides.groove(), sides.tip()], ids=lambda e: e.name)
def test_mirrored_sideways(element: Element) -> None:
    """The mirror image gets the mirror image of the forces."""
    rng = np.random.default_rng(2)
    mirror = np.array([-1.0 if q.name.startswith("z") else 1.0 for q in element.coordinates])
    for _ in range(20):
        at, rates = rng.uniform(0.2, 1.0, (2, mirror.size))
        numbers = rng.uniform(0.5, 1.0, len(element.parameters))
        expected = mirror * element.forces_at(*at, *rates, *numbers)
        assert element.forces_at(*mirror * at, *mirror * rates, *numbers) == pytest.approx(expected, rel=1e-13)


def test_fingers_of_the_other_hand() -> None:
    rng = np.random.default_rng(3)
    finger = sides.finger()
    other = np.array([1.0, 1.0, -1.0, -1.0, 1.0, 1.0, 1.0])  # roll and what is held sideways
    for _ in range(20):
        numbers = rng.uniform(0.2, 1.0, 7)
        assert finger.forces_at(0.1, 0.0, *other * numbers) == -finger.forces_at(0.1, 0.0, *numbers)


def test_straight_way_on_the_unrolled_limb() -> None:
    """Arc and tangent, each with its part of the way sideways: shortest where these go as their lengths."""
    arc, free, part = sp.symbols("arc free part", positive=True)
    aside = spaces.ASIDE
    way = sp.sqrt(arc**2 + part**2) + sp.sqrt(free**2 + (aside - part) ** 2)
    best = aside * arc / (arc + free)
    assert sp.simplify(sp.diff(way, part).subs(part, best)) == 0
    assert sp.simplify(sp.diff(way, part, 2).subs(part, best)).subs({arc: 2, free: 1, aside: 1}) > 0
    (told,) = spaces.end_cell().layers[1].values()
    assert sp.simplify(way.subs(part, best) - told.subs(spaces.FLAT_WAY, arc + free)) == 0


def test_shortest_way_round_a_cylinder() -> None:
    """Leaving elsewhere is further; the string node is pulled along what is free."""
    rng = np.random.default_rng(4)
    radius, qx, qy, h = sp.symbols("radius q_x q_y h", real=True)
    away = sp.sqrt(qx**2 + qy**2 - radius**2)
    leaves = sp.atan2(qy, qx) - sp.atan2(away, radius)
    (told,) = spaces.end_cell().layers[1].values()
    way = told.subs(spaces.FLAT_WAY, radius * leaves + away).subs(spaces.ASIDE, h)
    found = sp.lambdify([radius, qx, qy, h], [way, sp.diff(way, qx), sp.diff(way, qy), sp.diff(way, h), leaves])

    def further(node: np.ndarray, round_: float, angle: float, part: float) -> tuple[float, np.ndarray]:
        """Length of the way that leaves at an angle and has then gone ``part`` sideways, and its free end."""
        start = np.array([round_ * np.cos(angle), round_ * np.sin(angle), part])
        free = node - start
        return float(np.hypot(round_ * angle, part) + np.sqrt(free @ free)), free

    for _ in range(COUNT):
        round_, angle, length = rng.uniform(0.1, 0.3), rng.uniform(0.1, 1.0), rng.uniform(0.05, 0.5)
        node = np.zeros(3)
        node[:2] = round_ * np.array([np.cos(angle), np.sin(angle)])
        node[:2] += length * np.array([-np.sin(angle), np.cos(angle)])
        node[2] = rng.uniform(0.01, 0.1)
        least, *slope, left = found(round_, *node)
        assert left == pytest.approx(angle, rel=1e-10)
        part = node[2] * round_ * angle / (round_ * angle + length)
        straight, free = further(node, round_, angle, part)
        assert least == pytest.approx(straight, rel=1e-13)
        assert np.array(slope) == pytest.approx(free / np.sqrt(free @ free), rel=1e-9)
        for other in rng.uniform(0.0, 0.5, 10):
            assert further(node, round_, angle + other, part + rng.uniform(-0.05, 0.05))[0] > least


def over_material() -> tuple[sp.Expr, sp.Expr, sp.Expr, dict[sp.Symbol, sp.Expr]]:
    """Slope of the shaft at the side support, rates of its material there along x and z, and the layers' values."""
    place = risers.PLACE
    slope = (sides.ZK - sides.ZJ) / (risers.XK - risers.XJ)
    along = (1 - place) * dot(risers.XJ) + place * dot(risers.XK)
    aside = (1 - place) * dot(sides.ZJ) + place * dot(sides.ZK)
    return slope, along, aside, {place: side_support().layers[1][place]}


def test_rate_past_the_side_support() -> None:
    """The whole change of p is what the material does square to the shaft."""
    slope, along, aside, known = over_material()
    past = side_support().layers[2][sides.PAST].subs(known)
    rate = sp.Add(*(past.diff(s) * dot(s) for s in past.free_symbols - {sides.FACE}))
    assert sp.simplify(rate + (aside - slope * (along - dot(risers.XT))).subs(known)) == 0


def test_side_support_pushes_square_to_the_shaft() -> None:
    """On the shaft (-z', 1) f, at the place beside it; on the riser what balances it along x, and its torque."""
    slope, _, _, known = over_material()
    pulls, force = formulas.whole_pulls(side_support())
    place, f = risers.PLACE, formulas.FORCE
    wanted = {
        risers.XJ: -(1 - place) * slope * f, sides.ZJ: (1 - place) * f,
        risers.XK: -place * slope * f, sides.ZK: place * f,
        risers.X: slope * f, risers.Y: sp.S.Zero,
        risers.TURN: -(risers.YT - risers.Y) * slope * f,
    }  # fmt: skip
    top = side_support().layers[0]
    assert set(wanted) == set(force)
    for q, value in force.items():
        for symbol, pull in reversed(pulls.items()):
            value = value.subs(formulas.whole_pull_of(symbol), pull)
        assert sp.simplify((value - wanted[q]).subs(known).subs(top)) == 0


def test_side_support_at_rest_has_an_energy() -> None:
    """The force is its slope: through seat, spring and stop, and of a plate stiffer than its seat."""
    rng = np.random.default_rng(5)
    element = side_support()
    slope = sp.lambdify([sides.PAST, *element.parameters], sp.diff(element.energy, sides.PAST), "math")
    where = set()
    for _ in range(COUNT):
        stiff, stop = 10.0 ** rng.uniform(2.0, 5.5), 1e5
        preload, travel, seat = rng.choice((0.0, 5.0)), rng.uniform(1e-4, 4e-3), max(stiff, stop)
        past = rng.uniform(-0.2, 1.0) * rng.choice((1e-4, 1e-3, 6e-3))
        numbers = (0.0, 0.0, 1e-3, stiff, preload, seat, travel, stop, 1.0)
        axis = 1e-3 - past
        force = element.forces_at(0.0, axis, 1.0, axis, 0.5, 0.0, 0.0, *np.zeros(7), *numbers)
        assert force[1] + force[3] == pytest.approx(slope(past, *numbers), rel=1e-9, abs=1e-12 * seat)
        where.add((past > 0.0, seat * past > preload + stiff * past, past > travel))
    assert len(where) == 5


def test_arm_is_the_rest_within_its_reach() -> None:
    """Whatever the shaft does sideways there, and nothing beyond."""
    rng = np.random.default_rng(6)
    flat = risers.rest()
    for _ in range(20):
        at, rates, numbers = rng.uniform(0.2, 1.0, 7), rng.uniform(-0.1, 0.1, 7), rng.uniform(0.5, 1.0, 6)
        aside, moving = rng.uniform(-1.0, 1.0, (2, 2))
        place = np.insert(at, (2, 4), aside), np.insert(rates, (2, 4), moving)
        x = at[4] + numbers[0] * np.cos(at[6]) - numbers[1] * np.sin(at[6])
        xi = (x - at[0]) / (at[2] - at[0])
        over = (1.0 - xi) * aside[0] + xi * aside[1]
        expected = np.insert(flat.forces_at(*at, *rates, *numbers), (2, 4), 0.0)
        assert arm().forces_at(*place[0], *place[1], *numbers, over + 1e-9) == pytest.approx(expected, rel=1e-12)
        assert not np.any(arm().forces_at(*place[0], *place[1], *numbers, over - 1e-9))
