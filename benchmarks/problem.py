"""One release as a plain system of ordinary differential equations, for integrators that are not ours.

The forces are those of `archerysim.mechanics.release.forces`, once compiled in one piece and once with the chain in
NumPy, in the bow's plane or in both. The state is laid out node by node (x, y, vx, vy, and z, vz of what moves
sideways) so that nodes that act on each other stand close together: the Jacobian is then a narrow band.
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
from archerysim.mechanics.release.side_layout import AWAY, FOLDED, UP, Side, SideKept, SideMotion
from archerysim.mechanics.rigid_body import rigid_motion
from archerysim.shot.arrays.mesh import Mesh, mesh_of
from archerysim.shot.release.release import Loosed, loose
from archerysim.shot.release.scipy_check import RightHandSide
from archerysim.shot.statics.brace import brace_with_string
from archerysim.shot.statics.draw import Drawing, draw_to, full_draw_x
from archerysim.shot.statics.drawn import Drawn
from archerysim.shot.statics.fit import fit

SETUP = Path(__file__).parents[1] / "examples" / "club-outdoor.toml"
MOVES = (1e-8, 1e-5)  # of positions [m] and velocities [m/s] for differences: short of most contacts' turns
SIZES = (0.1, 10.0)  # of positions [m] and velocities [m/s]: an absolute tolerance is the relative one times these
BEYOND, UNDER = 2, 3  # places in the room's last row, after the string's advance at both edges: see `at_the_arm`
ROOM = 10  # rows of the room that the shot in its plane needs
# what is not in the peers' forces: strings on limbs, rods that bend, hysteresis, friction
STRAIGHT = {"limbs.shape": "straight"}
PLAIN = {"riser.rods.0.rigid": True, "limbs.hysteresis": 0.0, "nock.friction": 0.0}
PLACES, SPEEDS = [0, 1, 4], [2, 3, 5]  # rows of x, y, z and of their rates in an arrow
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
    """What an arrow is off: the worst coordinate of its nodes [um], its pitch or yaw [0.001 deg]."""

    node: float
    angle: float


class Problem:
    """From full draw to a fixed time, that at which the arrow is clear.

    Attributes
    ----------
    planes : int
        1: the shot in the bow's plane; 2: sideways too.
    end : float
        [s]
    order : (m,) int array
        Which number of `RightHandSide`'s state stands at each place of the state here.
    band : int
        Places of the Jacobian on either side of the diagonal.
    evaluations : int
        Of the rates since full draw.
    """

    def __init__(self, mesh: str | Mesh = "default", planes: int = 1) -> None:
        self.planes = planes
        self.drawing, self.drawn = at_full_draw(mesh)
        self.plain = RightHandSide(self.drawing, self.drawn, planes)
        self.numpy = NumpyRightHandSide(self.drawing, self.drawn, planes)
        self.free, self.marks = self.plain.free, self.plain.marks
        self.order, pattern = near_each_other(self.plain)
        self.places = rows, columns = pattern.nonzero()
        self.band = int(np.abs(rows - columns).max())
        self.back = np.argsort(self.order)
        self.size = self.order.size
        self.start = self.plain.start()[self.order]
        self.evaluations, self.until = 0, np.inf
        fingers = self.drawing.fingers
        self.end = float(self.loosed(1.0 / FINEST).moments[CLEAR].time)
        kinks = np.unique(np.concatenate((fingers.delay, fingers.delay + fingers.time)))
        self.stops = [*(float(t) for t in kinks if 0.0 < t < self.end), self.end]
        k, aside = self.free.size, self.plain.aside.size
        speeds = np.repeat([False, True, False, True, False, True], [2 * k, 2 * k, 3, 3, aside, aside])[self.order]
        self.scale = np.where(speeds, SIZES[1], SIZES[0])
        self.moves = np.where(speeds, MOVES[1], MOVES[0])
        self.tail_place = int(self.back[np.flatnonzero(self.free == self.marks.tail)[0]])
        self.travel = float(self.drawn.x[self.marks.tail] + self.drawing.support.travel)

    def loosed(self, factor: float = 1.0) -> Loosed:
        """Our release with ``factor`` times its own step."""
        return loose(self.drawing, self.drawn, step_factor=factor, planes=self.planes)

    def begin(self, patience: float = np.inf) -> None:
        """Back at full draw; who takes longer than ``patience`` [s] is stopped by a `PeerError`."""
        self.patience, self.until = patience, clock.perf_counter() + patience
        for rhs in (self.plain, self.numpy):
            rhs.inside, rhs.supported = True, 1.0
            if rhs.side is not None:
                rhs.side.kept.notes.arm = UP
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
        """Where the compiled rates work; the last row begins with what events go by."""
        return np.zeros((ROOM + (len(SideMotion._fields) if self.planes == 2 else 0), self.drawn.x.size))

    @property
    def kept(self) -> SideKept | None:
        """What tells the compiled rates how the arm stands; None in one plane."""
        return None if self.plain.side is None else self.plain.side.kept

    def by_compiled(self, time: float, state: np.ndarray) -> np.ndarray:
        """Rates, compiled in one piece."""
        self.count()
        rates = np.empty(self.size)
        self.compiled(time, state, rates, self.room, self.plain.inside, self.plain.supported, self.kept)
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

    def looked(self, state: np.ndarray) -> np.ndarray:
        """What events go by: the string's advance at both edges, and of the arm what `at_the_arm` has [m]."""
        rates = np.empty(self.size)
        self.compiled(0.0, state, rates, self.room, True, self.plain.supported, self.kept)
        return self.room[-1]

    def left(self, state: np.ndarray) -> float:
        """How far the string has yet to go out of the throat [m]; zero or less where it is out."""
        return float(self.looked(state)[:2].max()) + self.drawing.throat.depth

    def on_rest(self, state: np.ndarray) -> float:
        """How far the arrow has yet to go until the rest supports no longer [m]."""
        return self.travel - float(state[self.tail_place])

    def passed(self, which: str, state: np.ndarray) -> None:
        """An event has come."""
        for rhs in (self.plain, self.numpy):
            if which == "out":
                rhs.inside = False
            elif which == "support":
                rhs.supported = 0.0
            else:
                rhs.meet_the_arm(which == "risen", state[self.back])

    def watched(self) -> dict[str, Callable[[np.ndarray], float]]:
        """What is still to come: functions that fall through zero."""
        there = {"out": self.left} if self.plain.inside else {}
        if self.plain.side is None:
            return there | ({"support": self.on_rest} if self.plain.supported else {})
        arm = self.plain.side.kept.notes.arm
        if arm == AWAY:
            return there | {"back": lambda state: float(self.looked(state)[BEYOND])}
        there["beyond"] = lambda state: -float(self.looked(state)[BEYOND])
        return there | ({"risen": lambda state: float(self.looked(state)[UNDER])} if arm == FOLDED else {})

    def arrow(self, state: np.ndarray) -> np.ndarray:
        """x, y, vx, vy of the arrow's nodes; in both planes z, vz too."""
        return self.plain.all_nodes(state[self.back])[:, self.marks.tail :]

    def ours(self, factor: float = 1.0) -> np.ndarray:
        """The same by the release with ``factor`` times its own step.

        It stops where it finds the arrow clear, some tenths of a microsecond from `end`; the rest is a straight line.
        """
        done = self.loosed(factor)
        nodes = (
            done.states[CLEAR]
            if done.sideways is None
            else np.vstack((done.states[CLEAR], done.sideways.states[CLEAR]))
        )
        nodes = nodes[:, self.marks.tail :].copy()
        nodes[PLACES[: self.planes + 1]] += (self.end - done.moments[CLEAR].time) * nodes[SPEEDS[: self.planes + 1]]
        return nodes

    def angle(self, nodes: np.ndarray, across: int = 0) -> float:
        """Pitch of an arrow against its line at full draw, or its yaw, ``across`` 1, against the bow's plane [deg]."""
        mass = self.plain.chain.mass[self.marks.tail :]
        line = 0.0 if across else self.drawn.level + float(self.drawing.setup.archer.elevation)
        rows = nodes[[PLACES[0], PLACES[across + 1], SPEEDS[0], SPEEDS[across + 1]]]
        return float(np.degrees(rigid_motion(mass, *np.ascontiguousarray(rows))[4] - line))

    def miss(self, nodes: np.ndarray, exact: np.ndarray) -> Miss:
        """How far an arrow is from another."""
        places = PLACES[: self.planes + 1]
        angles = [abs(self.angle(nodes, across) - self.angle(exact, across)) for across in range(self.planes)]
        return Miss(1e6 * float(np.abs(nodes[places] - exact[places]).max()), 1e3 * max(angles))


