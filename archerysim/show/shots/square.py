"""The square on the string, to scale: how a locator height is read.

The picture lies in the square's axes: the foot of the square at zero, the string upwards, its forward normal
to the right. The arm is long; a piece of it, and of the shaft, is cut out.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.equipment.readings import read_by
from archerysim.show import style
from archerysim.show.shots.throat import locator_ends
from archerysim.show.style import FAINT, INCH, INK, LOOKS, MM

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from archerysim.equipment import Setup
    from archerysim.equipment.filled_records import FilledNock
    from archerysim.shot.draw_curve import DrawCurve
    from archerysim.shot.fitted_bow import FittedBow
    from archerysim.shot.launch import Launch

SIXTEENTH = INCH / 16.0
EDGE, WIDE = -19.0, 13.0  # the ruler's front edge and its width [mm], for the picture only
CUT = 22.0  # where the arm is cut [mm]
GAP = 5.0  # left open there [mm]
START, END = -47.0, 52.0  # ends of the picture [mm]
ARM = 7.0  # height of the arm [mm], for the picture only
REST = 1.5  # half the width of the rest [mm], for the picture only


@dataclass(frozen=True)
class Seen:
    """What the square shows [mm].

    Attributes
    ----------
    underside, top, axis : float
        Both readings and the nock's axis above square.
    axis_above : float
        Nock axis above square: the axis less half the shaft's diameter.
    rest : float
        From the string to the rest, square to the string.
    arrow : (k, 2) array
        The shaft's axis from the throat's middle on: forward of the string, above the foot.
    nock : Nock
        Filled.
    diameter : float
        Of the shaft.
    by : str
        By which of both the setup tells its readings: "underside" or "top".
    """

    underside: float
    top: float
    axis: float
    axis_above: float
    rest: float
    arrow: np.ndarray
    nock: FilledNock
    diameter: float
    by: str


def seen(result: Launch | DrawCurve | FittedBow | Setup) -> Seen:
    """What a square shows on the braced bow of a result, or of a setup (then braced here)."""
    from archerysim.equipment import Setup, filled
    from archerysim.shot.fitted_bow import FittedBow

    found = FittedBow.of(result) if isinstance(result, Setup) else result
    full, braced = filled(found.setup), found.braced
    m = braced.marks
    nodes = np.column_stack((braced.x, braced.y))
    # the string's own line: its ends, or where it may lie on the limbs its first nodes off them
    upper, lower = nodes[m.tip_u + min(m.reach_u, 1)], nodes[m.tip_l - min(m.reach_l, 1)]
    up = upper - lower
    up /= np.hypot(*up)
    forward = np.array([up[1], -up[0]])
    nock = full.nock
    axis = braced.reading + 0.5 * nock.height
    shaft = nodes[m.tail :] - nodes[m.tail]
    arrow = np.column_stack((shaft @ forward, shaft @ up + axis)) / MM
    rest = full.rest
    away = (np.array([rest.forward, rest.height]) - lower) @ forward
    diameter = full.arrow.diameter
    return Seen(
        braced.reading / MM, (braced.reading + nock.height) / MM, axis / MM, (axis - 0.5 * diameter) / MM,
        float(away) / MM, arrow, nock, diameter / MM, read_by(full).convention,
    )  # fmt: skip


def square(result: Launch | DrawCurve | FittedBow | Setup, ax: Axes | None = None, *, words: bool = True) -> Axes:
    """Draw the square on the string with both readings and the nock axis above square.

    Parameters
    ----------
    result : Launch, DrawCurve, FittedBow or Setup
        An `archerysim.Setup` is fitted and braced first.
    ax : Axes, optional
    words : bool
        Whether the numbers stand in the picture; if not, only their letters: a underside, b top, c axis.

    Returns
    -------
    Axes
        Height above square [mm] upwards, the same scale to the right.

    Examples
    --------
    >>> import archerysim
    >>> from archerysim import show
    >>> ax = show.square(archerysim.load("examples/club-outdoor.toml"), words=False)
    >>> low, high = ax.get_ylim()
    >>> bool(low < 8.0 < high)  # [mm], the reading
    True
    """
    from archerysim.equipment import Setup

    shown = seen(result)
    setup = result if isinstance(result, Setup) else result.setup
    low, high = min(-14.0, shown.underside - 8.0), max(32.0, shown.top + 18.0)
    own = ax is None
    ax = style.one_axes(ax, 1.4 + 0.98 * style.WIDTH * (high - low) / (END - START))
    _ruler(ax, low, high, words)
    _arm(ax, shown, words)
    _shaft(ax, shown)
    _string(ax, shown, low, high)
    _readings(ax, shown, high, words)
    style.dress(ax, title=f"{setup.name}: the square on the string, at brace", grid=False)
    ax.set_aspect("equal")
    ax.set_xlim(START, END)
    ax.set_ylim(low, high)
    ax.set_xticks([])
    ax.set_yticks([])
    style.scale_bar(ax, -13.0, low + 4.5, 10.0, "10 mm")
    if own:
        style.changed(ax.figure, getattr(result, "edits", ()))  # type: ignore[arg-type]
    return ax


def _shifted(shown: Seen, x: np.ndarray | float) -> Any:
    """Place in the picture of what lies beyond the cut: the rest stands near the right end."""
    return np.asarray(x) - shown.rest + END - 12.0


def _ruler(ax: Axes, low: float, high: float, in_words: bool) -> None:
    """A rule along the string: millimetres on its front edge, sixteenths of an inch on its back edge."""
    from matplotlib.patches import Rectangle

    ax.add_patch(
        Rectangle(
            (EDGE - WIDE, low - 5.0), WIDE, high - low + 10.0, facecolor="#f7f3e4", edgecolor=FAINT, linewidth=0.8
        )
    )
    for k in range(int(np.floor(low)), int(np.ceil(high)) + 1):
        size = 4.2 if k % 10 == 0 else 3.0 if k % 5 == 0 else 1.7
        ax.plot([EDGE - size, EDGE], [k, k], color=INK, linewidth=0.6, gid="millimetre")
        if k % 5 == 0 and low + 1.0 < k < high - 3.5:
            y, up = (k, "center") if k else (0.4, "bottom")  # the zero stands off the line of the arm's edge
            style.note(ax, EDGE + 0.6, y, f"{k}", va=up, ha="left", fontsize=style.SMALL - 0.5)
    step = SIXTEENTH / MM
    for k in range(int(np.floor(low / step)), int(np.ceil(high / step)) + 1):
        size = next(s for n, s in ((16, 4.2), (8, 3.6), (4, 2.9), (2, 2.2), (1, 1.5)) if k % n == 0)
        ax.plot([EDGE - WIDE, EDGE - WIDE + size], [k * step, k * step], color=INK, linewidth=0.6, gid="sixteenth")
        if k % 4 == 0 and low + 1.0 < k * step < high - 3.5:
            style.note(
                ax, EDGE - WIDE - 0.6, k * step, _quarters(k), va="center", ha="right", fontsize=style.SMALL - 0.5
            )
    ax.text(EDGE + 0.6, high - 0.6, "mm", fontsize=style.SMALL, color=INK, va="top")
    inches = "in, sixteenths" if in_words else "in"
    ax.text(EDGE - WIDE - 0.6, high - 0.6, inches, fontsize=style.SMALL, color=INK, va="top", ha="right")


def _quarters(sixteenths: int) -> str:
    from archerysim.equipment.readings import sixteenths as words

    return words(sixteenths * SIXTEENTH).removesuffix(" in")


def _arm(ax: Axes, shown: Seen, in_words: bool) -> None:
    """The square's arm, its lower edge at zero, and the rest under it beyond the cut."""
    from matplotlib.patches import Rectangle

    for left, right in ((EDGE, CUT), (CUT + GAP, END + 5.0)):
        ax.add_patch(Rectangle((left, 0.0), right - left, ARM, facecolor="#d9d9d4", edgecolor="none", alpha=0.55))
    for left, right in ((EDGE - WIDE, CUT), (CUT + GAP, END + 5.0)):
        ax.plot([left, right], [0.0, 0.0], color=INK, linewidth=1.2, gid="square")
    for x in (CUT, CUT + GAP):
        wave = np.linspace(-7.0, 15.0, 60)
        ax.plot(x + 0.5 * np.sin(1.6 * wave), wave, color=FAINT, linewidth=0.7)
    style.note(
        ax, CUT + 0.5 * GAP, -7.6, f"cut out here; the rest is\n{shown.rest:.0f} mm in front of the "
            f"string", ha="center",
        va="top",
    )  # fmt: skip
    at = float(_shifted(shown, shown.rest))
    color = LOOKS["rest"].color
    top = min(float(np.interp(shown.rest, *shown.arrow.T)) - 0.5 * shown.diameter, 0.0)  # the shaft presses it down
    ax.add_patch(Rectangle((at - REST, top - 1.0), 2.0 * REST, 1.0, facecolor=color, edgecolor="none", gid="rest"))
    ax.plot([at, at], [-5.0, top - 0.5], color=color, linewidth=2.0)
    style.note(ax, at + 2.0, -3.4, "rest", ha="left", va="center", color=LOOKS["rest"].color, fontweight="bold")
    if in_words:
        style.note(ax, CUT - 0.8, 0.5, "arm's lower edge: 0", ha="right", va="bottom")
    else:  # drawn smaller: less room
        style.note(ax, CUT - 1.8, -0.8, "lower edge: 0", ha="right", va="top", fontsize=style.SMALL - 0.5)


