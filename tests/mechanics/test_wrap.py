"""The string's end cell on a limb: its way, forces and stiffness over random limbs and string places."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pytest
from scipy.integrate import quad

from archerysim.mechanics.arrays import Wrap
from archerysim.mechanics.forces.wrap import FREE, LYING, lies_on, wrap_force, wrap_path
from archerysim.mechanics.statics.wrap_tangent import wrap_block

SEEDS = range(40)
STIFFNESS = 3e5  # of the cell [N/m]
AWAY = 1e-9  # [m] to either side of a change


@dataclass
class End:
    """A limb's outer nodes and the string node, at rest. The limb's nodes come first or last, as the wrap counts."""

    wrap: Wrap
    x: np.ndarray
    y: np.ndarray
    rest: np.ndarray
    least: np.ndarray

    @property
    def nodes(self) -> list[int]:
        """The string node, then the limb's from the tip inwards: the rows of `wrap_block`."""
        return [self.wrap.string, *(self.wrap.tip + k * self.wrap.inward for k in range(self.wrap.reach + 2))]

    def moved(self, coordinates: np.ndarray) -> End:
        """With other positions: (2 n,), x and y in turn."""
        return replace(self, x=coordinates[0::2].copy(), y=coordinates[1::2].copy())

    @property
    def coordinates(self) -> np.ndarray:
        return np.column_stack((self.x, self.y)).ravel()

    def with_string_at(self, place: np.ndarray) -> End:
        """With the string node elsewhere."""
        x, y = self.x.copy(), self.y.copy()
        x[self.wrap.string], y[self.wrap.string] = place
        return replace(self, x=x, y=y)

    def path(self) -> tuple[int, int, float, float, float]:
        """How it lies, on which piece it leaves, how far along, length on the belly and of the whole way."""
        how, piece, share, lying, length, _, _ = wrap_path(
            self.wrap, self.x, self.y, *np.zeros((2, self.wrap.reach + 2))
        )
        return int(how), int(piece), float(share), float(lying), float(length)

    def taut(self, longer: float) -> End:
        """With an unloaded length that leaves it ``longer`` by so much now [m]."""
        rest = self.rest.copy()
        rest[self.wrap.cell] = self.path()[4] - longer
        return replace(self, rest=rest)

    def energy(self) -> float:
        longer = lies_on(self.wrap, self.x, self.y, *np.zeros((2, self.wrap.reach + 2)))[2] - self.rest[self.wrap.cell]
        return 0.5 * STIFFNESS * max(longer, 0.0) ** 2

    def force(self) -> np.ndarray:
        """(2 n,) on every node, x and y in turn [N]."""
        fx, fy = np.zeros((2, self.x.size))
        wrap_force(self.wrap, self.rest, self.least, self.x, self.y, *np.zeros((2, self.wrap.reach + 2)), fx, fy)
        return np.column_stack((fx, fy)).ravel()

    def stiffness(self) -> np.ndarray:
        """(2 n, 2 n) [N/m]."""
        most = 2 * self.wrap.reach + 6
        block, rows = np.zeros((most, most)), np.zeros((3, most))
        along = np.zeros((2, self.x.size))
        size = wrap_block(
            self.wrap, self.rest, self.x, self.y, 0.0, block, *np.zeros((2, self.wrap.reach + 2)), *along, rows
        )
        places = [2 * i + k for i in self.nodes for k in (0, 1)][:size]
        whole = np.zeros((2 * self.x.size, 2 * self.x.size))
        whole[np.ix_(places, places)] = block[:size, :size]
        return whole

    def mirrored(self) -> End:
        """The other limb of a bow turned upside down."""
        last, w = self.x.size - 1, self.wrap
        wrap = w._replace(
            tip=last - w.tip, inward=-w.inward, string=last - w.string, side=-w.side, cell=last - 1 - w.cell
        )
        return End(wrap, self.x[::-1].copy(), -self.y[::-1], self.rest[::-1].copy(), self.least[::-1].copy())


