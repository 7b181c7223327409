"""Path strips: the shaft at its true attitude at places along the path, the drop taken away, up-down enlarged."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.errors import UsageError
from archerysim.show import style
from archerysim.show.bare_shaft.plot import WHY, convention, shown
from archerysim.show.motion.scene import enlargement
from archerysim.show.style import FAINT, INK, LOOKS, MM

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from archerysim.shot.flight.fly import Flight
    from archerysim.shot.flight.swing_free import QuietPath
    from archerysim.study.bare_shaft.flights import Flights

SIDE = 2.6  # left and right of the panels in a new figure [cm]
TALLEST, LEAST = 4.6, 1.3  # of a panel [cm]
APART = 1.5  # places of the shaft stand this many shaft lengths apart, or further
MOST = 16  # places
MARGIN = 0.055  # of the distance, behind the target
TRUE = 0.8  # height of the strip that is not enlarged [cm]
THIN = 1.0  # line of a balance point's path [pt]
VANE = 0.3  # share of the shaft drawn thick for the fletching, for the picture only
ONE = "Heights are those of one computed bow; the target card shows how sure they are."
DROP = "drop taken away: level is the path of an arrow without swing, from the bow to the centre"


@dataclass(frozen=True)
class Strip:
    """One panel: its words and its flights, the first of them the one whose drop is taken away from all."""

    words: str
    flights: tuple[Flight, ...]
    wanted: float = math.nan  # height of the bare shaft by drag and mass alone [m]
    reason: str = ""  # why there is no flight


def strips(
    flown: Flights | Sequence[Flight | Sequence[Flight]],
    labels: Sequence[str] | None = None,
    *,
    enlarge: float | None = None,
    left_handed: bool = False,
    axes: Any = None,
) -> Figure:
    """Draw the arrow's way as strips, below each other on one scale.

    The shaft is drawn from its throat to its tip where it really is, and up and down is enlarged; so a lean and a
    swing look larger than they are by the number printed. The curve that is taken away from all heights of a strip
    is the `quiet_path` of its fletched flight: the smooth path, with the drop of drag and weight,
    on which that arrow would reach the target's centre if it did not swing. What is left is swing, and on the
    target the true height above the centre.

    Parameters
    ----------
    flown : Flights, or sequence of Flight or of sequences of Flight
        A strip a reading, or a strip an entry.
    labels : sequence of str, optional
        One a strip. Default: the readings in words.
    enlarge : float, optional
        How many times up-down is enlarged against along. Default: the largest of 1, 2, 5, ... 100 that fits.
    left_handed : bool
        The mirror image: the arrow flies to the left.
    axes : sequence of Axes, optional
        One a strip.

    Returns
    -------
    Figure
        Distance and height in m, heights told in mm.

    Raises
    ------
    UsageError
        If there is no flight, or labels and strips differ in number.
    """
    rows = strips_of(flown, labels)
    drawn = [row for row in rows if row.flights]
    if not drawn:
        raise UsageError("flown", "there is no flight to draw", "give one at least")
    paths = {id(row): _quiet(row) for row in drawn}
    far = max(one.distance for row in drawn for one in row.flights)
    low, high = _limits(drawn, paths)
    left, right = -0.6, far * (1.0 + MARGIN)
    long = right - left
    room = style.WIDTH - SIDE
    times = float(enlarge) if enlarge is not None else float(enlargement(TALLEST * long / (room * (high - low))))
    if times * (high - low) * room / long < LEAST:
        spare = 0.5 * (LEAST * long / (room * times) - (high - low))
        low, high = low - spare, high + spare
    height = times * (high - low) * room / long
    figure, plain, panels = _panels(axes, len(rows), height)
    for ax, row in zip(panels, rows, strict=True):
        style.dress(ax, y="height [mm]", title=row.words, grid=False)
        if row.flights:
            _strip(ax, row, paths[id(row)], 72.0 * style.CENTIMETRE * room / long, left_handed)
        else:
            ax.text(
                0.5, 0.5, style.literal(textwrap.fill(row.reason, 88)), transform=ax.transAxes, fontsize=style.SMALL,
                color=INK, ha="center", va="center", gid="reason",
            )  # fmt: skip
        _scales(ax, times, (left, right), (low, high), left_handed)
        ax.tick_params(labelbottom=ax is panels[-1])
    panels[-1].set_xlabel("distance from the bow [m]", fontsize=style.TEXT, color=INK)
    if plain is not None:
        last = drawn[-1]
        _true(plain, last, paths[id(last)], (left, right), left_handed, times)
    _head(figure, flown, drawn, times)
    return figure


def _panels(axes: Any, count: int, height: float) -> tuple[Figure, Axes | None, list[Axes]]:
    """The given axes, or those of a new figure after one for the strip that is not enlarged."""
    if axes is not None:
        figure, panels = style.many_axes(axes, count, 1, height)
        return figure, None, panels
    figure = style.new_figure(count * (height + 1.0) + 6.6)
    ratios = [TRUE, *([height] * count)]
    made = list(figure.subplots(count + 1, 1, squeeze=False, gridspec_kw={"height_ratios": ratios}).ravel())
    return figure, made[0], made[1:]


def _true(ax: Axes, row: Strip, path: QuietPath, limits: tuple[float, float], left_handed: bool, times: float) -> None:
    """One strip as it really is: up-down as along."""
    below = f"; below: up-down ×{times:g}" if times != 1.0 else ""
    which = row.words.partition(":")[0]
    style.dress(ax, title=f"{which} as it really looks, not enlarged{below}".strip(), grid=False)
    for flight in row.flights:
        tail, nose = ends(flight, path, places(flight))
        for (x0, y0), (x1, y1) in zip(tail.T, nose.T, strict=True):
            ax.plot([x0, x1], [y0, y1], color=LOOKS[look_of(flight)].color, linewidth=1.2, gid="true")
    ax.axvline(row.flights[0].distance, color=INK, linewidth=1.2, gid="target")
    half = 0.5 * TRUE * (limits[1] - limits[0]) / (style.WIDTH - SIDE)
    ax.set_xlim(limits[::-1] if left_handed else limits)
    ax.set_ylim(-half, half)
    ax.set_aspect(1.0)
    ax.set_xticks([])
    ax.set_yticks([])


def look_of(flight: Flight) -> str:
    """Name of a flight's colour and line."""
    return "fletched" if flight.fletched else "bare"


