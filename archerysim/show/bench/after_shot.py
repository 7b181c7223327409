"""What the hand feels of a shot, in lines and in a picture."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from archerysim.show import style
from archerysim.show.style import INK, LOOKS
from archerysim.show.text import columns, number, with_warnings, wrapped

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from archerysim.shot.after_shot import AfterShot

UNITS = {"forward": "N", "up": "N", "turning": "N m"}
PULLS = (
    "Where the force is forward the bow pulls away from the hand: here the hand holds it, an open hand lets it jump "
    "into the sling."
)
NOT_IN_IT = (
    "Not in it: a hand that opens or grips, a sling, arm and shoulder behind the hand, rods in more than their first "
    "shape, screws that rattle, what is heard. How a hand gives is a guess: believe frequencies more than sizes."
)


def after_shot_table(found: AfterShot) -> str:
    """The largest force and torque, what the hand takes, and with what it all swings.

    Parameters
    ----------
    found : AfterShot
    """
    clear = found.launch.clear.time
    lines = [f"{found.bow.setup.name}: what the hand feels"]
    rows = []
    before, after = found.time <= clear, found.time > clear
    for name, row in (("forward", found.force[0]), ("up", found.force[1]), ("turning", found.torque)):
        change = row - row[0]
        rows.append((
            name, number(float(row[0]), UNITS[name], 1, True), number(_largest(change[before]), UNITS[name], 1, True),
            number(_largest(change[after]), UNITS[name], 1, True),
            ", ".join(f"{frequency:.0f} Hz" for frequency, _ in found.frequencies[name]) or "-",
        ))  # fmt: skip
    heads = ("the bow on the hand", "full draw", "most to clear", "most after", "swings with")
    lines += ["", *columns(rows, heads), ""]
    until = number(float(np.interp(clear, found.time, found.taken)), "J", 2)
    lines += wrapped(
        f"Most: the largest change from full draw, to clear at {1e3 * clear:.1f} ms and from then to "
        f"{1e3 * found.time[-1]:.0f} ms; forward, up and turning nose up are positive.", "  ", "  ",
    )  # fmt: skip
    lines += wrapped(
        f"The hand takes {until} by its damping until clear, {number(float(found.taken[-1]), 'J', 2)} until the end.",
        "  ", "  ",
    )  # fmt: skip
    modes = ", ".join(f"{one:.1f} Hz ({100.0 * damped:.0f} % of critical damping)" for one, damped in found.modes)
    lines += wrapped(f"Riser, rods and hand alone, limbs and string left out: {modes or 'nothing swings'}.", "  ", "  ")
    if found.force[0].max() > 0.0:
        lines += wrapped(PULLS, "  ", "  ")
    lines += wrapped(NOT_IN_IT, "  ", "  ")
    return with_warnings([*lines, ""], found.warnings, len(found.limits_passed))


def _largest(change: np.ndarray) -> float:
    return float(change[np.argmax(np.abs(change))])


def after_shot(found: AfterShot) -> Figure:
    """Draw force and torque on the hand over time, through the shot and after it, and what the hand has taken.

    Parameters
    ----------
    found : AfterShot

    Returns
    -------
    Figure
        Force forward and up [N], torque [N m], work taken by the hand [J], all against the time [ms]; dotted: the arrow
        is clear.

    Examples
    --------
    >>> import archerysim
    >>> from archerysim import show
    >>> found = archerysim.after_shot(archerysim.load("examples/club-outdoor.toml"), mesh="coarse", planes=1)
    >>> len(show.after_shot(found).axes)
    3
    """
    figure = style.new_figure(15.0)
    panels = figure.subplots(3, 1, sharex=True, height_ratios=(1.3, 1.0, 0.7))
    time = 1e3 * found.time
    for name, row, look in (("forward", found.force[0], "upper"), ("up", found.force[1], "lower")):
        panels[0].plot(time, row, **LOOKS[look].line_style, label=name, gid=name)
    panels[1].plot(time, found.torque, color=INK, linewidth=1.4, gid="torque")
    panels[2].plot(time, found.taken, color=LOOKS["clear"].color, linewidth=1.8, gid="taken")
    for ax in panels:
        _clear(ax, 1e3 * found.launch.clear.time)
    style.dress(panels[0], "", "force [N]", f"the bow's force on the hand; {_told(found, 'forward')}")
    style.dress(panels[1], "", "torque [N m]", f"its torque, nose up positive; {_told(found, 'turning')}")
    style.dress(panels[2], "after the release begins [ms]; dotted: the arrow is clear", "work [J]", "taken by the hand")
    panels[2].set_xlim(0.0, time[-1])
    panels[2].set_ylim(bottom=0.0)
    style.legend(panels[0], loc="upper right")
    style.head(figure, f"{found.bow.setup.name}: what the hand feels")
    style.limits_passed(figure, found)
    return figure


def _clear(ax: Axes, at: float) -> None:
    ax.axvline(at, color=INK, linewidth=1.0, linestyle=(0, (1.0, 1.5)), gid="clear")


def _told(found: AfterShot, name: str) -> str:
    """The strongest frequencies after clear, in words."""
    shown = " and ".join(f"{frequency:.0f}" for frequency, _ in found.frequencies[name][:2])
    return f"after clear mostly {shown} Hz" if shown else "hardly swinging"
