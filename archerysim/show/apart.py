"""Bare against fletched over the reading, a panel a distance, with the band of what the measuring leaves open."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from archerysim.show import style
from archerysim.show.style import INK, LOOKS, MM

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from archerysim.study.apart import Band, BareAgainstFletched

FACED = 0.22  # how dense a band is


def bare_against_fletched(result: BareAgainstFletched, axes: Any = None) -> Figure:
    """Draw how high the bare shaft lands above the fletched one against the reading, a panel a distance.

    Parameters
    ----------
    result : BareAgainstFletched
        As `archerysim.study.bare.bare_against_fletched` returns it.
    axes : sequence of Axes, optional
        One a distance.

    Returns
    -------
    Figure
        Readings and heights in mm. The wanted height is that of drag and mass alone; only near the bow is it nil.
    """
    from archerysim.shot.bare import CAUTION

    count = len(result.distances)
    figure, panels = style.many_axes(axes, count, min(3, count), 10.4)
    for ax, distance in zip(panels, result.distances, strict=True):
        _panel(ax, result, float(distance))
        style.dress(ax, "reading [mm]", title=_title(result, float(distance)))
    panels[0].set_ylabel("bare above fletched [mm]", fontsize=style.TEXT, color=INK)
    kind = "taped to the fletched one's mass" if result.taped else "without tape"
    figure.suptitle(
        f"{result.setup.name}: where the bare shaft lands, {kind}\n{convention(result.nock_height)}",
        fontsize=style.TEXT, color=INK, x=0.01, ha="left",
    )  # fmt: skip
    style.foot(figure, _keys(), f"{band_words(result)}\n{CAUTION}", columns=3)
    return figure


def band_words(result: BareAgainstFletched) -> str:
    """What the band holds and what it does not."""
    failed = sum(one.draw >= 0 and math.isnan(one.reading) for one in result.missing)
    lost = f" ({failed} gave no shot)" if failed else ""
    return (
        f"Band: 90 % of {len(result.sample)} bows that fit what was measured{lost}. What the flight's model leaves out "
        "comes on top."
    )


def convention(nock_height: float) -> str:
    """Which reading is meant, and how the other one follows from it."""
    from archerysim.equipment.readings import both_units

    return f"readings to the underside of the nock; to its top: {both_units(nock_height * MM)} more"


def told(result: BareAgainstFletched, value: float) -> str:
    """A reading in mm, or on which side it lies of those shot."""
    low, high = float(result.readings[0]), float(result.readings[-1])
    if value < low:
        return f"under {low:.0f}"
    return f"over {high:.0f}" if value > high else f"{value:.1f}"


def _title(result: BareAgainstFletched, distance: float) -> str:
    there: Band = result.together(distance)
    if not math.isfinite(there.median):
        return f"{distance:g} m\nnot as wanted\nat any reading here"
    low, high = told(result, there.low), told(result, there.high)
    return f"{distance:g} m\nas wanted at {told(result, there.median)} mm\n(90 %: {low} to {high})"


def _panel(ax: Axes, result: BareAgainstFletched, distance: float) -> None:
    from matplotlib.ticker import MaxNLocator

    j = result.place_of(distance)
    look = LOOKS["bare"]
    x = result.readings
    ax.fill_between(
        x, result.lower[:, j] / MM, result.upper[:, j] / MM, color=look.color, alpha=FACED, linewidth=0.0, gid="band"
    )
    ax.plot(x, result.median[:, j] / MM, color=look.color, linewidth=2.2, gid="bare")
    ax.axhline(0.0, gid="fletched", **LOOKS["fletched"].line_style)
    wanted = result.wanted(distance) / MM
    ax.axhline(wanted, color=INK, linewidth=1.4, linestyle=WANTED, gid="wanted")
    there = result.together(distance).median
    if x[0] <= there <= x[-1]:
        ax.plot([there], [wanted], marker="o", markersize=6.0, color=INK, linestyle="none", zorder=6.0, gid="together")
    ax.plot(
        [result.today], [0.0], transform=ax.get_xaxis_transform(), marker="^", markersize=8.0, color=INK,
        linestyle="none", clip_on=False, zorder=6.0, gid="today",
    )  # fmt: skip
    ax.set_xlim(x[0] - 0.3, x[-1] + 0.3)
    ax.xaxis.set_major_locator(MaxNLocator(5, integer=True))


WANTED: Any = (0, (2.0, 1.2))


def _keys() -> list[Any]:
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    bare = LOOKS["bare"].color
    return [
        Line2D([], [], color=bare, linewidth=2.2, label="bare, middle of the band"),
        Line2D([], [], label="fletched: the sight is set for it", **LOOKS["fletched"].line_style),
        Line2D([], [], linestyle="none", marker="^", markersize=7.0, color=INK, label="today's reading"),
        Patch(color=bare, alpha=FACED, linewidth=0.0, label="bare, 90 % band"),
        Line2D([], [], color=INK, linewidth=1.4, linestyle=WANTED, label="wanted: drag and mass alone"),
        Line2D([], [], linestyle="none", marker="o", markersize=5.0, color=INK, label="bare as wanted"),
    ]
