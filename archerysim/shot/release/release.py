"""From full draw to a clear arrow: sets up the compiled release and keeps what it reports."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from archerysim.errors import ShotError
from archerysim.mechanics.arrays import NO_LOOP, Chain, Frame, Loop, Marks, Model, Sideways, Standing
from archerysim.mechanics.forces.riser import CARRIED, carried_node
from archerysim.mechanics.release.layout import Pace
from archerysim.mechanics.release.loop import release
from archerysim.mechanics.release.side_layout import Side
from archerysim.mechanics.release.stable_step import longest_step
from archerysim.mechanics.statics.newton import forces_at_rest
from archerysim.shot.arrays.build import make_support, make_throat
from archerysim.shot.arrays.hysteresis import make_loop, stiffest
from archerysim.shot.arrays.memory import memory_for
from archerysim.shot.arrays.sideways import SideStart, held_out, make_sideways, side_start
from archerysim.shot.release.room import make_held, make_kept, make_motion, make_side
from archerysim.shot.statics.brace import GRAVITY
from archerysim.shot.statics.draw import Drawing
from archerysim.shot.statics.drawn import Drawn
from archerysim.status import OK

CLEAR_AT = 0.05  # [m] the throat's place in front of the pivot
PAST = 0.005  # [m] by which the throat is past the side support where that stands further on
SAFE = 0.95  # share of the stable step
LONGEST = 4e-6  # [s] of a step, where a longer one would be stable
CAP = 0.25  # [s]
LIKELY = 0.035  # [s] that a shot takes
ROWS = 1500  # of a trace
FRAMES = 240  # pictures


@dataclass(frozen=True)
class LoosedSideways:
    """What the release wrote of the shot sideways, as of `SideKept`, and what it started from."""

    begin: Begun
    notes: np.record
    states: np.ndarray
    trace: np.recarray
    passing: np.recarray
    frames: np.ndarray

    @property
    def cells(self) -> int:
        """Of the shaft, in which places on it are noted."""
        return int(self.begin.start.z.size) - 1 - self.begin.model.tail


@dataclass(frozen=True)
class Loosed:
    """What the release wrote, and what it went by; see `archerysim.mechanics.release.layout`.

    Attributes
    ----------
    dt : float
        Step [s].
    hand : (3,) array
        The hand's force and torque at full draw [N], [N m].

    sideways : LoosedSideways or None
        None in the shot in one plane.

    The others are those of `Kept`, trace and frames as long as they were written.
    """

    dt: float
    hand: np.ndarray
    notes: np.record
    states: np.ndarray
    moments: np.recarray
    support_end: np.recarray
    straight: np.recarray
    trace: np.recarray
    slaps: np.recarray
    frames: np.ndarray
    frame_moments: np.recarray
    sideways: LoosedSideways | None = None


def floor_inertia(chain: Chain, marks: Marks) -> float:
    """Inertia that makes the string's cell on the nock's floor stretch no quicker than the shorter of its neighbours.

    Alone, two nodes joined by a cell of length L part with a frequency that goes as 1 / sqrt(L (1 + m s)), s the sum of
    their inverse masses: the inertia m stands for the length that is missing [kg].
    """
    u, cells = marks.edge_u, chain.rest_length
    missing = min(cells[u - 1], cells[u + 1]) / cells[u] - 1.0
    return max(float(missing / (chain.inverse_mass[u] + chain.inverse_mass[u + 1])), 0.0)


def step_of_rods(frame: Frame) -> float:
    """A step with which the rods that bend are stable on the riser, with the hand off it [s].

    With the sums of all stiffnesses and losses over their masses for the largest: no mode has more.
    """
    rods = frame.rods
    count = rods.mass.size
    if not count:
        return np.inf
    masses = np.diag(np.concatenate(((frame.mass, frame.mass, frame.inertia), rods.mass)))
    masses[:3, 3:] = rods.share * rods.across_x, rods.share * rods.across_y, rods.turning
    masses[3:, :3] = masses[:3, 3:].T
    light = np.diag(np.linalg.inv(masses))[3:]
    stiffness, loss = float(rods.stiffness @ light), float(rods.loss @ light)
    return 2.0 / (loss + float(np.sqrt(loss**2 + stiffness)))


def shortest_of_the_way(drawing: Drawing, drawn: Drawn, inertia: float, loop: Loop = NO_LOOP) -> float:
    """The longest stable step [s].

    At full draw, or with the shaft ahead by the throat's depth, as when the string leaves: the locators then have an
    arm about the tail, and turn it. Whichever is shorter, or the rods' own. The limbs are as stiff as hysteresis ever
    makes them.
    """
    b, nock, grid = drawing.braced, drawing.setup.nock, drawing.grid
    chain = b.chain._replace(bend=stiffest(b.chain, loop))
    closed = Standing(chain, b.marks, make_throat(nock, closed=True), drawing.support, grid)
    memory = memory_for(grid)
    ahead = drawn.x.copy()
    ahead[b.marks.tail :] += nock.depth
    steps = (float(longest_step(closed, inertia, x, drawn.y, memory)[0]) for x in (drawn.x, ahead))
    return min(*steps, step_of_rods(b.frame))


def hand_at_rest(drawing: Drawing, drawn: Drawn, gravity: np.ndarray | None = None) -> np.ndarray:
    """The hand's force and torque about the pivot that hold the riser at full draw: (3,) [N], [N m].

    ``gravity`` as `weight` has it, of a bow that is not canted unless given.
    """
    b, setup = drawing.braced, drawing.setup
    support = make_support(setup)
    fx, fy = np.empty((2, drawn.x.size))
    standing = Standing(b.chain, b.marks, make_throat(setup.nock), support, drawing.grid)
    forces_at_rest(standing, drawn.x, drawn.y, 0.0, 0.0, fx, fy, memory_for(drawing.grid))
    sx = sy = turn = 0.0
    for k in range(CARRIED):
        i = carried_node(b.marks, k)
        sx += fx[i]
        sy += fy[i]
        turn += drawn.x[i] * fy[i] - drawn.y[i] * fx[i]
    frame = b.frame
    wx, wy = frame.mass * (weight(drawn) if gravity is None else gravity)
    push = support.side * drawn.rest_force
    sx, sy = sx + wx, sy + wy - push
    turn += frame.cx * wy - frame.cy * wx - support.x * push
    return np.array([-sx, -sy, -turn])


def weight(drawn: Drawn, cant: float = 0.0) -> np.ndarray:
    """Acceleration of gravity in the riser's axes at full draw (2,), of a bow that is canted by an angle [m/s2]."""
    return np.asarray(GRAVITY * np.cos(cant) * np.array([np.sin(drawn.level), -np.cos(drawn.level)]))


