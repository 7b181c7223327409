"""Before and after at the bench: both bows, how their limbs bend and are strained, and when the tips come home."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.show import style
from archerysim.show.shots.two_bows import NEW, OLD, draw_bow
from archerysim.show.style import FAINT, INK, LOOKS, MM

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from archerysim.study.bench.change import BenchChange

STYLES = {"upper": "-", "lower": (0, (5.0, 2.0))}
MOST_STEPS = 4  # named above the picture


def bench_change(found: BenchChange) -> Figure:
    """Draw both bows in the same axes, and along their limbs curvature and strain; the old one grey, the new dark.

    Parameters
    ----------
    found : BenchChange

    Returns
    -------
    Figure
        Left both bows at brace and at full draw, equal scales. Right, at full draw along the limb from its root: change
        of curvature [1/m] and, where width and thickness are known, the larger strain of both surfaces beside its limit
        [%]; below, when each tip is back where it stood at brace [ms].

    Examples
    --------
    >>> import archerysim
    >>> from archerysim import show
    >>> bow = archerysim.load("examples/longbow.toml")
    >>> found = archerysim.change(bow, "scrape upper edges 20 cm to 40 cm 1 mm", mesh="coarse", planes=1)
    >>> len(show.bench_change(found).axes)
    4
    """
    strained = any(np.isfinite(one.largest) for state in found.strains for one in state.strain)
    rows = 3 if strained else 2
    figure = style.new_figure(12.0 if strained else 10.5)
    grid = figure.add_gridspec(rows, 2, width_ratios=(1.0, 1.25), height_ratios=[1.0] * (rows - 1) + [0.5])
    axes = figure.add_subplot(grid[:, 0])
    for launch, color, name in zip(found.launches, (OLD, NEW), ("before", "after"), strict=True):
        draw_bow(axes, launch, color, name)
    style.dress(axes, "forward of the pivot [mm]", "above the pivot [mm]", "at brace and at full draw")
    axes.set_aspect("equal", adjustable="box")
    _curvature(figure.add_subplot(grid[0, 1]), found)
    if strained:
        _strain(figure.add_subplot(grid[1, 1]), found)
    _home(figure.add_subplot(grid[-1, 1]), found)
    rest = len(found.steps) - MOST_STEPS
    done = [*found.steps[:MOST_STEPS], *([f"and {rest} more"] if rest > 0 else [])]
    style.head(figure, f"{found.before.setup.name}, before (grey) and after (dark): {'; '.join(done)}")
    handles: list[Any] = [*axes.get_legend_handles_labels()[0], *figure.axes[1].get_legend_handles_labels()[0]]
    style.limits_passed(figure, found, handles, columns=2)
    return figure


def _along(ax: Axes, found: BenchChange, values: Any) -> None:
    """A line for each limb, before and after; ``values`` of a StrainAlong and a limb's number."""
    for state, color, width, when in zip(found.strains, (OLD, NEW), (2.6, 1.4), ("before", "after"), strict=True):
        for k, (limb, line) in enumerate(STYLES.items()):
            ax.plot(
                state.from_root[k] / MM, values(state, k), color=color, linewidth=width, linestyle=line,
                label=f"{limb} limb" if color == NEW else None, gid=f"{limb} limb {when}",
            )  # fmt: skip


def _curvature(ax: Axes, found: BenchChange) -> None:
    _along(ax, found, lambda state, k: state.curvature[k, 1])
    style.dress(ax, "from the root along the limb [mm]", "curvature [1/m]", "bent at full draw, towards the archer +")
    ax.set_ylim(bottom=min(0.0, ax.get_ylim()[0]))


def _strain(ax: Axes, found: BenchChange) -> None:
    _along(ax, found, lambda state, k: 100.0 * np.maximum(np.abs(state.back[k, 1]), np.abs(state.belly[k, 1])))
    limits = {one.limit for one in found.strains[1].strain if one.limit is not None and not one.inside}
    for limit in sorted(limits):
        ax.axhline(100.0 * limit, color=LOOKS["clear"].color, linestyle=(0, (6.0, 2.0)), linewidth=1.2, gid="limit")
        ax.annotate(
            "limit", (0.985, 100.0 * limit), xycoords=("axes fraction", "data"), xytext=(0, -3), ha="right", va="top",
            textcoords="offset points", fontsize=style.SMALL, color=LOOKS["clear"].color,
        )  # fmt: skip
    inside = [
        f"{one.limb}, {one.side}: {100 * one.largest:.2f} of {100 * one.limit:.2f} %"
        for one in found.strains[1].strain
        if one.inside and one.limit is not None
    ]
    ax.text(
        0.02, 0.05, "\n".join(inside), transform=ax.transAxes, va="bottom", fontsize=style.SMALL, color=INK,
        gid="limits inside",
    )  # fmt: skip
    style.dress(ax, "from the root along the limb [mm]", "strain [%]", "the more strained surface at full draw")
    ax.set_ylim(0.0, 1.12 * max([ax.get_ylim()[1] / 1.12, *(100.0 * limit for limit in limits)]))


def _home(ax: Axes, found: BenchChange) -> None:
    """When each tip is back where it stood at brace."""
    for j, (limbs, color) in enumerate(zip(found.limbs, (OLD, NEW), strict=True)):
        for k, at in enumerate((limbs.upper_home_at, limbs.lower_home_at)):
            if np.isfinite(at):
                ax.plot([1e3 * at], [k + 0.18 * (2 * j - 1)], marker="o", color=color, markersize=7.0, linestyle="none",
                        gid=f"{('upper', 'lower')[k]} tip home {('before', 'after')[j]}")  # fmt: skip
    ax.axvline(1e3 * found.launches[1].separation.time, color=FAINT, linewidth=1.0, gid="separation")
    style.dress(ax, "after the release begins [ms]; line: separation", "", "tips home")
    ax.set_yticks([0, 1], ["upper", "lower"])
    ax.set_ylim(1.6, -0.6)
