"""Shaft, vanes, rest and side support in a moving picture, looked at along the shaft from behind the archer."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.show.motion.moving_shot import MovingShot
from archerysim.show.motion.scene import SMALL, Box, Key, Line, Panel, Words, paler, scale_bar
from archerysim.show.motion.texts import said
from archerysim.show.shots.bow import RISER
from archerysim.show.shots.clearance import STALK
from archerysim.show.style import LOOKS, MM

if TYPE_CHECKING:
    from archerysim.shot.launch import Launch

PER_MM = 6.5  # enlargement, on the page, at most
ASIDE, ABOVE = 3.0, 1.5  # room above and below the vanes; the middle of what is seen, above a shaft on the rest [mm]
SEEN = 8.0  # how much of the riser is seen [mm]
FINE = 0.01  # last digit [mm]
ROUND = np.linspace(0.0, 2.0 * np.pi, 25)
SHAFT, VANE, REST, SIDE = (LOOKS[name].color for name in ("arrow", "fletched", "rest", "side"))


def from_behind(launch: Launch, m: MovingShot, box: Box, away: str) -> Panel:
    """What of the shaft is over the rest, away from the window to the left; the vanes are drawn while they pass.

    ``away`` is the side away from the window, to the right once the panel is mirrored.
    """
    from archerysim.equipment import filled
    from archerysim.shot.arrays.sideways import make_arm
    from archerysim.shot.clearance import BUTTON, vanes

    trace, full = launch.traced(), filled(launch.setup)
    shelf = full.rest.kind == "shelf"
    radius, face = 0.5 * full.arrow.diameter / MM, (full.side.offset - 0.5 * full.arrow.diameter) / MM
    z, y, passing, gap = (
        np.interp(m.time, trace.time, row)
        for row in (trace.shaft_over_rest_z, trace.shaft_over_rest_y, trace.vane_arm_gap, trace.side_gap)
    )
    pressed = -face - np.minimum(np.nan_to_num(gap), 0.0) / MM
    top = -m.rest_force / full.rest.stiffness / MM
    there = np.isfinite(z)
    axis = np.where(there[:, None], np.column_stack((-z, y)) / MM, 0.0)
    out, up = (places / MM for places in vanes(full))
    per_mm = min(PER_MM, box[3] / (2.0 * (float(np.hypot(out, up).max()) + ASIDE)))
    half = 0.5 * np.array(box[2:]) / per_mm
    right = STALK - face + SEEN
    window = (right - 2.0 * half[0], right, radius + ABOVE - half[1], radius + ABOVE + half[1])
    end = -min(make_arm(launch.drawing.setup).outer / MM, -window[0])
    tall = 120.0 if full.side.kind == "plate" else BUTTON / MM
    behind = -face + STALK
    block = np.array([(behind, -60.0), (behind, 60.0), (60.0, 60.0), (60.0, -60.0)])
    shaft = axis[:, None] + radius * np.column_stack((np.cos(ROUND), np.sin(ROUND)))
    bar, words = scale_bar(-face - 4.0, window[2] + 1.0, 10.0, "10 mm", 4.0, 1.5)
    lines = (
        Line("riser", block, RISER, filled=True),
        Line("arm", _both(-face, end, top, top), REST, 7.0, show=np.where(m.supports, 1.0, 0.25), digit=FINE),
        Line("side support", _both(pressed, pressed, radius - tall, radius + tall), SIDE, 7.0, digit=FINE),
        Line("side support", _both(pressed, behind, radius, radius), SIDE, 7.0, digit=FINE),
        Line("shaft", shaft, paler(SHAFT, 0.6), filled=True, show=np.where(there, 1.0, 0.0), digit=FINE),
        *(
            Line("vane", axis[:, None] + np.column_stack((-one, high))[[0, -1]], VANE, 3.0,
                 show=np.where(np.isfinite(passing), 1.0, 0.0), digit=FINE)
            for one, high in zip(out, up, strict=True)
        ),
        bar,
    )  # fmt: skip
    line = 17.0 / per_mm
    arm = said("shelf" if shelf else "arm")
    names = (
        Words((window[1] - 1.0, window[2] + 0.4 * line), (said("riser"),), SMALL, align="right"),
        Words((window[0] + 1.5, window[2] + 1.4 * line), (said("side_support"),), SMALL, SIDE),
        Words((window[0] + 1.5, window[2] + 0.4 * line), (arm,), SMALL, REST),
        Words((window[0] + 0.8, window[3] - 1.3 * line), (said(f"away_{away}"),), SMALL, part="note"),
    )
    keys = (
        Key(said("shaft"), paler(SHAFT, 0.6), dot=True), Key(said("vanes"), VANE), Key(arm, REST),
        Key(said("side_support"), SIDE), Key(said("riser"), RISER),
    )  # fmt: skip
    return Panel(box, window, lines, (words, *names), True, keys)


def _both(begin: Any, end: Any, low: Any, high: Any) -> np.ndarray:
    """A line from (begin, low) to (end, high) at each instant: (f, 2, 2)."""
    corners = np.broadcast_arrays(begin, low, end, high)
    return np.stack(corners, axis=-1).reshape(-1, 2, 2)
