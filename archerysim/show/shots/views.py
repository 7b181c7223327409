"""The shot from above beside the shot from the side: arrow, string and supports at the same instants, and forces."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.equipment.readings import read_by
from archerysim.show import style, text
from archerysim.show.shots.bow import RISER
from archerysim.show.shots.passing import sideways_events, words_below
from archerysim.show.shots.shape import Shape, draw_arrow, draw_locators, draw_support
from archerysim.show.shots.traces import Event
from archerysim.show.style import FAINT, INK, LOOKS

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from archerysim.shot.launch import Launch

ROW = 2.85  # height of an instant [cm]
UP, ASIDE = 1, 2  # of a point
AHEAD = 50.0  # room behind the nock at full draw and before the point [mm]
MARGIN = 3.0  # below what is drawn [mm]
UNDER, UNDER_NAMES = 0.78, 0.55  # share of the height in which all is drawn, and the shaft at full draw; words above
BLOCK = (-40.0, 70.0, 3.5)  # the riser from above, for the picture only: from and to along, behind the face [mm]
PUSH = (
    ("fingers", "", LOOKS["fingers"].color),
    ("nock, upper end", "edge_upper", "#222222"),
    ("nock, lower end", "edge_lower", "#8c8c8c"),
)
SMALL = (
    ("rest", "rest", LOOKS["rest"].color),
    ("side support", "side_support", LOOKS["side"].color),
    ("nock, sideways", "groove", "#c4c4c4"),
)  # bars on a scale of their own: name, of the trace, colour
ENLARGED = (
    "Across the arrow everything is drawn {:.0f} times too large, in both views. The forces of rest and side support "
    "and the sideways push on the nock have a scale of their own."
)
ROOM = 1.75  # longest of the axes of bars over the longest bar, whose number stands beside it
LEAST = 0.05  # a smaller push sideways has no side [N]


def views(launch: Launch, figure: Figure | None = None) -> Figure:
    """Draw a shot in both planes: from above and from the side at the same instants, and the forces then.

    Both views have one scale, in which up-down and sideways are enlarged as written; the bow's own axes are drawn,
    upright where it is canted.

    Parameters
    ----------
    launch : Launch
        In both planes, with its trace.
    figure : Figure, optional
        An empty one to draw into.

    Returns
    -------
    Figure

    Raises
    ------
    UsageError
        If the launch has no trace, or was shot in one plane.

    Examples
    --------
    >>> import archerysim
    >>> from archerysim import show
    >>> figure = show.views(archerysim.shoot(archerysim.load("examples/club-outdoor.toml"), mesh="coarse"))
    >>> len(figure.axes) > 2
    True
    """
    launch.traced()
    chosen = [Event(0.0, "full draw"), *sideways_events(launch)]
    shapes = [Shape(launch, one.time) for one in chosen]
    own = figure is None
    figure = style.new_figure(ROW * len(chosen) + 2.6) if figure is None else figure
    grid = figure.add_gridspec(len(chosen), 3, width_ratios=(1.0, 1.0, 0.55))
    span, low, high = _window(shapes)
    away = text.away(launch.setup)
    rows: list[tuple[Axes, Axes]] = []
    for k, (one, shape) in enumerate(zip(chosen, shapes, strict=True)):
        above, side = (figure.add_subplot(grid[k, column]) for column in (0, 1))
        rows.append((above, side))
        for ax, way in ((above, ASIDE), (side, UP)):
            _view(ax, shape, way)
            ax.set_xlim(*(span if away == "left" else span[::-1]))
            ax.set_ylim(low, high)
            style.dress(ax, title=" ", grid=False)
            ax.tick_params(labelbottom=k == len(chosen) - 1, labelleft=way == ASIDE)
        _words(above, side, launch, one, away)
        beside = figure.add_subplot(grid[k, 2])
        beside.axis("off")
        _forces(beside, launch, chosen, k)
        if k == 0:
            for ax, words in ((above, "from above"), (side, "from the side"), (beside, "forces")):
                _heading(ax, words)
    _labels(rows, shapes, launch)
    for ax in rows[-1]:
        ax.set_xlabel("along the arrow [mm]", fontsize=style.TEXT, color=INK)
    middle = rows[len(rows) // 2][0]
    middle.set_ylabel("off the arrow's line at full draw [mm]", fontsize=style.TEXT, color=INK)
    if own:
        words_below(figure, launch)
    _head(figure, launch, rows[0][0], (span, low, high), away)
    return figure


def _head(figure: Figure, launch: Launch, ax: Axes, window: Any, away: str) -> None:
    """Bow, and how much is enlarged, which is known once the panels are placed."""
    (left, right), low, high = window
    reading = text.reading(launch.braced.reading, read_by(launch.setup))
    changed = style.changed_lines(launch.edits)
    about = f"{launch.setup.name}, {reading}: one shot, target to the {text.other(away)}"
    style.head(figure, about, ENLARGED.format(10.0), *changed)
    style.place_panels(figure)
    box = ax.get_position()
    up = box.height * figure.get_figheight() / (high - low)
    along = box.width * figure.get_figwidth() / (right - left)
    style.head(figure, about, ENLARGED.format(up / along), *changed)


def _window(shapes: list[Shape]) -> tuple[tuple[float, float], float, float]:
    """What of the axes both views show: along, and the lowest and highest across."""
    span = (shapes[0].arrow[0, 0] - AHEAD, max(shape.arrow[-1, 0] for shape in shapes) + AHEAD)
    across = np.concatenate([shape.arrow[:, 1:].ravel() for shape in shapes])
    radius = shapes[0].radius
    low = min(float(across.min()) - radius, shapes[0].side[1] - BLOCK[2], shapes[0].rest[1] - BLOCK[2])
    low -= MARGIN
    return span, low, low + max((float(across.max()) + radius - low) / UNDER, (radius - low) / UNDER_NAMES)


def _view(ax: Axes, shape: Shape, way: int) -> None:
    """Arrow, string and what carries the arrow, from above or from the side."""
    ax.axhline(0.0, color=FAINT, linewidth=0.8, linestyle=(0, (2.0, 2.0)), zorder=0.5, gid="aim line")
    ax.plot(shape.string[:, 0], shape.string[:, way], gid="string", zorder=2.0, **LOOKS["string"].line_style)
    draw_arrow(ax, shape.arrow[:, 0], shape.arrow[:, way], shape.radius, shape.nock)
    if way == UP:
        draw_locators(ax, shape.locators[..., :2])
        draw_support(ax, shape.rest, "rest", shape.supported)
    else:
        at, face = shape.side
        _riser(ax, at, face)
        ax.plot([shape.rest[0]] * 2, shape.arm, color=LOOKS["rest"].color, linewidth=3.0, zorder=1.4, gid="arm",
                solid_capstyle="butt", alpha=1.0 if shape.supported else 0.3)  # fmt: skip
        draw_support(ax, shape.side, "side")


def _riser(ax: Axes, at: float, face: float) -> None:
    from matplotlib.patches import Rectangle

    begin, end, behind = BLOCK
    ax.add_patch(
        Rectangle((at + begin, face - behind - 60.0), end - begin, 60.0, facecolor=RISER, edgecolor="none", zorder=0.8,
                  gid="riser")
    )  # fmt: skip


def _heading(ax: Axes, words: str) -> None:
    """A column's name, above its first row."""
    ax.annotate(
        words, (0.5, 1.0), xycoords="axes fraction", xytext=(0.0, 18.0), textcoords="offset points", ha="center",
        fontsize=style.TEXT, color=INK,
    )  # fmt: skip


