"""How clear shaft and vanes pass rest and side support: gaps over time, and the closest seen from behind the archer."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from archerysim.show import style, text
from archerysim.show.shots.bow import RISER
from archerysim.show.shots.passing import depth_words, sideways_events, words_below
from archerysim.show.shots.traces import Event, mark_events, title_over
from archerysim.show.style import FAINT, INK, LOOKS, MM, PALE

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.lines import Line2D

    from archerysim.shot.launch import Launch

TIMES, SEEN = 4.6, 7.4  # height of a panel over time, and of a view [cm]
STALK = 3.5  # from the face back to the riser, for the picture only [mm]
ASIDE = 7.0  # shown behind the side support's face, or the vanes [mm]
MARGIN = 2.5  # around what a view shows [mm]
AT_ONCE = 1e-3  # two instants that one view shows [s]
PATH = (0, (2.0, 1.5))
UNDER = 0.75  # share of what lies above zero in which the lines stay, the legend above
VANES = "The vanes are turned as arrow.fletching_angle says, drawn stiff: a real one in the way bends aside."
ARM = "The arm supports the shaft at its axis: what grazes its end from outside is not pushed here."


@dataclass(frozen=True)
class Closest:
    """What comes closest: of the shaft, once it has left, or of the vanes, where it has some; when [s], its gap [m]."""

    what: str
    time: float
    gap: float

    @property
    def words(self) -> str:
        """How close."""
        far = f"{abs(self.gap) / MM:.1f} mm"
        if self.what == "vanes":
            return f"nearest vane {far} away" if self.gap >= 0.0 else f"a vane {far} in the way"
        return f"shaft {far} away" if self.gap >= 0.0 else f"shaft touches, {far} deep"


def closest(launch: Launch, part: str) -> Closest | None:
    """What passes closest to a part, "arm" or "side"; None where nothing passes any more once the shaft has left."""
    trace = launch.traced()
    left = launch.rest_left_at if part == "arm" else launch.passage.side_left_at
    for what, gap in (
        ("vanes", getattr(trace, f"vane_{part}_gap")),
        ("shaft", np.where(trace.time > left, getattr(trace, f"{part}_gap"), np.nan)),
    ):
        if np.isfinite(gap).any():
            k = int(np.nanargmin(gap))
            return Closest(what, float(trace.time[k]), float(gap[k]))
    return None


def clearance(launch: Launch, figure: Figure | None = None) -> Figure:
    """Draw the gaps of shaft and vanes to rest and side support over time, and the closest instant seen from behind.

    Parameters
    ----------
    launch : Launch
        In both planes, with its trace.
    figure : Figure, optional
        An empty one to draw into.

    Returns
    -------
    Figure

    Raises
    ------
    UsageError
        If the launch has no trace, or was shot in one plane.

    Examples
    --------
    >>> import archerysim
    >>> from archerysim import show
    >>> figure = show.clearance(archerysim.shoot(archerysim.load("examples/club-outdoor.toml")))
    >>> len(figure.axes) in (3, 4)  # the gaps, and one view where both are closest at once
    True
    """
    trace, happened = launch.traced(), sideways_events(launch)
    own = figure is None
    figure = style.new_figure(2.0 * TIMES + SEEN) if figure is None else figure
    grid = figure.add_gridspec(3, 2, height_ratios=(TIMES, TIMES, SEEN))
    arm = figure.add_subplot(grid[0, :])
    side = figure.add_subplot(grid[1, :], sharex=arm)
    rest = "shelf" if launch.drawing.setup.rest.kind == "shelf" else "rest's arm"
    for ax, part, name in ((arm, "arm", rest), (side, "side", "side support")):
        _over_time(ax, launch, part, name)
    arm.tick_params(labelbottom=False)
    rows = mark_events([arm, side], [*happened, Event(launch.clear.time, "clear", "clear")])
    title_over([arm, side], f"{launch.setup.name}: how clear the arrow passes the bow", rows)
    arm.set_xlim(-0.01e3 * trace.time[-1], 1.01e3 * trace.time[-1])
    found = {part: closest(launch, part) for part in ("arm", "side")}
    if _at_once(found["arm"], found["side"]):
        _from_behind(
            figure.add_subplot(grid[2, :]), launch, "side", {rest: found["arm"], "side support": found["side"]}
        )
    else:
        for column, (part, name) in enumerate((("arm", rest), ("side", "side support"))):
            _from_behind(figure.add_subplot(grid[2, column]), launch, part, {name: found[part]})
    if own:
        said = (VANES, ARM, *_struck(launch)) if rest == "rest's arm" else (VANES,)
        words_below(figure, launch, *said, handles=_legend(rest))
    return figure


def _struck(launch: Launch) -> list[str]:
    """How deep a shaft that comes back meets the arm, and from where on it is warned of; nothing where it does not."""
    from archerysim.shot.warnings import DEEP

    beside = -launch.passage.arm_gap
    if not launch.passage.arm_strikes:
        return [f"The shaft's flank reaches {beside:.1f} mm into the arm's end."] if beside > 0.05 else []
    return [f"The shaft comes back onto the arm, {depth_words(launch)}; more than {DEEP / MM:.0f} mm is warned of."]


def _over_time(ax: Axes, launch: Launch, part: str, name: str) -> None:
    """Gaps to one part."""
    trace = launch.traced()
    for what, look, row in (("shaft", "arrow", f"{part}_gap"), ("vanes, the nearest", "fletched", f"vane_{part}_gap")):
        gap = getattr(trace, row) / MM
        if np.isfinite(gap).any():
            wide = 1.3 if look == "arrow" else 3.0
            ax.plot(1e3 * trace.time, gap, label=what, gid=row, **{**LOOKS[look].line_style, "linewidth": wide})
    low, high = ax.get_ylim()
    low, high = min(low, -0.25 * high), high / UNDER
    ax.axhspan(low, 0.0, color=PALE, zorder=0.5)
    ax.axhline(0.0, color=FAINT, linewidth=0.8, zorder=1.0)
    ax.set_ylim(low, high)
    style.note(ax, 0.01, 0.03, "touches", transform=ax.transAxes, va="bottom")
    style.dress(ax, y=f"gap to the\n{name} [mm]")
    style.legend(ax, loc="upper left", ncols=2, bbox_to_anchor=(0.015, 0.985))


def _at_once(one: Closest | None, other: Closest | None) -> bool:
    """Whether the same comes closest to both parts, near enough at one instant for one view."""
    return one is not None and other is not None and one.what == other.what and abs(one.time - other.time) < AT_ONCE


def _from_behind(ax: Axes, launch: Launch, part: str, told: dict[str, Closest | None]) -> None:
    """Shaft, vanes, rest and side support looked at along the shaft, at the instant at which most is close to a part.

    What comes how close is told of each part named.
    """
    from matplotlib.patches import Circle, Rectangle

    from archerysim.equipment import filled
    from archerysim.shot.arrays.sideways import make_arm
    from archerysim.shot.clearance import BUTTON, vanes

    full, trace, away = filled(launch.setup), launch.traced(), text.away(launch.setup)
    found = closest(launch, part)
    radius, face = 0.5 * full.arrow.diameter / MM, (full.side.offset - 0.5 * full.arrow.diameter) / MM
    time = 0.0 if found is None else found.time
    z, y = (
        float(np.interp(time, trace.time, row)) / MM
        for row in (trace.shaft_over_rest_z if part == "arm" else trace.shaft_by_side_z, trace.shaft_over_rest_y)
    )
    out, up = (places / MM for places in vanes(full))
    show = found is not None and found.what == "vanes"
    reach = float(np.hypot(out, up).max()) if show else radius
    window = (min(z - reach, face) - ASIDE, z + reach + MARGIN, min(y - reach, -1.0) - MARGIN, y + reach + MARGIN)
    ax.plot(trace.shaft_over_rest_z / MM, trace.shaft_over_rest_y / MM, color=LOOKS["arrow"].color, linewidth=0.8,
            linestyle=PATH, zorder=1.5, gid="path")  # fmt: skip
    ax.plot(trace.shaft_over_rest_z[:1] / MM, trace.shaft_over_rest_y[:1] / MM, color=LOOKS["arrow"].color, marker="o",
            markersize=4.0, linestyle="none", zorder=3.3, gid="full draw")  # fmt: skip
    ax.add_patch(Rectangle((face - 60.0, -60.0), 60.0 - STALK, 120.0, facecolor=RISER, zorder=0.5, gid="riser"))
    end = min(make_arm(launch.drawing.setup).outer / MM, window[1])
    ax.plot([face, end], [0.0, 0.0], color=LOOKS["rest"].color, linewidth=4.0, solid_capstyle="butt", gid="arm")
    tall = 120.0 if full.side.kind == "plate" else BUTTON / MM
    ax.plot([face] * 2, [radius - tall, radius + tall], color=LOOKS["side"].color, linewidth=4.0,
            solid_capstyle="butt", gid="side support")  # fmt: skip
    ax.plot([face - STALK, face], [radius] * 2, color=LOOKS["side"].color, linewidth=4.0, solid_capstyle="butt")
    ax.add_patch(Circle((z, y), radius, facecolor=LOOKS["arrow"].color, edgecolor="none", alpha=0.55, zorder=3.0,
                        gid="shaft"))  # fmt: skip
    for z_out, y_up in zip(out, up, strict=True):
        if show:
            ax.plot(z + z_out, y + y_up, color=LOOKS["fletched"].color, linewidth=2.2, zorder=3.2, gid="vane")
    ax.set_xlim(*(window[1::-1] if away == "left" else window[:2]))
    ax.set_ylim(*window[2:])
    ax.set_aspect("equal")
    style.note(ax, 0.5 * (face - STALK + window[0]), y + reach, "riser", ha="center", va="center")
    words = "\n".join(f"{name}: {one.words if one else 'nothing left to pass'}" for name, one in told.items())
    title = f"from behind the archer, {1e3 * time:.1f} ms\n{words}"
    style.dress(ax, f"{away} (away from the window) [mm]", "above the rest's top [mm]", grid=False)
    ax.set_title(title, fontsize=style.SMALL, color=INK, loc="left")


def _legend(rest: str) -> list[Line2D]:
    """What is drawn of the views from behind."""
    from matplotlib.lines import Line2D

    rows = [
        Line2D([], [], color=LOOKS[look].color, linewidth=wide, alpha=strong, label=name)
        for look, wide, strong, name in (
            ("arrow", 8.0, 0.55, "shaft"), ("fletched", 2.2, 1.0, "vanes"), ("rest", 4.0, 1.0, rest),
            ("side", 4.0, 1.0, "side support"), ("arrow", 0.8, 1.0, "path of the shaft's axis, from full draw (dot)"),
        )
    ]  # fmt: skip
    rows[-1].set_linestyle(PATH)
    return rows
