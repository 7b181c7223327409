"""The release kernel called on arrays, for runs that no setup would make."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from archerysim.mechanics.arrays import Chain, Fingers, Frame, Marks, Model, Sideways, Support, Throat
from archerysim.mechanics.release.layout import Pace
from archerysim.mechanics.release.loop import release
from archerysim.mechanics.release.side_layout import Side
from archerysim.shot.arrays.build import make_support, make_throat
from archerysim.shot.release.release import CLEAR_AT, floor_inertia, hand_at_rest, weight
from archerysim.shot.release.room import make_held, make_kept, make_motion, make_side
from tests.support.shot.reference_case import Shot


@dataclass
class Start:
    """All that the release starts from; in both planes with what it needs sideways and the places z."""

    chain: Chain
    marks: Marks
    throat: Throat
    support: Support
    frame: Frame
    fingers: Fingers
    x: np.ndarray
    y: np.ndarray
    force: np.ndarray
    gravity: np.ndarray
    hand: np.ndarray
    inertia: float
    pinch: np.ndarray = field(default_factory=lambda: np.zeros(2))
    sideways: Sideways | None = None
    z: np.ndarray = field(default_factory=lambda: np.zeros(0))


@dataclass
class End:
    """All that the release writes; ``x``, ``y`` are the positions when it stopped, ``side`` holds those sideways."""

    status: int
    x: np.ndarray
    y: np.ndarray
    states: np.ndarray
    moments: np.recarray
    notes: np.record
    trace: np.recarray
    frames: np.ndarray
    frame_moments: np.recarray
    side: Side | None


def start_of(done: Shot) -> Start:
    """The start of a shot of the reference case."""
    b, d = done.braced, done.drawn
    support, x, y, cant, aside = make_support(done.setup), d.x, d.y, 0.0, ()
    if done.loosed.sideways is not None:
        begun = done.loosed.sideways.begin
        x, y, z = begun.start
        support, cant, aside = support._replace(travel=np.inf), done.setup.archer.cant, (begun.model, z)
    gravity = weight(d, cant)
    return Start(
        b.chain, b.marks, make_throat(done.setup.nock), support, b.frame, done.drawing.fingers,
        x, y, d.force, gravity, hand_at_rest(done.drawing, d, gravity),
        floor_inertia(b.chain, b.marks), done.drawing.pinch_on(d.throat_x, d.force), *aside,
    )  # fmt: skip


def model_of_arrays(start: Start) -> Model:
    """All that does not change."""
    return Model(start.chain, start.marks, start.throat, start.support, start.frame, start.fingers, start.inertia)


def run(
    start: Start, dt: float, cap: float = 0.05, *, every: int = 0, frame_every: int = 0, account: bool = True
) -> End:
    """Release; the start is left as it was."""
    room = int(cap / dt) + 2
    rows, frames = room // every + 1 if every else 0, room // frame_every + 1 if frame_every else 0
    model = model_of_arrays(start)
    kept = make_kept(start.x.size, rows, frames)
    motion = make_motion(model, start.x, start.y)
    looks = room // (every or 5) + 1
    side = None if start.sideways is None else make_side(start.sideways, start.z, looks, rows, frames)
    status = release(
        model, make_held(start.force, start.hand, start.gravity, start.pinch), motion,
        Pace(dt, cap, CLEAR_AT, account, every or 5, frame_every or 50), kept, *(() if side is None else (side,)),
    )  # fmt: skip
    return End(
        status, motion.nodes.x, motion.nodes.y, kept.states, kept.moments, kept.notes, kept.trace, kept.frames,
        kept.frame_moments, side,
    )  # fmt: skip


def run_steps(start: Start, dt: float, steps: int) -> End:
    """Exactly that many steps, however the arrow fares (the cap of time ends the run)."""
    return run(start, dt, (steps - 0.5) * dt)
