"""What happens over time from release to clear: forces on nock and rest, pitch, vertical velocity."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.show import style
from archerysim.show.style import FAINT, INK, LOOKS

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from archerysim.shot.launch import Launch


# of a panel over time: its label, and of each line its look, its words ("" for none) and its values
Panel = tuple[str, tuple[tuple[str, str, np.ndarray], ...]]
ROW = 11  # height of a row of words above the panels [pt]
LETTER = 0.0112  # width of a letter there over that of a panel, with room between words


@dataclass(frozen=True)
class Event:
    """One event: time [s], words, and the look it is drawn with ("" for plain)."""

    time: float
    words: str
    look: str = ""


def events(launch: Launch) -> list[Event]:
    """What happened in a shot, in the order of time."""
    at = launch.timeline
    found = [
        Event(at.fingers.off, "fingers off"),
        Event(at.rest_left, "rest left again" if at.left_again else "rest left"),
        Event(at.on_rest_again, "second strike"),
        Event(at.separation, "separation", "separation"),
        Event(at.clear, "clear", "clear"),
        Event(at.support_ends, "rest's support ends"),
    ]
    return sorted((one for one in found if math.isfinite(one.time)), key=lambda one: one.time)


def traces(launch: Launch, axes: Any = None) -> Figure:
    """Draw nock force at both edges, rest force, pitch and vertical velocity over time.

    Parameters
    ----------
    launch : Launch
        With its trace.
    axes : sequence of 4 Axes, optional

    Returns
    -------
    Figure

    Raises
    ------
    UsageError
        If the launch has no trace.

    Examples
    --------
    >>> import archerysim
    >>> from archerysim import show
    >>> figure = show.traces(archerysim.shoot(archerysim.load("examples/club-outdoor.toml")))
    >>> len(figure.axes)
    4
    """
    trace = launch.traced()
    figure, panels = style.many_axes(axes, 4, 1, 4.6, sharex=True)
    time = 1e3 * trace.time
    rows = (
        (
            "force on the nock [N]",
            (("upper", "upper edge", trace.edge_upper), ("lower", "lower edge", trace.edge_lower)),
        ),
        ("force of the rest [N]", (("rest", "", trace.rest),)),
        ("pitch, nose up + [deg]", (("arrow", "", trace.pitch),)),
        ("vertical velocity [m/s]", (("arrow", "", trace.vertical_velocity),)),
    )
    draw_lines(panels, time, rows)
    style.legend(panels[0], loc="upper right", bbox_to_anchor=(0.985, 0.985))
    mark_moments(launch, ((panels[2], "pitch"), (panels[3], "vertical_velocity")))
    title_over(panels, f"{launch.setup.name}: from release to clear", mark_events(panels, events(launch)))
    figure.align_ylabels(panels)
    if axes is None:
        style.limits_passed(figure, launch)
    return figure


def draw_lines(panels: list[Axes], time: np.ndarray, rows: tuple[Panel, ...]) -> None:
    """Lines over time [ms]: of each panel its label, and of each line its look, its words and its values."""
    for ax, (label, lines) in zip(panels, rows, strict=True):
        for look, words, values in lines:
            ax.plot(time, values, label=words or None, gid=look, **{**LOOKS[look].line_style, "linewidth": 1.3})
        ax.axhline(0.0, color=FAINT, linewidth=0.8, zorder=1.0)
        style.dress(ax, y=label)
        ax.margins(x=0.01)


def mark_moments(launch: Launch, quantities: tuple[tuple[Axes, str], ...]) -> None:
    """A dot for separation and one for clear on the line of each quantity of a `Moment`."""
    for ax, name in quantities:
        for moment, look in ((launch.separation, "separation"), (launch.clear, "clear")):
            mark = LOOKS[look]
            ax.plot(
                [1e3 * moment.time], [getattr(moment, name)], marker=mark.marker, color=mark.color, markersize=5.0,
                linestyle="none", gid=f"{name} at {look}", zorder=5.0,
            )  # fmt: skip


def title_over(panels: list[Axes], words: str, rows: int) -> None:
    """A title above so many rows of events, and the time below."""
    panels[0].set_title(
        style.literal(words), fontsize=style.TEXT, color=INK, loc="left", pad=4 + ROW * max(rows, 2)
    )  # fmt: skip
    panels[-1].set_xlabel("time after the release begins [ms]", fontsize=style.TEXT, color=INK)


def mark_events(panels: list[Axes], events: list[Event]) -> int:
    """A line through all panels for each event, its words above, in the lowest row with room; how many rows."""
    span, most = np.ptp(panels[0].get_xlim()), panels[0].get_xlim()[1]
    ends: list[float] = []  # of the words in each row so far
    for event in events:
        at = 1e3 * event.time
        line = LOOKS[event.look].line_style if event.look else {"color": FAINT, "linestyle": ":", "linewidth": 1.0}
        for ax in panels:
            ax.axvline(at, zorder=1.5, gid=event.words, **line)
        width = LETTER * span * len(event.words)
        end = at if at > 0.9 * span else min(at + 0.5 * width, most)
        row = next((k for k, other in enumerate(ends) if other < end - width), len(ends))
        ends[row : row + 1] = [end]
        right = end in (at, most)
        panels[0].annotate(
            event.words, (end if right else at, 1.0), xycoords=("data", "axes fraction"), xytext=(0, 3 + ROW * row),
            textcoords="offset points", ha="right" if right else "center", fontsize=style.SMALL, color=INK,
        )  # fmt: skip
    return len(ends)