def _scales(ax: Axes, times: float, along: tuple[float, float], limits: tuple[float, float], left_handed: bool) -> None:
    """The same scale in every strip, the enlargement in its corner."""
    from matplotlib.ticker import FuncFormatter, MaxNLocator

    ax.set_xlim(along[::-1] if left_handed else along)
    ax.set_ylim(*limits)
    ax.text(
        0.99 if left_handed else 0.01, 0.03, f"up-down ×{times:g}", transform=ax.transAxes, fontsize=style.SMALL,
        color=INK, ha="right" if left_handed else "left", va="bottom", gid="enlargement",
    )  # fmt: skip
    ax.set_aspect(times)
    ax.xaxis.set_major_locator(MaxNLocator(9, steps=[1, 2, 5, 10]))
    ax.yaxis.set_major_locator(MaxNLocator(5, steps=[1, 2, 5, 10]))
    ax.yaxis.set_major_formatter(
        FuncFormatter(lambda v, _: f"{round(v / MM) + 0.0:+.0f}" if abs(v) > 0.5 * MM else "0")
    )


def strips_of(flown: Any, labels: Sequence[str] | None) -> list[Strip]:
    """The strips to draw, the fletched flight first in each."""
    if hasattr(flown, "rows"):
        rows = [
            Strip(
                landing_words(flown, row), tuple(one for one in (row.fletched, row.bare) if one), row.wanted, row.reason
            )
            for row in flown.rows
        ]
    else:
        sets = [tuple(one) if isinstance(one, Sequence) else (one,) for one in flown]
        top = convention_of(flight for one in sets for flight in one) == "top"
        rows = [Strip(_own_words(one, top), tuple(sorted(one, key=lambda flight: not flight.fletched))) for one in sets]
    if labels is None:
        return rows
    if len(labels) != len(rows):
        raise UsageError("labels", f"{len(labels)} given, {len(rows)} wanted", "give one for each strip")
    return [replace(row, words=words) for words, row in zip(labels, rows, strict=True)]


def convention_of(flights: Iterable[Flight]) -> str:
    """The convention by which all the flights' setups tell their readings; by the underside where they differ."""
    conventions = {one.by.convention for one in flights}
    return conventions.pop() if len(conventions) == 1 else "underside"


def _own_words(flights: tuple[Flight, ...], top: bool) -> str:
    """The reading of flights that have the same one."""
    from archerysim.equipment.readings import both_units

    readings = {float(shown(one.by, one.reading)) if top else one.reading for one in flights}
    return f"reading {both_units(readings.pop() * MM)}" if len(readings) == 1 and math.isfinite(min(readings)) else ""


def landing_words(flown: Flights, row: Any) -> str:
    """A reading, and where the bare shaft lands."""
    from archerysim.equipment.readings import both_units

    words = f"reading {both_units(shown(flown.by, row.reading) * MM)}"
    if abs(row.reading - flown.today) < 0.05:
        words += ", ▲ today"
    if row.reason:
        return f"{words}: no flight"
    size = round(row.apart / MM)
    if size == 0:
        return f"{words}: bare lands with fletched"
    return f"{words}: bare lands {abs(size)} mm {'high' if size > 0 else 'low'}"


def _quiet(row: Strip) -> QuietPath:
    from archerysim.shot.flight.swing_free import quiet_path

    return quiet_path(row.flights[0])


