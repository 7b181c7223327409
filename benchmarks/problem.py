"""One release as a plain system of ordinary differential equations, for integrators that are not ours.

The forces are those of `archerysim.mechanics.release.forces`, once compiled in one piece and once with the chain in
NumPy. The state is laid out node by node (x, y, vx, vy) so that nodes that act on each other stand close together: the
Jacobian is then a narrow band.
"""

from __future__ import annotations

import time as clock
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import numba
import numpy as np
from numpy_forces import NumpyRightHandSide
from scipy.sparse import coo_array, csc_array, csr_array
from scipy.sparse.csgraph import reverse_cuthill_mckee

import archerysim
from archerysim.equipment import filled
from archerysim.mechanics.arrays import Cells
from archerysim.mechanics.release.floor_inertia import share_floor
from archerysim.mechanics.release.forces import evaluate
from archerysim.mechanics.release.layout import CLEAR, Nodes, Riser
from archerysim.mechanics.rigid_body import rigid_motion
from archerysim.shot.arrays.mesh import Mesh, mesh_of
from archerysim.shot.release.release import loose
from archerysim.shot.release.scipy_check import RightHandSide
from archerysim.shot.statics.brace import brace_with_string
from archerysim.shot.statics.draw import Drawing, draw_to, full_draw_x
from archerysim.shot.statics.drawn import Drawn
from archerysim.shot.statics.fit import fit

SETUP = Path(__file__).parents[1] / "examples" / "club-outdoor.toml"
MOVES = (1e-8, 1e-5)  # of positions [m] and velocities [m/s] for differences: short of most contacts' turns
SIZES = (0.1, 10.0)  # of positions [m] and velocities [m/s]: an absolute tolerance is the relative one times these
ADVANCE = 9  # row of the room
# what is not in the peers' forces: strings on limbs, rods that bend, hysteresis, friction
STRAIGHT = {"limbs.shape": "straight"}
PLAIN = {"riser.rods.0.rigid": True, "limbs.hysteresis": 0.0, "nock.friction": 0.0}
FINEST = 8  # parts of the default step that tell when the arrow is clear

Rates = Callable[[float, np.ndarray], np.ndarray]


def at_full_draw(mesh: str | Mesh = "default") -> tuple[Drawing, Drawn]:
    """The bow of SETUP, drawn."""
    full = filled(fit(archerysim.load(SETUP).replace(STRAIGHT)).setup.replace(PLAIN))
    braced = brace_with_string(full, full.number("string.length"), mesh_of(mesh))
    return draw_to(full, braced, full_draw_x(full))


class PeerError(Exception):
    """A peer gave up, takes too long, or is not there."""


@dataclass(frozen=True)
class Miss:
    """What an arrow is off: the worst coordinate of its nodes [um], its pitch [0.001 deg]."""

    node: float
    pitch: float


