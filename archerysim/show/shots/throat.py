"""The throat seen close: string, floor, locators, nock and the forces between them at a few instants.

Each panel lies in the nock's own axes: the throat's middle at zero, the shaft's tail to the right.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.errors import UsageError
from archerysim.fields.given import several
from archerysim.fields.quantity import in_si
from archerysim.show import style
from archerysim.show.shots.shape import nodes_at
from archerysim.show.style import INK, LOOKS, MM

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from archerysim.equipment.filled_records import FilledNock
    from archerysim.equipment.filled_setup import FilledSetup
    from archerysim.shot.launch import Launch

REACH = 14.0  # how far a panel shows up and down [mm]
BEHIND, AHEAD = -17.0, 12.0  # [mm]
LONGEST = 9.0  # of a force arrow [mm]
LEAST = 0.3  # smaller forces are not drawn [N]
BODY = 7.0  # of the nock before the floor [mm], for the picture only


@dataclass(frozen=True)
class Instant:
    """One panel: time [s] and words."""

    time: float
    words: str


def instants(launch: Launch) -> list[Instant]:
    """Full draw, the greatest force on the nock, separation, and the string out of the throat."""
    trace = launch.traced()
    at = launch.timeline
    later = trace.frame_time[trace.frame_time > at.separation]
    out = [t for t in later if _foremost(launch, float(t)) < -_filled(launch).nock.depth / MM]
    end = float(out[0] if out else trace.time[-1])
    return [
        Instant(0.0, "full draw"),
        Instant(at.greatest_push, "greatest force"),
        Instant(at.separation, "separation"),
        Instant(end, "string out"),
    ]


def _foremost(launch: Launch, time: float) -> float:
    """How far the string's points at the floor's edges stand past the floor, the one further forward [mm]."""
    place, points = string_in_nock(launch, time)
    return float(points[np.argsort(np.abs(place))[:2], 0].max())


def throat(launch: Launch, at: Any = None, axes: Any = None) -> Figure:
    """Draw the throat and its forces at a few instants.

    Parameters
    ----------
    launch : Launch
        With its trace.
    at : sequence, optional
        Instants after the release begins, with units: ("5 ms", "10 ms"), ``([5, 10], "ms")``; by default full draw,
        greatest force, separation, string out.
    axes : sequence of Axes, optional
        One for each instant.

    Returns
    -------
    Figure

    Raises
    ------
    UsageError
        If the launch has no trace, or an instant lies outside it.

    Examples
    --------
    >>> import archerysim
    >>> from archerysim import show
    >>> launch = archerysim.shoot(archerysim.load("examples/club-outdoor.toml"))
    >>> len(show.throat(launch).axes), len(show.throat(launch, ("5 ms", "10 ms")).axes)
    (4, 2)
    """
    trace = launch.traced()
    chosen = instants(launch) if at is None else [Instant(in_si("at", t, "ms"), "") for t in several("at", at, "ms")]
    for instant in chosen:
        if not 0.0 <= instant.time <= trace.time[-1] + 1e-9:
            raise UsageError(
                "at",
                f"{1e3 * instant.time:.2f} ms is outside the shot, 0 to {1e3 * trace.time[-1]:.2f} ms",
                "choose instants inside it",
            )
    figure, panels = style.many_axes(axes, len(chosen), 3 if len(chosen) in (3, 5, 6) else 2, 8.0)
    largest = max(np.abs(row).max() for row in (trace.edge_upper, trace.edge_lower, trace.locator))
    per_newton = LONGEST / max(float(largest), 1e-9)
    for ax, instant in zip(panels, chosen, strict=True):
        _panel(ax, launch, instant, per_newton)
    style.scale_bar(panels[0], BEHIND + 1.0, -REACH + 3.0, 5.0, "5 mm")
    big = 10.0 * max(1.0, np.floor(4.0 / per_newton / 10.0))
    style.scale_bar(panels[-1], BEHIND + 1.0, -REACH + 3.0, big * per_newton, f"{big:.0f} N")
    if axes is None:
        title = f"{launch.setup.name}: the throat, from the side, target to the right"
        figure.suptitle(style.literal(title), fontsize=style.TEXT, color=INK, x=0.01, ha="left")
    _foot(figure, launch, own=axes is None)
    return figure


def _filled(launch: Launch) -> FilledSetup:
    from archerysim.equipment import filled

    return filled(launch.setup)


def string_in_nock(launch: Launch, time: float) -> tuple[np.ndarray, np.ndarray]:
    """The string in the nock's axes at one instant.

    Parameters
    ----------
    launch : Launch
        With its trace.
    time : float
        [s]

    Returns
    -------
    place : (k,) array
        Unloaded place above the throat's middle, falling [mm].
    points : (k, 2) array
        Along the shaft's tail, forward, and square to it, up, from the throat's middle [mm].

    Notes
    -----
    Positions between two frames lie on a straight line in time. The tail's direction is taken half a cell
    beyond the first cell, as in the contact itself.
    """
    trace, marks = launch.traced(), launch.braced.marks
    nodes = nodes_at(trace, time)[:, :2]
    tail = nodes[marks.tail : marks.tail + 3]
    cells = np.diff(tail, axis=0)
    cells /= np.hypot(cells[:, 0], cells[:, 1])[:, None]
    along = 1.5 * cells[0] - 0.5 * cells[1]
    along /= np.hypot(*along)
    across = np.array([-along[1], along[0]])
    string = nodes[marks.tip_u : marks.tip_l + 1] - tail[0]
    place = launch.braced.string_place - launch.braced.throat
    return place / MM, np.column_stack((string @ along, string @ across)) / MM


def _panel(ax: Axes, launch: Launch, instant: Instant, per_newton: float) -> None:
    full = _filled(launch)
    nock, loc = full.nock, full.nock.locators
    _nock(ax, nock, full.arrow.diameter)
    place, points = string_in_nock(launch, instant.time)
    near = np.abs(place) < 3.0 * REACH
    ax.plot(points[near, 0], points[near, 1], gid="string", **{**LOOKS["string"].line_style, "linewidth": 1.8})
    inner, outer = (end / MM for end in locator_ends(nock))
    for side, there in ((1.0, loc.upper_present), (-1.0, loc.lower_present)):
        if there:
            at = side * np.linspace(outer, inner, 5)
            piece = np.column_stack([np.interp(at, place[::-1], points[::-1, k]) for k in (0, 1)])
            ax.plot(
                piece[:, 0], piece[:, 1], color=INK, linewidth=6.2, solid_capstyle="butt", zorder=2.9,
            )  # fmt: skip
            ax.plot(
                piece[:, 0], piece[:, 1], color=LOOKS["locators"].color, linewidth=5.0, solid_capstyle="butt",
                gid="locator", zorder=3.0,
            )  # fmt: skip
    _forces(ax, launch, instant.time, nock, per_newton)
    ax.set_xlim(BEHIND, AHEAD)
    ax.set_ylim(-REACH, REACH)
    ax.set_aspect("equal")
    style.dress(ax, title=f"{instant.words}\n{1e3 * instant.time:.2f} ms".lstrip(), grid=False)
    ax.set_xticks([])
    ax.set_yticks([])


def nock_outline(nock: FilledNock, diameter: float) -> np.ndarray:
    """Outline of nock and shaft from the side, in the nock's own axes: (k, 2) [mm]."""
    half, ears, shaft = 0.5 * nock.height / MM, -nock.depth / MM, 0.5 * diameter / MM
    side = [(ears, 0.55 * half), (ears + 1.2, half), (0.0, half), (BODY, shaft), (AHEAD + 1.0, shaft)]
    return np.array(side + [(x, -y) for x, y in reversed(side)])


