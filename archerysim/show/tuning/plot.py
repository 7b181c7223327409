"""What was looked at on the way to the best value of a setting, and how far off it still does."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.show import style
from archerysim.show.style import FAINT, INK, LOOKS, PALE
from archerysim.show.tuning.table import OF, READING

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from archerysim.study.tuning.tuned import Tuned

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

    Where no value in range meets the aim: over the whole range, with the nearest value and the side on which the answer
    lies. A value that gave no shot is a gap in the line and a cross on the axis.

    Parameters
    ----------
    found : Tuned
        What `archerysim.tune` returned.
    today : float, optional
        Where the setting stands now, in its unit, a reading by the setup's convention
        (``archerysim.study.tuning.tune.today``).
    ax : Axes, optional

    Returns
    -------
    Axes
        The window in which the measure stays within its tolerance is shaded; the best value is a dot and a line, the
        nearest where there is no answer a ring and a line.

    Examples
    --------
    >>> import archerysim
    >>> from archerysim import show
    >>> found = archerysim.tune(archerysim.load("examples/club-outdoor.toml"), others=False, mesh="coarse")
    >>> ax = show.tuned(found, today=8.0)
    >>> low, high = ax.get_xlim()
    >>> bool(low < found.value < 8.0 < high)  # [mm]
    True
    """
    ax = style.one_axes(ax, 11.0)
    values, measures = found.looked.T
    left, right = _shown(found, today)
    good = np.isfinite(measures)
    seen = np.interp([left, right], values[good], measures[good])
    seen = np.r_[seen, measures[good & (values > left) & (values < right)]]
    bare = found.aim.startswith("bare")
    _good_enough(ax, found)
    if bare:
        ax.axhline(0.0, gid="wanted", label=style.WANTED, **style.WANTED_LINE)
    elif seen.min() < 0.0 < seen.max() or not found.met:
        ax.axhline(0.0, color=INK, linewidth=0.9, gid="zero")
    look = LOOKS["bare" if bare else "clear"]
    ax.plot(values, measures, color=look.color, linewidth=2.0, gid="measure")
    ax.axvline(found.value, color=FAINT, linewidth=1.0)
    word = "best" if found.met else "nearest in this range"
    ax.plot(
        [found.value], [found.measure], marker="o", markersize=6.0, color=INK, linestyle="none", clip_on=False,
        markerfacecolor=INK if found.met else "white", label=f"{word}: {_value_words(found.value, found.unit)}",
        gid="best" if found.met else "nearest", zorder=6.0,
    )  # fmt: skip
    failed = [value for value, _ in found.failed if left <= value <= right]
    if failed:
        ax.plot(
            failed, np.zeros(len(failed)), transform=ax.get_xaxis_transform(), marker="x", markersize=6.0, color=INK,
            linestyle="none", clip_on=False, zorder=6.0, label="no shot", gid="failed",
        )  # fmt: skip
    if today is not None:
        style.today(ax, today, label=f"today: {_value_words(today, found.unit)}")
    name = f"reading, {found.by.words}" if found.path == READING else found.path.replace("_", " ").replace(".", " ")
    style.dress(ax, f"{name} [{found.unit}]" if found.unit else name, MEASURES[found.aim], _title(found))
    ax.tick_params(color=FAINT)
    edge = 0.08 * float(max(seen.max(), 0.0) - min(seen.min(), 0.0)) or 1.0
    ax.set_xlim(left, right)
    ax.set_ylim(min(seen.min(), 0.0) - edge, max(seen.max(), 0.0) + edge)
    _lies(ax, found)
    style.legend(ax, loc="best")
    if bare:
        from archerysim.shot.flight.range_cautions import range_cautions

        figure: Any = ax.figure
        style.foot(figure, [], "\n".join(range_cautions(found.distance, True, found.setup.category)))
    return ax


def _title(found: Tuned) -> str:
    at = f" at {found.distance:g} m" if found.aim in FLOWN else ""
    if found.met:
        return f"{found.setup.name}\nbest for {found.aim}{at}"
    where = f"it lies {found.way}" if found.way else "neither end leads there"
    much = "only good enough" if found.good_enough else "no answer"
    return f"{found.setup.name}\n{much} in this range for {found.aim}{at}: {where}"


def _good_enough(ax: Axes, found: Tuned) -> None:
    """The window; where there is no answer, how near zero the measure would have to come."""
    low, high = found.window
    values = found.looked[np.isfinite(found.looked[:, 1]), 0]
    where = "in flight" if found.aim == "least swing" else OF[found.measure_unit]
    look: dict[str, Any] = {
        "color": PALE, "linewidth": 0.0, "gid": "window",
        "label": f"good enough: within {found.size:.3g} {found.measure_unit} {where}",
    }  # fmt: skip
    if found.met:
        ax.axvspan(
            low if math.isfinite(low) else values[0], high if math.isfinite(high) else values[-1], **look
        )  # fmt: skip
    elif found.aim != "least swing":
        ax.axhspan(-found.size, found.size, **look)


def _lies(ax: Axes, found: Tuned) -> None:
    """On which side the answer lies: beside the zero line, on the side of the curve."""
    if found.met or not found.way:
        return
    higher, above = found.way == "higher", found.measure > 0.0
    words = "the answer lies higher →" if higher else "← the answer lies lower"
    ax.annotate(
        words, (1.0 if higher else 0.0, 0.0), xycoords=("axes fraction", "data"),
        xytext=(-6 if higher else 6, 9 if above else -9), textcoords="offset points", ha="right" if higher else "left",
        va="bottom" if above else "top", fontsize=style.TEXT, fontweight="bold", color=INK, gid="way", zorder=6.0,
        bbox={"facecolor": "white", "edgecolor": "none", "alpha": 0.8, "pad": 1.0},
    )  # fmt: skip


def _shown(found: Tuned, today: float | None) -> tuple[float, float]:
    """From where to where the setting is shown: what matters and a margin, within what was looked at.

    Where there is no answer, all that was looked at.
    """
    least, most = float(found.looked[0, 0]), float(found.looked[-1, 0])
    matter = [one for one in (found.value, *found.window, today) if one is not None and math.isfinite(one)]
    if not found.met:
        return min(least, *matter), max(most, *matter)
    wide = max(1.3 * (max(matter) - min(matter)), WIDE if found.unit == "mm" else 0.2 * (most - least))
    middle = 0.5 * (max(matter) + min(matter))
    left = max(min(middle - 0.5 * wide, most - wide), least)
    return min(left, *matter), max(min(left + wide, most), *matter)


def _value_words(value: float, unit: str) -> str:
    """A value, lengths to 0.1 mm at most."""
    return f"{value:.1f} mm" if unit == "mm" else f"{value:.3g} {unit}".rstrip()