class Problem:
    """From full draw to a fixed time, that at which the arrow is clear.

    Attributes
    ----------
    end : float
        [s]
    order : (m,) int array
        Which number of `RightHandSide`'s state stands at each place of the state here.
    band : int
        Places of the Jacobian on either side of the diagonal.
    evaluations : int
        Of the rates since full draw.
    """

    def __init__(self, mesh: str | Mesh = "default") -> None:
        self.drawing, self.drawn = at_full_draw(mesh)
        self.plain = RightHandSide(self.drawing, self.drawn)
        self.numpy = NumpyRightHandSide(self.drawing, self.drawn)
        self.free, self.marks = self.plain.free, self.plain.marks
        self.order, pattern = near_each_other(self.plain)
        self.places = rows, columns = pattern.nonzero()
        self.band = int(np.abs(rows - columns).max())
        self.back = np.argsort(self.order)
        self.size = self.order.size
        self.start = self.plain.start()[self.order]
        self.evaluations, self.until = 0, np.inf
        fingers = self.drawing.fingers
        self.end = float(loose(self.drawing, self.drawn, step_factor=1.0 / FINEST).moments[CLEAR].time)
        kinks = np.unique(np.concatenate((fingers.delay, fingers.delay + fingers.time)))
        self.stops = [*(float(t) for t in kinks if 0.0 < t < self.end), self.end]
        speeds = (self.order >= 2 * self.free.size) & (self.order < 4 * self.free.size)
        speeds |= self.order >= 4 * self.free.size + 3
        self.scale = np.where(speeds, SIZES[1], SIZES[0])
        self.moves = np.where(speeds, MOVES[1], MOVES[0])
        self.tail_place = int(self.back[np.flatnonzero(self.free == self.marks.tail)[0]])
        self.travel = float(self.drawn.x[self.marks.tail] + self.drawing.support.travel)

    def begin(self, patience: float = np.inf) -> None:
        """Back at full draw; who takes longer than ``patience`` [s] is stopped by a `PeerError`."""
        self.patience, self.until = patience, clock.perf_counter() + patience
        for rhs in (self.plain, self.numpy):
            rhs.inside, rhs.supported = True, 1.0
        self.evaluations = 0

    def count(self) -> None:
        """One evaluation more."""
        self.evaluations += 1
        if clock.perf_counter() > self.until:
            raise PeerError(f"not there after {self.patience:g} s")

    def by_numpy(self, time: float, state: np.ndarray) -> np.ndarray:
        """Rates, the chain in NumPy."""
        self.count()
        return self.numpy(time, state[self.back])[self.order]

    @cached_property
    def compiled(self) -> Callable[..., None]:
        """`compiled_rates` of this problem."""
        return compiled_rates(self)

    @cached_property
    def room(self) -> np.ndarray:
        """Where the compiled rates work; the last row begins with the string's advance at both edges."""
        return np.zeros((10, self.drawn.x.size))

    def by_compiled(self, time: float, state: np.ndarray) -> np.ndarray:
        """Rates, compiled in one piece."""
        self.count()
        rates = np.empty(self.size)
        self.compiled(time, state, rates, self.room, self.plain.inside, self.plain.supported)
        return rates

    def check(self) -> None:
        """Both right-hand sides are the same forces.

        Raises
        ------
        ValueError
        """
        rng = np.random.default_rng(1)
        state = self.start + 1e-5 * self.scale * rng.standard_normal(self.size)
        right = self.plain(1e-3, state[self.back])[self.order]
        for rates in (self.by_compiled, self.by_numpy):
            apart = np.abs(rates(1e-3, state) - right).max() / np.abs(right).max()
            if not apart < 1e-9:
                raise ValueError(f"{rates.__name__} is {apart:.0e} away from the release's forces; bring it up to date")

    def jacobian(self, rates: Rates) -> Callable[[float, np.ndarray], csc_array]:
        """The Jacobian by differences, columns more than a band apart moved together."""
        apart = 2 * self.band + 1
        rows, columns = self.places

        def differences(time: float, state: np.ndarray) -> csc_array:
            here, change = rates(time, state), np.empty((apart, self.size))
            for first in range(apart):
                moved = state.copy()
                moved[first::apart] += self.moves[first::apart]
                change[first] = rates(time, moved) - here
            values = change[columns % apart, rows] / self.moves[columns]
            return csc_array((values, (rows, columns)), shape=(self.size, self.size))

        return differences

    def left(self, state: np.ndarray) -> float:
        """How far the string has yet to go out of the throat [m]; zero or less where it is out."""
        rates = np.empty(self.size)
        self.compiled(0.0, state, rates, self.room, True, self.plain.supported)
        return float(max(self.room[ADVANCE, 0], self.room[ADVANCE, 1])) + self.drawing.throat.depth

    def on_rest(self, state: np.ndarray) -> float:
        """How far the arrow has yet to go until the rest supports no longer [m]."""
        return self.travel - float(state[self.tail_place])

    def passed(self, which: str) -> None:
        """An event has come."""
        for rhs in (self.plain, self.numpy):
            if which == "out":
                rhs.inside = False
            else:
                rhs.supported = 0.0

    def watched(self) -> dict[str, Callable[[np.ndarray], float]]:
        """What is still to come: functions that fall through zero."""
        there = {"out": self.left} if self.plain.inside else {}
        return there | ({"support": self.on_rest} if self.plain.supported else {})

    def arrow(self, state: np.ndarray) -> np.ndarray:
        """x, y, vx, vy of the arrow's nodes."""
        return self.plain.all_nodes(state[self.back])[:, self.marks.tail :]

    def ours(self, factor: float = 1.0) -> np.ndarray:
        """The same by the release with ``factor`` times its own step.

        It stops where it finds the arrow clear, some tenths of a microsecond from `end`; the rest is a straight line.
        """
        done = loose(self.drawing, self.drawn, step_factor=factor)
        nodes: np.ndarray = done.states[1][:, self.marks.tail :].copy()
        nodes[:2] += (self.end - done.moments[CLEAR].time) * nodes[2:]
        return nodes

    def pitch(self, nodes: np.ndarray) -> float:
        """Of an arrow against its line at full draw [deg]."""
        mass = self.plain.chain.mass[self.marks.tail :]
        line = self.drawn.level + float(self.drawing.setup.archer.elevation)
        return float(np.degrees(rigid_motion(mass, *np.ascontiguousarray(nodes))[4] - line))

    def miss(self, nodes: np.ndarray, exact: np.ndarray) -> Miss:
        """How far an arrow is from another."""
        apart = abs(self.pitch(nodes) - self.pitch(exact))
        return Miss(1e6 * float(np.abs(nodes[:2] - exact[:2]).max()), 1e3 * apart)