def _words(above: Axes, side: Axes, launch: Launch, one: Event, away: str) -> None:
    """What happens at the instant, and when; and, once it has let go, where the nose points."""
    from archerysim.shot.moment import turned

    trace, cant = launch.traced(), launch.drawing.setup.archer.cant
    above.annotate(
        f"{one.words}, {1e3 * one.time:.1f} ms", (0.0, 1.0), xycoords="axes fraction", xytext=(0.0, 4.0),
        textcoords="offset points", fontsize=style.TEXT, fontweight="bold", color=INK, in_layout=False, gid="instant",
    )  # fmt: skip
    if one.time == 0.0:
        return
    world = (np.array(np.interp(one.time, trace.time, row)) for row in (trace.pitch, trace.yaw))
    pitch, yaw = turned(-cant, *world)
    for ax, angle, ways in (
        (above, float(yaw), (away, text.other(away))), (side, float(pitch), ("up", "down")),
    ):  # fmt: skip
        nose = f"nose {ways[0] if angle > 0.0 else ways[1]} {abs(angle):.2f}°" if abs(angle) >= 0.005 else "straight"
        ax.annotate(
            nose, (0.98 if away == "left" else 0.02, 0.95), xycoords="axes fraction", fontsize=style.SMALL, color=INK,
            ha="right" if away == "left" else "left", va="top", zorder=6.0, gid="nose",
        )  # fmt: skip