def _shaft(ax: Axes, shown: Seen) -> None:
    """Shaft and nock, at their true slope on both sides of the cut."""
    from matplotlib.patches import Polygon

    color = LOOKS["arrow"].color
    x, y = shown.arrow[:, 0], shown.arrow[:, 1]
    slope = float((y[1] - y[0]) / (x[1] - x[0]))
    half, nock = 0.5 * shown.diameter, 0.5 * shown.nock.height / MM
    ears, body = -shown.nock.depth / MM, 7.0
    side = np.array([(ears, 0.55 * nock), (ears + 1.2, nock), (0.0, nock), (body, half), (CUT, half)])
    outline = np.vstack((side, side[::-1] * (1.0, -1.0)))
    outline[:, 1] += y[0] + slope * outline[:, 0]
    far = shown.rest + np.linspace(CUT + GAP - END + 12.0, 14.0, 12)
    axis = np.interp(far, x, y)
    beyond = np.vstack((np.column_stack((far, axis + half)), np.column_stack((far, axis - half))[::-1]))
    beyond[:, 0] = _shifted(shown, beyond[:, 0])
    for shape, gid in ((outline, "nock and shaft"), (beyond, "shaft on the rest")):
        ax.add_patch(Polygon(shape, closed=True, facecolor=color, alpha=0.22, edgecolor="none"))
        ax.add_patch(Polygon(shape, closed=True, fill=False, edgecolor=color, linewidth=1.2, gid=gid))
    ax.plot([ears - 1.5, CUT], [y[0] + slope * (ears - 1.5), y[0] + slope * CUT], color=color, linewidth=0.8,
            linestyle="-.", gid="axis")  # fmt: skip


