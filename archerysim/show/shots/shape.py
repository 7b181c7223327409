"""Arrow, string, rest and side support at one instant of a shot, ready to be drawn from the side and from above."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.show.style import INK, LOOKS, MM

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from archerysim.shot.launch import Launch
    from archerysim.shot.trace import Trace

NOCK = 14.0  # length of the nock, for the picture only [mm]
SHELF = 2.0  # how far out a shelf is drawn, which ends nowhere, in diameters of the shaft
CROSSBAR = 18.0  # half the length of a support's end, for the picture only [mm]


def nodes_at(trace: Trace, time: float) -> np.ndarray:
    """Places of all nodes at a time [s], between two pictures on a straight line: (n, 3) [m].

    In the riser's axes at full draw; sideways they are nan in the shot in one plane.
    """
    pictures = np.stack((trace.frame_x, trace.frame_y, trace.frame_z), axis=-1)
    k = int(np.clip(np.searchsorted(trace.frame_time, time) - 1, 0, trace.frame_time.size - 2))
    begin, end = trace.frame_time[k : k + 2]
    share = (time - begin) / (end - begin)
    return np.asarray(pictures[k] + share * (pictures[k + 1] - pictures[k]))


class Shape:
    """A shot at one instant, along the arrow's line at full draw from the pivot, and from that line up and sideways.

    Sideways, the third of each point, is away from the window, and nan in the shot in one plane.

    Attributes
    ----------
    arrow, string, fingers, locators : (k, 3), (m, 3), (3, 3), (l, 2, 3) arrays
        [mm]; of each locator both ends.
    radius, nock : float
        Half the thickness of shaft and nock [mm].
    rest : (2,) array
        Place along the line and height of its top, pressed down as far as it gives [mm].
    supported : bool
        Whether the rest can carry the shaft.
    side : (2,) array
        Place along the line and sideways of the side support's face, pressed in as far as it gives [mm].
    arm : (2,) array
        Both ends sideways of what supports of the rest, from the side support out [mm].
    """

    def __init__(self, launch: Launch, time: float) -> None:
        from archerysim.equipment import filled
        from archerysim.shot.arrays.sideways import make_arm
        from archerysim.shot.timeline import rest_force, supporting
        from archerysim.show.motion.moving_shot import on_string
        from archerysim.show.shots.throat import locator_ends

        trace, marks = launch.traced(), launch.braced.marks
        full = filled(launch.setup)
        self._angles = np.radians(launch.aim_angle), np.radians(launch.passage.side_aim_angle)
        begin = np.array([trace.frame_x[0], trace.frame_y[0], trace.frame_z[0]])[:, marks.tail]
        self._begin = self._turned(begin)
        self._begin[0] = 0.0
        nodes = nodes_at(trace, time)
        self.arrow = self._placed(nodes[marks.tail :])
        self.string = self._placed(nodes[marks.tip_u : marks.tip_l + 1])
        throat, loc = launch.braced.throat, full.nock.locators
        fingers = throat + np.asarray(full.archer.finger_places) - full.archer.crawl
        self.fingers = self._placed(on_string(launch, nodes[None], fingers)[0])
        inner, outer = locator_ends(full.nock)
        there = [side for side, is_there in ((1.0, loc.upper_present), (-1.0, loc.lower_present)) if is_there]
        ends = np.array([throat + side * end for side in there for end in (outer, inner)])
        self.locators = self._placed(on_string(launch, nodes[None], ends)[0]).reshape(-1, 2, 3)
        self.radius = 0.5 * full.arrow.diameter / MM
        self.nock = 0.5 * full.nock.height / MM
        pose = [float(np.interp(time, trace.time, row)) for row in (trace.riser_x, trace.riser_y, trace.riser_pitch)]
        give = float(rest_force(launch, time)) / full.rest.stiffness
        self.rest: np.ndarray = self._on_riser(pose, full.rest.forward, full.rest.height - give, 0.0)[:2]
        self.supported = bool(supporting(launch, time))
        pressed = float(np.interp(time, trace.time, np.minimum(np.nan_to_num(trace.side_gap), 0.0)))
        face = full.side.offset - 0.5 * full.arrow.diameter + pressed
        begin_of_arm, end_of_arm = full.side.offset - 0.5 * full.arrow.diameter, make_arm(launch.drawing.setup).outer
        if not np.isfinite(end_of_arm):
            end_of_arm = begin_of_arm + SHELF * full.arrow.diameter
        self.arm: np.ndarray = np.array(
            [self._on_riser(pose, full.rest.forward, full.rest.height, z)[2] for z in (begin_of_arm, end_of_arm)]
        )
        forward = full.rest.forward + full.side.forward
        self.side: np.ndarray = self._on_riser(pose, forward, full.rest.height + 0.5 * full.arrow.diameter, face)[::2]

    def _turned(self, points: np.ndarray) -> np.ndarray:
        """Points (..., 3) along the aim line, up and sideways of it."""
        (cosine, sine), (own, out) = ((np.cos(angle), np.sin(angle)) for angle in self._angles)
        x, y, z = np.moveaxis(points, -1, 0)
        along = cosine * x + sine * y
        sideways = own * z - out * along
        return np.stack((along, cosine * y - sine * x, sideways), axis=-1)

    def _placed(self, points: np.ndarray) -> np.ndarray:
        return np.asarray((self._turned(points) - self._begin) / MM)

    def _on_riser(self, pose: list[float], x: float, y: float, z: float) -> np.ndarray:
        """A point fixed to the riser, which has moved and turned [deg]."""
        sine, cosine = np.sin(np.radians(pose[2])), np.cos(np.radians(pose[2]))
        return self._placed(np.array([pose[0] + cosine * x - sine * y, pose[1] + sine * x + cosine * y, z]))


def draw_arrow(ax: Axes, along: np.ndarray, across: np.ndarray, radius: float, nock: float) -> None:
    """A shaft with its nock: its axis, and its thickness on both sides of it."""
    from matplotlib.patches import Rectangle

    green = LOOKS["arrow"].color
    ax.fill_between(
        along, across - radius, across + radius, color=green, alpha=0.55, linewidth=0.0, zorder=3.0
    )  # fmt: skip
    ax.plot(along, across, color=green, linewidth=0.9, gid="arrow", zorder=3.2)
    ax.add_patch(
        Rectangle((along[0] - 0.3 * NOCK, across[0] - nock), NOCK, 2.0 * nock, facecolor=green, edgecolor=INK,
                  linewidth=0.6, zorder=3.4, gid="nock")
    )  # fmt: skip


def draw_locators(ax: Axes, locators: np.ndarray) -> None:
    """Locators by both ends of each (l, 2, 2)."""
    for ends in locators:
        for color, wide in ((INK, 5.4), (LOOKS["locators"].color, 4.0)):
            ax.plot(*ends.T, color=color, linewidth=wide, solid_capstyle="butt", gid="locator", zorder=3.8)


def draw_support(ax: Axes, place: np.ndarray, name: str, shown: bool = True) -> None:
    """What the shaft lies on or leans on: a post to its end at a place; ``name`` is that of its look."""
    at, end = map(float, place)
    look: dict[str, Any] = {"color": LOOKS[name].color, "alpha": 1.0 if shown else 0.3}
    ax.plot([at, at], [end, end - 60.0], linewidth=3.0, zorder=1.5, **look)
    ax.plot(
        [at - CROSSBAR, at + CROSSBAR], [end, end], linewidth=2.4, solid_capstyle="butt", gid=name, zorder=3.6, **look
    )  # fmt: skip
