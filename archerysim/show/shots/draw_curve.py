"""The draw-force curve with the energy stored under it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from archerysim.show import style
from archerysim.show.style import FOOT_POUND, INCH, INK, LOOKS, POUND

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from archerysim.shot.draw_curve import DrawCurve

SEEN = 0.015  # share of the work that the limbs keep, from which the lines of drawing and letting down lie apart


def curve(drawn: DrawCurve, ax: Axes | None = None) -> Axes:
    """Draw the force on the fingers against the draw length, with the stored energy shaded.

    Where the limbs have hysteresis, the force while the bow is let down is a thin line below that of drawing.

    Parameters
    ----------
    drawn : DrawCurve
    ax : Axes, optional

    Returns
    -------
    Axes
        Draw length as the trade measures it [in] and, on top, [mm]; force [lbf] and, on the right, [N].

    Examples
    --------
    >>> import archerysim
    >>> from archerysim import show
    >>> ax = show.curve(archerysim.draw(archerysim.load("examples/club-outdoor.toml"), points=9))
    >>> low, high = ax.get_ylim()
    >>> bool(low < 34.0 < high)  # [lbf]
    True
    """
    from matplotlib.ticker import MaxNLocator

    own = ax is None
    ax = style.one_axes(ax, 10.0)
    length, force = drawn.draw_length / INCH, drawn.force / POUND
    look = LOOKS["fingers"]
    ax.fill_between(length, force, color=look.color, alpha=0.45, linewidth=0.0, gid="stored energy")
    ax.plot(length, force, color=INK, linewidth=1.8, gid="force")
    kept = drawn.kept_by_limbs / (drawn.energy[-1] or 1.0)
    if kept > SEEN:
        let_down = drawn.let_down / POUND
        ax.plot(length, let_down, color=INK, linewidth=0.8, linestyle=(0, (4, 2)), gid="let down")
        at = int(np.argmax(force - let_down))
        ax.annotate(
            "letting down", (length[at], let_down[at]), xytext=(6, -4), textcoords="offset points", va="top",
            fontsize=style.SMALL, color=INK,
        )  # fmt: skip
    ax.plot(length[-1:], force[-1:], marker="o", color=INK, linestyle="none", gid="full draw")
    style.dress(
        ax, "draw length, throat to pivot + 1.75 in [in]", "force on the fingers [lbf]",
        f"{drawn.setup.name}: draw force",
    )  # fmt: skip
    ax.xaxis.set_major_locator(MaxNLocator(10, integer=True))
    ax.set_xlim(length[0] - 0.2, length[-1] + 1.0)
    ax.set_ylim(0.0, 1.18 * force.max())
    style.second_axis(ax, "top", INCH / 1e-3, "[mm]")
    style.second_axis(ax, "right", POUND, "[N]")
    stored = float(drawn.energy[-1])
    middle = float(np.interp(0.6 * force[-1], force, length))
    ax.text(
        0.5 * (middle + length[-1]), 0.3 * force[-1],
        f"stored energy\n{stored:.1f} J ({stored / FOOT_POUND:.1f} ft lb)",
        ha="center", va="center", fontsize=style.TEXT, color=INK,
    )  # fmt: skip
    stack = float(drawn.stiffness[-1]) / POUND * INCH
    ax.annotate(
        f"full draw {length[-1]:.2f} in: {force[-1]:.1f} lbf ({drawn.force[-1]:.0f} N),\n"
        f"rising by {stack:.1f} lbf an inch there",
        (length[-1], force[-1]), xytext=(-10, 4), textcoords="offset points", ha="right", va="bottom",
        fontsize=style.SMALL, color=INK,
    )  # fmt: skip
    ax.annotate(
        f"at brace {length[0]:.2f} in, the 1.75 in counted; brace height {drawn.braced.brace_height / INCH:.2f} in",
        (length[0], 0.0), xytext=(28, 4), textcoords="offset points",
        fontsize=style.SMALL, color=INK,
    )  # fmt: skip
    if own:
        style.limits_passed(ax.figure, drawn)  # type: ignore[arg-type]
    return ax
