"""What the release starts from and writes into, as its kernel wants it: see `archerysim.mechanics.release.layout`."""

from __future__ import annotations

from itertools import islice

import numpy as np

from archerysim.mechanics.arrays import Cells, Frame, Held, Model, Sideways, X, Y
from archerysim.mechanics.forces.rods import FIRST
from archerysim.mechanics.release.layout import (
    LINE,
    MOMENT,
    NOTES,
    SLAP,
    STATE,
    TAIL,
    TRACE,
    WORKS,
    Kept,
    Motion,
    Nodes,
    Riser,
)
from archerysim.mechanics.release.side_layout import (
    PASSING,
    SIDE_NOTES,
    SIDE_STATE,
    SIDE_TRACE,
    Side,
    SideKept,
    SideMotion,
)
from archerysim.shot.arrays.build import make_cells

CACHE_LINE, PAGE = 8, 512  # numbers in a line of the cache and in a page of memory
WORK = 17  # arrays that the shot in its plane works in, see `make_motion`


def make_held(force: np.ndarray, hand: np.ndarray, gravity: np.ndarray, pinch: np.ndarray | None = None) -> Held:
    """The fingers' force (2,), the hand's force and torque (3,), gravity (2,), the pinch on the nock (2,); in SI."""
    pinch = np.zeros(2) if pinch is None else pinch
    return Held(*(float(number) for part in (force, hand, gravity, pinch) for number in part))


def make_nodes(x: np.ndarray, y: np.ndarray) -> Nodes:
    """Nodes at rest at places [m], which will be changed."""
    vx, vy, fx, fy = np.zeros((4, x.size))
    return Nodes(x, y, vx, vy, fx, fy, make_cells(x.size))


def make_riser(frame: Frame) -> Riser:
    """The riser and its rods at rest, as at full draw."""
    pose, rate, gain = np.zeros((3, FIRST + frame.rods.mass.size))
    pose[[X, Y]] = frame.cx, frame.cy
    return Riser(pose, rate, gain)


def make_motion(model: Model, x: np.ndarray, y: np.ndarray) -> Motion:
    """The bow at rest with its nodes at places [m], which are copied."""
    riser = make_riser(model.frame)
    half_rate, last_gain = np.zeros((2, riser.pose.size))
    room = iter(arrays_of(WORK, x.size))
    own_x, own_y, vx, vy, fx, fy = islice(room, 6)
    own_x[:], own_y[:] = x, y
    nodes = Nodes(own_x, own_y, vx, vy, fx, fy, Cells(*islice(room, len(Cells._fields))))
    half_vx, half_vy, now_x, now_y = room
    return Motion(nodes, riser, half_vx, half_vy, half_rate, last_gain, now_x, now_y)


def make_kept(nodes: int, rows: int = 0, frames: int = 0) -> Kept:
    """Room for what a release of so many nodes writes, with so many rows of the trace and frames at most.

    Of these only those that are written are read; clearing them all would take a tenth of a traced release.
    """
    support_end, straight, slaps = records(2, TAIL), records(2, LINE), records(2, SLAP)
    support_end[:] = np.nan
    straight[:] = np.nan
    slaps.off = slaps.time = slaps.rate = np.nan
    return Kept(
        records(1, NOTES)[0], records(1, WORKS)[0], np.zeros((2, STATE, nodes)), records(2, MOMENT), support_end,
        straight, unwritten(rows, TRACE), slaps, np.empty((frames, STATE, nodes)), unwritten(frames, MOMENT),
    )  # fmt: skip


def make_side(model: Sideways, z: np.ndarray, looks: int = 0, rows: int = 0, frames: int = 0) -> Side:
    """The bow at rest sideways at places [m], which are copied, and room for what a release writes of it."""
    n = z.size
    kept = SideKept(
        records(1, SIDE_NOTES)[0], np.zeros((2, SIDE_STATE, n)), unwritten(rows, SIDE_TRACE), unwritten(looks, PASSING),
        np.empty((frames, SIDE_STATE, n)),
    )  # fmt: skip
    motion = SideMotion(*arrays_of(len(SideMotion._fields), n, after=WORK))
    motion.z[:] = z
    return Side(model, motion, kept)


def arrays_of(count: int, n: int, after: int = 0) -> list[np.ndarray]:
    """So many arrays of n zeros, one behind another, each from a line of the processor's cache on.

    Behind ``after`` others of another block, within a page of memory, as if both were one. Where arrays lie otherwise,
    by chance, reading one waits for what was just written to another: a step of the release takes up to a fifth more.
    """
    width = -(-n // CACHE_LINE) * CACHE_LINE
    block = np.zeros(count * width + PAGE)
    begin = (after * width - block.ctypes.data // block.itemsize) % PAGE
    return [block[k : k + n] for k in range(begin, begin + count * width, width)]


def records(count: int, fields: np.dtype[np.void]) -> np.recarray:
    """So many records, all zero."""
    return np.zeros(count, fields).view(np.recarray)


def unwritten(count: int, fields: np.dtype[np.void]) -> np.recarray:
    """So many records, of which only those are read that the release writes."""
    return np.empty(count, fields).view(np.recarray)
