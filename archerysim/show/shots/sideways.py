"""The shot sideways over time: where nock and shaft are, what pushes them, yaw and sideways velocity."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from archerysim.show import style, text
from archerysim.show.shots.passing import sideways_events, words_below
from archerysim.show.shots.traces import Event, draw_lines, mark_events, mark_moments, title_over
from archerysim.show.style import MM

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from archerysim.shot.launch import Launch

UNDER = 0.8  # share of a panel's height in which the lines stay, the legend above


def sideways(launch: Launch, axes: Any = None) -> Figure:
    """Draw the nock's and the shaft's path sideways, the forces sideways, yaw and sideways velocity over time.

    Parameters
    ----------
    launch : Launch
        In both planes, with its trace.
    axes : sequence of 4 Axes, optional

    Returns
    -------
    Figure
        Paths from the bow's plane; yaw and velocity to the arrow's line at full draw.

    Raises
    ------
    UsageError
        If the launch has no trace, or was shot in one plane.

    Examples
    --------
    >>> import archerysim
    >>> from archerysim import show
    >>> figure = show.sideways(archerysim.shoot(archerysim.load("examples/club-outdoor.toml")))
    >>> len(figure.axes)
    4
    """
    trace, happened = launch.traced(), sideways_events(launch)
    figure, panels = style.many_axes(axes, 4, 1, 4.6, sharex=True)
    time, side = 1e3 * trace.time, text.away(launch.setup)
    rows = (
        (
            f"{side} (away from\nthe window) [mm]",
            (
                ("string", "nock", trace.nock_z / MM),
                ("arrow", "shaft beside the side support", trace.shaft_by_side_z / MM),
            ),
        ),
        (
            f"force, to the\n{side} + [N]",
            (
                ("side", "side support on the shaft", trace.side_support),
                ("string", "string on the nock", trace.groove),
            ),
        ),
        (f"yaw, nose {side} + [deg]", (("arrow", "", trace.yaw),)),
        (f"sideways velocity,\n{side} + [m/s]", (("arrow", "", trace.sideways_velocity),)),
    )
    draw_lines(panels, time, rows)
    for ax in panels[:2]:
        low, high = ax.get_ylim()
        ax.set_ylim(low, low + (high - low) / UNDER)
        style.legend(ax, loc="upper right", ncols=2, bbox_to_anchor=(0.985, 0.985))
    mark_moments(launch, ((panels[2], "yaw"), (panels[3], "sideways_velocity")))
    title_over(
        panels, f"{launch.setup.name}: sideways, from release to clear; places from the bow's plane",
        mark_events(panels, [*happened, Event(launch.clear.time, "clear", "clear")]),
    )  # fmt: skip
    figure.align_ylabels(panels)
    if axes is None:
        words_below(figure, launch)
    return figure
