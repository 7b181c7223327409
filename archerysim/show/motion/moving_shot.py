"""What moves in a shot from release to clear, at each kept instant, ready to be drawn."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.show.shots.throat import floor_line, locator_ends, nock_outline
from archerysim.show.style import MM

if TYPE_CHECKING:
    from archerysim.equipment.filled_setup import FilledSetup
    from archerysim.shot.launch import Launch

REST = np.array([(-7, 0), (7, 0), (7, -1.5), (1, -1.5), (1, -16), (-1, -16), (-1, -1.5), (-7, -1.5)])  # [mm]


@dataclass(frozen=True)
class MovingShot:
    """A shot's parts at f instants, in the riser's axes at full draw: forward of the pivot and above it [mm].

    Attributes
    ----------
    time : (f,) array
        After the release begins [s].
    nodes : (f, n, 2) array
        All nodes of the bow and the arrow.
    string : (f, k, 2) array
        From the upper tip down; with what of it lies on the limbs.
    riser : (f, 3, 2) array
        Upper limb's root, pivot, lower limb's root.
    fingers : (f, 3, 2) array
        Where index, middle and ring finger touch the string.
    held : (f, 3) array
        Share of its force that each finger still holds, 1 to 0.
    locators : (f, 2 l, 2) array
        Outer and inner end of each of the l locators.
    nock, floor : (f, k, 2), (f, 2, 2) arrays
        The nock's outline and the throat's floor.
    shaft : (f, k, 2) array
        The shaft's axis before the nock.
    rest : (f, k, 2) array
        Outline of the rest; its top is pressed down where the shaft lies on it.
    on_rest : (f, 2) array
        Where the shaft's axis stands over the rest while it just touches.
    supports : (f,) array of bool
        Whether the rest can carry the shaft.
    finger_force, nock_force, rest_force, side_force : (f,) arrays
        [N]; the nock's is that of both edges together, the last the side support's.
    aside : (f, n) array
        Places of all nodes sideways from the bow's plane, positive away from the window [mm]. This and the side
        support's force are nan in the shot in one plane.
    """

    time: np.ndarray
    nodes: np.ndarray
    string: np.ndarray
    riser: np.ndarray
    fingers: np.ndarray
    held: np.ndarray
    locators: np.ndarray
    nock: np.ndarray
    floor: np.ndarray
    shaft: np.ndarray
    rest: np.ndarray
    on_rest: np.ndarray
    supports: np.ndarray
    finger_force: np.ndarray
    nock_force: np.ndarray
    rest_force: np.ndarray
    side_force: np.ndarray
    aside: np.ndarray


def kept(count: int, frames: int | None) -> np.ndarray:
    """Which of ``count`` instants are shown: all, or about evenly spaced ones, first and last among them."""
    if frames is None or frames >= count:
        return np.arange(count)
    return np.round(np.linspace(0, count - 1, frames)).astype(int)


def moving_shot(launch: Launch, frames: int | None = None) -> MovingShot:
    """The parts of a shot at its kept instants.

    Parameters
    ----------
    launch : Launch
        With its trace.
    frames : int, optional
        About how many instants; all that the trace keeps if left out.

    Raises
    ------
    UsageError
        If the launch has no trace.
    """
    from archerysim.equipment import filled
    from archerysim.shot.arrays.wraps import string_line
    from archerysim.shot.timeline import fading, supporting

    trace, braced = launch.traced(), launch.braced
    full = filled(launch.setup)
    pick = kept(trace.frame_time.size, frames)
    time = trace.frame_time[pick]
    nodes = np.stack((trace.frame_x[pick], trace.frame_y[pick]), axis=-1) / MM
    marks = braced.marks
    pivot = np.column_stack([np.interp(time, trace.time, row) for row in (trace.riser_x, trace.riser_y)]) / MM
    turn = np.radians(np.interp(time, trace.time, trace.riser_pitch))
    at = braced.throat + np.asarray(full.archer.finger_places) - full.archer.crawl
    loc = full.nock.locators
    inner, outer = locator_ends(full.nock)
    there = [side for side, is_there in ((1.0, loc.upper_present), (-1.0, loc.lower_present)) if is_there]
    ends = [braced.throat + side * end for side in there for end in (outer, inner)]
    held = fading(time, launch.drawing.fingers.time, launch.drawing.fingers.delay)
    finger_force, nock_force, rest_force, side_force = forces_at(launch, time)
    nock, floor, shaft = _nock(nodes[:, marks.tail :], full)
    supports = supporting(launch, time)
    rest, on_rest = _rest(launch, nodes[:, marks.tail :], pivot, turn, supports)
    return MovingShot(
        time=time, nodes=nodes,
        string=np.array([string_line(braced.chain, marks, MM * one) for one in nodes]) / MM,
        riser=np.stack((nodes[:, marks.root_u], pivot, nodes[:, marks.root_l]), axis=1),
        fingers=on_string(launch, nodes, at), held=held, locators=on_string(launch, nodes, np.array(ends)),
        nock=nock, floor=floor, shaft=shaft, rest=rest, on_rest=on_rest, supports=supports,
        finger_force=finger_force, nock_force=nock_force, rest_force=rest_force,
        side_force=side_force, aside=trace.frame_z[pick] / MM,
    )  # fmt: skip


def forces_at(launch: Launch, time: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Forces of the fingers, of both edges of the nock together, of the rest, of the side support: (f,) each [N].

    At times (f,) [s].
    """
    from archerysim.shot.timeline import fading, rest_force

    trace: Any = launch.trace
    fingers = launch.drawing.fingers
    share = fingers.weight.sum(axis=1)
    return (
        launch.draw_force * fading(time, fingers.time, fingers.delay) @ share / share.sum(),
        np.interp(time, trace.time, trace.edge_upper + trace.edge_lower),
        rest_force(launch, time),
        np.interp(time, trace.time, trace.side_support),
    )


