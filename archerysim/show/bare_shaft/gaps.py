"""Gaps of bare beside fletched over the reading and over the side support's preload, with their ranges."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.show import style
from archerysim.show.bare_shaft.plot import convention, shown
from archerysim.show.style import FAINT, INK, LOOKS, MM
from archerysim.show.text import other

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from archerysim.study.bare_shaft.gaps import GapCurve, Gaps

FACED = 0.22  # how dense a band is
UP, ASIDE = "bare", "side"  # looks
LEFT_RIGHT = "left and right: change from today's"
BAND = "Bands: 90 % of {} bows that all fit what was measured{}."
CHANGES = (
    "Left and right are given only as changes from today's: where bare shafts land today depends on the roll of the "
    "fingers, which nobody measures."
)
STRUCK = "Where something touches the arrow on its way out, no left or right is given: clear the contact first{}."
PLATE = "The side support has no spring, so there is no preload to set."


@dataclass(frozen=True)
class _Over:
    """What a panel runs over: its label, values, today's, and where something touches the arrow."""

    label: str
    at: np.ndarray
    today: float
    touching: np.ndarray


def gaps(result: Gaps, axes: Any = None) -> Figure:
    """Draw how high, and how much further left or right, bare shafts land against the reading and against the preload.

    Parameters
    ----------
    result : Gaps
        As `archerysim.gaps` returns it.
    axes : sequence of Axes, optional
        Four: up and down against the reading and against the preload, then left and right against both; two where the
        side support has no spring.

    Returns
    -------
    Figure
        Readings by the setup's convention and gaps in mm, preloads in N.

    Examples
    --------
    >>> import archerysim
    >>> from archerysim import show
    >>> setup = archerysim.load("examples/club-outdoor.toml")
    >>> found = archerysim.gaps(setup, "6, 8 mm", "1, 2 N", draws=4, mesh="coarse")
    >>> len(show.gaps(found).axes)
    4
    """
    from archerysim.equipment import filled
    from archerysim.shot.flight.range_cautions import range_cautions

    away = other(filled(result.setup).archer.handed)
    reading = _Over(
        f"reading {result.by.words} [mm]", shown(result.by, result.readings), float(shown(result.by, result.today)),
        result.touching[0],
    )  # fmt: skip
    preload = _Over("preload of the side support [N]", result.preloads, result.preload_today, result.touching[1])
    height, sides = ("how high bare shafts land", "bare above fletched [mm]"), f"further {away} [mm]"
    drawn = [
        (reading, result.height, UP, *height),
        (preload, result.height_by_preload, UP, "up and down: change from today's", "further up [mm]"),
        (reading, result.side_by_reading, ASIDE, LEFT_RIGHT, sides),
        (preload, result.side_by_preload, ASIDE, LEFT_RIGHT, sides),
    ]
    drawn = [one for one in drawn if one[0].at.size]
    figure, panels = style.many_axes(axes, len(drawn), len(drawn) // 2, 6.4)
    for ax, (over, curve, look, title, label) in zip(panels, drawn, strict=True):
        _panel(ax, over, curve, look)
        style.dress(ax, over.label, label, title)
    _one_scale([ax for ax, one in zip(panels, drawn, strict=True) if one[2] == UP])
    _one_scale([ax for ax, one in zip(panels, drawn, strict=True) if one[2] == ASIDE])
    panels[0].axhline(result.wanted / MM, zorder=1.6, gid="wanted", **style.WANTED_LINE)
    style.head(
        figure, f"{result.setup.name}: bare shafts beside fletched ones at {result.distance:g} m", convention(result.by)
    )
    told = [BAND.format(result.draws - result.failed, f"; {result.failed} more gave no shot" if result.failed else "")]
    told.append(CHANGES)
    touching = any(one.any() for one in result.touching)
    if result.struck or touching:
        told.append(STRUCK.format(f" ({result.struck} of {result.draws} drawn bows touch today)" * bool(result.struck)))
    told += [] if result.preloads.size else [PLATE]
    words = "\n".join((*told, *range_cautions(result.distance, True, result.setup.category)))
    handles = _keys(touching)
    if axes is None:
        more = style.foot_height(len(handles), words, 3) - 0.5
        figure.set_figheight(figure.get_figheight() + more * style.CENTIMETRE)
    style.foot(figure, handles, words, columns=3)
    return figure


def _panel(ax: Axes, over: _Over, curve: GapCurve, look: str) -> None:
    """The bow as given with its band; hollow where something touches."""
    x = over.at
    color = LOOKS[look].color
    ax.axhline(0.0, color=FAINT, linewidth=0.9, zorder=1.0, gid="zero")
    ax.fill_between(x, curve.low / MM, curve.high / MM, color=color, alpha=FACED, linewidth=0.0, zorder=1.4, gid="band")
    ax.plot(x, curve.value / MM, color=color, linewidth=1.8, marker=".", markersize=5.0, zorder=3.0, gid="gap")
    told = np.isfinite(curve.value)
    ground: dict[str, Any] = {"transform": ax.get_xaxis_transform(), "clip_on": False}
    marks: Any = ((told, curve.value / MM, {}), (~told, np.zeros(x.size), ground))
    for where, y, more in marks:
        here = over.touching & where
        if here.any():
            ax.plot(
                x[here], y[here], linestyle="none", marker="o", markersize=7.0, markerfacecolor="none",
                markeredgecolor=color, zorder=6.0, gid="touching", **more,
            )  # fmt: skip
    style.today(ax, over.today)


def _one_scale(panels: list[Axes]) -> None:
    """As many mm to the height of each panel, so that what hardly matters does not look large."""
    spans = [ax.get_ylim() for ax in panels]
    most = max(high - low for low, high in spans)
    for ax, (low, high) in zip(panels, spans, strict=True):
        middle = 0.5 * (low + high)
        ax.set_ylim(middle - 0.5 * most, middle + 0.5 * most)


def _keys(touching: bool) -> list[Any]:
    from matplotlib.lines import Line2D

    keys: list[Any] = [
        Line2D([], [], color=LOOKS[UP].color, linewidth=1.8, marker=".", label="up and down, the bow as given"),
        Line2D([], [], color=LOOKS[ASIDE].color, linewidth=1.8, marker=".", label="left and right"),
        Line2D([], [], label="today", **style.TODAY),
        Line2D([], [], label=style.WANTED, **style.WANTED_LINE),
    ]
    if touching:
        keys.append(
            Line2D([], [], linestyle="none", marker="o", markerfacecolor="none", color=INK, label="something touches")
        )
    return keys
