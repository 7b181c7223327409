"""One shot in five frames: arrow, string, locators and rest; bars for fingers, nock and, on its own scale, rest."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.equipment.readings import read_by
from archerysim.show import style, text
from archerysim.show.shots.shape import Shape, draw_arrow, draw_locators, draw_support
from archerysim.show.style import FAINT, INK, LOOKS

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from archerysim.shot.launch import Launch
    from archerysim.study.explanation.explain import Explained
    from archerysim.study.explanation.instants import Instant

ROW = 3.6  # height of a frame [cm]
ASIDE = 60.0  # room behind the nock at full draw and before the point at clear [mm]
MARGIN = 4.0  # below what is drawn [mm]
UNDER = 0.66  # share of a frame's height in which the shafts stay, the words above them
NAMES = {
    "rest's support ends": "the rest lets go",
    "clear": "past the bow (clear)",
}  # of frames, where they are not those of the instants
STRING = (LOOKS["string"].color, "#8c8c8c")  # bars of the string's push: at the upper and the lower end of the floor
GROUND = {"facecolor": "white", "edgecolor": "none", "alpha": 0.85, "pad": 1.5}  # of words over lines


def explain(result: Explained, figure: Figure | None = None, *, left_handed: bool | None = None) -> Figure:
    """Draw five frames of a shot, one below the other, on one scale.

    Parameters
    ----------
    result : Explained
    figure : Figure, optional
        An empty one to draw into.
    left_handed : bool, optional
        Target to the left, as a left-handed archer sees it; by default as ``archer.handed`` says.

    Returns
    -------
    Figure
        Left: along the aim line from the pivot, up-down enlarged as written; right: forces.

    Examples
    --------
    >>> import archerysim
    >>> from archerysim import show
    >>> found = archerysim.explain(archerysim.load("examples/club-outdoor.toml"), mesh="coarse")
    >>> figure = show.explain(found)
    >>> len(figure.axes) >= 5
    True
    """
    from archerysim.study.explanation.instants import frames

    launch = result.launch
    if left_handed is None:
        left_handed = text.away(launch.setup) == "right"
    chosen = frames(result.instants)
    figure = style.new_figure(ROW * len(chosen) + 2.8) if figure is None else figure
    grid = figure.add_gridspec(len(chosen), 2, width_ratios=(3.0, 1.0))
    shapes = [Shape(launch, one.time) for one in chosen]
    span, low, high = _window(shapes)
    strongest = max(one.rest for one in chosen)
    axes: list[Axes] = []
    for k, (one, shape) in enumerate(zip(chosen, shapes, strict=True)):
        side = figure.add_subplot(grid[k, 0], sharex=axes[0] if axes else None, sharey=axes[0] if axes else None)
        axes.append(side)
        _frame(side, launch, one, shape, left_handed)
        side.set_xlim(*(span[::-1] if left_handed else span))
        side.set_ylim(low, high)
        last = k == len(chosen) - 1
        style.dress(side, "along the aim line, from the grip's pivot [mm]" if last else "", grid=False)
        side.tick_params(labelbottom=last)
        beside = figure.add_subplot(grid[k, 1])
        beside.axis("off")
        _bars(beside.inset_axes((0.0, 0.34, 1.0, 0.66)), one, launch.draw_force, k == 0)
        _rest_bar(beside.inset_axes((0.0, 0.0, 1.0, 0.22)), one.rest, strongest, last)
    _labels(axes[0], shapes[0], high - 3.0, left_handed)
    axes[len(axes) // 2].set_ylabel("off the aim line at full draw [mm]", fontsize=style.TEXT, color=INK)
    reading = text.reading(launch.braced.reading, read_by(launch.setup))
    heading = f"{launch.setup.name}, {reading}: one shot, target to the {'left' if left_handed else 'right'}"
    changed = style.changed_lines(result.edits)
    style.head(figure, heading, _enlarged(10.0), *changed)
    style.place_panels(figure)
    box = axes[0].get_position()
    up = box.height * figure.get_figheight() / (high - low)
    along = box.width * figure.get_figwidth() / (span[1] - span[0])
    style.head(figure, heading, _enlarged(up / along), *changed)
    return figure


def _enlarged(times: float) -> str:
    return f"up-down x{times:.0f}: thickness and bend of the shaft are drawn {times:.0f} times too large"


def _window(shapes: list[Shape]) -> tuple[tuple[float, float], float, float]:
    first, last = shapes[0], shapes[-1]
    span = (float(first.arrow[0, 0]) - ASIDE, float(last.arrow[-1, 0]) + ASIDE)
    heights = [shape.arrow[:, 1] + side * shape.radius for shape in shapes for side in (-1.0, 1.0)]
    top = float(max(h.max() for h in heights))
    heights += [first.fingers[:, 1], *(shape.rest[1:] for shape in shapes)]
    low = float(min(h.min() for h in heights)) - MARGIN
    return span, low, max(float(first.fingers[:, 1].max()) + 2.5 * MARGIN, low + (top - low) / UNDER)


def _frame(ax: Axes, launch: Launch, instant: Instant, shape: Shape, left_handed: bool) -> None:
    ax.axhline(0.0, color=FAINT, linewidth=0.8, linestyle=(0, (2.0, 2.0)), zorder=0.5, gid="aim line")
    ax.plot(shape.string[:, 0], shape.string[:, 1], gid="string", zorder=2.0, **LOOKS["string"].line_style)
    draw_arrow(ax, shape.arrow[:, 0], shape.arrow[:, 1], shape.radius, shape.nock)
    draw_locators(ax, shape.locators[..., :2])
    draw_support(ax, shape.rest, "rest", shape.supported)
    for place, force in zip(shape.fingers, instant.fingers, strict=True):
        if force > 0.5:
            ax.plot(
                place[:1], place[1:2], marker="o", markersize=4.0 + 5.0 * np.sqrt(force / launch.draw_force),
                color=LOOKS["fingers"].color, markeredgecolor=INK, markeredgewidth=0.6, gid="finger", zorder=4.0,
            )  # fmt: skip
    nose = (
        f"nose {'up' if instant.pitch > 0.0 else 'down'} {abs(instant.pitch):.2f}°"
        if abs(instant.pitch) >= 0.005
        else "level"
    )
    where: dict[str, Any] = {
        "xycoords": "axes fraction", "ha": "left" if left_handed else "right", "color": INK, "bbox": GROUND,
        "zorder": 6.0,
    }  # fmt: skip
    ahead = 0.012 if left_handed else 0.988
    when = f"{NAMES.get(instant.name, instant.name)}, {1e3 * instant.time:.1f} ms"
    ax.annotate(when, (ahead, 0.96), va="top", fontsize=style.TEXT, fontweight="bold", **where)
    below = {
        "rest's support ends": f"in the model after {1e3 * instant.travel:.0f} mm of travel",
        "separation": "the string leaves the nock",
    }
    if instant.name in below:
        ax.annotate(below[instant.name], (ahead, 0.8), va="top", fontsize=style.SMALL, **where)
    ax.annotate(nose, (ahead, 0.05), va="bottom", fontsize=style.SMALL, **where)


def _labels(ax: Axes, shape: Shape, top: float, left_handed: bool) -> None:
    """Names of what is drawn, once; the string's at the height ``top``."""
    ahead = -1.0 if left_handed else 1.0
    tail = shape.arrow[0]
    string = float(np.interp(top, shape.string[::-1, 1], shape.string[::-1, 0]))
    places: list[tuple[str, tuple[float, float], tuple[float, float], str]] = [
        ("string", (string, top), (8.0, 0.0), INK),
        ("fingers", tuple(shape.fingers[1, :2]), (10.0, -3.0), INK),
        ("arrow", (0.2 * tail[0] + 0.8 * shape.arrow[-1, 0], shape.radius), (0.0, 7.0), LOOKS["arrow"].color),
        ("rest", (float(shape.rest[0]), float(shape.rest[1]) - 14.0), (6.0, 0.0), LOOKS["rest"].color),
    ]
    if shape.locators.size:
        upper = shape.locators[0, :, :2].mean(axis=0)
        places.append(("locators" if len(shape.locators) > 1 else "locator", tuple(upper), (22.0, 9.0), INK))
    line = {"arrowstyle": "-", "color": INK, "linewidth": 0.7, "shrinkA": 1.0, "shrinkB": 1.0}
    side = "right" if left_handed else "left"
    for words, at, (aside, up), color in places:
        ax.annotate(
            words, at, xytext=(ahead * aside, up), textcoords="offset points", va="center", fontsize=style.SMALL,
            ha=side if aside else "center", color=color, zorder=6.0, gid=f"name of {words}",
            arrowprops=line if words.startswith("locator") else None,
        )  # fmt: skip