def locator_ends(nock: FilledNock) -> tuple[float, float]:
    """Inner and outer end of a locator, from the throat's middle along the string [m]."""
    loc = nock.locators
    inner = 0.5 * (nock.height + loc.gap)
    return inner, max(2.0 * loc.mass_at - inner, inner + 0.5 * MM)


def floor_line(nock: FilledNock) -> np.ndarray:
    """Both ends of the throat's floor, the lower first, in the nock's own axes: (2, 2) [mm]."""
    half = 0.5 * nock.floor / MM * np.array([np.sin(nock.slope), np.cos(nock.slope)])
    return np.array([-half, half])


def _nock(ax: Axes, nock: FilledNock, diameter: float) -> None:
    """Nock and shaft from the side; the ears stand left and right of the string."""
    from matplotlib.patches import Polygon

    outline, floor = nock_outline(nock, diameter), floor_line(nock)
    ax.add_patch(
        Polygon(outline, closed=True, facecolor=LOOKS["arrow"].color, alpha=0.18, edgecolor="none", gid="nock")
    )
    ax.add_patch(Polygon(outline, closed=True, fill=False, edgecolor=LOOKS["arrow"].color, linewidth=1.0))
    ax.plot(floor[:, 0], floor[:, 1], color=LOOKS["arrow"].color, linewidth=3.0, gid="floor")


