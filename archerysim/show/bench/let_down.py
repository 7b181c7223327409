"""A bow drawn and let down slowly: both curves, what lies between, and what limbs of other materials would keep."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from archerysim.show import style
from archerysim.show.style import INCH, INK, LOOKS, POUND
from archerysim.show.text import columns, energy, number, with_warnings, wrapped

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from archerysim.study.bench.let_down import LetDown

NOT_IN_IT = (
    "Only the limbs' own loss. A limb that takes set, a creeping string, air and the archer's fingers are not in it; "
    "wet or warm wood keeps more."
)


def let_down_table(found: LetDown) -> str:
    """What is kept, by these limbs and by limbs of other materials.

    Parameters
    ----------
    found : LetDown
    """
    lines = [f"{found.bow.setup.name}: drawn and let down slowly"]
    stored = float(found.curve.energy[-1])
    lines += wrapped(
        f"The limbs keep {found.kept:.2f} J of the {energy(stored)} stored, {100.0 * found.share:.1f} %.", "  ", "  "
    )
    rows = [
        (one.name, number(100.0 * one.share, "%", 1), number(one.kept, "J", 2), number(one.speed, "m/s", 2))
        for one in found.losses
    ]
    lines += ["", *columns(rows, ("limbs of", "keep of their work", "of drawing", "arrow")), ""]
    for one in found.losses:
        lines += wrapped(f"{one.name}: {one.basis}", "  ", "    ")
    lines += wrapped(f"Stiffness and mass of the limbs are the same in every row. {NOT_IN_IT}", "  ", "  ")
    return with_warnings([*lines, ""], found.warnings, len(found.limits_passed))


def let_down(found: LetDown) -> Figure:
    """Draw the curves of drawing and letting down together, what lies between shaded, and the loss of each material.

    Parameters
    ----------
    found : LetDown

    Returns
    -------
    Figure
        Above: force on the fingers [lbf] against the draw length [in]. Middle: force of drawing less that of letting
        down [N]. Below: work kept by limbs of each material [J].

    Examples
    --------
    >>> import archerysim
    >>> from archerysim import show
    >>> found = archerysim.let_down(archerysim.load("examples/longbow.toml"), mesh="coarse", planes=1)
    >>> len(show.let_down(found).axes)
    3
    """
    figure = style.new_figure(16.0)
    panels = figure.subplots(3, 1, height_ratios=(1.6, 0.8, 0.8))
    _curves(panels[0], found)
    length = found.curve.draw_length / INCH
    apart = found.curve.force - found.curve.let_down
    panels[1].fill_between(length, apart, color=LOOKS["clear"].color, alpha=0.25, linewidth=0.0, gid="kept")
    panels[1].plot(length, apart, color=LOOKS["clear"].color, linewidth=1.6, gid="apart")
    panels[1].set_xlim(panels[0].get_xlim())
    panels[1].set_ylim(bottom=0.0)
    style.dress(panels[1], "draw length [in]", "difference [N]", "force of drawing less that of letting down")
    _materials(panels[2], found)
    style.head(figure, f"{found.bow.setup.name}: drawn and let down slowly")
    style.limits_passed(figure, found)
    return figure


def _curves(ax: Axes, found: LetDown) -> None:
    curve = found.curve
    length, up, down = curve.draw_length / INCH, curve.force / POUND, curve.let_down / POUND
    ax.fill_between(length, down, up, color=LOOKS["clear"].color, alpha=0.25, linewidth=0.0, gid="kept")
    ax.plot(length, up, color=INK, linewidth=1.8, gid="drawing", label="drawing")
    ax.plot(length, down, color=LOOKS["clear"].color, linewidth=1.4, linestyle=(0, (5.0, 2.0)), gid="letting down",
            label="letting down")  # fmt: skip
    ax.annotate(
        f"kept by the limbs: {found.kept:.2f} J\nof {float(curve.energy[-1]):.1f} J stored ({100 * found.share:.1f} %)",
        (0.985, 0.06), xycoords="axes fraction", ha="right", va="bottom",
        fontsize=style.SMALL, color=INK,
    )  # fmt: skip
    style.dress(ax, "", "force on the fingers [lbf]", "draw and let-down")
    ax.set_xlim(length[0] - 0.2, length[-1] + 0.6)
    ax.set_ylim(0.0, 1.1 * up.max())
    style.legend(ax, loc="upper left")


def _materials(ax: Axes, found: LetDown) -> None:
    names = [one.name for one in found.losses]
    kept = np.array([one.kept for one in found.losses])
    colors = [LOOKS["clear"].color, *[style.FAINT] * (len(names) - 1)]
    ax.barh(range(len(names)), kept, color=colors, height=0.6)
    for k, one in enumerate(found.losses):
        style.note(ax, one.kept, k, f"  {one.kept:.2f} J, arrow {one.speed:.2f} m/s", va="center")
    ax.set_yticks(range(len(names)), names)
    ax.invert_yaxis()
    ax.set_xlim(0.0, 1.5 * max(float(kept.max()), 1e-9))
    style.dress(ax, "work of drawing kept by the limbs [J]", "", "the same bow with limbs of")