def near_each_other(rhs: RightHandSide) -> tuple[np.ndarray, csr_array]:
    """An order of the state with a narrow band, and which rate depends on which number of the state.

    The touches of rest and side support, which wander along the arrow, are left out of it: they are so soft that
    Newton's iteration does not miss them.
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
    sides = np.full(k, -1)  # which of those that move sideways a free node is
    sides[place[rhs.aside]] = np.arange(rhs.aside.size)
    last = 4 * k + 6
    parts = [
        np.array([b, k + b, 2 * k + b, 3 * k + b, *([last + s, last + rhs.aside.size + s] if s >= 0 else [])])
        for b, s in enumerate(sides)
    ] + [4 * k + np.arange(6)]
    blocks = reverse_cuthill_mckee(graph, symmetric_mode=True)
    order = np.concatenate([parts[b] for b in blocks])
    owner = np.concatenate([np.full(parts[b].size, b) for b in blocks])
    return order, csr_array(graph.toarray()[np.ix_(owner, owner)] != 0.0)


def compiled_rates(problem: Problem) -> Callable[..., None]:
    """Rates in one compiled piece that knows the bow by heart: no unpacking, no checks at a call."""
    rhs = problem.plain
    model, held = rhs.model, rhs.held
    chain, marks, inertia = model.chain, model.marks, model.floor_inertia
    n, free, aside = problem.drawn.x.size, rhs.free, rhs.aside
    # place of each number of the state in one row of x, y, vx, vy of all nodes, pose, rate, z, vz of all nodes
    last = 4 * n + 6
    places = [k * n + free for k in range(4)] + [4 * n + np.arange(6), last + aside, last + n + aside]
    flat = np.concatenate(places)[problem.order]
    size = flat.size
    sideways = None if rhs.side is None else rhs.side.model
    outer = np.inf if rhs.side is None else rhs.side.model.arm.outer

    @numba.njit(error_model="numpy")
    def rates(time, state, out, room, inside, supported, kept):  # type: ignore[no-untyped-def]
        spread = np.zeros(6 * n + 6)
        for k in range(size):
            spread[flat[k]] = state[k]
        x, y, vx, vy = spread[:n], spread[n : 2 * n], spread[2 * n : 3 * n], spread[3 * n : 4 * n]
        pose, rate = spread[4 * n : 4 * n + 3], spread[4 * n + 3 : last]
        turn = np.empty(3)
        fx, fy, seen = room[7], room[8], room[-1]
        cells = Cells(room[0], room[1], room[2], room[3], room[4], room[5], room[6])
        nodes = Nodes(x, y, vx, vy, fx, fy, cells)
        riser = Riser(pose, rate, turn)
        if kept is None:
            acting = evaluate(model, held, nodes, riser, time, 0.0, inside, 0.0, supported, marks.tail)
            share_floor(chain, marks.edge_u, inertia, cells, fx, fy)
        else:
            z, vz, fz = spread[last : last + n], spread[last + n :], room[9]
            motion = SideMotion(z, vz, fz, room[10], room[11], room[12], room[13], room[14], room[15])
            side = Side(sideways, motion, kept)
            acting = evaluate(model, held, nodes, riser, time, 0.0, inside, 0.0, supported, marks.tail, side)
            share_floor(chain, marks.edge_u, inertia, cells, fx, fy, side)
            for i in range(n):
                z[i] = vz[i]
                vz[i] = fz[i] * sideways.inverse_mass[i]
            seen[BEYOND] = acting.arm_z - outer if acting.cell >= 0 else 1.0
            seen[UNDER] = acting.press if acting.cell >= 0 else -1.0
        seen[0], seen[1] = acting.advance_upper, acting.advance_lower
        for i in range(n):
            x[i], y[i] = vx[i], vy[i]
            vx[i] = fx[i] * chain.inverse_mass[i] + held.gravity_x
            vy[i] = fy[i] * chain.inverse_mass[i] + held.gravity_y
        for k in range(3):
            pose[k], rate[k] = rate[k], turn[k]
        for k in range(size):
            out[k] = spread[flat[k]]

    return rates  # type: ignore[no-any-return]
