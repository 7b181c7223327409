"""One small drawing for each measurement: not to scale, what is measured in red."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.show.style import INK, LOOKS, SMALL

if TYPE_CHECKING:
    from matplotlib.axes import Axes

RED = LOOKS["clear"].color
WOOD, METAL = "#d8c7a6", "#d9d9d4"
STRING_X = -22.0  # of the braced string; pivot at the origin, forward to the right


def dimension(ax: Axes, start: tuple[float, float], end: tuple[float, float], text: str = "", **more: Any) -> None:
    """A measure line with its name beside its middle."""
    ax.annotate(
        "", end, start, zorder=6.0,
        arrowprops={"arrowstyle": "<->", "color": RED, "shrinkA": 0, "shrinkB": 0, "linewidth": 1.4},
    )  # fmt: skip
    if text:
        x, y = 0.5 * (start[0] + end[0]), 0.5 * (start[1] + end[1])
        words(ax, x + more.pop("dx", 0.0), y + more.pop("dy", 1.5), text, color=RED, fontweight="bold", **more)


def words(ax: Axes, x: float, y: float, text: str, **more: Any) -> None:
    """Small text."""
    ax.text(x, y, text, **{"fontsize": SMALL, "color": INK, "ha": "center", "va": "bottom", "zorder": 7.0, **more})


def line(ax: Axes, *points: tuple[float, float], **more: Any) -> None:
    """A line through points."""
    x, y = zip(*points, strict=True)
    ax.plot(x, y, **{"color": INK, "linewidth": 1.2, "solid_capstyle": "round", **more})


def block(ax: Axes, *points: tuple[float, float], color: str = WOOD, **more: Any) -> None:
    """A filled shape."""
    from matplotlib.patches import Polygon

    ax.add_patch(Polygon(points, closed=True, **{"facecolor": color, "edgecolor": INK, "linewidth": 0.8, **more}))


def frame(ax: Axes, left: float, right: float, low: float, high: float) -> None:
    """The part that is seen."""
    ax.set_xlim(left, right)
    ax.set_ylim(low, high)
    ax.set_aspect("equal")
    ax.axis("off")


def _limb(sign: float, back: float = 0.0) -> np.ndarray:
    """The belly of a limb from root to tip, its tip drawn back by so much."""
    s = np.linspace(0.0, 1.0, 60)[:, None]
    points = np.array([(-2.0, 24.0), (0.0, 46.0), (-24.0 - back, 58.0), (-19.0 - 1.2 * back, 80.0 - 0.5 * back)])
    curve = (
        (1 - s) ** 3 * points[0] + 3 * s * (1 - s) ** 2 * points[1] + 3 * s**2 * (1 - s) * points[2] + s**3 * points[3]
    )
    return np.asarray(curve * (1.0, sign))


def bow(ax: Axes, drawn: float = 0.0) -> None:
    """A recurve from the side, braced or with its string drawn back by so much."""
    block(
        ax, (-2.0, 24.0), (2.5, 25.0), (5.0, 10.0), (3.0, 4.0), (4.5, -4.0), (5.0, -12.0), (2.5, -25.0), (-2.0, -24.0),
        (0.5, -8.0), (0.0, 0.0), (-1.0, 5.0), (1.5, 9.0),
    )  # fmt: skip
    back = 0.35 * drawn
    for sign in (1.0, -1.0):
        limb = _limb(sign, back)
        ax.plot(limb[:, 0], limb[:, 1], color=LOOKS["upper"].color, linewidth=2.6)
    if drawn:
        tips = [_limb(sign, back)[-1] for sign in (1.0, -1.0)]
        line(ax, tuple(tips[0]), (STRING_X - drawn, 5.0), tuple(tips[1]))
    else:
        line(ax, (STRING_X + 2.5, 80.0), (STRING_X, 66.0), (STRING_X, -66.0), (STRING_X + 2.5, -80.0))
    ax.plot([0.0], [0.0], marker="o", color=RED, markersize=3.5, zorder=6.0)


def arrow_from(ax: Axes, tail: float, tip: float, y: float, fletched: bool = True) -> None:
    """An arrow from its throat to the tip of its point."""
    line(ax, (tail, y), (tip - 2.5, y), color=LOOKS["arrow"].color, linewidth=2.4)
    block(ax, (tip - 2.5, y - 0.6), (tip, y), (tip - 2.5, y + 0.6), color=INK)
    if fletched:
        block(ax, (tail + 2.0, y), (tail + 3.0, y + 2.2), (tail + 7.0, y), color=LOOKS["fletched"].color, alpha=0.6)
        block(ax, (tail + 2.0, y), (tail + 3.0, y - 2.2), (tail + 7.0, y), color=LOOKS["fletched"].color, alpha=0.6)


def brace_height(ax: Axes) -> None:
    """Square from the string to the deepest part of the grip."""
    bow(ax)
    dimension(ax, (STRING_X, 0.0), (0.0, 0.0), "brace height", dx=-12.5, dy=-1.5, ha="right")
    words(ax, 6.5, -2.0, "deepest part\nof the grip", ha="left")
    words(ax, STRING_X - 1.5, -14.0, "string", ha="right")
    frame(ax, -52, 40, -27, 30)


def tillers(ax: Axes) -> None:
    """From the string to the belly of both limbs at their roots."""
    bow(ax)
    dimension(ax, (STRING_X, 25.0), (-2.0, 25.0), "upper tiller", dx=-11.5, dy=-1.5, ha="right")
    dimension(ax, (STRING_X, -25.0), (-2.0, -25.0), "lower tiller", dx=-11.5, dy=-1.5, ha="right")
    words(ax, 6.5, 22.0, "where the limb\nleaves the riser", ha="left")
    words(ax, STRING_X - 1.5, 0.0, "square to\nthe string", ha="right")
    frame(ax, -52, 40, -31, 31)


def square_on_string(ax: Axes) -> None:
    """The square on the string: arm on the rest, up to the underside or the top of the nock."""
    line(ax, (0.0, -16.0), (0.0, 26.0), linewidth=2.4)
    block(ax, (-7.0, -14.0), (-2.0, -14.0), (-2.0, 24.0), (-7.0, 24.0), color="#f7f3e4")
    for k in range(-14, 25, 2):
        line(ax, (-2.0 - (2.6 if k % 10 == 0 else 1.4), k), (-2.0, k), linewidth=0.6)
    block(ax, (-2.0, 0.0), (46.0, 0.0), (46.0, 3.0), (-2.0, 3.0), color=METAL)
    line(ax, (44.0, -0.6), (50.0, -0.6), color=LOOKS["rest"].color, linewidth=3.0)
    line(ax, (48.0, -9.0), (48.0, -0.6), color=LOOKS["rest"].color, linewidth=1.8)
    words(ax, 50.5, -8.0, "rest", ha="left", color=LOOKS["rest"].color)
    block(ax, (-1.0, 9.0), (5.0, 9.0), (9.0, 10.0), (30.0, 9.6), (30.0, 14.0), (9.0, 14.4), (5.0, 15.5), (-1.0, 15.5),
          color="#cfe6de")  # fmt: skip
    for low in (6.8, 15.7):
        block(ax, (-1.4, low), (1.4, low), (1.4, low + 2.0), (-1.4, low + 2.0), color=LOOKS["locators"].color)
    dimension(ax, (-9.5, 0.0), (-9.5, 9.0), "underside", dx=-1.0, dy=-1.0, ha="right")
    dimension(ax, (34.0, 0.0), (34.0, 15.5), "top", dx=1.2, dy=3.0, ha="left")
    for y, start, end in ((9.0, -10.5, -1.0), (15.5, 5.0, 35.0), (0.0, -10.5, -2.0)):
        line(ax, (start, y), (end, y), linewidth=0.7, linestyle=(0, (1.5, 1.5)), color=RED)
    words(ax, 20.0, -4.5, "arm's lower edge: 0")
    words(ax, 2.0, 22.0, "string", ha="left")
    frame(ax, -30, 62, -17, 27)


def draw_length(ax: Axes) -> None:
    """At full draw: throat to above the deepest part of the grip, and 1 3/4 in."""
    bow(ax, 36.0)
    arrow_from(ax, STRING_X - 36.0, 14.0, 5.0)
    line(ax, (0.0, -14.0), (0.0, 18.0), linestyle=(0, (2.0, 1.5)), linewidth=0.8, color=RED)
    dimension(ax, (STRING_X - 36.0, 12.0), (0.0, 12.0), "throat to grip")
    dimension(ax, (0.0, 12.0), (7.0, 12.0))
    words(ax, 8.0, 10.5, "+ 1 3/4 in", ha="left", color=RED, fontweight="bold")
    words(ax, 8.0, -24.0, "a helper marks\nthe arrow above\nthe deepest part\nof the grip", ha="left")
    frame(ax, -62, 46, -30, 26)


def draw_weight(ax: Axes) -> None:
    """A bow scale on the string, drawn to the mark."""
    bow(ax, 30.0)
    line(ax, (STRING_X - 30.0, 5.0), (STRING_X - 36.0, 5.0), linewidth=1.6)
    block(ax, (-79.0, 1.0), (-58.0, 1.0), (-58.0, 9.0), (-79.0, 9.0), color=METAL)
    words(ax, -68.5, 3.0, "34 lb", color=RED, fontweight="bold")
    words(ax, -68.0, 11.0, "bow scale")
    words(ax, 8.0, -20.0, "to the mark of\nyour own draw;\nlet down slowly", ha="left")
    frame(ax, -80, 46, -32, 32)


def arrow_length(ax: Axes) -> None:
    """Throat to the front end of the shaft; diameter."""
    arrow_from(ax, 0.0, 74.0, 0.0)
    line(ax, (0.0, -9.0), (0.0, 2.0), linestyle=(0, (2.0, 1.5)), linewidth=0.8, color=RED)
    line(ax, (71.5, -9.0), (71.5, 2.0), linestyle=(0, (2.0, 1.5)), linewidth=0.8, color=RED)
    dimension(ax, (0.0, -8.0), (71.5, -8.0), "arrow length, without the point", dy=-2.0, va="top")
    block(ax, (46.0, 0.0), (46.0, 14.0), (52.0, 14.0), (52.0, 12.0), (48.0, 12.0), (48.0, 1.2), (50.0, 1.2),
          (50.0, 0.0), color=METAL)  # fmt: skip
    words(ax, 54.0, 10.0, "diameter", ha="left", color=RED, fontweight="bold")
    words(ax, 0.0, 4.0, "throat", ha="left")
    frame(ax, -6, 84, -22, 22)


def arrow_mass(ax: Axes) -> None:
    """Arrows on a kitchen scale; a point alone."""
    block(ax, (6.0, -10.0), (46.0, -10.0), (42.0, -2.0), (10.0, -2.0), color=METAL)
    block(ax, (2.0, -2.0), (50.0, -2.0), (50.0, 0.0), (2.0, 0.0), color=METAL)
    for k in range(5):
        arrow_from(ax, -8.0 + 1.5 * k, 60.0 + 1.5 * k, 1.2 + 1.6 * k, fletched=False)
    words(ax, 26.0, -8.0, "95.0 g", color=RED, fontweight="bold")
    words(ax, 26.0, 12.0, "five arrows, a fifth of it;\na point with its insert likewise")
    frame(ax, -14, 72, -14, 26)


def spine(ax: Axes) -> None:
    """The number on the shaft, or 1.94 lb in the middle of 28 in."""
    x = np.linspace(0.0, 60.0, 60)
    y = -6.0 * np.sin(np.pi * x / 60.0)
    ax.plot(x, y, color=LOOKS["arrow"].color, linewidth=2.6)
    for at in (0.0, 60.0):
        block(ax, (at - 2.0, -9.0), (at + 2.0, -9.0), (at, -0.8), color=METAL)
    line(ax, (0.0, 0.0), (60.0, 0.0), linewidth=0.7, linestyle=(0, (2.0, 1.5)), color=RED)
    dimension(ax, (30.0, 0.0), (30.0, -6.0))
    line(ax, (30.0, -6.5), (30.0, -10.0), linewidth=1.0)
    block(ax, (26.0, -17.0), (34.0, -17.0), (34.0, -10.0), (26.0, -10.0), color=METAL)
    words(ax, 30.0, -15.5, "1.94 lb", fontsize=SMALL - 1.0)
    words(ax, 37.0, -14.5, "spine, in inches", ha="left", color=RED, fontweight="bold")
    dimension(ax, (0.0, -13.0), (25.0, -13.0))
    words(ax, 12.0, -17.0, "28 in in all", color=RED)
    words(ax, 30.0, 3.0, "or read it off the shaft: 700 means 0.700 in")
    frame(ax, -12, 76, -20, 14)


def rest_droop(ax: Axes) -> None:
    """50 g hung where the shaft lies, and how far the arm gives."""
    block(ax, (-14.0, -16.0), (-6.0, -16.0), (-6.0, 16.0), (-14.0, 16.0))
    line(ax, (-6.0, 0.0), (16.0, 0.0), color=LOOKS["rest"].color, linewidth=1.2, linestyle=(0, (2.0, 1.5)))
    line(ax, (-6.0, 0.0), (4.0, -0.8), (16.0, -4.0), color=LOOKS["rest"].color, linewidth=2.6)
    line(ax, (12.0, -3.0), (12.0, -9.0), linewidth=1.0)
    block(ax, (8.0, -17.0), (16.0, -17.0), (16.0, -9.0), (8.0, -9.0), color=METAL)
    words(ax, 12.0, -14.6, "50 g")
    dimension(ax, (19.0, 0.0), (19.0, -4.0))
    line(ax, (16.0, 0.0), (20.0, 0.0), linewidth=0.7, color=RED)
    line(ax, (16.0, -4.0), (20.0, -4.0), linewidth=0.7, color=RED)
    words(ax, 21.0, -3.4, "droop", ha="left", color=RED, fontweight="bold")
    words(ax, -10.0, 17.0, "riser")
    words(ax, 18.0, 3.0, "seen from behind: hung\nwhere the shaft lies")
    frame(ax, -26, 44, -20, 22)


def limb(ax: Axes) -> None:
    """A limb on the scale, and across an edge."""
    x = np.linspace(0.0, 62.0, 60)
    y = np.where(x > 42.0, 0.011 * (x - 42.0) ** 2, 0.0)
    for low in (0.0, -22.0):
        ax.plot(x, y + low, color=LOOKS["upper"].color, linewidth=3.4)
    block(ax, (12.0, -9.0), (44.0, -9.0), (42.0, -1.0), (14.0, -1.0), color=METAL)
    words(ax, 28.0, -7.2, "165 g", color=RED, fontweight="bold")
    block(ax, (22.0, -32.0), (28.0, -32.0), (25.0, -23.0), color=METAL)
    dimension(ax, (0.0, -26.5), (25.0, -26.5))
    words(ax, 12.0, -38.0, "point of balance", color=RED, fontweight="bold")
    words(ax, 0.0, 2.0, "butt", ha="left")
    words(ax, 34.0, -31.0, "it lies level on an edge", ha="left", va="bottom")
    frame(ax, -8, 84, -39, 8)


def nock_slope(ax: Axes) -> None:
    """The floor of the throat, under a glass."""
    block(ax, (-12.0, -10.0), (2.0, -10.0), (18.0, -6.0), (18.0, 6.0), (2.0, 10.0), (-12.0, 10.0), (-12.0, 6.0),
          (1.5, 6.0), (0.0, -6.0), (-12.0, -6.0), color="#cfe6de")  # fmt: skip
    line(ax, (0.0, -14.0), (0.0, 14.0), linewidth=0.8, linestyle=(0, (2.0, 1.5)), color=RED)
    line(ax, (-0.9, -13.5), (2.5, 14.0), linewidth=1.4, color=RED)
    words(ax, 4.0, 11.0, "slope of the floor: + where its\nupper edge is nearer the point", ha="left", color=RED,
          fontweight="bold")  # fmt: skip
    words(ax, 10.0, -1.5, "shaft")
    dimension(ax, (-15.0, -10.0), (-15.0, 10.0))
    words(ax, -16.5, -2.0, "height", ha="right", color=RED, fontweight="bold")
    frame(ax, -36, 60, -18, 22)


def centre_shot(ax: Axes) -> None:
    """Seen along the string from behind: the point beside it."""
    from matplotlib.patches import Circle

    line(ax, (0.0, -22.0), (0.0, 22.0), linewidth=2.0)
    ax.add_patch(Circle((-4.0, 0.0), 3.0, facecolor="#cfe6de", edgecolor=INK, linewidth=1.0, zorder=5.0))
    ax.plot([-4.0], [0.0], marker="+", color=INK, zorder=6.0)
    block(ax, (4.0, -18.0), (10.0, -18.0), (10.0, 18.0), (4.0, 18.0))
    line(ax, (-1.0, 0.0), (4.0, 0.0), color=LOOKS["side"].color, linewidth=2.0)
    line(ax, (-4.0, 0.0), (-4.0, 12.0), linewidth=0.7, color=RED)
    dimension(ax, (-4.0, 10.0), (0.0, 10.0))
    words(ax, -6.0, 9.0, "centre shot: + out,\naway from the riser", ha="right", color=RED, fontweight="bold")
    words(ax, 12.0, -12.0, "riser (right-handed,\nfrom behind)", ha="left")
    words(ax, -1.5, -20.0, "string", ha="right")
    words(ax, -8.0, -4.0, "shaft's end", ha="right")
    frame(ax, -48, 48, -24, 24)
