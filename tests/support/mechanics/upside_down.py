"""A bow turned upside down, at the level of the arrays.

The row of the bow is read backwards, so that the lower limb becomes the upper one, and every y changes
sign. A bend along the bow keeps its sign (backwards and mirrored undo each other), one along the shaft
changes it. No z does.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from archerysim.mechanics.arrays import Chain, Fingers, Frame, Marks, Sideways, Throat, Wrap
from tests.support.mechanics.release_of_arrays import Start


def nodes(values: np.ndarray, tail: int, bow: float = 1.0, shaft: float = 1.0) -> np.ndarray:
    """Values (..., n) at the nodes, the bow's backwards, each part times its sign."""
    out = values.copy()
    out[..., :tail] = bow * values[..., :tail][..., ::-1]
    out[..., tail:] = shaft * values[..., tail:]
    return out


def cells(values: np.ndarray, tail: int) -> np.ndarray:
    """Values (n - 1,) of the cells, the bow's backwards; the empty cell before the tail stays."""
    out = values.copy()
    out[: tail - 1] = values[: tail - 1][::-1]
    return out


def chain(c: Chain, tail: int) -> Chain:
    return Chain(
        nodes(c.mass, tail), nodes(c.inverse_mass, tail), cells(c.stretch, tail), cells(c.rest_length, tail),
        cells(c.least_force, tail), cells(c.loss, tail), cells(c.axial_loss, tail),
        nodes(c.bend, tail), nodes(c.natural, tail, 1.0, -1.0), nodes(c.bend_loss, tail),
        wrap(c.below, tail), wrap(c.above, tail),
    )  # fmt: skip


def wrap(w: Wrap, tail: int) -> Wrap:
    """The string's end cell at the other limb."""
    last = tail - 1
    return w._replace(
        tip=last - w.tip, inward=-w.inward, string=last - w.string, side=-w.side, cell=last - 1 - w.cell,
        stretch=w.stretch.copy(),
    )  # fmt: skip


def marks(m: Marks) -> Marks:
    last = m.tail - 1
    return Marks(
        last - m.root_l, last - m.tip_l, last - m.edge_l, last - m.edge_u, last - m.tip_u, last - m.root_u, m.tail,
        m.reach_l, m.reach_u,
    )  # fmt: skip


def throat(th: Throat) -> Throat:
    return th._replace(sin_slope=-th.sin_slope, lower=th.upper, upper=th.lower)


def frame(fr: Frame) -> Frame:
    rods = fr.rods._replace(across_x=-fr.rods.across_x, leaning=-fr.rods.leaning)
    return fr._replace(cy=-fr.cy, carried=np.ascontiguousarray(fr.carried[::-1] * [1.0, -1.0]), rods=rods)


def fingers(fi: Fingers, tail: int) -> Fingers:
    last = fi.first + fi.weight.shape[1] - 1
    return fi._replace(first=tail - 1 - last, weight=np.ascontiguousarray(fi.weight[:, ::-1]))


def sideways(s: Sideways) -> Sideways:
    """All that the shot sideways needs."""
    last, tail = s.tail - 1, s.tail
    return s._replace(
        tip_u=last - s.tip_l, tip_l=last - s.tip_u, span=cells(s.span, tail),
        inverse_mass=nodes(s.inverse_mass, tail), weight=nodes(s.weight, tail),
        tip_stiffness=s.tip_stiffness[::-1].copy(), tip_loss=s.tip_loss[::-1].copy(),
        support=s.support._replace(y=-s.support.y),
    )  # fmt: skip


def start(s: Start) -> Start:
    """Everything, the rest's side too."""
    tail = s.marks.tail
    aside = None if s.sideways is None else sideways(s.sideways)
    return replace(
        s, chain=chain(s.chain, tail), marks=marks(s.marks), throat=throat(s.throat), frame=frame(s.frame),
        support=s.support._replace(y=-s.support.y, side=-s.support.side),
        fingers=fingers(s.fingers, tail), x=nodes(s.x, tail), y=nodes(s.y, tail, -1.0, -1.0),
        force=s.force * [1.0, -1.0], gravity=s.gravity * [1.0, -1.0], hand=s.hand * [1.0, -1.0, -1.0],
        pinch=s.pinch * [1.0, -1.0], sideways=aside, z=s.z if aside is None else nodes(s.z, tail),
    )  # fmt: skip
