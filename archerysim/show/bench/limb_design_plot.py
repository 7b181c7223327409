"""Limbs as thick as they have to be, in a picture: thickness, and what the drawn limb does."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from archerysim.show import style
from archerysim.show.style import INK, LOOKS, MM, PALE

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from archerysim.study.bench.wood.limb_design import LimbDesign

LIMBS = ("upper", "lower")


def limb_design(found: LimbDesign) -> Figure:
    """Draw thickness, strain and curvature along both limbs.

    Parameters
    ----------
    found : LimbDesign

    Returns
    -------
    Figure
        From the root along each limb [mm]: thickness, finished and with the allowance (thin) [mm]; strain of the more
        strained surface at full draw beside the limit [%]; curvature of the drawn limb [1/m]. Shaded: where the law
        holds.

    Examples
    --------
    >>> import archerysim
    >>> from archerysim import show
    >>> bow = archerysim.load("examples/longbow.toml")
    >>> found = archerysim.limb_design(bow, draw_weight="40 lb", material="ash", mesh="coarse")
    >>> len(show.limb_design(found).axes) > 0
    True
    """
    from matplotlib.lines import Line2D

    from archerysim.study.bench.wood.limb_design import END

    figure = style.new_figure(16.0)
    thick, strain, bend = figure.subplots(3, 1, sharex=True)
    for k, limb in enumerate(LIMBS):
        look, at = LOOKS[limb].line_style, found.stations[k] / MM
        along = found.place * found.stations[k][-1] / MM
        thick.plot(
            at, found.thickness[k] / MM, marker=LOOKS[limb].marker, markersize=3.5, gid=f"{limb} thickness", **look
        )
        thick.plot(at, found.rough_thickness[k] / MM, gid=f"{limb} rough", **{**look, "linewidth": 0.8})
        strain.plot(along, 100.0 * found.strain[k], gid=f"{limb} strain", **look)
        bend.plot(along, found.curvature[k], gid=f"{limb} curvature", **look)
    end = END * min(found.stations[0][-1], found.stations[1][-1]) / MM
    for ax in (strain, bend):
        ax.axvspan(0.0, end, color=PALE, zorder=0, gid="law holds")
        ax.set_ylim(bottom=0.0)
    handles = [Line2D([], [], label=f"{limb} limb", **LOOKS[limb].line_style) for limb in LIMBS]
    handles.append(Line2D([], [], color=INK, linewidth=0.8, label="with the allowance"))
    if found.limit is not None:
        limit: dict[str, Any] = {"color": LOOKS["clear"].color, "linestyle": (0, (6.0, 2.0)), "linewidth": 1.2}
        strain.axhline(100.0 * found.limit, gid="limit", **limit)
        strain.set_ylim(0.0, 112.0 * max(found.limit, found.largest))
        handles.append(Line2D([], [], label="strain limit", **limit))
    style.dress(thick, "", "thickness [mm]", "finished (marked), and rough (thin)")
    style.dress(strain, "", "strain [%]", "the more strained surface at full draw")
    style.dress(bend, "from the root along the limb [mm]", "curvature [1/m]", "of the drawn limb, towards the archer +")
    thick.set_ylim(bottom=0.0)
    style.head(figure, f"Limbs after {found.setup.name}: {found.law}")
    style.limits_passed(figure, found, handles)
    return figure
