"""Gaps of shaft and vanes to the arm and to the side support over time, and where the shaft then is.

Looked at along the shaft, the arm is a line from the side support's face out, at the height of the rest's top; the side
support a short line up and down at its face; the shaft a circle; a vane a line that stands out of it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from archerysim.equipment.filled_setup import FilledSetup
from archerysim.mechanics.release.side_layout import PASSING
from archerysim.shot.release.release import LoosedSideways

BUTTON = 0.003  # [m] half the height of a sprung side support's face [judgement]
ALONG_VANE = 9  # places of a vane that are looked at, from the shaft out


@dataclass(frozen=True)
class Clearance:
    """Gaps over time, at every look of the release [m]; nan where shaft or vanes are not there.

    Attributes
    ----------
    time : (k,) array
        [s]
    arm, side : (k,) arrays
        Of the shaft to arm and side support; negative where they press.
    vane_arm, vane_side : (k,) arrays
        Of the nearest vane, while vanes pass.
    by_side_z, over_rest_z, over_rest_y : (k,) arrays
        The shaft's axis beside the side support and over the rest, sideways from the bow's plane, and over the rest's
        top.
    at_arm, at_side : (k,) arrays
        Place on the shaft over the rest and beside the side support, in cells from the tail [-].
    """

    time: np.ndarray
    arm: np.ndarray
    side: np.ndarray
    vane_arm: np.ndarray
    vane_side: np.ndarray
    by_side_z: np.ndarray
    over_rest_z: np.ndarray
    over_rest_y: np.ndarray
    at_arm: np.ndarray
    at_side: np.ndarray


def clearance_of(full: FilledSetup, sideways: LoosedSideways) -> Clearance:
    """Gaps of a shot in both planes."""
    arrow = full.arrow
    time, at_arm, above, arm_z, at_side, side_z = (sideways.passing[name].copy() for name in PASSING.names or ())
    radius = 0.5 * arrow.diameter
    face = full.side.offset - radius
    end = sideways.begin.model.arm.outer
    beyond = np.maximum(arm_z - end, 0.0)
    arm = np.where(beyond > 0.0, np.hypot(beyond, above), above) - radius  # under it: negative
    side = side_z - radius - face
    there_arm, there_side = np.isfinite(at_arm), np.isfinite(at_side)
    cell = arrow.length / sideways.cells
    vane_arm, vane_side = np.full((2, time.size), np.nan)
    half = 0.5 * arrow.fletching_length
    with np.errstate(invalid="ignore"):
        by_arm = np.abs(cell * at_arm - arrow.fletching_at) <= half
        by_side = np.abs(cell * at_side - arrow.fletching_at) <= half
    z, y = vanes(full)
    vane_arm[by_arm] = to_arm(arm_z[by_arm], above[by_arm], z, y, end)
    tall = np.inf if full.side.kind == "plate" else BUTTON
    height = np.where(there_arm, above, above[there_arm][-1]) - radius  # past the rest: as it went past it
    vane_side[by_side] = to_side(side_z[by_side] - face, height[by_side], z, y, tall)
    return Clearance(
        time, np.where(there_arm, arm, np.nan), np.where(there_side, side, np.nan), vane_arm,
        vane_side, np.where(there_side, side_z, np.nan), np.where(there_arm, arm_z, np.nan),
        np.where(there_arm, above, np.nan), at_arm, at_side,
    )  # fmt: skip


def vanes(full: FilledSetup) -> tuple[np.ndarray, np.ndarray]:
    """Places z and y of all vanes from the shaft's axis: (vanes, `ALONG_VANE`) [m]."""
    arrow = full.arrow
    count = round(arrow.fletching_number)
    angle = arrow.fletching_angle + 2.0 * math.pi * np.arange(count) / count
    out = 0.5 * arrow.diameter + arrow.fletching_height * np.linspace(0.0, 1.0, ALONG_VANE)
    return np.cos(angle)[:, None] * out, np.sin(angle)[:, None] * out


def to_arm(axis_z: np.ndarray, axis_y: np.ndarray, z: np.ndarray, y: np.ndarray, end: float) -> np.ndarray:
    """Gap of the nearest vane to an arm that ends at z = ``end`` [m]; by how much one crosses it, negative.

    A shelf ends nowhere: a vane is so far over it, or under.
    """
    if math.isinf(end):
        return np.asarray((axis_y[:, None, None] + y).min(axis=(1, 2)))
    beyond = axis_z[:, None, None] + z - end
    over = axis_y[:, None, None] + y
    gap = np.hypot(np.maximum(beyond, 0.0), over).min(axis=(1, 2))
    low, high = over[..., :-1], over[..., 1:]
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.where(low * high < 0.0, low / (low - high), np.nan)
    at = beyond[..., :-1] + share * np.diff(beyond, axis=-1)
    crossed = np.where(at < 0.0, at, 0.0).min(axis=(1, 2))
    return np.asarray(np.where(crossed < 0.0, crossed, gap))


def to_side(axis_z: np.ndarray, axis_y: np.ndarray, z: np.ndarray, y: np.ndarray, tall: float) -> np.ndarray:
    """Gap of the nearest vane to a face at z = 0 that reaches ``tall`` up and down [m]; negative past it."""
    away = axis_z[:, None, None] + z
    beside = np.maximum(np.abs(axis_y[:, None, None] + y) - tall, 0.0)
    gap = np.where(beside > 0.0, np.hypot(away, beside), away)
    return np.asarray(gap.min(axis=(1, 2)))
