"""Who turned the arrow: a bar a part, from the neutral bow to this one."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.equipment.readings import read_by
from archerysim.show import style, text
from archerysim.show.style import FAINT, INK, LOOKS, MM

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from archerysim.shot.launch import Launch
    from archerysim.study.explanation.explain import Explained

NEUTRAL = "Neutral, a yardstick: nock square, no tiller split, even fingers, straight push, hard rest, no stabilisers."
TITLE = "From a neutral bow, each part turns the arrow nose up or nose down"
AXES = {
    "angle_of_attack": "angle of attack at clear: shaft against the way it flies [deg]",
    "pitch": "pitch at clear: shaft to the aim line [deg]",
    "pitch_rate": "pitch rate at clear [rad/s]",
}


def contributions(result: Explained, axes: Any = None, *, all_panels: bool = False) -> Figure:
    """Draw what each part does to the launch, as bars.

    Parameters
    ----------
    result : Explained
    axes : Axes or sequence of Axes, optional
        One, or three with ``all_panels``.
    all_panels : bool
        Pitch and pitch rate too, one below the other.

    Returns
    -------
    Figure
        Nose up to the right; the neutral bow and all bars below it make this bow.

    Examples
    --------
    >>> import archerysim
    >>> from archerysim import show
    >>> found = archerysim.explain(archerysim.load("examples/club-outdoor.toml"), mesh="coarse")
    >>> len(show.contributions(found).axes), len(show.contributions(found, all_panels=True).axes)
    (1, 3)
    """
    from archerysim.study.explanation.explain import QUANTITIES

    drawn = QUANTITIES if all_panels else QUANTITIES[:1]
    words = part_words(result.launch)
    rows = [
        "neutral bow",
        *(words[one.part.name] for one in result.contributions),
        "what they do only together",
        "this bow, the sum",
    ]
    new = axes is None
    figure, panels = style.many_axes(axes, len(drawn), 1, (0.5 if all_panels else 2.0) + 0.75 * len(rows))
    for k, (ax, (name, _, _)) in enumerate(zip(panels, drawn, strict=True)):
        _panel(ax, result, k)
        ax.set_yticks(range(len(rows)), rows)
        ax.set_ylim(len(rows) - 0.4, -0.6)
        style.dress(ax, AXES[name])
        ax.yaxis.grid(False)
        ax.tick_params(axis="y", length=0.0)
        ax.set_title("← nose down", fontsize=style.TEXT, color=INK, loc="left")
        ax.set_title("nose up →", fontsize=style.TEXT, color=INK, loc="right")
    if new:
        launch = result.launch
        style.head(figure, f"{launch.setup.name}, {text.reading(launch.braced.reading, read_by(launch.setup))}", TITLE)
        style.changed(figure, result.edits)
        style.foot(figure, [], NEUTRAL)
    return figure


def part_words(launch: Launch) -> dict[str, str]:
    """What each part is on this bow, in a few words, by the names of `archerysim.study.explanation.neutral_bow`."""
    from archerysim.equipment import filled
    from archerysim.shot.statics.brace import GRAVITY

    full = filled(launch.setup)
    archer, braced, rods = full.archer, launch.braced, full.riser.rods
    split = round((braced.upper_tiller - braced.lower_tiller) / MM, 1) + 0.0
    shares = " / ".join(f"{100.0 * share:.0f}" for share in archer.finger_shares)
    push = archer.pressure_point
    hand = f"hand's torque {archer.grip_torque:+.1f} N m" if archer.grip_torque else "hand without torque"
    if push:
        hand = f"hand pushes {abs(push) / MM:.0f} mm {'above' if push > 0.0 else 'below'} the pivot"
    slope, by = np.degrees(full.nock.slope), read_by(launch.setup)
    mass = 1e3 * sum(rod.end_mass + rod.rod_mass for rod in rods)
    return {
        "reading": f"reading {by.reading(braced.reading) / MM:.1f} mm {by.words}",
        "tiller": f"tiller split {split:.1f} mm" if split else "no tiller split",
        "fingers": f"fingers {shares} %",
        "hand": hand,
        "rest": f"rest gives {0.05 * GRAVITY / full.rest.stiffness / MM:.1f} mm under 50 g",
        "slope": f"nock's floor leans {slope:+.1f}°" if slope else "nock's floor square",
        "stabilisers": f"{len(rods)} rod{'s' if len(rods) != 1 else ''}, {mass:.0f} g" if mass else "no stabilisers",
    }


def _panel(ax: Axes, result: Explained, k: int) -> None:
    values = [result.base[k], *(one.value[k] for one in result.contributions), result.remainder[k], result.actual[k]]
    last = len(values) - 1
    for row, value in enumerate(values):
        if not np.isfinite(value):
            style.note(ax, 0.0, row, " no result", va="center")
            continue
        pale = row in (0, last - 1)
        color = "#c9c9c4" if pale else INK if row == last else LOOKS["arrow"].color
        ax.barh(row, value, height=0.62, color=color, edgecolor=INK if pale else color, linewidth=0.5)
        ax.annotate(
            f"{value:+.2f}" if abs(value) >= 0.005 else "0", (value, row), xytext=(-4 if value < 0.0 else 4, 0),
            textcoords="offset points", ha="right" if value < 0.0 else "left", va="center", fontsize=style.SMALL,
            color=INK, gid="number",
        )  # fmt: skip
    reach = 1.25 * max([abs(value) for value in values if np.isfinite(value)] + [1e-3])
    ax.set_xlim(-reach, reach)
    ax.axvline(0.0, color=INK, linewidth=0.8)
    for between in (0.5, last - 0.5):
        ax.axhline(between, color=FAINT, linewidth=0.6)