def end_of(limb: np.ndarray, string: np.ndarray, offset: np.ndarray, upper: bool = True) -> End:
    """From an upper limb's nodes (reach + 2, 2), tip first, and the string node; on request turned upside down."""
    at = np.vstack((limb[::-1], string))
    n, tip = len(at), len(limb) - 1
    wrap = Wrap(tip, -1, tip + 1, 1.0, len(limb) - 2, offset, tip, np.array([STIFFNESS]))
    end = End(wrap, at[:, 0].copy(), at[:, 1].copy(), np.ones(n - 1), np.zeros(n - 1))
    return end if upper else end.mirrored()


def belly(end: End) -> np.ndarray:
    """Pieces (reach, 3, 2) of an upper limb's belly, each by its Bezier points, written out a second time."""
    limb = np.column_stack((end.x, end.y))[end.nodes[1:]]
    along = np.vstack((limb[1] - limb[0], limb[2:] - limb[:-2]))
    out = np.column_stack((along[:, 1], -along[:, 0])) / np.hypot(*along.T)[:, None]
    points = limb[:-1] + end.wrap.offset[: len(along), None] * out
    ends = 0.5 * (points[1:] + points[:-1])
    first = np.array([limb[0], 0.75 * points[0] + 0.25 * points[1], ends[0]])
    return np.array([first, *(np.array([ends[k - 1], points[k], ends[k]]) for k in range(1, len(ends)))])


def at(piece: np.ndarray, v: float) -> np.ndarray:
    """Place on a piece."""
    return np.array([(1.0 - v) ** 2, 2.0 * v * (1.0 - v), v * v]) @ piece


def along(piece: np.ndarray, v: float) -> np.ndarray:
    """Its derivative with v."""
    return np.array([2.0 * (v - 1.0), 2.0 - 4.0 * v, 2.0 * v]) @ piece


def arc(piece: np.ndarray, v: float) -> float:
    """Length of a piece up to v [m]."""
    return float(quad(lambda s: np.hypot(*along(piece, s)), 0.0, v, epsabs=1e-14)[0])