def loop_of(drawing: Drawing, drawn: Drawn) -> Loop:
    """The limbs' hysteresis between brace and full draw."""
    b, setup = drawing.braced, drawing.setup
    shares = setup.upper_limb.hysteresis, setup.lower_limb.hysteresis
    return make_loop(b.chain, b.marks, shares, (b.x, b.y), (drawn.x, drawn.y))


def model_of(drawing: Drawing, drawn: Drawn, planes: int = 1) -> Model:
    """All that does not change while the bow shoots. In both planes the arm's reach ends its support, no travel."""
    b = drawing.braced
    support = drawing.support if planes == 1 else drawing.support._replace(travel=np.inf)
    return Model(
        b.chain._replace(loop=loop_of(drawing, drawn)), b.marks, drawing.throat, support, b.frame,
        drawing.fingers, floor_inertia(b.chain, b.marks),
    )  # fmt: skip


class Begun(NamedTuple):
    """The shot sideways at full draw: what does not change of it, and where all nodes stand [m]."""

    model: Sideways
    start: SideStart


def begin_sideways(drawing: Drawing, drawn: Drawn) -> Begun:
    """Where the shot in both planes begins."""
    b, setup = drawing.braced, drawing.setup
    place, hold = held_out(setup, b.chain, b.marks, drawing.fingers, drawn.x, drawn.y)
    gravity = -GRAVITY * float(np.sin(setup.archer.cant))
    model = make_sideways(setup, b.chain, b.marks, drawn.weight, hold, gravity)
    return Begun(model, side_start(setup, b.marks, drawn.x, drawn.y, place, model.support.x))


