"""The whole arrow beside its line at full draw, enlarged across it: from the side, and in both planes from above."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from archerysim.show.motion.moving_shot import MovingShot, aimed, aimed_aside
from archerysim.show.motion.scene import DASHED, LETTERS, SMALL, Box, Key, Line, Panel, Words, enlargement, level_line
from archerysim.show.motion.texts import said
from archerysim.show.style import FAINT, LOOKS, MM

if TYPE_CHECKING:
    from archerysim.shot.launch import Launch

FINE = 0.01  # last digit [mm]
ARROW, REST, SIDE = (LOOKS[name].color for name in ("arrow", "rest", "side"))


def swing(launch: Launch, m: MovingShot, box: Box) -> Panel:
    """From the side, up and down enlarged."""
    arrow, spot = _from_side(launch, m)
    times = _fits(box, arrow)
    panel = _panel(box, arrow, times, "arrow", _dot("rest", spot, m))
    left, _, low, high = panel.window
    unit = (high - low) / box[3]  # of the page
    words = Words((left, high + 9.0 * unit), (said("against_line"),), LETTERS, part="title", times=times)
    below = Words((left, low - 19.0 * unit), (said("axis_lies"),), SMALL, REST)
    return Panel(panel.box, panel.window, panel.lines, (words, below), True, _keys("rest"))


def swing_in_both(launch: Launch, m: MovingShot, side_box: Box, above_box: Box, away: str) -> tuple[Panel, Panel]:
    """From the side and from above, both enlarged alike; ``away`` is the side away from the window, which is up."""
    arrow, spot = _from_side(launch, m)
    begin = aimed(launch, m, m.nodes[:, launch.braced.marks.tail])[:, 0]
    nodes = aimed_aside(launch, m)
    nodes[..., 0] -= begin[:, None]
    marks = launch.braced.marks
    above = nodes[:, marks.tail :]
    times = min(_fits(side_box, arrow), _fits(above_box, above))
    setup = launch.drawing.setup
    face = (setup.side.offset - m.aside[0, marks.tail] * MM) / MM  # of an axis that just touches it
    at = spot[..., 0] + setup.side.forward / MM
    leaned = np.stack((at, face - np.tan(np.radians(launch.passage.side_aim_angle)) * (at + begin[:, None])), axis=-1)
    side = _panel(side_box, arrow, times, "arrow", _dot("rest", spot, m))
    other = _panel(above_box, above, times, "arrow from above", _dot("side", leaned, m))
    return (
        _titled(side, said("side_view"), times, "rest"),
        _titled(other, said("from_above", away=away), times, "side_support"),
    )


def _from_side(launch: Launch, m: MovingShot) -> tuple[np.ndarray, np.ndarray]:
    """The arrow's nodes (f, k, 2), and where its axis just touches the rest (f, 1, 2), along from the nock [mm]."""
    arrow = aimed(launch, m, m.nodes[:, launch.braced.marks.tail :])
    spot = aimed(launch, m, m.on_rest)[:, None]
    begin = np.stack((arrow[:, 0, 0], np.zeros(m.time.size)), axis=-1)[:, None]
    return arrow - begin, spot - begin


def _span(arrow: np.ndarray) -> tuple[float, float]:
    """What is seen along the arrow."""
    length = float(arrow[..., 0].max())
    return -0.06 * length, 1.04 * length


def _reach(arrow: np.ndarray) -> tuple[float, float]:
    """How far it goes across its line at full draw."""
    return min(float(arrow[..., 1].min()), 0.0), max(float(arrow[..., 1].max()), 0.0)


def _fits(box: Box, arrow: np.ndarray) -> int:
    """The plain enlargement across the arrow that fits into a box."""
    left, right = _span(arrow)
    low, high = _reach(arrow)
    return enlargement(0.85 * box[3] / (box[2] / (right - left)) / (high - low))


def _panel(box: Box, arrow: np.ndarray, times: int, name: str, *others: Line) -> Panel:
    """The arrow over others, enlarged across so many times."""
    left, right = _span(arrow)
    low, high = _reach(arrow)
    half, middle = 0.5 * box[3] / (box[2] / (right - left)) / times, 0.5 * (low + high)
    window = (left, right, middle - half, middle + half)
    return Panel(box, window, (level_line(window), *others, Line(name, arrow, ARROW, 6.0, digit=FINE)), (), True)


def _dot(look: str, spot: np.ndarray, m: MovingShot) -> Line:
    """Where the axis just touches rest or side support; the rest's pale where it carries nothing."""
    show = np.where(m.supports, 1.0, 0.25) if look == "rest" else 1.0
    return Line(f"{look} touches", spot, LOOKS[look].color, radius=7.0, show=show, digit=FINE)


def _keys(what: str) -> tuple[Key, ...]:
    dot = Key(said("axis_on", what=said(what)), REST if what == "rest" else SIDE, dot=True)
    return Key(said("arrow"), ARROW), Key(said("line_at_full_draw"), FAINT, DASHED), dot


def _titled(panel: Panel, title: str, times: int, what: str) -> Panel:
    """With words above: what is seen, and what the dot is."""
    left, right, low, high = panel.window
    up = high + 9.0 * (high - low) / panel.box[3]
    color = REST if what == "rest" else SIDE
    words = (
        Words((left, up), (title,), LETTERS, part="title", times=times),
        Words((right, up), (said("axis_touches", what=said(what)),), SMALL, color, "right"),
    )
    return Panel(panel.box, panel.window, panel.lines, words, True, _keys(what))
