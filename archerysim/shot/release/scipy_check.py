"""The same shot through SciPy's integrators: slow, general, and independent of our time stepping.

The forces are those of the compiled release (`archerysim.mechanics.release.forces`); only the integration and
the search for events are SciPy's. Where the string sticks to the throat's floor is a part of the state: while it slips
that place follows within `FOLLOWS`, and the force, which is held at what friction holds, is the same meanwhile. In
both planes the arm's reach, a shaft that strikes it and one that has risen over it are events too.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from archerysim.errors import ShotError
from archerysim.mechanics.arrays import X, Y
from archerysim.mechanics.forces.throat import throat_state
from archerysim.mechanics.release.floor_inertia import share_floor
from archerysim.mechanics.release.forces import Acting, evaluate
from archerysim.mechanics.release.side_layout import AWAY, FOLDED, UP
from archerysim.shot.release.release import CAP, Begun, begin_sideways, clear_at, hand_at_rest, model_of, weight
from archerysim.shot.release.room import make_held, make_nodes, make_riser, make_side
from archerysim.shot.statics.draw import Drawing
from archerysim.shot.statics.drawn import Drawn
from archerysim.status import TIME_CAP

FOLLOWS = 2e-6  # [s] in which the place where the string sticks follows one that slips


@dataclass(frozen=True)
class Checked:
    """End of a shot integrated by SciPy.

    Attributes
    ----------
    separation_time, clear_time : float
        [s]
    separation, clear : (4, n) arrays
        x, y, vx, vy of all nodes; in both planes (6, n), with z, vz.
    evaluations : int
        Of the right-hand side.
    """

    separation_time: float
    clear_time: float
    separation: np.ndarray
    clear: np.ndarray
    evaluations: int


class RightHandSide:
    """Rates of the whole state, for `scipy.integrate.solve_ivp`.

    The state holds x, y, vx, vy of the free nodes, then the pose and rates of the riser with its rods; in both planes
    z, vz of the nodes that move sideways; with friction in the throat also where the string sticks to its floor.
    """

    def __init__(self, drawing: Drawing, drawn: Drawn, planes: int = 1) -> None:
        self.drawing, self.drawn = drawing, drawn
        self.model = model_of(drawing, drawn, planes)
        self.chain, self.marks, self.frame = self.model.chain, self.model.marks, self.model.frame
        self.free = np.flatnonzero(self.chain.inverse_mass > 0.0)
        self.x, self.y, cant = drawn.x, drawn.y, 0.0
        self.begun: Begun | None = None
        self.side, self.aside = None, self.free[:0]
        if planes == 2:
            self.begun = begun = begin_sideways(drawing, drawn)
            self.x, self.y, z = begun.start
            self.side, cant = make_side(begun.model, z), drawing.setup.archer.cant
            self.aside = np.flatnonzero(begun.model.inverse_mass > 0.0)
        self.gravity = weight(drawn, cant)
        self.hand = hand_at_rest(drawing, drawn, self.gravity)
        self.held = make_held(drawn.force, self.hand, self.gravity, drawing.pinch_on(drawn.throat_x, drawn.force))
        self.nodes = make_nodes(self.x.copy(), self.y.copy())
        self.riser = make_riser(self.frame)
        self.rubs = self.model.throat.friction > 0.0
        self.inside = True
        self.supported = 1.0
        self.count = 0

    def start(self) -> np.ndarray:
        """State at full draw."""
        zero = np.zeros(self.free.size)
        riser = make_riser(self.frame)
        x, y, marks = self.x, self.y, self.marks
        still = np.zeros(x.size)
        stuck = [throat_state(self.model.throat, x, y, still, still, marks.edge_u, marks.tail)[2]]
        places = x[self.free], y[self.free], zero, zero, riser.pose, riser.rate
        sideways = (still if self.side is None else self.side.motion.z)[self.aside], still[self.aside]
        return np.concatenate((*places, *sideways, stuck if self.rubs else []))

    def spread(self, state: np.ndarray) -> None:
        """Write a state into the nodes' arrays and the riser's."""
        k, nodes = self.free.size, self.nodes
        for part, target in enumerate((nodes.x, nodes.y, nodes.vx, nodes.vy)):
            target[self.free] = state[part * k : (part + 1) * k]
        riser = self.riser
        end = 4 * k + 2 * riser.pose.size
        riser.pose[:], riser.rate[:] = state[4 * k : end].reshape(2, -1)
        if self.side is not None:
            motion = self.side.motion
            motion.z[self.aside], motion.vz[self.aside] = state[end : end + 2 * self.aside.size].reshape(2, -1)

    def stuck(self, state: np.ndarray) -> float:
        """Where the string sticks to the throat's floor [m]; without friction nobody asks."""
        return float(state[-1]) if self.rubs else 0.0

    def act(self, time: float, state: np.ndarray) -> Acting:
        """What acts; the forces stand in the nodes' arrays afterwards, the riser's accelerations in its own."""
        self.count += 1
        self.spread(state)
        nodes, u, extra = self.nodes, self.marks.edge_u, () if self.side is None else (self.side,)
        acting: Acting = evaluate(
            self.model, self.held, nodes, self.riser, time, 0.0, self.inside, self.stuck(state), self.supported,
            self.marks.tail, *extra,
        )  # fmt: skip
        share_floor(self.chain, u, self.model.floor_inertia, nodes.cells, nodes.fx, nodes.fy, *extra)
        return acting

    def __call__(self, time: float, state: np.ndarray) -> np.ndarray:
        acting = self.act(time, state)
        k = self.free.size
        inverse = self.chain.inverse_mass[self.free]
        return np.concatenate((
            state[2 * k : 4 * k],
            self.nodes.fx[self.free] * inverse + self.gravity[X],
            self.nodes.fy[self.free] * inverse + self.gravity[Y],
            self.riser.rate,
            self.riser.gain,
            *self.rates_aside(),
            [(acting.stuck - self.stuck(state)) / FOLLOWS] if self.rubs else [],
        ))  # fmt: skip

    def rates_aside(self) -> tuple[np.ndarray, ...]:
        """Velocities and accelerations sideways, after `act`; nothing in one plane."""
        if self.side is None:
            return ()
        motion = self.side.motion
        return motion.vz[self.aside], (motion.fz * self.side.model.inverse_mass)[self.aside]

    def all_nodes(self, state: np.ndarray) -> np.ndarray:
        """x, y, vx, vy of all nodes (4, n); in both planes z, vz too (6, n)."""
        self.spread(state)
        sideways = () if self.side is None else (self.side.motion.z, self.side.motion.vz)
        return np.array([self.nodes.x, self.nodes.y, self.nodes.vx, self.nodes.vy, *sideways])

    def at_the_arm(self, state: np.ndarray) -> tuple[float, float]:
        """How far the shaft's axis is beyond the arm's reach, how far the shaft under its top [m]; past it: out."""
        assert self.side is not None
        acting = self.act(0.0, state)
        return (acting.arm_z - self.side.model.arm.outer, acting.press) if acting.cell >= 0 else (1.0, -1.0)

    def meet_the_arm(self, risen: bool, state: np.ndarray) -> None:
        """The shaft goes beyond the arm's reach or comes back; one that pushed it aside has ``risen`` over it."""
        assert self.side is not None
        notes = self.side.kept.notes
        if risen:
            notes.arm = UP
        elif notes.arm == AWAY:
            notes.arm = FOLDED if self.at_the_arm(state)[1] > 0.0 else UP
        else:
            notes.arm = AWAY

    def advance(self, state: np.ndarray) -> tuple[float, float]:
        """How far the string stands past the floor's upper and lower edge [m]."""
        acting = self.act(0.0, state)
        return acting.advance_upper, acting.advance_lower


