"""Strain of back and belly along both limbs, and how much they bend, at brace and at full draw."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.show import style
from archerysim.show.style import FAINT, INK, LOOKS, MM

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from archerysim.shot.statics.strain import Strained
    from archerysim.shot.strain_along import StrainAlong

STATES = {"brace": 0.45, "full draw": 1.0}  # how strongly each state is drawn
LIMIT: dict[str, Any] = {"color": LOOKS["clear"].color, "linestyle": (0, (6.0, 2.0)), "linewidth": 1.2}
CLEARANCE = 1.18  # of the highest line, for words


def strain(found: StrainAlong, axes: Any = None) -> Figure:
    """Draw the strain of back and belly along both limbs beside the limit, and the change of curvature below.

    Parameters
    ----------
    found : StrainAlong
    axes : sequence of two Axes, optional

    Returns
    -------
    Figure
        Distance from the root [mm]; strain [%], stretched upwards, compressed downwards; change of curvature [1/m],
        towards the archer up. Brace pale, full draw dark. Where no strain is known, the picture says why.

    Examples
    --------
    >>> import archerysim
    >>> from archerysim import show
    >>> figure = show.strain(archerysim.strain_along(archerysim.load("examples/longbow.toml")))
    >>> len(figure.axes)
    2
    """
    from matplotlib.lines import Line2D

    figure, (top, bottom) = style.many_axes(axes, 2, 1, 8.0, sharex=True)
    limbs = [one.limb for one in found.strain]
    for k, limb in enumerate(limbs):
        for m, state in enumerate(STATES):
            way = {**LOOKS[limb].line_style, "alpha": STATES[state]}
            along = found.from_root[k] / MM
            for side in ("back", "belly"):
                values = 100.0 * getattr(found, side)[k, m]
                top.plot(along, values, gid=f"{side} of the {limb} limb at {state}", **way)
            bottom.plot(along, found.curvature[k, m], gid=f"curvature of the {limb} limb at {state}", **way)
    _limits(top, found)
    style.dress(top, "", "strain [%]", _title(found))
    style.dress(bottom, "from the root along the limb [mm]", "bent from the\nunstrung limb [1/m]")
    bottom.set_xlim(0.0, float(found.from_root.max()) / MM)
    bottom.set_ylim(min(0.0, 1.05 * float(found.curvature.min())), CLEARANCE * float(found.curvature.max()))
    bottom.text(
        0.985, 0.96, "change of curvature from the unstrung limb, towards the archer +", transform=bottom.transAxes,
        ha="right", va="top", fontsize=style.SMALL, color=INK,
    )  # fmt: skip
    handles = [Line2D([], [], label=f"{limb} limb", **LOOKS[limb].line_style) for limb in limbs]
    if any(one.limit is not None and not one.inside and np.isfinite(one.largest) for one in found.strain):
        handles.append(Line2D([], [], label="strain limit", **LIMIT))
    if axes is None:
        style.limits_passed(figure, found, handles)
    else:
        style.legend(bottom, handles=handles, loc="lower left")
    return figure


def _limits(ax: Axes, found: StrainAlong) -> None:
    """The limit on both sides, the sides' names, and room; or why there is no strain."""
    told = [one for one in found.strain if np.isfinite(one.largest)]
    if not told:
        why = found.strain[0].unchecked
        ax.text(0.5, 0.5, f"no strain known:\n{why}", transform=ax.transAxes, ha="center", va="center",
                fontsize=style.TEXT, color=INK)  # fmt: skip
        ax.set_yticks([])
        ax.grid(False)
        return
    ax.axhline(0.0, color=FAINT, linewidth=0.8)
    limits = sorted({one.limit for one in told if one.limit is not None and not one.inside})
    for limit in limits:
        for sign in (1.0, -1.0):
            ax.axhline(sign * 100.0 * limit, gid="limit", **LIMIT)
    surfaces = float(max(np.nanmax(np.abs(side)) for side in (found.back, found.belly)))
    high = CLEARANCE * 100.0 * max([surfaces, *limits])
    ax.set_ylim(-high, high)
    for side, up, va in (("back, pulled", 3, "bottom"), ("belly, pressed", -3, "top")):
        ax.annotate(
            side, (0.015, 0.0), xycoords=("axes fraction", "data"), xytext=(0, up), textcoords="offset points", va=va,
            fontsize=style.SMALL, color=INK,
        )  # fmt: skip


def _limit_words(one: Strained) -> str:
    """What is said of a limit that has no line of its own."""
    if one.limit is None:
        return "; no limit given"
    return f", of {100 * one.limit:.2f} %" if one.inside else ""


def _title(found: StrainAlong) -> str:
    """What is drawn, and where each limb is strained most."""
    lines = [f"{found.setup.name}: the limbs at brace (pale) and at full draw (dark)"]
    for one in found.strain:
        if np.isfinite(one.largest):
            lines.append(
                f"{one.limb} limb: {100 * one.largest:.2f} % at most, {one.side} at {one.moment}, {one.at / MM:.0f} mm "
                "from the root" + _limit_words(one)
            )
    usual = sorted({one.usual_for for one in found.strain if one.usual_for})
    if usual:
        lines.append(f"limit: usual for {', '.join(usual)}; single pieces may bear less")
    return "\n".join(lines)
