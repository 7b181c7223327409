"""The flight: heights of point and nock, and the angle of attack with its swing."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.errors import UsageError
from archerysim.show import style
from archerysim.show.flights.looks import folded, legend_room, looks_of, names_of, numbered
from archerysim.show.flights.strips import DROP
from archerysim.show.style import FAINT, INK, MM, Look
from archerysim.show.text_widths import fold

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from archerysim.shot.flight.fly import Flight
    from archerysim.shot.flight.swing import Swing
    from archerysim.shot.flight.swing_free import QuietPath

NOCK: Any = (0, (1.0, 1.3))
TITLE = 13.2  # room for a panel's title [cm]
THIN = "Thin lines in the last panel: how the swing of the first fletched flight dies away, if it does."


def flight(
    flown: Flight | Sequence[Flight],
    labels: Sequence[str] | None = None,
    *,
    left_handed: bool | None = None,
    axes: Any = None,
) -> Figure:
    """Draw heights of point and nock against distance, one panel per flight, and the angle of attack of all of them.

    The drop is taken away as in `archerysim.show.strips`: level is ``archerysim.shot.flight.swing_free.quiet_path`` of
    the first fletched flight. In the last panel a bar shows one wavelength of the swing and thin lines how it dies
    away, where they fit; the numbers stand beside them.

    Parameters
    ----------
    flown : Flight or sequence of Flight
    labels : sequence of str, optional
        One per flight. Default: "fletched", "bare", with what they differ in. Equal ones are numbered.
    left_handed : bool, optional
        The mirror image: the arrow flies to the left. By default as the flights' archer draws.
    axes : sequence of Axes, optional
        One per flight and one more.

    Returns
    -------
    Figure

    Raises
    ------
    UsageError
        If there is no flight, labels and flights differ in number, or there are more than can be told apart.

    Examples
    --------
    >>> import archerysim
    >>> from archerysim import show
    >>> launch = archerysim.shoot(archerysim.load("examples/club-outdoor.toml"))
    >>> flown = [archerysim.fly(launch, distance="18 m", fletched=fletched) for fletched in (True, False)]
    >>> len(show.flight(flown).axes)
    3
    """
    from archerysim.shot.flight.range_cautions import range_cautions
    from archerysim.shot.flight.swing_free import quiet_path

    flights = list(flown) if isinstance(flown, Sequence) else [flown]
    if not flights:
        raise UsageError("flown", "there is no flight to draw", "give one at least")
    if labels is not None and len(labels) != len(flights):
        raise UsageError("labels", f"{len(labels)} given, {len(flights)} wanted", "give one for each flight")
    words = names_of(flights) if labels is None else numbered(labels)
    looks = looks_of(flights)
    path = quiet_path(next((one for one in flights if one.fletched), flights[0]))
    told = [folded(f"{name}: {swing_words(one.swing)}") for one, name in zip(flights, words, strict=True)]
    titles = [fold(f"{name}: {_lands(one)}", TITLE) for one, name in zip(flights, words, strict=True)]
    far = max(one.distance for one in flights)
    bare = any(not one.fletched for one in flights)
    foot = "\n".join((THIN, *range_cautions(far, bare, flights[0].category)))
    figure, panels = style.many_axes(axes, len(flights) + 1, 1, 5.2, sharex=True)
    if axes is None:
        more = 0.46 * sum(title.count("\n") for title in titles) + style.foot_height(len(told), foot, 1)
        figure.set_figheight(figure.get_figheight() + (more + legend_room(told, 1)) * style.CENTIMETRE)
    for ax, one, look, title in zip(panels, flights, looks, titles, strict=False):
        _heights(ax, one, path, look, title)
    lows, highs = zip(*(ax.get_ylim() for ax in panels[:-1]), strict=True)
    for ax in panels[:-1]:
        ax.set_ylim(min(lows), max(highs))
    handles = _attack(panels[-1], flights, looks, told)
    mirrored = flights[0].handed == "left" if left_handed is None else left_handed
    for ax in panels:
        ax.set_xlim((far, 0.0) if mirrored else (0.0, far))
    panels[-1].set_xlabel("distance from the bow [m]", fontsize=style.TEXT, color=INK)
    style.head(figure, *filter(None, (_heading(flights), DROP)))
    figure.align_ylabels(panels)
    style.foot(figure, handles, foot, columns=1, gap=legend_room(told, 1))
    return figure


def _heading(flights: list[Flight]) -> str:
    """Bow, reading and distance, each where it is the same for all."""
    names, far = ({getattr(one, what) for one in flights} for what in ("name", "distance"))
    readings = {(one.reading, one.by) for one in flights}
    alone = float("nan")
    reading, by = readings.pop() if len(readings) == 1 else (alone, None)
    return style.heading(names.pop() if len(names) == 1 else "", reading, far.pop() if len(far) == 1 else alone, by)


def _lands(flight: Flight) -> str:
    """Where the point of a flight lands."""
    height = round(flight.impact_height / MM)
    if height == 0:
        return "point lands at the centre"
    return f"point lands {abs(height)} mm {'above' if height > 0 else 'below'} the centre"


def _heights(ax: Axes, flight: Flight, path: QuietPath, look: Look, title: str) -> None:
    """Point and nock of one flight above the path without swing."""
    ax.axhline(0.0, color=FAINT, linewidth=0.8, zorder=1.0)
    for end, x, y, line, width in (
        ("point", flight.nose_x, flight.nose_y, "-", 2.0),
        ("nock", flight.tail_x, flight.tail_y, NOCK, 1.6),
    ):
        ax.plot(x, (y - path.height(x)) / MM, color=look.color, linestyle=line, linewidth=width, label=end, gid=end)
    style.dress(ax, y="height [mm]", title=title)
    style.legend(ax, loc="best", ncols=2)


def _attack(ax: Axes, flights: list[Flight], looks: list[Look], told: list[str]) -> list[Any]:
    """Angle of attack of all flights, with the first fletched one's swing marked; what the legend has."""
    ax.axhline(0.0, color=FAINT, linewidth=0.8, zorder=1.0)
    handles: list[Any] = []
    for one, look, words in zip(flights, looks, told, strict=True):
        handles += ax.plot(one.x, one.angle_of_attack, **look.line_style, label=words, gid="angle of attack")
    first = next((k for k, one in enumerate(flights) if one.fletched), 0)
    _marks(ax, flights[first], looks[first].color)
    style.dress(
        ax,
        y="angle [deg]",
        title="angle of attack: where the shaft points against where it goes; +: point up, tail low",
    )
    return handles


def swing_words(swing: Swing) -> str:
    """Wavelength and decay in words."""
    if swing.wavelength is None:
        return "does not swing to and fro within 120 m"
    words = f"swings once in {swing.wavelength:.0f} m"
    if swing.decay_length is None:
        return f"{words}, does not die away"
    return f"{words}, falls to about a third in {swing.decay_length:.0f} m"


def _marks(ax: Axes, flight: Flight, color: str) -> None:
    """One wavelength between turning points, and the dying swing, as far as they fit."""
    swing = flight.swing
    end = float(flight.x[-1])
    if swing.wavelength is None or swing.x.size < 3 or swing.decay_length is None:
        return
    steady, size = envelope(swing)
    x = np.linspace(float(flight.x[0]), end, 200)
    fall = size * np.exp(-(x - swing.x[0]) / swing.decay_length)
    for sign in (1.0, -1.0):
        ax.plot(
            x, steady + sign * fall, color=color, linewidth=0.8, alpha=0.6, gid="decay", zorder=1.8,
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
