"""From full draw to a clear arrow: sets up the compiled release and keeps what it reports."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from archerysim.errors import ShotError
from archerysim.mechanics.arrays import Chain, Marks
from archerysim.mechanics.forces.riser import carried_node
from archerysim.mechanics.release.layout import COUNTS, FRAMES, MOMENT, NOTES, ROWS, STEPS, TRACE
from archerysim.mechanics.release.loop import release
from archerysim.mechanics.release.stable_step import longest_step
from archerysim.mechanics.statics.newton import static_forces
from archerysim.shot.arrays.build import make_support, make_throat
from archerysim.shot.statics.brace import GRAVITY
from archerysim.shot.statics.draw import Drawing
from archerysim.shot.statics.drawn import Drawn
from archerysim.status import OK

CLEAR_AT = 0.05  # [m] the throat's place in front of the pivot
SAFE = 0.95  # share of the stable step
LONGEST = 4e-6  # [s] of a step, where a longer one would be stable
CAP = 0.25  # [s]


@dataclass(frozen=True)
class Loosed:
    """What the release kernel wrote; see `archerysim.mechanics.release.loop.release` for the layouts."""

    dt: float
    hand: np.ndarray
    states: np.ndarray
    moments: np.ndarray
    counts: np.ndarray
    notes: np.ndarray
    trace: np.ndarray
    frames: np.ndarray
    frame_moments: np.ndarray


def floor_inertia(chain: Chain, marks: Marks) -> float:
    """Inertia that makes the string's cell on the nock's floor stretch no quicker than the shorter of its neighbours.

    Alone, two nodes joined by a cell of length L part with a frequency that goes as 1 / sqrt(L (1 + m s)), s the sum of
    their inverse masses: the inertia m stands for the length that is missing [kg].
    """
    u, cells = marks.edge_u, chain.rest_length
    missing = min(cells[u - 1], cells[u + 1]) / cells[u] - 1.0
    return max(float(missing / (chain.inverse_mass[u] + chain.inverse_mass[u + 1])), 0.0)


def shortest_of_the_way(drawing: Drawing, drawn: Drawn, inertia: float) -> float:
    """The longest stable step [s].

    At full draw, or with the shaft ahead by the throat's depth, as when the string leaves: the locators then have an
    arm about the tail, and turn it. Whichever is shorter.
    """
    b, nock = drawing.braced, drawing.setup.nock
    closed = make_throat(nock, closed=True)
    ahead = drawn.x.copy()
    ahead[b.marks.tail :] += nock.depth
    return min(
        float(longest_step(b.chain, b.marks, closed, inertia, drawing.grid, x, drawn.y)[0]) for x in (drawn.x, ahead)
    )


def hand_at_rest(drawing: Drawing, drawn: Drawn) -> np.ndarray:
    """The hand's force and torque about the pivot that hold the riser at full draw: (3,) [N], [N m]."""
    b, setup = drawing.braced, drawing.setup
    n = drawn.x.size
    fx, fy = np.empty(n), np.empty(n)
    support = make_support(setup)
    static_forces(
        b.chain, b.marks, make_throat(setup.nock), support, drawn.x, drawn.y, 0.0, 0.0, fx, fy, np.empty((8, n))
    )
    sx = sy = turn = 0.0
    for k in range(4):
        i = carried_node(b.marks, k)
        sx += fx[i]
        sy += fy[i]
        turn += drawn.x[i] * fy[i] - drawn.y[i] * fx[i]
    frame = b.frame
    wx, wy = frame.mass * weight(drawn)
    push = support.side * drawn.rest_force
    sx, sy = sx + wx, sy + wy - push
    turn += frame.cx * wy - frame.cy * wx - support.x * push
    return np.array([-sx, -sy, -turn])


def weight(drawn: Drawn) -> np.ndarray:
    """Acceleration of gravity in the riser's axes at full draw (2,) [m/s2]."""
    return GRAVITY * np.array([np.sin(drawn.level), -np.cos(drawn.level)])


def loose(
    drawing: Drawing,
    drawn: Drawn,
    *,
    step_factor: float = 1.0,
    account: bool = True,
    rows: int = 0,
    frames: int = 0,
    cap: float = CAP,
) -> Loosed:
    """Let go.

    Parameters
    ----------
    step_factor : float
        Multiplies the step chosen (at most 1).
    account : bool
        Add up the losses.
    rows, frames : int
        About how many rows of the trace and pictures of all nodes to keep.
    cap : float
        Longest time [s].

    Raises
    ------
    ShotError
    """
    b = drawing.braced
    n = drawn.x.size
    throat, support = drawing.throat, drawing.support
    inertia = floor_inertia(b.chain, b.marks)
    longest = shortest_of_the_way(drawing, drawn, inertia)
    dt = step_factor * min(SAFE * longest, LONGEST)
    likely = 0.035 / dt
    every = max(1, int(likely / rows)) if rows else 0
    frame_every = max(1, int(likely / frames)) if frames else 0
    room = int(cap / dt) + 2
    trace = np.zeros((room // every + 1 if every else 0, len(TRACE)))
    pictures = np.zeros((room // frame_every + 1 if frame_every else 0, 4, n))
    times = np.zeros((pictures.shape[0], MOMENT))
    states, moments = np.zeros((2, 4, n)), np.zeros((2, MOMENT))
    counts, notes = np.zeros(COUNTS, dtype=np.int64), np.zeros(NOTES)
    hand = hand_at_rest(drawing, drawn)
    gx, gy = weight(drawn)
    code = release(
        b.chain, b.marks, throat, support, b.frame, drawing.fingers, drawn.x.copy(), drawn.y.copy(), drawn.force,
        gx, gy, hand, inertia, dt, cap, CLEAR_AT, account, every, trace, frame_every, pictures, times,
        states, moments, counts, notes,
    )  # fmt: skip
    if code != OK:
        raise ShotError("release", int(code), f"after {counts[STEPS]} steps")
    return Loosed(
        dt, hand, states, moments, counts, notes,
        trace[: counts[ROWS]], pictures[: counts[FRAMES]], times[: counts[FRAMES]],
    )  # fmt: skip
