"""The reference case in both planes, with its results by the names of their table."""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np

from archerysim.mechanics.rigid_body import rigid_motion
from archerysim.shot.release.release import Loosed, LoosedSideways, loose
from archerysim.shot.statics.brace import brace_to_height
from archerysim.shot.statics.draw import draw_to
from tests.support.shot.reference_case import BRACE_HEIGHT, THROAT_X, Shot, in_aim_frame, mesh_with, reference


@cache
def shot_in_space(
    reading: float = 0.009, cells: int = 24, step_factor: float = 1.0, rows: int = 0, **changes: Any
) -> Shot:
    """Brace, draw and release in both planes, on `mesh_with` that many cells; kept, so that tests share it.

    ``rest__kind="shelf"`` puts another value in place of the rest's kind; "limbs" stands for both of them.
    """
    setup = reference(reading)
    for path, value in changes.items():
        part, name = path.split("__")
        for record in (setup.upper_limb, setup.lower_limb) if part == "limbs" else (getattr(setup, part),):
            setattr(record, name, value)
    braced = brace_to_height(setup, BRACE_HEIGHT, mesh_with(cells))
    drawing, drawn = draw_to(setup, braced, THROAT_X)
    loosed = loose(drawing, drawn, step_factor=step_factor, rows=rows, planes=2)
    return Shot(setup, braced, drawing, drawn, loosed)


def sideways(done: Shot) -> LoosedSideways:
    """What the release wrote of the shot sideways."""
    loosed: Loosed = done.loosed
    assert loosed.sideways is not None
    return loosed.sideways


def gaps(done: Shot, rear: bool) -> tuple[np.ndarray, np.ndarray]:
    """Times [s] at which half of the shaft goes past the side support, its rear one or the other, and its gap [m]."""
    own = sideways(done)
    rows, half = own.passing, 0.5 * (own.begin.start.z.size - 1 - own.begin.model.tail)
    beside = rows.at_side < half if rear else rows.at_side >= half
    return rows.time[beside], rows.side_z[beside] - own.begin.model.support.offset


def last_touch(done: Shot) -> float:
    """When the shaft's front half last leaves the side support [s], between two looks by a straight line."""
    time, gap = gaps(done, rear=False)
    k = np.flatnonzero((gap[:-1] < 0.0) & (gap[1:] >= 0.0))[-1]
    return float(time[k] - gap[k] * (time[k + 1] - time[k]) / (gap[k + 1] - gap[k]))


def in_bow_axes(done: Shot) -> dict[str, float]:
    """The arrow sideways at clear, in the bow's axes: velocity [m/s], angles [deg], rate [rad/s]."""
    a = done.braced.marks.tail
    x, _, vx, _ = done.loosed.states[1][:, a:]
    z, vz = sideways(done).states[1][:, a:]
    mass = done.braced.chain.mass[a:]
    _, _, ux, uz, yaw, rate = rigid_motion(*(np.ascontiguousarray(part) for part in (mass, x, z, vx, vz)))
    return {
        "sideways velocity": uz,
        "yaw": np.degrees(yaw),
        "yaw rate": rate,
        "side angle of attack": np.degrees(yaw - np.arctan2(uz, ux)),
    }


def results_in_space(done: Shot) -> dict[str, float]:
    """Every row of the table."""
    notes: Any = sideways(done).notes
    up = in_aim_frame(done, 1)
    return {
        "separation": in_aim_frame(done, 0)["time"],
        "off the arm": 1e3 * notes.arm_left_time,
        "travel off the arm": 1e3 * notes.arm_left_travel,
        "last touch": 1e3 * last_touch(done),
        "nock furthest": 1e3 * notes.nock_most,
        "nock at separation": 1e3 * sideways(done).states[0][0][done.braced.marks.tail],
        "shaft furthest": 1e3 * notes.largest_side,
        "side force": notes.greatest_support,
        **{name: up[name] for name in ("speed", "vertical velocity", "pitch", "pitch rate", "angle of attack")},
        **in_bow_axes(done),
    }
