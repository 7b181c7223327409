"""What was looked at on the way to the best value of a setting, and how far off it still does."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from archerysim.show import style
from archerysim.show.style import FAINT, INK, LOOKS, PALE

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from archerysim.study.tune import Tuned

READING = "nock.locators.reading"
MEASURES = {
    "bare and fletched together": "bare above fletched, drag allowed for [mm]",
    "bare slightly low": "bare above the place wanted, slightly low [mm]",
    "no angle of attack": "angle of attack at clear [deg]",
    "no pitch rate": "pitch rate at clear [rad/s]",
    "least swing": "largest angle of attack in flight [deg]",
}


def tuned(found: Tuned, today: float | None = None, ax: Axes | None = None) -> Axes:
    """Draw an aim's measure over the setting that was tuned.

    Parameters
    ----------
    found : Tuned
        What `archerysim.tune` returned.
    today : float, optional
        Where the setting stands now, in its unit (`archerysim.study.tune.today`).
    ax : Axes, optional

    Returns
    -------
    Axes
        The window in which the measure stays within its tolerance is shaded; the best value is a line.
    """
    ax = style.one_axes(ax, 11.0)
    low, high = found.window
    values, measures = found.looked.T
    ends = (low if math.isfinite(low) else values[0], high if math.isfinite(high) else values[-1])
    ax.axvspan(*ends, color=PALE, linewidth=0.0, gid="window", label=f"within {found.size:.3g} {found.measure_unit}")
    if measures.min() < 0.0 < measures.max():
        ax.axhline(0.0, color=INK, linewidth=0.9)
    look = LOOKS["bare" if found.aim.startswith("bare") else "clear"]
    ax.plot(values, measures, color=look.color, linewidth=2.0, marker="o", markersize=4.0, gid="measure")
    ax.axvline(found.value, color=INK, linewidth=1.4, linestyle="--", label=f"best: {found.value:.3g} {found.unit}")
    if today is not None:
        bottom = ax.get_xaxis_transform()
        ax.plot(
            [today], [0.0], marker="^", markersize=12, color=INK, linestyle="none", transform=bottom, clip_on=False,
            label=f"today: {today:.3g} {found.unit}", gid="today", zorder=5,
        )  # fmt: skip
    name = "reading, underside" if found.path == READING else found.path.replace("_", " ")
    style.dress(ax, f"{name} [{found.unit}]" if found.unit else name, MEASURES[found.aim], found.setup.name)
    ax.title.set_color(INK)
    ax.tick_params(color=FAINT)
    style.legend(ax, loc="best")
    if found.aim.startswith("bare"):
        from archerysim.shot.bare import CAUTION

        figure: Any = ax.figure
        style.foot(figure, [], CAUTION)
    return ax