def on_string(launch: Launch, nodes: np.ndarray, at: np.ndarray) -> np.ndarray:
    """Points of the string by their unloaded place ``at`` (k,) [m]: (f, k, 2) in the units of ``nodes``."""
    marks, place = launch.braced.marks, launch.braced.string_place[::-1]
    string = nodes[:, marks.tip_u : marks.tip_l + 1][:, ::-1]
    cell = np.clip(np.searchsorted(place, at) - 1, 0, place.size - 2)
    share = ((at - place[cell]) / (place[cell + 1] - place[cell]))[:, None]
    points: np.ndarray = (1.0 - share) * string[:, cell] + share * string[:, cell + 1]
    return points


def aimed(launch: Launch, m: MovingShot, points: np.ndarray) -> np.ndarray:
    """Points along and above the arrow's line at full draw, from the nock's place there [mm]."""
    c, s = np.cos(np.radians(launch.aim_angle)), np.sin(np.radians(launch.aim_angle))
    out: np.ndarray = (points - m.nodes[0, launch.braced.marks.tail]) @ np.array([[c, -s], [s, c]])
    return out


def aimed_aside(launch: Launch, m: MovingShot) -> np.ndarray:
    """All nodes along the arrow's line at full draw and sideways of it, from the nock's place there: (f, n, 2) [mm]."""
    angle = np.radians(launch.passage.side_aim_angle)
    along = aimed(launch, m, m.nodes)[..., 0]
    out = m.aside - m.aside[0, launch.braced.marks.tail]
    return np.stack((along, np.cos(angle) * out - np.sin(angle) * along), axis=-1)


def _nock(arrow: np.ndarray, full: FilledSetup) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Outline, floor and the shaft's axis before them; the tail's direction as in the contact itself."""
    cells = np.diff(arrow[:, :3], axis=1)
    cells /= np.linalg.norm(cells, axis=2, keepdims=True)
    along = 1.5 * cells[:, 0] - 0.5 * cells[:, 1]
    along /= np.linalg.norm(along, axis=1, keepdims=True)
    axes = np.stack((along, np.column_stack((-along[:, 1], along[:, 0]))), axis=1)
    tail = arrow[:, :1]
    outline = nock_outline(full.nock, full.arrow.diameter)
    shaft = np.concatenate((tail + (outline[:, 0].max() * along)[:, None], arrow[:, 1:]), axis=1)
    return tail + outline @ axes, tail + floor_line(full.nock) @ axes, shaft


def _rest(
    launch: Launch, arrow: np.ndarray, pivot: np.ndarray, turn: np.ndarray, supports: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """The rest's outline, and the place of an axis that just touches it."""
    support = launch.drawing.support
    c, s = np.cos(turn), np.sin(turn)
    across = np.column_stack((-s, c))
    axes = np.stack((np.column_stack((c, s)), across), axis=1)
    top = pivot + (np.array([support.x, support.y]) / MM * axes.transpose(0, 2, 1)).sum(axis=2)
    half = support.half_diameter / MM
    pressed = np.zeros(top.shape[0])
    for k, (x, y) in enumerate(top):
        axis = np.interp(x, arrow[k, :, 0], arrow[k, :, 1], left=np.nan, right=np.nan)
        gap = support.side * (y - axis) + half
        pressed[k] = gap if supports[k] and gap > 0.0 else 0.0
    outline = REST * np.array([1.0, support.side])
    shown = top[:, None] - support.side * (pressed[:, None] * across)[:, None] + outline @ axes
    return shown, top + support.side * half * across
