"""A map of the launch in contours, with the line on which bare and fletched shafts come together, and its window."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.show import style
from archerysim.show.style import INK, LOOKS

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from archerysim.study.bench.bench_map import BenchMap

TITLES = {
    "pitch": ("pitch at clear, nose up + [deg]", 1.0),
    "pitch_rate": ("pitch rate at clear, nose up + [rad/s]", 1.0),
    "angle_of_attack": ("angle of attack at clear [deg]", 1.0),
    "bare_above": ("bare above fletched [cm]", 10.0),
}
LEVELS = 7
APART = 0.16  # between two contour labels, in widths of a panel
EDGE = 0.09  # and from the frame


def bench_map(found: BenchMap) -> Figure:
    """Draw pitch, pitch rate, angle of attack and bare above fletched, each in contours over split and the other axis.

    Parameters
    ----------
    found : BenchMap

    Returns
    -------
    Figure
        Four panels with the same axes. Dark: positive, broken: negative, the contour of zero thicker. Red: where bare
        and fletched shafts come together, its window shaded; the triangle: the bow as it stands. Not drawn: no shot.

    Examples
    --------
    >>> import archerysim
    >>> from archerysim import show
    >>> bow = archerysim.load("examples/club-outdoor.toml")
    >>> how = {"splits": "2 mm:8 mm:3 mm", "values": "3 mm:9 mm:2 mm", "mesh": "coarse", "planes": 1}
    >>> len(show.bench_map(archerysim.bench_map(bow, **how)).axes)
    4
    """
    figure = style.new_figure(16.5)
    panels = list(figure.subplots(2, 2, sharex=True, sharey=True).ravel())
    for k, (ax, (name, (title, size))) in enumerate(zip(panels, TITLES.items(), strict=True)):
        x = found.across.name.split(",")[0] + (f" [{found.across.unit}]" if found.across.unit else "")
        style.dress(ax, x if k > 1 else "", "tiller split [mm]" if k % 2 == 0 else "", title, grid=False)
        _panel(ax, found, name, found.of(name) / size)
    held = "brace height held" if found.across.kind == "reading" else "brace height and reading held"
    lost = f"; left white: no shot ({len(found.reasons)} points)" if found.reasons else ""
    style.head(figure, f"{found.bow.setup.name}: the launch over tiller split and {found.across.kind}; {held}{lost}")
    style.limits_passed(figure, found, _handles(found), columns=2)
    return figure


def _handles(found: BenchMap) -> list[Any]:
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    red, gap = LOOKS["clear"].color, found.of("bare_above")
    told = f"bare and fletched together at {found.distance:g} m"
    line = Line2D([], [], color=red, linewidth=2.4, label=told)
    near = Patch(color=red, alpha=0.16, linewidth=0.0, label=f"within {found.tolerance / 10.0:.2g} cm of each other")
    shown = [line] if (gap < 0.0).any() and (gap > 0.0).any() else []
    return [
        *shown,
        *([near] if (abs(gap) < found.tolerance).any() else []),
        Line2D([], [], color=INK, linewidth=0.9, label="contours (broken: negative; thick: zero)"),
        Line2D([], [], **style.TODAY, label="today"),
    ]


def _panel(ax: Axes, found: BenchMap, name: str, values: np.ndarray) -> None:
    x, y = found.across.shown, found.splits
    known = np.ma.masked_invalid(values)
    gap, red = np.ma.masked_invalid(found.of("bare_above")), LOOKS["clear"].color
    if gap.count() > 3:
        ax.contourf(x, y, gap, levels=[-found.tolerance, found.tolerance], colors=[red], alpha=0.16)
        if gap.min() < 0.0 < gap.max():
            ax.contour(x, y, gap, levels=[0.0], colors=[red], linewidths=2.4)
    if known.count() > 3 and known.max() > known.min():
        _contours(ax, x, y, known, zero=name != "bare_above")
    here = found.today_at
    if x[0] <= here[0] <= x[-1] and y[0] <= here[1] <= y[-1]:
        ax.plot(*here, zorder=6.0, clip_on=False, gid="today", **style.TODAY)
    ax.set_xlim(x[0], x[-1])
    ax.set_ylim(y[0], y[-1])


def _contours(ax: Axes, x: np.ndarray, y: np.ndarray, known: Any, zero: bool) -> None:
    """Contours with their labels; that of zero is left out where it is drawn already."""
    from matplotlib.ticker import MaxNLocator

    levels = [float(one) for one in MaxNLocator(LEVELS).tick_values(known.min(), known.max())]
    levels = [one for one in levels if zero or abs(one) > 1e-12]
    widths = [1.8 if abs(one) < 1e-12 else 0.9 for one in levels]
    lines = ["-" if one > -1e-12 else (0, (4.0, 2.0)) for one in levels]
    drawn: Any = ax.contour(x, y, known, levels=levels, colors=INK, linewidths=widths, linestyles=lines)
    places = _places(drawn, x, y)
    if places:
        texts = drawn.clabel(fontsize=style.SMALL, fmt="%.3g", manual=places, inline=True, inline_spacing=3)
        for text in texts:
            text.set_rotation(0.0)


def _places(drawn: Any, x: np.ndarray, y: np.ndarray) -> list[tuple[float, float]]:
    """A place for each contour's label, apart from the others and from the frame; contours without one stay bare."""
    out: list[tuple[float, float]] = []
    size, begin = np.array([np.ptp(x), np.ptp(y)]), np.array([x[0], y[0]])
    for k, segments in enumerate(drawn.allsegs):
        points = np.concatenate([one for one in segments if len(one)] or [np.zeros((0, 2))])
        at = (points - begin) / size
        inside = ((at > EDGE) & (at < 1.0 - EDGE)).all(axis=1)
        taken = (np.array(out).reshape(-1, 2) - begin) / size
        far = np.array([np.hypot(*(taken - one).T).min(initial=9.0) for one in at]) if len(at) else np.zeros(0)
        fit = np.flatnonzero(inside & (far > APART))
        if fit.size:
            wanted = np.array([0.5, 0.3 + 0.4 * (k % 2)])
            nearest = fit[np.argmin(np.hypot(*(at[fit] - wanted).T))]
            out.append((float(points[nearest, 0]), float(points[nearest, 1])))
    return out