def _bars(ax: Axes, instant: Instant, most: float, first: bool) -> None:
    """Bars for fingers and the push of the string on both ends of the nock's floor."""
    rows: list[tuple[str, str, float]] = [
        ("fingers", LOOKS["fingers"].color, instant.finger_force),
        ("nock, upper end", STRING[0], instant.edge_upper),
        ("nock, lower end", STRING[1], instant.edge_lower),
    ]
    for row, (name, color, value) in enumerate(rows):
        _bar(ax, row, value, 0, most, color, name)
    ax.set_ylim(2.6, -0.6)
    ax.set_yticks(range(3), [row[0] for row in rows])
    style.dress(ax, title="force" if first else "", grid=False)
    ax.tick_params(left=False, bottom=False, labelbottom=False)


def _rest_bar(ax: Axes, value: float, most: float, last: bool) -> None:
    """The rest's force on a scale of its own: tenths of a newton, where the string has hundreds of newtons."""
    from matplotlib.ticker import MaxNLocator

    color = LOOKS["rest"].color
    _bar(ax, 0, value, 2, most if most > 0.0 else 1.0, color, "rest")
    ax.set_ylim(0.6, -0.6)
    ax.set_yticks([0], ["rest"])
    style.dress(ax, "rest's own scale [N]" if last else "", grid=False)
    ax.xaxis.label.set_color(color)
    ax.xaxis.set_major_locator(MaxNLocator(2, steps=[1, 2, 5, 10]))
    ax.tick_params(labelbottom=last, left=False, bottom=last, labelcolor=color)
    for side in ax.spines.values():
        side.set_color(color)


def _bar(ax: Axes, row: int, value: float, digits: int, most: float, color: str, name: str) -> None:
    """One bar with its number; ``most`` is the longest of the axes."""
    shown = max(value, 0.0)
    ax.barh(row, shown, height=0.66, color=color, edgecolor=INK, linewidth=0.4, gid=f"bar of {name}")
    number = round(value, digits) + 0.0
    inside = shown > 0.62 * most
    style.note(
        ax, shown + (-0.03 if inside else 0.03) * most, row, f"{number:.{digits}f} N" if number else "0 N", va="center",
        ha="right" if inside else "left", color="white" if inside and color != LOOKS["fingers"].color else INK,
    )  # fmt: skip
    ax.set_xlim(0.0, 1.08 * most)