def _forces(ax: Axes, launch: Launch, time: float, nock: FilledNock, per_newton: float) -> None:
    """Arrows of the forces on the nock: edges along the floor's normal, locators along the floor."""
    trace = launch.traced()
    along = np.array([np.sin(nock.slope), np.cos(nock.slope)])
    normal = np.array([along[1], -along[0]])
    half = 0.5 * nock.floor / MM * along
    edge_u, edge_l, locator = (
        float(np.interp(time, trace.time, row)) for row in (trace.edge_upper, trace.edge_lower, trace.locator)
    )
    for name, force, point, high in (("upper", edge_u, half, 1.0), ("lower", edge_l, -half, -1.0)):
        if abs(force) >= LEAST:
            _arrow(ax, point, normal * force * per_newton, LOOKS[name].color, f"{name} edge")
            style.note(
                ax, BEHIND + 0.6, point[1] + 1.6 * high, f"{force:.1f} N", va="bottom" if high > 0 else "top",
                color=LOOKS[name].color, fontweight="bold",
            )  # fmt: skip
    if abs(locator) >= LEAST:
        up = np.sign(locator)
        face = np.array([2.0, -up * 0.5 * nock.height / MM])
        _arrow(ax, face, along * locator * per_newton, INK, "locators")
        style.note(ax, face[0] + 1.2, face[1] - 2.8 * up, f"{locator:+.1f} N", va="center")


def _arrow(ax: Axes, tip: np.ndarray, force: np.ndarray, color: str, gid: str) -> None:
    """An arrow as long and as directed as ``force``, its head at ``tip``."""
    from matplotlib.patches import FancyArrowPatch

    ax.add_patch(
        FancyArrowPatch(
            tuple(tip - force), tuple(tip), arrowstyle="-|>", mutation_scale=9.0, shrinkA=0.0, shrinkB=0.0,
            color=color, linewidth=2.0, zorder=5.0, gid=gid,
        )
    )  # fmt: skip


def _foot(figure: Figure, launch: Launch, own: bool) -> None:
    """One legend for all panels; below it, in a figure of our own, the limits that the launch passes."""
    from matplotlib.lines import Line2D

    rows = [
        Line2D([], [], color=LOOKS["string"].color, linewidth=1.8, label="string"),
        Line2D([], [], color=LOOKS["arrow"].color, linewidth=3.0, label="nock and its floor"),
        Line2D([], [], color=LOOKS["locators"].color, linewidth=5.0, label="locators"),
        Line2D([], [], color=LOOKS["upper"].color, linewidth=2.0, label="force at upper edge"),
        Line2D([], [], color=LOOKS["lower"].color, linewidth=2.0, label="at lower edge"),
        Line2D([], [], color=INK, linewidth=2.0, label="of locators"),
    ]
    style.limits_passed(figure, launch if own else None, rows, columns=3)
