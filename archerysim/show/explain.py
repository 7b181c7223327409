"""One shot in five frames: arrow, string and rest, with bars for fingers, nock and rest."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.show import style
from archerysim.show.style import FAINT, INK, LOOKS, MM

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from archerysim.shot.launch import Launch
    from archerysim.study.explain import Explained
    from archerysim.study.told import Instant

ROW = 3.5  # height of a frame [cm]
ASIDE = 60.0  # room behind the nock at full draw and before the point at clear [mm]
MARGIN = 4.0  # above and below what is drawn [mm]
NOCK = 14.0  # length of the nock, for the picture only [mm]
GROUND = {"facecolor": "white", "edgecolor": "none", "alpha": 0.85, "pad": 1.5}  # of words over lines


def explain(result: Explained, figure: Figure | None = None, *, mirror: bool = False) -> Figure:
    """Draw five frames of a shot, one below the other, on one scale.

    Parameters
    ----------
    result : Explained
    figure : Figure, optional
        An empty one to draw into.
    mirror : bool
        Target to the left, as a left-handed archer sees it.

    Returns
    -------
    Figure
        Left: along the aim line from the pivot, up-down enlarged as written; right: forces.
    """
    from archerysim.study.told import frames

    launch = result.launch
    chosen = frames(result.told)
    figure = style.new_figure(ROW * len(chosen) + 2.4) if figure is None else figure
    grid = figure.add_gridspec(len(chosen), 2, width_ratios=(3.0, 1.0))
    shapes = [_Shape(launch, one.time) for one in chosen]
    span, low, high = _window(shapes)
    times = _times(chosen)
    axes: list[Axes] = []
    for k, (one, shape) in enumerate(zip(chosen, shapes, strict=True)):
        side = figure.add_subplot(grid[k, 0], sharex=axes[0] if axes else None, sharey=axes[0] if axes else None)
        axes.append(side)
        _frame(side, launch, one, shape, mirror)
        side.set_xlim(*(span[::-1] if mirror else span))
        side.set_ylim(low, high)
        last = k == len(chosen) - 1
        style.dress(side, "along the aim line, from the grip's pivot [mm]" if last else "", grid=False)
        side.tick_params(labelbottom=last)
        bars = figure.add_subplot(grid[k, 1])
        _bars(bars, one, launch.draw_force, times, last)
    axes[len(axes) // 2].set_ylabel("off the aim line at full draw [mm]", fontsize=style.TEXT, color=INK)
    target = "left" if mirror else "right"
    title = figure.suptitle(
        f"{launch.setup.name}: one shot, target to the {target}", fontsize=style.TEXT, color=INK, x=0.01, ha="left"
    )
    figure.draw_without_rendering()  # places the panels
    box = axes[0].get_position()
    up = box.height * figure.get_figheight() / (high - low)
    along = box.width * figure.get_figwidth() / (span[1] - span[0])
    title.set_text(f"{title.get_text()}; up-down enlarged x{up / along:.0f}")
    return figure


class _Shape:
    """Arrow, string and rest at one instant, in the aim frame; heights from the arrow's line at full draw [mm]."""

    def __init__(self, launch: Launch, time: float) -> None:
        from archerysim.equipment import filled
        from archerysim.study.told import traced

        trace, marks = traced(launch), launch.braced.marks
        full: Any = filled(launch.setup)
        angle = np.radians(launch.aim_angle)
        turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
        pictures = np.stack((trace.frame_x, trace.frame_y), axis=-1)
        k = int(np.clip(np.searchsorted(trace.frame_time, time) - 1, 0, trace.frame_time.size - 2))
        begin, end = trace.frame_time[k : k + 2]
        share = (time - begin) / (end - begin)
        nodes = (pictures[k] + share * (pictures[k + 1] - pictures[k])) @ turn
        level = (pictures[0] @ turn)[marks.tail, 1]

        def placed(points: np.ndarray) -> np.ndarray:
            return np.asarray((points - np.array([0.0, level])) / MM)

        self.arrow = placed(nodes[marks.tail :])
        self.string = placed(nodes[marks.tip_u : marks.tip_l + 1])
        at = launch.braced.throat + np.asarray(full.archer.finger_places) - full.archer.crawl
        rising = launch.braced.string_place[::-1]
        self.fingers = np.column_stack([np.interp(at, rising, self.string[::-1, i]) for i in (0, 1)])
        self.radius = 0.5 * full.arrow.diameter / MM
        self.nock = 0.5 * full.nock.height / MM
        pose = [float(np.interp(time, trace.time, row)) for row in (trace.riser_x, trace.riser_y, trace.riser_pitch)]
        sine, cosine = np.sin(np.radians(pose[2])), np.cos(np.radians(pose[2]))
        give = float(np.interp(time, trace.time, trace.rest)) / full.rest.stiffness
        own = np.array([full.rest.forward, full.rest.height - give])
        rest = np.array([pose[0] + cosine * own[0] - sine * own[1], pose[1] + sine * own[0] + cosine * own[1]])
        self.rest: np.ndarray = placed(rest @ turn)
        travel = float(np.interp(time, trace.time, trace.nock_x) - trace.nock_x[0])
        self.supported = bool(full.rest.unlimited_support or travel <= full.rest.support_travel + 1e-6)


