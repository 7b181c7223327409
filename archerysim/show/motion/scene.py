"""What a moving picture shows, instant by instant: panels of lines and words, before anything draws them.

A scene is numbers only. `archerysim.show.motion.paint` draws it with matplotlib, `archerysim.show.motion.player` in
a browser, so that both show the same. A page is 1280 wide and 720 high; lengths on it (boxes, line widths, letters)
are in these units.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from archerysim.show.style import FAINT, INK

PAGE = (1280.0, 720.0)
LETTERS, SMALL, LARGE, HUGE = 22.0, 17.0, 28.0, 56.0
Box = tuple[float, float, float, float]  # on the page: left, top, width and height
DASHED = (8.0, 6.0)  # the arrow's line at full draw, the way with the drop taken out
ENLARGE = (1, 2, 5, 10, 20, 50, 100)  # plain enlargements


@dataclass(frozen=True)
class Line:
    """A line, an area or a row of dots.

    Attributes
    ----------
    name : str
    points : (k, 2) or (f, k, 2) array
        In the panel's units; the same at all instants, or of each.
    color : str
    width : float
        On the page.
    dash : tuple of float
        Lengths on and off, on the page.
    filled : bool
        An area within the points, without its rim.
    radius : float
        Where positive: dots of this size on the page instead of a line.
    show : float or (f,) array
        How strongly it is drawn, 0 to 1.
    upto : (f,) array of int, optional
        How many of the points are drawn at each instant; all if left out.
    digit : float
        What the last digit means where the points are written down [panel's units].
    """

    name: str
    points: np.ndarray
    color: str
    width: float = 2.0
    dash: tuple[float, ...] = ()
    filled: bool = False
    radius: float = 0.0
    show: Any = 1.0
    upto: np.ndarray | None = None
    digit: float = 0.1

    def at(self, frame: int) -> np.ndarray:
        """The points drawn at one instant: (k, 2)."""
        points = self.points[frame] if self.points.ndim == 3 else self.points
        return points if self.upto is None else points[: int(self.upto[frame])]

    def strength(self, frame: int) -> float:
        """How strongly it is drawn at one instant."""
        return float(self.show if np.ndim(self.show) == 0 else self.show[frame])


@dataclass(frozen=True)
class Words:
    """A text at a place.

    Attributes
    ----------
    at : (2,) array
        In the panel's units.
    texts : tuple of str
        One for all instants, or one for each.
    size : float
        Of the letters, on the page.
    align : {"left", "center", "right"}
    part : {"head", "title", "told", "note", "name", "scale", "tick"}
        What it is. On a page title, told (what changes) and note of a panel stand around its picture, scale and ticks
        in it; names are told by the panel's keys there, and the head by the scene.
    times : int
        Where positive, how many times the panel is enlarged across; it takes the place of "{times}".
    whole : tuple of str
        As `texts`, for a page, where there is room; as they are if left out.
    """

    at: Any
    texts: tuple[str, ...]
    size: float = LETTERS
    color: str = INK
    align: str = "left"
    bold: bool = False
    part: str = "name"
    times: int = 0
    whole: tuple[str, ...] = ()

    def text(self, frame: int) -> str:
        """The text at one instant."""
        text = self.texts[frame if len(self.texts) > 1 else 0]
        return text.replace("{times}", str(self.times)) if self.times else text


@dataclass(frozen=True)
class Key:
    """What a page lists below a panel, where letters in it would be too small: a name and how that is drawn.

    Attributes
    ----------
    text, color : str
    dash : tuple of float
        As of a `Line`.
    dot : bool
        A dot instead of a line.
    """

    text: str
    color: str
    dash: tuple[float, ...] = ()
    dot: bool = False


@dataclass(frozen=True)
class Panel:
    """A part of the page with its own axes.

    Attributes
    ----------
    box : tuple of 4 float
        Left, top, width and height on the page.
    window : tuple of 4 float
        What of the panel's axes is seen: at the left, right, bottom and top.
    lines : tuple of Line
        The first lies below the others.
    words : tuple of Words
    framed : bool
    keys : tuple of Key
    course : bool
        Whether it is something over time, without a scale of lengths.
    """

    box: tuple[float, float, float, float]
    window: tuple[float, float, float, float]
    lines: tuple[Line, ...] = ()
    words: tuple[Words, ...] = ()
    framed: bool = False
    keys: tuple[Key, ...] = ()
    course: bool = False

    def mirrored(self) -> Panel:
        """The same with left and right exchanged."""
        turn = np.array([-1.0, 1.0])
        other = {"left": "right", "right": "left", "center": "center"}
        left, right, bottom, top = self.window
        return replace(
            self,
            window=(-right, -left, bottom, top),
            lines=tuple(replace(one, points=one.points * turn) for one in self.lines),
            words=tuple(replace(one, at=np.asarray(one.at) * turn, align=other[one.align]) for one in self.words),
        )


@dataclass(frozen=True)
class Scene:
    """A moving picture.

    Attributes
    ----------
    title : str
    time : (f,) array
        Real time of each instant [s].
    unit : str
        "ms" or "s", in which the time is told.
    phases : tuple of str
        What goes on at each instant.
    panels : tuple of Panel
    slow : float
        How many times slower than real it is to be shown.
    notes : tuple of str
        Cautions that stand with it.
    reading : str
        Of the locators, in words; empty where there is none.
    way : tuple of str
        How far the point has come at each instant; empty in a release.
    """

    title: str
    time: np.ndarray
    unit: str
    phases: tuple[str, ...]
    panels: tuple[Panel, ...]
    slow: float
    notes: tuple[str, ...] = ()
    reading: str = ""
    way: tuple[str, ...] = ()

    def line(self, name: str) -> Line:
        """The first line of a name."""
        return next(one for panel in self.panels for one in panel.lines if one.name == name)


def page(*words: Words, lines: tuple[Line, ...] = ()) -> Panel:
    """A panel as large as the page, its axes counted from the top left."""
    return Panel((0.0, 0.0, *PAGE), (0.0, PAGE[0], PAGE[1], 0.0), lines, words)


def fitted(box: tuple[float, float, float, float], points: np.ndarray, spare: float) -> tuple[float, ...]:
    """The window with equal scales that holds all points, with ``spare`` of its size free around them."""
    low, high = points.reshape(-1, 2).min(axis=0), points.reshape(-1, 2).max(axis=0)
    middle, size = 0.5 * (low + high), (high - low) * (1.0 + 2.0 * spare)
    half = 0.5 * max(size[0] / box[2], size[1] / box[3]) * np.array(box[2:])
    return (middle[0] - half[0], middle[0] + half[0], middle[1] - half[1], middle[1] + half[1])


def scale_bar(x: float, y: float, length: float, text: str, width: float, drop: float) -> tuple[Line, Words]:
    """A scale bar ending at (x, y), its words ``drop`` above."""
    line = Line("scale bar", np.array([[x - length, y], [x, y]]), INK, width)
    return line, Words((x - 0.5 * length, y + drop), (text,), SMALL, align="center", part="scale")


def level_line(window: tuple[float, ...]) -> Line:
    """The arrow's line at full draw."""
    return Line("line at full draw", np.array([[window[0], 0.0], [window[1], 0.0]]), FAINT, 1.5, DASHED)


def one_figure(value: float) -> float:
    """A number rounded to one figure."""
    return float(f"{value:.0e}")


def enlargement(fits: float) -> int:
    """The largest plain enlargement that is not above ``fits``; 1 at least."""
    return max((n for n in ENLARGE if n <= fits), default=ENLARGE[0])


def paler(color: str, share: float) -> str:
    """A colour mixed with white, ``share`` of it left."""
    parts = [int(color[k : k + 2], 16) for k in (1, 3, 5)]
    return "#" + "".join(f"{round(255.0 - share * (255.0 - one)):02x}" for one in parts)