def _labels(rows: list[tuple[Axes, Axes]], shapes: list[Shape], launch: Launch) -> None:
    """Names of the views and of what is drawn, once; that of the string where it lies over the shaft, too."""
    first, last = rows[0], rows[-1]
    away, shelf = text.away(launch.setup), launch.drawing.setup.rest.kind == "shelf"
    ahead = 1.0 if away == "left" else -1.0
    shape = shapes[0]
    tail, nose = shape.arrow[0], shape.arrow[-1]

    def name(ax: Axes, words: str, at: Any, aside: float, up: float, color: str = INK) -> None:
        ax.annotate(
            words, (float(at[0]), float(at[1])), xytext=(ahead * aside, up), textcoords="offset points", va="center",
            ha="center" if not aside else "left" if ahead * aside > 0.0 else "right", fontsize=style.SMALL, color=color,
            zorder=6.0, gid=f"name of {words}",
        )  # fmt: skip

    for ax, up in zip(first, (f"\u2191 {away} (away from the window)", "\u2191 up"), strict=True):
        ax.annotate(
            up, (0.98 if away == "left" else 0.02, 0.95), xycoords="axes fraction", va="top",
            ha="right" if away == "left" else "left", fontsize=style.SMALL, color=INK,
        )  # fmt: skip
        name(ax, "arrow", (tail[0] + 0.35 * (nose[0] - tail[0]), shape.radius), 0.0, 7.0, LOOKS["arrow"].color)
    under = 0.5 * (first[0].get_ylim()[0] - shape.radius)
    name(first[0], "side support", (shape.side[0], under), -6.0, 0.0, LOOKS["side"].color)
    name(first[0], "shelf" if shelf else "rest's arm", (nose[0], 0.6 * shape.radius), 5.0, 0.0, LOOKS["rest"].color)
    name(first[0], "riser", (shape.side[0] + BLOCK[1], shape.side[1] - BLOCK[2] - 1.5), 3.0, 0.0)
    name(first[1], "shelf" if shelf else "rest", (shape.rest[0], under), -6.0, 0.0, LOOKS["rest"].color)
    for ax, way in zip(last, (ASIDE, UP), strict=True):
        string = shapes[-1].string
        middle = string[string.shape[0] // 2]
        name(ax, "string", (middle[0], middle[way]), -8.0, 0.0)
    drawn, low = shapes[1].string, first[0].get_ylim()[0]
    half = drawn[drawn.shape[0] // 4]  # from above its ends lie over the shaft
    rows[1][0].annotate(
        "string", (float(half[0]), float(half[ASIDE])), xytext=(float(drawn[:, 0].min()), 0.45 * low), va="center",
        ha="left" if ahead > 0.0 else "right", fontsize=style.SMALL, color=INK, zorder=6.0, gid="name of string",
        arrowprops={"arrowstyle": "-", "color": INK, "linewidth": 0.7, "shrinkA": 1.0, "shrinkB": 1.0},
    )  # fmt: skip


def _forces(beside: Axes, launch: Launch, chosen: list[Event], k: int) -> None:
    """Bars: the push of both ends of the nock's floor; and, on a scale of their own, the small ones."""
    trace, away = launch.traced(), text.away(launch.setup)
    times = [one.time for one in chosen]
    from archerysim.show.motion.moving_shot import forces_at

    fingers, _, rest, _ = forces_at(launch, np.array(times))
    course = {"": fingers, "rest": rest}  # the others lie on straight lines between the trace's rows
    for (low, high), small, bars in ((0.53, 0.47), False, PUSH), ((0.0, 0.47), True, SMALL):
        ax = beside.inset_axes((0.0, low, 1.0, high))
        courses = [
            course[row] if row in course else np.interp(times, trace.time, getattr(trace, row)) for _, row, _ in bars
        ]
        most = float(np.abs(courses).max()) or 1.0
        names = []
        for row, ((name, field, color), values) in enumerate(zip(bars, courses, strict=True)):
            value = float(values[k])
            if field == "groove" and abs(value) >= LEAST:
                name = f"nock, to the {away if value > 0.0 else text.other(away)}"
            names.append(name)
            number = round(abs(value) if field == "groove" else max(value, 0.0), 1 if small else 0)
            ax.barh(row, number, height=0.7, color=color, edgecolor=INK, linewidth=0.4, gid=f"bar of {field}")
            words = f"{number:.{1 if small else 0}f} N" if number else "0 N"
            style.note(ax, number + 0.04 * most, row, words, va="center")
        ax.set_xlim(0.0, ROOM * most)
        ax.set_ylim(len(bars) - 0.4, -0.6)
        ax.set_yticks(range(len(bars)), names)
        style.dress(ax, grid=False)
        ax.tick_params(left=False, bottom=False, labelbottom=False)
