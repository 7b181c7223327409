"""What the release starts from and writes into, as its kernel wants it: see `archerysim.mechanics.release.layout`."""

from __future__ import annotations

import numpy as np

from archerysim.mechanics.arrays import Frame, Held, Model, Sideways, X, Y
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
    vx, vy, now_x, now_y = np.zeros((4, x.size))
    return Motion(make_nodes(x.copy(), y.copy()), riser, vx, vy, half_rate, last_gain, now_x, now_y)


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
    return Side(model, SideMotion(z.copy(), *np.zeros((len(SideMotion._fields) - 1, n))), kept)


def records(count: int, fields: np.dtype[np.void]) -> np.recarray:
    """So many records, all zero."""
    return np.zeros(count, fields).view(np.recarray)


def unwritten(count: int, fields: np.dtype[np.void]) -> np.recarray:
    """So many records, of which only those are read that the release writes."""
    return np.empty(count, fields).view(np.recarray)
