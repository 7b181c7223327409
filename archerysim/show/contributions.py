"""Who turned the arrow: a bar a part, from the neutral bow to this one."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.show import style
from archerysim.show.style import FAINT, INK, LOOKS

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from archerysim.study.explain import Contribution, Explained


def contributions(result: Explained, axes: Any = None) -> Figure:
    """Draw what each part does to the launch, as bars.

    Parameters
    ----------
    result : Explained
    axes : sequence of 3 Axes, optional
        For angle of attack, pitch and pitch rate.

    Returns
    -------
    Figure
        Nose up to the right. The thin line over a bar goes from what the part does on the neutral bow to what it does
        on this one.
    """
    from archerysim.study.explain import QUANTITIES

    names = ["neutral bow", *(one.part.name for one in result.contributions), "only together", "this bow"]
    figure, panels = style.many_axes(axes, 3, 3, 2.6 + 0.75 * len(names), sharey=True)
    for k, (ax, (name, unit, _)) in enumerate(zip(panels, QUANTITIES, strict=True)):
        _panel(ax, result, k)
        ax.set_yticks(range(len(names)), names)
        ax.set_ylim(len(names) - 0.4, -0.6)
        style.dress(ax, f"{name.replace('_', ' ')} [{unit}]")
        ax.yaxis.grid(False)
        low, high = ax.get_xlim()
        reach = max(abs(low), abs(high)) * 1.12
        ax.set_xlim(-reach, reach)
        ax.set_title("nose down", fontsize=style.SMALL, color=INK, loc="left")
        ax.set_title("nose up", fontsize=style.SMALL, color=INK, loc="right")
    if axes is None:
        figure.suptitle(
            f"{result.launch.setup.name}: what turned the arrow, at clear", fontsize=style.TEXT, color=INK, x=0.01,
            ha="left",
        )  # fmt: skip
        figure.supxlabel(
            "thin line: from the part's work on the neutral bow (tick) to that on this bow (dot)", fontsize=style.SMALL,
            color=INK,
        )  # fmt: skip
    return figure


def _panel(ax: Axes, result: Explained, k: int) -> None:
    parts = result.contributions
    rows = [result.base[k], *(one.value[k] for one in parts), result.remainder[k], result.actual[k]]
    plain = {"edgecolor": INK, "linewidth": 0.5}
    for row, value in enumerate(rows):
        if row in (0, len(rows) - 2):
            how: dict[str, Any] = {"color": "#c9c9c4", **plain}
        elif row == len(rows) - 1:
            how = {"color": LOOKS["clear"].color}
        else:
            how = {"color": LOOKS["arrow"].color}
        if np.isfinite(value):
            ax.barh(row, value, height=0.62, **how)
            ends = [0.0, *(w for w in _ways(parts[row - 1], k) if np.isfinite(w))] if 0 < row <= len(parts) else [0.0]
            past = max(ends) if value < 0.0 else min(ends)
            ax.annotate(
                f"{value:+.2f}" if abs(value) >= 0.005 else "0", (past, row), xytext=(5 if value < 0.0 else -5, 0),
                textcoords="offset points", ha="left" if value < 0.0 else "right", va="center", fontsize=style.SMALL,
                color=INK,
            )  # fmt: skip
        else:
            style.note(ax, 0.0, row, " no result", va="center")
    for row, one in enumerate(parts, 1):
        ways = _ways(one, k)
        if one.known and np.isfinite(ways).all() and np.ptp(ways) > 0.0:
            ax.plot(ways, [row, row], color=INK, linewidth=0.9, gid=f"ways of {one.part.name}")
            ax.plot(ways[:1], [row], color=INK, marker="|", markersize=7.0, linestyle="none")
            ax.plot(ways[1:], [row], color=INK, marker="o", markersize=3.0, linestyle="none")
    ax.axvline(0.0, color=INK, linewidth=0.8)
    for between in (0.5, len(rows) - 1.5):
        ax.axhline(between, color=FAINT, linewidth=0.6)


def _ways(one: Contribution, k: int) -> np.ndarray:
    return np.array([one.on_neutral[k], one.on_actual[k]])
