"""What was looked at on the way to the best value of a setting, and how far off it still does."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.show import style
from archerysim.show.style import FAINT, INK, LOOKS, PALE
from archerysim.show.tuning import OF, READING

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from archerysim.study.tune import Tuned

MEASURES = {
    "bare and fletched together": "bare above where it should land [mm]",
    "bare slightly low": "bare above where it should land, slightly low [mm]",
    "no angle of attack": "angle of attack at clear [deg]",
    "no pitch rate": "pitch rate at clear [rad/s]",
    "least swing": "largest angle of attack in flight [deg]",
}
FLOWN = ("bare and fletched together", "bare slightly low", "least swing")  # aims that hang on the distance
WIDE = 8.0  # of the picture at least, for a setting in mm [mm]


def tuned(found: Tuned, today: float | None = None, ax: Axes | None = None) -> Axes:
    """Draw an aim's measure over the setting that was tuned, around today's value, the best one and the window.

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
        The window in which the measure stays within its tolerance is shaded; the best value is a dot and a line.
    """
    ax = style.one_axes(ax, 11.0)
    low, high = found.window
    values, measures = found.looked.T
    left, right = _shown(found, today)
    ends = (low if math.isfinite(low) else values[0], high if math.isfinite(high) else values[-1])
    where = "in flight" if found.aim == "least swing" else OF[found.measure_unit]
    ax.axvspan(
        *ends, color=PALE, linewidth=0.0, gid="window",
        label=f"good enough: within {found.size:.3g} {found.measure_unit} {where}",
    )  # fmt: skip
    bare = found.aim.startswith("bare")
    seen = np.interp([left, right], values, measures)
    seen = np.r_[seen, measures[(values > left) & (values < right)]]
    if bare:
        ax.axhline(0.0, gid="wanted", label=style.WANTED, **style.WANTED_LINE)
    elif measures.min() < 0.0 < measures.max():
        ax.axhline(0.0, color=INK, linewidth=0.9)
    look = LOOKS["bare" if bare else "clear"]
    ax.plot(values, measures, color=look.color, linewidth=2.0, gid="measure")
    ax.axvline(found.value, color=FAINT, linewidth=1.0)
    ax.plot(
        [found.value], [np.interp(found.value, values, measures)], marker="o", markersize=6.0, color=INK,
        linestyle="none", label=f"best: {_told(found.value, found.unit)}", gid="best", zorder=6.0,
    )  # fmt: skip
    if today is not None:
        style.today(ax, today, label=f"today: {_told(today, found.unit)}")
    name = "reading, by the underside" if found.path == READING else found.path.replace("_", " ")
    at = f" at {found.distance:g} m" if found.aim in FLOWN else ""
    title = f"{found.setup.name}\nbest for {found.aim}{at}"
    style.dress(ax, f"{name} [{found.unit}]" if found.unit else name, MEASURES[found.aim], title)
    ax.tick_params(color=FAINT)
    edge = 0.08 * float(np.ptp(seen)) or 1.0
    ax.set_xlim(left, right)
    ax.set_ylim(min(seen.min(), 0.0) - edge, max(seen.max(), 0.0) + edge)
    style.legend(ax, loc="best")
    if bare:
        from archerysim.shot.on_the_range import range_cautions

        figure: Any = ax.figure
        style.foot(figure, [], "\n".join(range_cautions(found.distance, True, found.setup.category)))
    return ax


def _shown(found: Tuned, today: float | None) -> tuple[float, float]:
    """From where to where the setting is shown: what matters and a margin, within what was looked at."""
    matter = [one for one in (found.value, *found.window, today) if one is not None and math.isfinite(one)]
    least, most = float(found.looked[0, 0]), float(found.looked[-1, 0])
    wide = max(1.3 * (max(matter) - min(matter)), WIDE if found.unit == "mm" else 0.2 * (most - least))
    middle = 0.5 * (max(matter) + min(matter))
    left = max(min(middle - 0.5 * wide, most - wide), least)
    return min(left, *matter), max(min(left + wide, most), *matter)


def _told(value: float, unit: str) -> str:
    """A value, lengths to 0.1 mm at most."""
    return f"{value:.1f} mm" if unit == "mm" else f"{value:.3g} {unit}".rstrip()