def step_of_sides(drawing: Drawing, begun: Begun) -> float:
    """A step with which groove, side support and tips are stable, each on the lightest that it moves [s]."""
    b, m = drawing.braced, begun.model
    a, u = b.marks.tail, b.marks.edge_u
    shaft, groove = m.inverse_mass[a:].max(), m.inverse_mass[a] + 0.25 * m.inverse_mass[u : u + 2].sum()
    ss = m.support
    pairs = [(max(ss.seat, ss.stiffness) + ss.seat, ss.damping, shaft), (m.groove_stiffness, m.groove_loss, groove)]
    pairs += list(zip(m.tip_stiffness, m.tip_loss, m.inverse_mass[[m.tip_u, m.tip_l]], strict=True))
    return min(
        float(2.0 / (loss * light + np.sqrt((loss * light) ** 2 + stiffness * light)))
        for stiffness, loss, light in pairs
    )


def clear_at(begun: Begun | None) -> float:
    """Place of the throat in front of the pivot at which the arrow is clear, past a side support further on too [m]."""
    return CLEAR_AT if begun is None else max(CLEAR_AT, begun.model.support.x + PAST)


def loose(
    drawing: Drawing,
    drawn: Drawn,
    *,
    step_factor: float = 1.0,
    account: bool = True,
    rows: int = 0,
    frames: int = 0,
    cap: float = CAP,
    planes: int = 1,
    run_on: float = 0.0,
) -> Loosed:
    """Let go.

    Parameters
    ----------
    step_factor : float
        Multiplies the step chosen (at most 1).
    account : bool
        Add up the losses.
    rows, frames : int
        About how many rows of the trace and pictures of all nodes to keep. With none the shot is looked at as often as
        for `ROWS` and `FRAMES`, so that its timeline is the same.
    cap : float
        Longest time [s].
    planes : int
        1: the shot in the bow's plane; 2: sideways too.
    run_on : float
        How much further the throat goes than where the arrow is clear, before the end [m].

    Raises
    ------
    ShotError
    """
    model = model_of(drawing, drawn, planes)
    begun = begin_sideways(drawing, drawn) if planes == 2 else None
    longest = shortest_of_the_way(drawing, drawn, model.floor_inertia, model.chain.loop)
    if begun is not None:
        longest = min(longest, step_of_sides(drawing, begun))
    dt = step_factor * min(SAFE * longest, LONGEST)
    every = max(1, int(LIKELY / dt / (rows or ROWS)))
    frame_every = max(1, int(LIKELY / dt / (frames or FRAMES)))
    room = int(cap / dt) + 2
    looks, pictures = room // every + 1, room // frame_every + 1 if frames else 0
    kept = make_kept(drawn.x.size, looks if rows else 0, pictures)
    gravity = weight(drawn, drawing.setup.archer.cant if begun is not None else 0.0)
    hand = hand_at_rest(drawing, drawn, gravity)
    held = make_held(drawn.force, hand, gravity, drawing.pinch_on(drawn.throat_x, drawn.force))
    pace = Pace(dt, cap, clear_at(begun) + run_on, account, every, frame_every)
    if begun is None:
        side = None
        code = release(model, held, make_motion(model, drawn.x, drawn.y), pace, kept)
    else:
        x, y, z = begun.start
        side = make_side(begun.model, z, looks, looks if rows else 0, pictures)
        code = release(model, held, make_motion(model, x, y), pace, kept, side)
    notes = kept.notes
    if code != OK:
        raise ShotError("release", int(code), f"after {notes.steps} steps")
    return Loosed(
        dt, hand, notes, kept.states, kept.moments, kept.support_end, kept.straight,
        kept.trace[: notes.rows].view(np.recarray), kept.slaps, kept.frames[: notes.frames],
        kept.frame_moments[: notes.frames].view(np.recarray),
        None if begun is None or side is None else loosed_sideways(begun, side, notes),
    )  # fmt: skip


def loosed_sideways(begun: Begun, side: Side, notes: np.record) -> LoosedSideways:
    """What was written, as long as it was."""
    kept = side.kept
    return LoosedSideways(
        begun, kept.notes, kept.states, kept.trace[: notes.rows].view(np.recarray),
        kept.passing[: kept.notes.rows].copy().view(np.recarray), kept.frames[: notes.frames],
    )  # fmt: skip
