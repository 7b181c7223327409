"""Limbs in time: each tip's way home, the nock's way, and the splits at which each is as asked for."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.shot.nock_way import nock_way, ways_home
from archerysim.show import style
from archerysim.show.shots.two_bows import NEW, OLD
from archerysim.show.style import FAINT, INK, LOOKS, MM

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from archerysim.shot.launch import Launch
    from archerysim.study.bench.timed_tiller import TimedTiller

SHOWN = 60.0  # of a tip's way, about its place at brace [mm]
BEFORE_HOME, AFTER_HOME = 4e-3, 1.5e-3  # of the time about the first and the last of both [s]
SHORT = {
    "same_work": "the same work", "home_together": "home together", "level_slowly": "nock level, let down",
    "level_shot": "nock level, shot", "level_end": "nock level at the end",
}  # fmt: skip


def timed_tiller(found: TimedTiller) -> Figure:
    """Draw how both tips come home, today and where they do so together, the nock's way, and where each split lies.

    Parameters
    ----------
    found : TimedTiller

    Returns
    -------
    Figure
        Above: how far each tip is behind its place at brace [mm] against the time [ms], today and at the split where
        both come home together. Middle: how far the nock is above the arrow's line at full draw along its way [mm].
        Below: the tiller splits [mm] at which each is as asked for.

    Examples
    --------
    >>> import archerysim
    >>> from archerysim import show
    >>> found = archerysim.timed_tiller(archerysim.load("examples/junior.toml"), mesh="coarse", planes=1)
    >>> len(show.timed_tiller(found).axes)
    4
    """
    together = found.answer("home_together").launch
    figure = style.new_figure(16.0)
    grid = figure.add_gridspec(3, 2, height_ratios=(1.0, 1.0, 0.8))
    first = figure.add_subplot(grid[0, 0] if together else grid[0, :])
    _home(first, found.today, f"today, split {found.split_today:.1f} mm")
    if together is not None:
        other = figure.add_subplot(grid[0, 1], sharex=first, sharey=first)
        split = found.answer("home_together").split
        _home(other, together, f"home together, split {split:.1f} mm")
        style.dress(other, "since the release began [ms]", "", other.get_title(loc="left"))
    first.set_xlim(*_window([one for one in (found.today, together) if one is not None]))
    first.set_ylim(-0.3 * SHOWN, SHOWN)
    _nock(figure.add_subplot(grid[1, :]), found)
    _splits(figure.add_subplot(grid[2, :]), found)
    style.head(
        figure,
        f"{found.bow.setup.name}: limbs in time; reading and brace height held",
        "above: how far each tip is behind its place at brace; dotted: separation",
    )
    style.limits_passed(figure, found, first.get_legend_handles_labels()[0], columns=2)
    return figure


def _window(launches: list[Launch]) -> tuple[float, float]:
    """The time shown, about that at which tips come home [ms]."""
    homes = []
    for launch in launches:
        ways = ways_home(launch)
        for way in (ways.upper, ways.lower):
            at = np.flatnonzero(way <= 0.0)
            homes.append(float(ways.time[at[0]] if at.size else ways.time[-1]))
    return 1e3 * (min(homes) - BEFORE_HOME), 1e3 * (max(homes) + AFTER_HOME)


def _home(ax: Axes, launch: Launch, title: str) -> None:
    ways = ways_home(launch)
    for name, way in (("upper", ways.upper), ("lower", ways.lower)):
        ax.plot(1e3 * ways.time, way / MM, **LOOKS[name].line_style, label=f"{name} tip", gid=f"{name} tip")
    ax.axhline(0.0, color=FAINT, linewidth=1.0, gid="home")
    ax.axvline(1e3 * launch.separation.time, color=INK, linewidth=1.0, linestyle=(0, (1.0, 1.5)), gid="separation")
    style.dress(ax, "since the release began [ms]", "behind its place [mm]", title)


def _nock(ax: Axes, found: TimedTiller) -> None:
    """The nock's way in the shot, today and at the splits of limbs home together and of a nock level in the shot."""
    level, home = found.answer("level_shot"), found.answer("home_together")
    shown: list[tuple[Launch, str, Any, str, float]] = [
        (found.today, OLD, "-", f"today, {found.split_today:.1f} mm", 2.6)
    ]
    if home.launch is not None:
        name = f"tips home together, {home.split:.1f} mm"
        shown.append((home.launch, LOOKS["clear"].color, (0, (5.0, 2.0)), name, 1.6))
    if level.launch is not None:
        shown.append((level.launch, NEW, "-", f"nock level in the shot, {level.split:.1f} mm", 1.4))
    ax.axhline(0.0, color=FAINT, linewidth=1.0, gid="arrow's line")
    for launch, color, line, name, width in shown:
        way = nock_way(launch)
        ax.plot(way.along / MM, way.rise / MM, color=color, linestyle=line, linewidth=width, label=name, gid=name)
    style.dress(
        ax, "nock along the arrow's line at full draw [mm]; right end: separation", "above that line [mm]",
        "the nock's way in the shot",
    )  # fmt: skip
    low, high = ax.get_ylim()
    ax.set_ylim(low, high + 0.35 * (high - low))  # room for the legend
    style.legend(ax, loc="upper center")


def _splits(ax: Axes, found: TimedTiller) -> None:
    """Where each split lies; those out of reach are named."""
    ax.axvline(found.split_today, color=INK, linewidth=1.2, linestyle=(0, (4.0, 2.0)), gid="today's split")
    rows = list(zip(found.aims, found.answers, strict=True))
    low, high = float(found.splits.min()), float(found.splits.max())
    for k, (aim, one) in enumerate(rows):
        look = LOOKS["upper"] if aim.moment == "at rest" else LOOKS["lower"]
        if one.launch is not None:
            ax.plot([one.split], [k], marker="s" if aim.moment == "at rest" else "o", color=look.color, markersize=7.5,
                    linestyle="none", gid=aim.name)  # fmt: skip
        else:
            style.note(ax, low, k, "  not within reach", va="center", color=FAINT)
    ax.set_yticks(range(len(rows)), [SHORT[aim.name] for aim, _ in rows])
    ax.set_ylim(len(rows) - 0.4, -0.6)
    ax.set_xlim(low, high)
    style.dress(
        ax, "tiller split, upper less lower [mm]; dashed: today", "",
        "the split at which (squares: at rest, dots: in the shot)",
    )  # fmt: skip