def near_each_other(rhs: RightHandSide) -> tuple[np.ndarray, csr_array]:
    """An order of the state with a narrow band, and which rate depends on which number of the state.

    The rest's touch, which wanders along the arrow, is left out of it: it is so soft that Newton's iteration does
    not miss it.
    """
    free, marks, n = rhs.free, rhs.marks, rhs.drawn.x.size
    place = np.full(n, free.size)  # carried nodes belong to the riser, which comes after all nodes
    place[free] = np.arange(free.size)
    throat = [marks.edge_u, marks.edge_l, marks.tail, marks.tail + 1, marks.tail + 2]
    pairs = {(i, j) for i in throat for j in throat}
    for first, last in ((0, marks.tail), (marks.tail, n)):
        pairs |= {(i, j) for i in range(first, last) for j in range(max(first, i - 2), min(last, i + 3))}
    i, j = np.array([(place[i], place[j]) for i, j in pairs]).T
    graph = csr_array(coo_array((np.ones(i.size), (i, j)), shape=(free.size + 1, free.size + 1)))
    k = free.size
    parts = [np.array([b, k + b, 2 * k + b, 3 * k + b]) for b in range(k)] + [4 * k + np.arange(6)]
    blocks = reverse_cuthill_mckee(graph, symmetric_mode=True)
    order = np.concatenate([parts[b] for b in blocks])
    owner = np.concatenate([np.full(parts[b].size, b) for b in blocks])
    return order, csr_array(graph.toarray()[np.ix_(owner, owner)] != 0.0)


def compiled_rates(problem: Problem) -> Callable[..., None]:
    """Rates in one compiled piece that knows the bow by heart: no unpacking, no checks at a call."""
    rhs = problem.plain
    model, held = rhs.model, rhs.held
    chain, marks, inertia = model.chain, model.marks, model.floor_inertia
    n, free = problem.drawn.x.size, rhs.free
    carried = np.setdiff1d(np.arange(n), free)
    # place of each number of the state in one row of x, y, vx, vy of all nodes, pose, rate
    flat = np.concatenate([k * n + free for k in range(4)] + [4 * n + np.arange(6)])[problem.order]
    size = flat.size

    @numba.njit(error_model="numpy")
    def rates(time, state, out, room, inside, supported):  # type: ignore[no-untyped-def]
        spread = np.empty(4 * n + 6)
        for k in range(size):
            spread[flat[k]] = state[k]
        x, y, vx, vy = spread[:n], spread[n : 2 * n], spread[2 * n : 3 * n], spread[3 * n : 4 * n]
        pose, rate = spread[4 * n : 4 * n + 3], spread[4 * n + 3 :]
        for i in carried:
            x[i] = y[i] = vx[i] = vy[i] = 0.0
        turn = np.empty(3)
        fx, fy = room[7], room[8]
        cells = Cells(room[0], room[1], room[2], room[3], room[4], room[5], room[6])
        nodes = Nodes(x, y, vx, vy, fx, fy, cells)
        acting = evaluate(model, held, nodes, Riser(pose, rate, turn), time, 0.0, inside, 0.0, supported, marks.tail)
        room[ADVANCE, 0], room[ADVANCE, 1] = acting.advance_upper, acting.advance_lower
        share_floor(chain, marks.edge_u, inertia, cells, fx, fy)
        for i in range(n):
            x[i], y[i] = vx[i], vy[i]
            vx[i] = fx[i] * chain.inverse_mass[i] + held.gravity_x
            vy[i] = fy[i] * chain.inverse_mass[i] + held.gravity_y
        for k in range(3):
            pose[k], rate[k] = rate[k], turn[k]
        for k in range(size):
            out[k] = spread[flat[k]]

    return rates  # type: ignore[no-any-return]
