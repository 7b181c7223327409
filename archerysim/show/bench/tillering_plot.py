"""A stave on the tillering tree in a picture: both limbs at each length beside the wanted outline."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.show import style
from archerysim.show.shots.two_bows import NEW, OLD
from archerysim.show.style import INCH, LOOKS, MM, POUND

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from archerysim.study.bench.wood.tillering import Tillering

LIMBS = ("upper", "lower")
TARGET: dict[str, Any] = {"color": LOOKS["clear"].color, "linestyle": (0, (4.0, 2.0)), "linewidth": 1.2}
IN_A_ROW = 5
ENLARGED = 5.0  # departures from the wanted outline


def tillering_tree(found: Tillering) -> Figure:
    """Draw the limbs' outline at each length as it was, scraped, and as it is wanted; below, what came off.

    Parameters
    ----------
    found : Tillering

    Returns
    -------
    Figure
        A panel a length, equal scales, in the riser's axes [mm]: before grey, scraped dark, wanted dashed; departures
        from the wanted outline drawn five times as large. Above each its draw length, weight and unevenness. Below:
        depth off the belly of each limb, all lengths together [mm], from the root [mm].

    Examples
    --------
    >>> import archerysim
    >>> from archerysim import show
    >>> longbow = archerysim.load("examples/longbow.toml")
    >>> stave = archerysim.limb_design(longbow, draw_weight="34 lb", mesh="coarse").rough
    >>> found = archerysim.tillering(stave, draw_weight="34 lb", stages=2, mesh="coarse")
    >>> len(show.tillering_tree(found).axes)  # a panel a length, and what comes off
    3
    """
    from matplotlib.lines import Line2D

    rows = -(-len(found.stages) // IN_A_ROW)
    across = min(IN_A_ROW, len(found.stages))
    figure = style.new_figure(9.0 * rows + 5.0)
    grid = figure.add_gridspec(rows + 1, across, height_ratios=[9.0] * rows + [4.0])
    outlines = np.array(
        [
            [one.target + ENLARGED * (line - one.target) for line in (one.before, one.after, one.target)]
            for one in found.stages
        ]
    )
    low, high = outlines.min(axis=(0, 1, 2, 3)) / MM - 40.0, outlines.max(axis=(0, 1, 2, 3)) / MM + 40.0
    for k, stage in enumerate(found.stages):
        ax = figure.add_subplot(grid[k // IN_A_ROW, k % IN_A_ROW])
        for lines, look, name in (
            (stage.before, {"color": OLD, "linewidth": 2.8}, "before"),
            (stage.after, {"color": NEW, "linewidth": 1.4}, "after"), (stage.target, TARGET, "wanted"),
        ):  # fmt: skip
            for limb, line in zip(LIMBS, stage.target + ENLARGED * (lines - stage.target), strict=True):
                ax.plot(line[:, 0] / MM, line[:, 1] / MM, gid=f"{limb} {name} {k}", **look)
        ax.plot([0.0], [0.0], marker="+", color=NEW, markersize=6.0, linestyle="none")
        told = f"{stage.draw_length / INCH:.1f} in, {stage.weight / POUND:.0f} lb\n"
        told += f"{100 * stage.uneven_first:.0f} to {100 * stage.uneven:.0f} %"
        style.dress(ax, "", "" if k % IN_A_ROW else "above the pivot [mm]", told)
        ax.set_xlim(low[0], high[0])
        ax.set_ylim(low[1], high[1])
        ax.set_aspect("equal", adjustable="box")
        if k % IN_A_ROW:
            ax.set_yticklabels([])
    below = figure.add_subplot(grid[-1, :])
    for j, limb in enumerate(LIMBS):
        depth = np.sum([stage.off[j] for stage in found.stages], axis=0)
        look = {**LOOKS[limb].line_style, "marker": LOOKS[limb].marker, "markersize": 4.0}
        below.plot(found.stages[0].at[j] / MM, depth / MM, gid=f"off the {limb} limb", **look)
    style.dress(below, "from the root along the limb [mm]", "off the belly [mm]", "at all lengths together")
    below.set_ylim(bottom=0.0)
    style.head(
        figure,
        f"{found.stave.name} on the tillering tree, for {found.draw_weight / POUND:.1f} lb: how uneven before, after "
        f"scraping; what departs from the wanted outline is drawn {ENLARGED:.0f} times as large",
    )  # fmt: skip
    handles = [
        Line2D([], [], color=OLD, linewidth=2.8, label="before scraping"), Line2D([], [], color=NEW, label="after"),
        Line2D([], [], label="wanted", **TARGET),
        *(Line2D([], [], label=f"{limb} limb", marker=LOOKS[limb].marker, **LOOKS[limb].line_style) for limb in LIMBS),
    ]  # fmt: skip
    style.limits_passed(figure, found, handles, columns=5)
    return figure