def check(
    drawing: Drawing,
    drawn: Drawn,
    method: str = "DOP853",
    rtol: float = 1e-8,
    atol: float = 1e-10,
    rates: type[RightHandSide] = RightHandSide,
    planes: int = 1,
) -> Checked:
    """Integrate the shot with `scipy.integrate.solve_ivp`.

    Parameters
    ----------
    method, rtol, atol
        As `solve_ivp` takes them.
    rates : type
        `RightHandSide`, or one of its kind with other code for the same forces.
    planes : int
        1: the shot in the bow's plane; 2: sideways too.

    Raises
    ------
    ShotError
        Where the arrow is not clear in time.
    """
    from scipy.integrate import solve_ivp

    rhs = rates(drawing, drawn, planes)
    th = drawing.throat
    tail = int(np.flatnonzero(rhs.free == rhs.marks.tail)[0])
    travel = drawn.x[rhs.marks.tail] + rhs.model.support.travel

    def left(_: float, state: np.ndarray) -> float:
        return max(rhs.advance(state)) + (th.snap if th.grip > 0.0 else 0.0)

    def out(_: float, state: np.ndarray) -> float:
        return max(rhs.advance(state)) + th.depth

    def unsupported(_: float, state: np.ndarray) -> float:
        return float(state[tail] - travel)

    def clear(_: float, state: np.ndarray) -> float:
        return float(state[tail] - clear_at(rhs.begun))

    def beyond(_: float, state: np.ndarray) -> float:
        return rhs.at_the_arm(state)[0]

    def under(_: float, state: np.ndarray) -> float:
        return rhs.at_the_arm(state)[1]

    time, state = 0.0, rhs.start()
    separation: tuple[float, np.ndarray] | None = None
    fingers = drawing.fingers
    kinks = {float(t) for t in np.concatenate((fingers.delay, fingers.delay + fingers.time))}
    stops = [*sorted(t for t in kinks if t > 0.0), CAP]
    while time < CAP:
        watched: list[Any] = [unsupported] if rhs.supported and planes == 1 else []
        if rhs.inside:
            watched += [left, out]
        else:
            watched += [clear]
        if rhs.side is not None and np.isfinite(rhs.side.model.arm.outer):
            arm = rhs.side.kept.notes.arm
            watched += [beyond, under] if arm == FOLDED else [beyond]
            beyond.direction, under.direction = -1.0 if arm == AWAY else 1.0, -1.0  # type: ignore[attr-defined]
        for event in watched:
            event.terminal = event is not left
        stop = next(t for t in stops if t > time + 1e-12)
        run = solve_ivp(rhs, (time, stop), state, method=method, rtol=rtol, atol=atol, events=watched)
        for event, times, states in zip(watched, run.t_events, run.y_events, strict=True):
            if event is left and times.size:
                separation = (float(times[-1]), states[-1])
        time, state = float(run.t[-1]), run.y[:, -1]
        if run.status != 1:
            continue
        for event, times in zip(watched, run.t_events, strict=True):
            if not times.size or event is left:
                continue
            if event is unsupported:
                rhs.supported = 0.0
            elif event is out:
                rhs.inside = False
            elif event is clear:
                if separation is None:
                    break
                return Checked(separation[0], time, rhs.all_nodes(separation[1]), rhs.all_nodes(state), rhs.count)
            else:
                rhs.meet_the_arm(event is under, state)
    raise ShotError("check", TIME_CAP)
