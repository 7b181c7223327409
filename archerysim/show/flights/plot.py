"""The flight: heights of point and nock, and the angle of attack with its swing."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.errors import UsageError
from archerysim.show import style
from archerysim.show.flights.strips import DROP, look_of
from archerysim.show.style import FAINT, INK, LOOKS, MM

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from archerysim.shot.flight.fly import Flight
    from archerysim.shot.flight.swing import Swing
    from archerysim.shot.flight.swing_free import QuietPath

NOCK: Any = (0, (1.0, 1.3))
OTHERS: tuple[Any, ...] = ((0, (6.0, 1.5)), (0, (6.0, 1.5, 1.2, 1.5)))  # of further flights of one kind


def flight(
    flown: Flight | Sequence[Flight],
    labels: Sequence[str] | None = None,
    *,
    left_handed: bool = False,
    axes: Any = None,
) -> Figure:
    """Draw heights of point and nock against distance, a panel a flight, and the angle of attack of all of them.

    The drop is taken away as in `archerysim.show.strips`: level is
    ``archerysim.shot.flight.swing_free.quiet_path`` of the first
    fletched flight. In the last panel a bar shows one wavelength of the swing and thin lines how it dies away,
    where they fit; the numbers stand beside.

    Parameters
    ----------
    flown : Flight or sequence of Flight
    labels : sequence of str, optional
        One a flight. Default: "fletched", "bare".
    left_handed : bool
        The mirror image: the arrow flies to the left.
    axes : sequence of Axes, optional
        One a flight and one more.

    Returns
    -------
    Figure

    Raises
    ------
    UsageError
        If there is no flight, or labels and flights differ in number.
    """
    from archerysim.shot.flight.range_cautions import range_cautions
    from archerysim.shot.flight.swing_free import quiet_path

    flights = list(flown) if isinstance(flown, Sequence) else [flown]
    if not flights:
        raise UsageError("flown", "there is no flight to draw", "give one at least")
    words = list(labels) if labels is not None else [look_of(one) for one in flights]
    if len(words) != len(flights):
        raise UsageError("labels", f"{len(words)} given, {len(flights)} wanted", "give one for each flight")
    path = quiet_path(next((one for one in flights if one.fletched), flights[0]))
    figure, panels = style.many_axes(axes, len(flights) + 1, 1, 5.2, sharex=True)
    for ax, one, name in zip(panels, flights, words, strict=False):
        _heights(ax, one, path, name)
    lows, highs = zip(*(ax.get_ylim() for ax in panels[:-1]), strict=True)
    for ax in panels[:-1]:
        ax.set_ylim(min(lows), max(highs))
    _attack(panels[-1], flights, words)
    far = max(one.distance for one in flights)
    for ax in panels:
        ax.set_xlim((far, 0.0) if left_handed else (0.0, far))
    panels[-1].set_xlabel("distance from the bow [m]", fontsize=style.TEXT, color=INK)
    heading = style.literal(f"{_heading(flights)}\n{DROP}".strip())
    figure.suptitle(heading, fontsize=style.TEXT, color=INK, x=0.01, ha="left")
    figure.align_ylabels(panels)
    bare = any(not one.fletched for one in flights)
    style.foot(figure, [], "\n".join(range_cautions(far, bare, flights[0].category)))
    return figure


def _heading(flights: list[Flight]) -> str:
    """Bow, reading and distance, each where it is the same for all."""
    names, far = ({getattr(one, what) for one in flights} for what in ("name", "distance"))
    readings = {(one.reading, one.by) for one in flights}
    alone = float("nan")
    reading, by = readings.pop() if len(readings) == 1 else (alone, None)
    return style.heading(names.pop() if len(names) == 1 else "", reading, far.pop() if len(far) == 1 else alone, by)


def _heights(ax: Axes, flight: Flight, path: QuietPath, name: str) -> None:
    """Point and nock of one flight above the path without swing."""
    color = LOOKS[look_of(flight)].color
    ax.axhline(0.0, color=FAINT, linewidth=0.8, zorder=1.0)
    for end, x, y, line, width in (
        ("point", flight.nose_x, flight.nose_y, "-", 2.0),
        ("nock", flight.tail_x, flight.tail_y, NOCK, 1.6),
    ):
        ax.plot(x, (y - path.height(x)) / MM, color=color, linestyle=line, linewidth=width, label=end, gid=end)
    height = round(flight.impact_height / MM)
    lands = "the centre" if height == 0 else f"{abs(height)} mm {'above' if height > 0 else 'below'} the centre"
    where = f"point lands at {lands}" if height == 0 else f"point lands {lands}"
    style.dress(ax, y="height [mm]", title=f"{name}: {where}")
    style.legend(ax, loc="best", ncols=2)


def _attack(ax: Axes, flights: list[Flight], words: list[str]) -> None:
    """Angle of attack of all flights, with wavelength and decay of the first fletched one marked."""
    ax.axhline(0.0, color=FAINT, linewidth=0.8, zorder=1.0)
    seen: set[str] = set()
    for k, (one, name) in enumerate(zip(flights, words, strict=True)):
        look = LOOKS[look_of(one)]
        line = look.line if look_of(one) not in seen else OTHERS[k % len(OTHERS)]
        seen.add(look_of(one))
        ax.plot(
            one.x, one.angle_of_attack, color=look.color, linestyle=line, linewidth=look.width,
            label=style.literal(f"{name}: {swing_words(one.swing)}"), gid="angle of attack",
        )  # fmt: skip
    first = next((one for one in flights if one.fletched), flights[0])
    _marks(ax, first)
    style.dress(
        ax,
        y="angle [deg]",
        title="angle of attack: where the shaft points against where it goes; +: point up, tail low",
    )
    low, high = ax.get_ylim()
    ax.set_ylim(low, high + (0.16 * len(flights) + 0.15) * (high - low))
    style.legend(ax, loc="upper left")


def swing_words(swing: Swing) -> str:
    """Wavelength and decay in words."""
    if swing.wavelength is None:
        return "does not swing to and fro within 120 m"
    words = f"swings once in {swing.wavelength:.0f} m"
    if swing.decay_length is None:
        return f"{words}, does not die away"
    return f"{words}, falls to about a third in {swing.decay_length:.0f} m"


def _marks(ax: Axes, flight: Flight) -> None:
    """One wavelength between turning points, and the dying swing, as far as they fit."""
    swing = flight.swing
    end = float(flight.x[-1])
    color = LOOKS[look_of(flight)].color
    if swing.wavelength is None or swing.x.size < 3 or swing.decay_length is None:
        return
    steady, size = envelope(swing)
    x = np.linspace(float(flight.x[0]), end, 200)
    fall = size * np.exp(-(x - swing.x[0]) / swing.decay_length)
    for sign in (1.0, -1.0):
        ax.plot(
            x, steady + sign * fall, color=color, linewidth=0.8, alpha=0.6, gid="decay", zorder=1.8,
            label="thin: how the swing dies away" if sign > 0.0 else None,
        )  # fmt: skip
    if swing.x[2] < end:
        low, high = ax.get_ylim()
        level = low - 0.08 * (high - low)
        ax.set_ylim(low - 0.32 * (high - low), high)
        ax.vlines(
            swing.x[[0, 2]],
            level,
            swing.angle_of_attack[[0, 2]],
            colors=color,
            linewidths=0.8,
            zorder=1.7,
        )
        ax.annotate(
            "", (float(swing.x[2]), level), (float(swing.x[0]), level), gid="wavelength",
            arrowprops={"arrowstyle": "<->", "color": color, "shrinkA": 0, "shrinkB": 0, "mutation_scale": 9.0},
        )  # fmt: skip
        style.note(
            ax, 0.5 * float(swing.x[0] + swing.x[2]), level - 0.03 * (high - low),
            f"first swing {swing.x[2] - swing.x[0]:.0f} m", ha="center", va="top", color=color,
        )  # fmt: skip


def envelope(swing: Swing) -> tuple[float, float]:
    """Level about which a dying swing goes, and its size at the first turning point [deg].

    From the first two turning points: a0 = s + A, a1 = s - A exp(-way/decay).
    """
    assert swing.decay_length is not None
    first, second = swing.angle_of_attack[:2]
    share = float(np.exp(-(swing.x[1] - swing.x[0]) / swing.decay_length))
    size = float(first - second) / (1.0 + share)
    return float(first) - size, size