def _window(shapes: list[_Shape]) -> tuple[tuple[float, float], float, float]:
    first, last = shapes[0], shapes[-1]
    span = (float(first.arrow[0, 0]) - ASIDE, float(last.arrow[-1, 0]) + ASIDE)
    heights = [shape.arrow[:, 1] + side * shape.radius for shape in shapes for side in (-1.0, 1.0)]
    heights += [first.fingers[:, 1], *(shape.rest[1:] for shape in shapes)]
    return span, float(min(h.min() for h in heights)) - MARGIN, float(max(h.max() for h in heights)) + 2.5 * MARGIN


def _frame(ax: Axes, launch: Launch, one: Instant, shape: _Shape, mirror: bool) -> None:
    from matplotlib.patches import Rectangle

    green = LOOKS["arrow"].color
    ax.axhline(0.0, color=FAINT, linewidth=0.8, linestyle=(0, (2.0, 2.0)), zorder=0.5, gid="aim line")
    ax.plot(shape.string[:, 0], shape.string[:, 1], gid="string", zorder=2.0, **LOOKS["string"].line_style)
    x, y = shape.arrow[:, 0], shape.arrow[:, 1]
    ax.fill_between(x, y - shape.radius, y + shape.radius, color=green, alpha=0.55, linewidth=0.0, zorder=3.0)
    ax.plot(x, y, color=green, linewidth=0.9, gid="arrow", zorder=3.2)
    ax.add_patch(
        Rectangle((x[0] - 0.3 * NOCK, y[0] - shape.nock), NOCK, 2.0 * shape.nock, facecolor=green, edgecolor=INK,
                  linewidth=0.6, zorder=3.4, gid="nock")
    )  # fmt: skip
    at, top = shape.rest
    rest: dict[str, Any] = {"color": LOOKS["rest"].color, "alpha": 1.0 if shape.supported else 0.3}
    ax.plot([at, at], [top, top - 60.0], linewidth=3.0, zorder=1.5, **rest)
    ax.plot(
        [at - 18.0, at + 18.0], [top, top], linewidth=2.4, solid_capstyle="butt", gid="rest", zorder=3.6, **rest
    )  # fmt: skip
    for place, force in zip(shape.fingers, one.fingers, strict=True):
        if force > 0.5:
            ax.plot(
                place[:1], place[1:], marker="o", markersize=4.0 + 5.0 * np.sqrt(force / launch.draw_force),
                color=LOOKS["fingers"].color, markeredgecolor=INK, markeredgewidth=0.6, gid="finger", zorder=4.0,
            )  # fmt: skip
    nose = f"nose {'up' if one.pitch > 0.0 else 'down'} {abs(one.pitch):.2f}°" if abs(one.pitch) >= 0.005 else "level"
    where: dict[str, Any] = {
        "xycoords": "axes fraction", "ha": "left" if mirror else "right", "color": INK, "bbox": GROUND, "zorder": 6.0,
    }  # fmt: skip
    ahead = 0.012 if mirror else 0.988
    said = f"{one.name}, {1e3 * one.time:.1f} ms"
    ax.annotate(said, (ahead, 0.96), va="top", fontsize=style.TEXT, fontweight="bold", **where)
    ax.annotate(nose, (ahead, 0.05), va="bottom", fontsize=style.SMALL, **where)


def _times(chosen: tuple[Instant, ...]) -> int:
    """By how much the rest's bar is drawn longer than the others: 1, 10 or 100."""
    rest = max(one.rest for one in chosen)
    most = max(one.finger_force for one in chosen)
    return int(10 ** np.clip(np.floor(np.log10(most / rest)), 0, 2)) if rest > 0.0 else 1


def _bars(ax: Axes, one: Instant, most: float, times: int, last: bool) -> None:
    """Bars for fingers, the push on both ends of the nock's floor, and the rest."""
    rows: list[tuple[str, str, float, float]] = [
        ("fingers", "fingers", one.finger_force, 1.0),
        ("nock, upper", "upper", one.edge_upper, 1.0),
        ("nock, lower", "lower", one.edge_lower, 1.0),
        ("rest" if times == 1 else f"rest, bar x{times}", "rest", one.rest, float(times)),
    ]
    for row, (_, look, value, size) in enumerate(rows):
        ax.barh(row, max(value, 0.0) * size, height=0.66, color=LOOKS[look].color, edgecolor=INK, linewidth=0.4,
                gid=f"bar of {look}")  # fmt: skip
        digits = 2 if look == "rest" else 0
        text = f"{round(value, digits) + 0.0:.{digits}f} N"
        inside = max(value, 0.0) * size > 0.62 * most
        dark = look in ("upper", "rest")
        style.note(
            ax, max(value, 0.0) * size + (-0.03 if inside else 0.03) * most, row, text, va="center",
            ha="right" if inside else "left", color="white" if inside and dark else INK,
        )  # fmt: skip
    ax.set_xlim(0.0, 1.08 * most)
    ax.set_ylim(3.6, -0.6)
    ax.set_yticks(range(4), [row[0] for row in rows])
    style.dress(ax, "force [N]" if last else "", grid=False)
    ax.tick_params(labelbottom=last, left=False)