def _string(ax: Axes, shown: Seen, low: float, high: float) -> None:
    """String and locators."""
    from matplotlib.patches import Rectangle

    ax.plot([0.0, 0.0], [low - 5.0, high + 5.0], gid="string", **{**LOOKS["string"].line_style, "linewidth": 2.4})
    loc = shown.nock.locators
    inner, outer = (end / MM for end in locator_ends(shown.nock))
    for there, bottom in ((loc.upper_present, shown.axis + inner), (loc.lower_present, shown.axis - outer)):
        if there:
            ax.add_patch(
                Rectangle(
                    (-1.3, bottom), 2.6, outer - inner, facecolor=LOOKS["locators"].color, edgecolor=INK,
                    linewidth=0.6, zorder=4.0, gid="locator",
                )
            )  # fmt: skip
    style.note(ax, 1.0, high - 0.6, "string", va="top")


def _readings(ax: Axes, shown: Seen, high: float, in_words: bool) -> None:
    """Measure lines for both readings and the axis above square, their numbers in words above."""
    from archerysim.equipment.readings import both_units

    rows = (
        (-10.5, 0.0, shown.underside, "underside", "a", "reading, underside of the nock"),
        (-7.5, 0.0, shown.top, "top", "b", "reading, top of the nock"),
        (10.0, 0.5 * shown.diameter, shown.axis, "axis", "c", "nock axis above square"),
    )
    for x, begin, end, gid, letter, _ in rows:
        edge = EDGE if x < 0.0 else x + 1.5
        for level in (begin, end):
            if level:
                ax.plot(
                    [edge, 0.0], [level, level], color=INK, linewidth=0.7, linestyle=(0, (1.5, 1.5)), gid=f"{gid} level"
                )
        ax.annotate(
            "", (x, end), (x, begin), zorder=5.0,
            arrowprops={"arrowstyle": "<->", "color": INK, "shrinkA": 0, "shrinkB": 0, "mutation_scale": 8.0},
        )  # fmt: skip
        beside, middle = (x + 1.8, 0.5 * (begin + end)) if x > 0.0 else (x - 1.0, 0.5 * end)
        if letter == "b":  # above the arrow of a, which stands beside it
            middle = 0.5 * (shown.underside + end)
        style.note(
            ax, beside, middle, letter, ha="left" if x > 0.0 else "right", va="center", fontweight="bold", zorder=6.0
        )
    if not in_words:
        return
    words = [f"{row[4]}  {row[5]}: {both_units((row[2] - row[1]) * MM)}" for row in rows]
    words.insert(2 if shown.by == "top" else 1, f"    (the setup gives readings by the {shown.by})")
    words.append(f"    (shaft {shown.diameter:.1f} mm, nock {shown.nock.height / MM:.1f} mm)")
    ax.text(3.0, high - 3.5, "\n".join(words), fontsize=style.SMALL, color=INK, va="top", linespacing=1.35)
