"""A wanted tiller in a picture: what comes off where, and how the limbs are strained before and after."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.show import style
from archerysim.show.shots.two_bows import NEW, OLD
from archerysim.show.style import LOOKS, MM, PALE

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from archerysim.study.bench.wood.even_tiller import EvenTiller

STYLES = {"upper": "-", "lower": (0, (5.0, 2.0))}


def even_tiller(found: EvenTiller) -> Figure:
    """Draw how deep the belly is scraped along both limbs, or the tillers pass by pass, and strain before and after.

    Parameters
    ----------
    found : EvenTiller

    Returns
    -------
    Figure
        Top: depth off the belly [mm] from the root along each limb; with bolts both tillers [mm] after each pass.
        Bottom: strain of the more strained surface at the archer's draw [%], or where no width and thickness are known
        the change of curvature [1/m]; before grey, after dark; shaded: the part that is to bend.

    Examples
    --------
    >>> import archerysim
    >>> from archerysim import show
    >>> bow = archerysim.load("examples/longbow.toml")
    >>> found = archerysim.even_tiller(bow, split="5 mm", draw_weight="32 lb", mesh="coarse")
    >>> len(show.even_tiller(found).axes)
    2
    """
    figure = style.new_figure(13.0)
    top, bottom = figure.subplots(2, 1)
    if found.by == "scraping":
        for at, off, limb in zip(found.stations, found.off, ("upper", "lower"), strict=True):
            top.plot(at / MM, off / MM, gid=f"off the {limb} limb", **_look(limb))
        style.dress(top, "from the root along the limb [mm]", "off the belly [mm]", "what is scraped, altogether")
        top.set_ylim(bottom=0.0)
    else:
        _tillers(top, found)
    known = bool(np.isfinite(found.strains).all())
    _along(bottom, found, 100.0 * found.strains if known else found.bends)
    style.dress(
        bottom, "from the root along the limb [mm]", "strain [%]" if known else "change of curvature [1/m]",
        "at the archer's draw, before (grey) and after (dark)",
    )  # fmt: skip
    bottom.set_ylim(bottom=0.0)
    style.head(figure, f"{found.before.setup.name}, by {found.by}: {'; '.join(found.wished)}")
    from matplotlib.lines import Line2D

    handles: list[Any] = [Line2D([], [], label=f"{limb} limb", **_look(limb)) for limb in STYLES]
    handles += [Line2D([], [], color=OLD, linewidth=2.6, label="before"), Line2D([], [], color=NEW, label="after")]
    style.limits_passed(figure, found, handles)
    return figure


def _look(limb: str) -> dict[str, Any]:
    return {**LOOKS[limb].line_style, "marker": LOOKS[limb].marker, "markersize": 4.0}


def _tillers(ax: Axes, found: EvenTiller) -> None:
    for limb in STYLES:
        values = [getattr(one, f"{limb}_tiller") / MM for one in found.passes]
        ax.plot(range(len(values)), values, gid=f"{limb} tiller", **_look(limb))
    style.dress(ax, "after pass", "tiller [mm]", "both tillers")
    ax.set_xticks(range(len(found.passes)))


def _along(ax: Axes, found: EvenTiller, values: np.ndarray) -> None:
    from archerysim.equipment import filled
    from archerysim.study.bench.wood.judged import WORKING

    full = filled(found.before.setup)
    lengths = (full.upper_limb.length, full.lower_limb.length)
    ax.axvspan(*(share * min(lengths) / MM for share in WORKING), color=PALE, zorder=0, gid="part that is to bend")
    for state, color, width, when in zip(values, (OLD, NEW), (2.6, 1.4), ("before", "after"), strict=True):
        for row, length, (limb, line) in zip(state, lengths, STYLES.items(), strict=True):
            ax.plot(found.place * length / MM, row, color=color, linewidth=width, linestyle=line, gid=f"{limb} {when}")
