"""The unstrung limbs: their line, its curvature, and the points that were traced."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.show import style
from archerysim.show.style import LOOKS, MM

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from archerysim.equipment import Setup
    from archerysim.equipment.filled_records import FilledLimb
    from archerysim.equipment.limbs.traced_profile import Traced
    from archerysim.shot.fitted_bow import FittedBow

HEIGHT = 6.5  # of each panel [cm]


def limbs(bow: Setup | FittedBow, axes: Any = None) -> Figure:
    """Draw the unstrung limbs, each from its root, and their natural curvature.

    Parameters
    ----------
    bow : Setup or FittedBow
        A setup is filled in, not fitted: a profile can be looked at before anything is known of the bow.
    axes : two Axes, optional
        For the line and for the curvature.

    Returns
    -------
    Figure
        Above: how far forward of the straight line on from the root, against the way along that line [mm], with the
        traced points; below: curvature [1/m] against the way along the limb [mm], with what a tracing leaves open (one
        standard deviation).

    Raises
    ------
    SetupError
        Where a profile or a tip gives no limb.

    Examples
    --------
    >>> import archerysim
    >>> from archerysim import show
    >>> figure = show.limbs(archerysim.load("examples/club-outdoor.toml"))
    >>> len(figure.axes)  # the line, and its curvature
    2
    """
    from archerysim.equipment import Setup, filled
    from archerysim.equipment.limbs.derived_shape import traced_of
    from archerysim.equipment.limbs.natural_shape import limb_line

    given, built = (bow, bow) if isinstance(bow, Setup) else (bow.given, bow.setup)
    full = filled(built)
    both = {"upper": full.upper_limb, "lower": full.lower_limb}
    traces = {side: traced_of(getattr(given, f"{side}_limb"), f"{side}_limb") for side in both}
    if _alike(*both.values()):
        both = {"upper": full.upper_limb}
    figure, (above, below) = style.many_axes(axes, 2, 1, HEIGHT)
    for side, limb in both.items():
        line, look = limb_line(limb), LOOKS[side].line_style
        name = "both limbs" if len(both) == 1 else f"{side} limb"
        tip = f"{name}: tip {line.forward[-1] / MM:.0f} mm forward, {np.degrees(line.angle[-1]):.0f} deg"
        above.plot(line.along / MM, line.forward / MM, gid=f"{side} limb", label=tip, **look)
        below.plot(line.place / MM, line.curvature, gid=f"{side} curvature", **look)
        traced = traces[side]
        if traced is not None:
            _points(above, below, traced, side, limb.length)
    above.axhline(0.0, color=style.FAINT, linewidth=0.8, zorder=0.5)
    style.dress(above, "along the line on from the root [mm]", "forward of it [mm]", f"{given.name}: limbs unstrung")
    above.set_aspect("equal", adjustable="datalim")
    style.dress(
        below,
        "along the limb from the root [mm]",
        "natural curvature [1/m]",
        "curvature, positive = towards the target",
    )
    handles = [one for ax in (above, below) for one in ax.get_legend_handles_labels()[0]]
    if axes is None:
        style.changed(figure, getattr(bow, "edits", ()))
        style.foot(figure, handles, columns=1)
    else:
        for ax in (above, below):
            if ax.get_legend_handles_labels()[0]:
                style.legend(ax, loc="best")
    return figure


def _points(above: Axes, below: Axes, traced: Traced, side: str, length: float) -> None:
    """The traced points, and the curvature's band."""
    points, look = traced.points / MM, LOOKS[side]
    rms = float(np.sqrt(np.mean(traced.misses**2)))
    above.plot(
        points[:, 1], points[:, 0], linestyle="none", marker=look.marker, markersize=4.0, markerfacecolor="none",
        color=style.INK, markeredgewidth=0.8, gid=f"{side} points",
        label=f"{len(points)} points traced, {rms / MM:.1f} mm off the line (root mean square)",
    )  # fmt: skip
    at = np.asarray(traced.shape.at) * length
    middle = np.asarray(traced.shape.bent) / length
    below.fill_between(
        at / MM, middle - traced.known_to, middle + traced.known_to, color=look.color, alpha=0.15, linewidth=0.0,
        label="what the tracing leaves open (one standard deviation)", gid=f"{side} band",
    )  # fmt: skip


def _alike(one: FilledLimb, other: FilledLimb) -> bool:
    """Whether two limbs have one line."""
    return all(
        getattr(one, name) == getattr(other, name) for name in ("length", "at", "curvature_at", "natural_curvature")
    )
