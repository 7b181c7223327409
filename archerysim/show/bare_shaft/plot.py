"""Bare against fletched over the reading, a panel a distance, with the band of what the measuring leaves open."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.show import style
from archerysim.show.style import INK, LOOKS, MM

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from archerysim.equipment.readings import ReadBy
    from archerysim.study.bare_shaft.result import Band, BareAgainstFletched

FACED = 0.22  # how dense a band is
FLETCHED: dict[str, Any] = {**LOOKS["fletched"].line_style, "linewidth": 6.0, "alpha": 0.45}  # seen under dashes
WHY = "The bare shaft should land where drag and mass alone would take it: somewhat above the fletched ones."


def bare_against_fletched(result: BareAgainstFletched, axes: Any = None) -> Figure:
    """Draw how high the bare shaft lands above the fletched one against the reading, one panel per distance.

    Parameters
    ----------
    result : BareAgainstFletched
        As `archerysim.bare_against_fletched` returns it.
    axes : sequence of Axes, optional
        One per distance.

    Returns
    -------
    Figure
        Readings, by the setup's convention, and heights in mm. The wanted height is that of drag and mass alone; only
        near the bow is it zero.

    Examples
    --------
    >>> import archerysim
    >>> from archerysim import show
    >>> setup = archerysim.load("examples/club-outdoor.toml")
    >>> found = archerysim.bare_against_fletched(setup, "4, 8 mm", ["18 m"], draws=8, mesh="coarse")
    >>> len(show.bare_against_fletched(found).axes)  # one for each distance
    1
    """
    from archerysim.shot.flight.range_cautions import range_cautions

    count = len(result.distances)
    figure, panels = style.many_axes(axes, count, min(3, count), 10.6)
    for ax, distance in zip(panels, result.distances, strict=True):
        _panel(ax, result, float(distance))
        style.dress(ax, f"reading\n{result.by.words} [mm]", title=_title(result, float(distance)))
        ax.set_title(ax.get_title(loc="left"), fontsize=style.SMALL, loc="left", linespacing=1.3)
    panels[0].set_ylabel("bare above fletched [mm]", fontsize=style.TEXT, color=INK)
    kind = "taped to the fletched one's mass" if result.taped else "without tape"
    differ = "\nheight scales differ from panel to panel" if count > 1 else ""
    figure.suptitle(
        style.literal(f"{result.setup.name}: where the bare shaft lands, {kind}")
        + f"\n{convention(result.by)}{differ}",
        fontsize=style.TEXT, color=INK, x=0.01, ha="left",
    )  # fmt: skip
    cautions = range_cautions(float(max(result.distances)), True, result.setup.category)
    style.foot(figure, _keys(result), "\n".join((WHY, band_words(result), *cautions)), columns=2)
    return figure


def band_words(result: BareAgainstFletched) -> str:
    """What the band is and what it does not hold."""
    failed = len(result.sample) - bows(result)
    lost = f"; {failed} more gave no shot" if failed else ""
    return (
        "The band is not the size of your group: it is how uncertain the program is about this bow (90 % of "
        f"{bows(result)} bows that all fit what was measured{lost}). What the flight's model leaves out comes on top. "
        "Where the band does not fit on the butt, do not shoot bare shafts."
    )


def bows(result: BareAgainstFletched) -> int:
    """How many of the drawn bows gave a shot."""
    return len(result.sample) - sum(one.draw >= 0 and math.isnan(one.reading) for one in result.missing)


def convention(by: ReadBy) -> str:
    """Which reading is meant, and how the other one follows from it."""
    from archerysim.equipment.readings import both_units

    height = both_units(by.nock_height)
    if by.convention == "top":
        return f"readings to the top of the nock; to its underside: {height} less"
    return f"readings to the underside of the nock; to its top: {height} more"


def shown(by: ReadBy, underside: Any) -> Any:
    """Readings by the underside [mm] as they are told [mm]."""
    return by.reading(np.asarray(underside) * MM) / MM


def reading_words(result: BareAgainstFletched, value: float) -> str:
    """A reading by the underside [mm] as it is told [mm], or on which side it lies of those shot."""
    low, high, at = shown(result.by, [result.readings[0], result.readings[-1], value])
    if value < result.readings[0]:
        return f"under {low:.0f}"
    return f"over {high:.0f}" if value > result.readings[-1] else f"{at:.1f}"


def _title(result: BareAgainstFletched, distance: float) -> str:
    there: Band = result.together((distance, "m"))
    if not math.isfinite(there.median):
        return f"{distance:g} m: no reading here\nbrings them together"
    low, high = reading_words(result, there.low), reading_words(result, there.high)
    span = low if low == high else f"{low} to {high}"
    return f"{distance:g} m: best {reading_words(result, there.median)} mm\n90 %: {span} mm"


def _panel(ax: Axes, result: BareAgainstFletched, distance: float) -> None:
    from matplotlib.ticker import MaxNLocator

    j = result.place_of((distance, "m"))
    look = LOOKS["bare"]
    x = shown(result.by, result.readings)
    ax.fill_between(
        x, result.lower[:, j] / MM, result.upper[:, j] / MM, color=look.color, alpha=FACED, linewidth=0.0, gid="band"
    )
    ax.plot(x, result.median[:, j] / MM, gid="bare", zorder=3.0, **{**look.line_style, "linewidth": 2.2})
    ax.axhline(0.0, gid="fletched", **FLETCHED)
    wanted = result.wanted((distance, "m")) / MM
    ax.axhline(wanted, gid="wanted", **style.WANTED_LINE)
    there = float(shown(result.by, result.together((distance, "m")).median))
    if x[0] <= there <= x[-1]:
        ax.plot([there], [wanted], marker="o", markersize=6.0, color=INK, linestyle="none", zorder=6.0, gid="together")
    style.today(ax, float(shown(result.by, result.today)))
    ax.set_xlim(x[0] - 0.3, x[-1] + 0.3)
    ax.xaxis.set_major_locator(MaxNLocator(6, integer=True, steps=[1, 2, 5, 10]))


def _keys(result: BareAgainstFletched) -> list[Any]:
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    bare = LOOKS["bare"].color
    return [
        Line2D([], [], color=bare, linewidth=2.2, label="bare, middle of its band"),
        Line2D([], [], label="fletched: the sight is set for it", **FLETCHED),
        Line2D([], [], label=f"today's reading, {shown(result.by, result.today):.1f} mm", **style.TODAY),
        Patch(color=bare, alpha=FACED, linewidth=0.0, label="bare, 90 % band"),
        Line2D([], [], label=style.WANTED, **style.WANTED_LINE),
        Line2D([], [], linestyle="none", marker="o", markersize=6.0, color=INK, label="best reading: it lands there"),
    ]