def ends(flight: Flight, path: QuietPath, x: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Tail and nose (2, k) each: distance and height above a path [m], the mass centre at places x."""
    tail_x, nose_x = np.interp(x, flight.x, flight.tail_x), np.interp(x, flight.x, flight.nose_x)
    tail = np.interp(x, flight.x, flight.tail_y) - path.height(tail_x)
    nose = np.interp(x, flight.x, flight.nose_y) - path.height(nose_x)
    return np.array([tail_x, tail]), np.array([nose_x, nose])


def places(flight: Flight) -> np.ndarray:
    """Where the shaft is drawn: mass centre from clear to the target [m]."""
    way = float(flight.x[-1] - flight.x[0])
    long = flight.nose_ahead + flight.tail_behind
    count = int(min(MOST, max(2, 1 + way // (APART * long))))
    return np.linspace(flight.x[0], flight.x[-1], count)


def _limits(rows: list[Strip], paths: dict[int, QuietPath]) -> tuple[float, float]:
    heights = [
        side[1] for row in rows for one in row.flights for side in ends(one, paths[id(row)], one.x)
    ]  # fmt: skip
    low, high = min(float(h.min()) for h in heights), max(float(h.max()) for h in heights)
    edge = 0.12 * (high - low) + 2.0 * MM
    return low - edge, high + edge


def _strip(ax: Axes, row: Strip, path: QuietPath, scale: float, left_handed: bool) -> None:
    """Shafts of one strip, the level line and the target; ``scale`` in points of the page for a metre along."""
    far = row.flights[0].distance
    ax.plot([-1.0, far], [0.0, 0.0], color=FAINT, linewidth=0.8, zorder=1.0, gid="path without swing")
    ax.axvline(far, color=INK, linewidth=1.2, zorder=1.5, gid="target")
    for flight in row.flights:
        name = look_of(flight)
        color = LOOKS[name].color
        ax.plot(
            flight.x, flight.y - path.height(flight.x), color=color, linewidth=THIN, alpha=0.7, zorder=2.0,
            gid=f"{name} path",
        )  # fmt: skip
        tail, nose = ends(flight, path, places(flight))
        for k, ((x0, y0), (x1, y1)) in enumerate(zip(tail.T, nose.T, strict=True)):
            words = name if k == 0 else None
            ax.plot(
                [x0, x1], [y0, y1], color=color, linewidth=2.4 if flight.fletched else 1.8, zorder=4.0,
                solid_capstyle="butt", gid=name, label=words,
            )  # fmt: skip
            if flight.fletched:
                wide = float(np.clip(0.3 * scale * (x1 - x0), 3.2, 5.0))
                ax.plot(
                    [x0, x0 + VANE * (x1 - x0)], [y0, y0 + VANE * (y1 - y0)], color=color, linewidth=wide, zorder=3.0,
                    solid_capstyle="butt", gid="fletching",
                )  # fmt: skip
        ax.plot(
            nose[0], nose[1], linestyle="none", marker="o", markersize=2.4, color=INK, zorder=5.0, gid=f"{name} point"
        )

    if math.isfinite(row.wanted):
        behind = [far * (1.0 + 0.1 * MARGIN), far * (1.0 + 0.95 * MARGIN)]
        ax.plot(behind, [row.wanted] * 2, zorder=6.0, gid="wanted", **style.WANTED_LINE)


def _head(figure: Figure, flown: Any, drawn: list[Strip], times: float) -> None:
    """Name, enlargement, what was taken away; the legend below; the cautions for bare and far shots."""
    from matplotlib.lines import Line2D

    from archerysim.shot.flight.range_cautions import range_cautions

    dot: Any = Line2D([], [], linestyle="none", marker="o", markersize=3.0, color=INK, label="point")
    looks = round(math.degrees(math.atan(times * math.tan(math.radians(1.0)))))
    one = drawn[0].flights[0]
    names = {flight.name for row in drawn for flight in row.flights}
    far = {flight.distance for row in drawn for flight in row.flights}
    name = style.heading(one.name if len(names) == 1 else "", distance=one.distance if len(far) == 1 else math.nan)
    size = f"up-down ×{times:g}"
    size += f" (a lean of 1° looks like {looks}°)" if looks > 1 else ""
    head = [f"{name}.  {size}" if name else size, DROP]
    if hasattr(flown, "rows"):
        head.append(convention(flown.by))
    elif any(row.words.startswith("reading") for row in drawn):
        head.append(f"readings to the {convention_of(flight for row in drawn for flight in row.flights)} of the nock")
    heading = style.literal("\n".join(head))
    figure.suptitle(heading, fontsize=style.TEXT, color=INK, x=0.01, ha="left", linespacing=1.4)
    shown = {look_of(one) for row in drawn for one in row.flights}
    handles = [
        Line2D([], [], color=LOOKS[name].color, linewidth=3.0, label=name)
        for name in ("fletched", "bare")
        if name in shown
    ]
    handles.append(dot)
    first = LOOKS[look_of(one)].color
    handles.append(Line2D([], [], color=first, linewidth=THIN, label="thin line: path of the balance point"))
    wanted = any(math.isfinite(row.wanted) for row in drawn)
    if wanted:
        handles.append(Line2D([], [], label=style.WANTED, **style.WANTED_LINE))
    bare = "bare" in shown
    cautions = range_cautions(max(far), bare, one.category)
    words = [*([WHY] if wanted else []), *([ONE] if bare else []), *cautions]
    style.foot(figure, handles, "\n".join(words), columns=3)