def random_limb(rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    """An upper limb that is curved forward at its end: nodes, tip first, and its belly's offsets."""
    reach = int(rng.integers(5, 10))
    size = rng.uniform(0.012, 0.035)
    turns = np.where(np.arange(reach + 1) < rng.integers(3, reach + 1), rng.uniform(0.04, 0.25, reach + 1), 0.04)
    heading = rng.uniform(-1.0, -0.2) + np.cumsum(turns)
    steps = size * np.column_stack((np.sin(heading), -np.cos(heading)))
    limb = np.vstack(([0.0, 0.0], np.cumsum(steps, axis=0))) + rng.uniform(-1e-5, 1e-5, (reach + 2, 2))
    thick = rng.uniform(0.0, 6e-3) if rng.random() < 0.7 else 0.0
    corners = size * turns.mean() / 8.0  # what a smooth curve lies within its corners
    return limb, corners + thick * np.minimum(np.arange(reach + 2) * size / 0.03, 1.0)


def random_end(seed: int, piece: int | None = None, share: float | None = None) -> tuple[End, int, float]:
    """A taut end cell that leaves the belly on some piece, at some share of it: 0 is free of it."""
    rng = np.random.default_rng(seed)
    limb, offset = random_limb(rng)
    end = end_of(limb, np.array([-0.05, -0.1]), offset)
    pieces = belly(end)
    piece = int(rng.integers(0, len(pieces))) if piece is None else piece
    share = float(rng.uniform(0.02, 0.98)) if share is None else share
    free = rng.uniform(0.05, 0.2)
    if piece == 0:
        heading = along(pieces[0], 0.0)
        turn = rng.uniform(-0.5, -0.01)  # away from the limb
        place = limb[0] + free * turned(heading / np.hypot(*heading), turn)
    else:
        heading = along(pieces[piece - 1], share)
        place = at(pieces[piece - 1], share) + free * heading / np.hypot(*heading)
    return end.with_string_at(place).taut(float(rng.uniform(2e-4, 3e-3))), piece, share


def turned(v: np.ndarray, angle: float) -> np.ndarray:
    """Turned anticlockwise [rad]."""
    return np.array([np.cos(angle) * v[0] - np.sin(angle) * v[1], np.sin(angle) * v[0] + np.cos(angle) * v[1]])


def across(a: np.ndarray, b: np.ndarray) -> float:
    """Cross product."""
    return float(a[0] * b[1] - a[1] * b[0])


def differences(function: Callable[[np.ndarray], Any], place: np.ndarray, step: float) -> np.ndarray:
    """Central differences of order 4 with every coordinate (coordinates, ...)."""
    rows = []
    for one in np.eye(place.size) * step:
        near, far = (
            function(place + one) - function(place - one),
            function(place + 2.0 * one) - function(place - 2.0 * one),
        )
        rows.append((8.0 * near - far) / (12.0 * step))
    return np.array(rows)


def lower_too(end: End) -> tuple[End, End]:
    """The end at the upper limb, and the same at the lower."""
    return end, end.mirrored()


def test_the_random_ends_are_free_and_lie_on_every_piece() -> None:
    seen = {random_end(seed)[0].path()[1] for seed in SEEDS}
    assert {0, 1, 2, 3, 4} <= seen


@pytest.mark.parametrize("seed", SEEDS)
def test_way(seed: int) -> None:
    """Where it leaves, and both lengths, against the belly written out and its length by adaptive quadrature."""
    end, piece, share = random_end(seed)
    how, on, part, lying, length = end.path()
    assert (how, on) == (LYING if piece else FREE, piece)
    pieces = belly(end)
    place = np.array([end.x[end.wrap.string], end.y[end.wrap.string]])
    if not piece:
        assert (part, lying) == (0.0, 0.0)
        assert length == pytest.approx(np.hypot(*(place - pieces[0, 0])), rel=1e-14)
        return
    assert part == pytest.approx(share, abs=1e-9)
    expected = sum(arc(one, 1.0) for one in pieces[: piece - 1]) + arc(pieces[piece - 1], share)
    assert lying == pytest.approx(expected, rel=1e-7)  # three points of Gauss a piece
    assert length == pytest.approx(lying + np.hypot(*(place - at(pieces[piece - 1], share))), rel=1e-13)


@pytest.mark.parametrize("seed", SEEDS)
def test_it_is_the_shortest_way_round_the_limb(seed: int) -> None:
    """Leaving earlier would cut through the limb; leaving later is longer."""
    end, piece, share = random_end(seed)
    if not piece:
        return
    pieces, place = belly(end), np.array([end.x[end.wrap.string], end.y[end.wrap.string]])
    length = end.path()[4]
    for k in range(piece - 1, len(pieces)):
        for v in np.linspace(share + 0.02 if k == piece - 1 else 0.0, 1.0, 5):
            way = sum(arc(one, 1.0) for one in pieces[:k]) + arc(pieces[k], v)
            assert way + np.hypot(*(place - at(pieces[k], v))) > length
    for one in pieces[: piece - 1]:  # from there the string's node is not in sight
        for v in (0.0, 0.5):
            assert across(place - at(one, v), along(one, v)) < 0.0


@pytest.mark.parametrize("seed", SEEDS)
def test_forces_are_the_energy_gradient(seed: int) -> None:
    for end in lower_too(random_end(seed)[0]):
        expected = -differences(lambda z, e=end: e.moved(z).energy(), end.coordinates, 1e-5)
        got = end.force()
        assert np.abs(got - expected).max() <= 1e-6 * np.abs(expected).max()


@pytest.mark.parametrize("seed", SEEDS)
def test_stiffness_is_the_forces_derivative(seed: int) -> None:
    for end in lower_too(random_end(seed)[0]):
        expected = -differences(lambda z, e=end: e.moved(z).force(), end.coordinates, 1e-5)
        got = end.stiffness()
        assert np.abs(got - got.T).max() <= 1e-12 * np.abs(got).max()
        assert np.abs(got - expected).max() <= 1e-6 * np.abs(expected).max()


@pytest.mark.parametrize("seed", SEEDS)
def test_forces_have_no_sum_and_no_moment(seed: int) -> None:
    for end in lower_too(random_end(seed)[0]):
        f = end.force().reshape(-1, 2)
        rounding = 1e-12 * np.abs(f).max()
        assert np.abs(f.sum(axis=0)).max() <= rounding
        assert abs(end.x @ f[:, 1] - end.y @ f[:, 0]) <= rounding


@pytest.mark.parametrize("seed", SEEDS)
def test_mirror(seed: int) -> None:
    end, other = lower_too(random_end(seed)[0])
    assert other.path() == pytest.approx(end.path(), rel=1e-12)
    assert other.energy() == pytest.approx(end.energy(), rel=1e-12)
    f, g = end.force().reshape(-1, 2), other.force().reshape(-1, 2)
    assert np.abs(g[::-1] * [1.0, -1.0] - f).max() <= 1e-12 * np.abs(f).max()
    n = end.x.size
    k, m = end.stiffness().reshape(n, 2, n, 2), other.stiffness().reshape(n, 2, n, 2)
    signs = np.array([1.0, -1.0])
    back = m[::-1, :, ::-1, :] * signs[None, :, None, None] * signs
    assert np.abs(back - k).max() <= 1e-12 * np.abs(k).max()


@pytest.mark.parametrize("piece", range(5))
@pytest.mark.parametrize("seed", range(10))
def test_nothing_jumps_where_it_begins_to_lie_or_leaves_another_piece(seed: int, piece: int) -> None:
    """The string node a billionth of a metre to either side of the change: what differs is of that size."""
    end, _, _ = random_end(seed, max(piece, 1), 1.0 if piece else 0.0)
    pieces, place = belly(end), np.array([end.x[end.wrap.string], end.y[end.wrap.string]])
    heading = along(pieces[max(piece, 1) - 1], 1.0 if piece else 0.0)
    normal = turned(heading / np.hypot(*heading), 0.5 * np.pi)
    one, other = (end.with_string_at(place + side * AWAY * normal) for side in (1.0, -1.0))
    assert {one.path()[1], other.path()[1]} == {piece, piece + 1}
    force, stiffness = end.force(), end.stiffness()
    assert one.energy() == pytest.approx(other.energy(), abs=2.1 * AWAY * np.abs(force).max())
    assert np.abs(one.force() - other.force()).max() <= 4.0 * AWAY * np.abs(stiffness).max()
    assert np.abs(one.stiffness() - other.stiffness()).max() <= 1e-5 * np.abs(stiffness).max()


@pytest.mark.parametrize("seed", range(10))
def test_a_cell_with_nothing_in_its_way_is_a_plain_spring(seed: int) -> None:
    for end in lower_too(random_end(seed, 0)[0]):
        q, t = end.wrap.string, end.wrap.tip
        step = np.array([end.x[t] - end.x[q], end.y[t] - end.y[q]])
        length = float(np.hypot(*step))
        u, pull = step / length, STIFFNESS * (length - end.rest[end.wrap.cell])
        expected = np.zeros((end.x.size, 2))
        expected[q], expected[t] = pull * u, -pull * u
        np.testing.assert_allclose(end.force().reshape(-1, 2), expected, rtol=1e-12, atol=1e-12 * pull)
        plain = STIFFNESS * np.outer(u, u) + pull / length * (np.eye(2) - np.outer(u, u))
        whole = np.zeros((end.x.size, 2, end.x.size, 2))
        for i, j, sign in ((q, q, 1.0), (t, t, 1.0), (q, t, -1.0), (t, q, -1.0)):
            whole[i, :, j, :] = sign * plain
        got = end.stiffness()
        np.testing.assert_allclose(got, whole.reshape(got.shape), rtol=1e-10, atol=1e-12 * STIFFNESS)


@pytest.mark.parametrize("seed", range(10))
def test_slack(seed: int) -> None:
    end = random_end(seed)[0].taut(-1e-6)
    assert not end.force().any()
    assert not end.stiffness().any()
