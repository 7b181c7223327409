"""Path strips: the shaft at its true attitude along the way, from the side and from above, enlarged across."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.errors import UsageError
from archerysim.show import style
from archerysim.show.bare_shaft.plot import WHY, convention
from archerysim.show.flights.looks import folded, legend_room
from archerysim.show.flights.strip_rows import Strip, Told, convention_of, strips_of, told_apart
from archerysim.show.flights.strip_views import (
    MARGIN,
    THIN,
    FromAbove,
    FromTheSide,
    View,
    draw,
    ends,
    limits,
    places,
    scales,
)
from archerysim.show.motion.scene import enlargement
from archerysim.show.style import INK
from archerysim.show.text import other
from archerysim.show.text_widths import fold

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from archerysim.shot.flight.fly import Flight
    from archerysim.shot.flight.swing_free import QuietPath
    from archerysim.study.bare_shaft.flights import Flights

SIDE = 2.6  # left and right of the panels in a new figure [cm]
TALLEST, LEAST = 4.6, 1.3  # of a panel [cm]
LINE = 0.46  # of a title [cm]
TRUE = 0.8  # height of the strip that is not enlarged [cm]
TITLE = 12.6  # room for a panel's title [cm]
ONE = "Heights are those of one computed bow; the target card shows how certain they are."
ASIDE = (
    "From above: one computed bow. How far to the side it sends a bare shaft depends on the roll of the fingers, "
    "which nobody measures; believe only its changes."
)
DROP = "drop taken out: level is the path of an arrow without swing, from the bow to the centre"


@dataclass(frozen=True)
class _Panel:
    """A strip in one view."""

    row: Strip
    view: View
    title: str
    limits: tuple[float, float]
    times: float
    height: float


def strips(
    flown: Flights | Sequence[Flight | Sequence[Flight]],
    labels: Sequence[str] | None = None,
    *,
    enlarge: float | None = None,
    left_handed: bool | None = None,
    axes: Any = None,
) -> Figure:
    """Draw the arrow's way as strips, one below the other: from the side, and from above for a shot in both planes.

    The shaft is drawn from its throat to its tip where it really is, and up and down, or left and right, is enlarged;
    so a lean and a swing look larger than they are, by the factor printed. The curve that is taken away from all places
    of a strip is the `quiet_path` of its fletched flight: the smooth path, with the drop of drag and weight, on which
    that arrow would reach the target's centre if it did not swing. What is left is swing, and on the target the true
    place beside the centre. Where several readings of a bow are drawn, the one nearest to today's is shown from above.

    Parameters
    ----------
    flown : Flights, or sequence of Flight or of sequences of Flight
        One strip per reading, or per entry. Flights that differ have a colour and a name each.
    labels : sequence of str, optional
        One per strip. Default: the readings in words.
    enlarge : float, optional
        How many times distances across are enlarged against those along. Default: the largest of 1, 2, 5, ... 100 that
        fits, for each view.
    left_handed : bool, optional
        The mirror image: the arrow flies to the left, and from above the archer's right is up. By default as the
        flights' archer draws.
    axes : sequence of Axes, optional
        One per strip, those from above after those from the side; or only those from the side.

    Returns
    -------
    Figure
        Distance and place in m, labelled in mm.

    Raises
    ------
    UsageError
        If there is no flight, labels and strips differ in number, or more flights differ than can be told apart.

    Examples
    --------
    >>> import archerysim
    >>> from archerysim import show
    >>> found = archerysim.flights(archerysim.load("examples/club-outdoor.toml"), "4 mm:8 mm:4 mm", mesh="coarse")
    >>> len(show.strips(found).axes)
    4
    """
    rows = strips_of(flown, labels)
    drawn = [row for row in rows if row.flights]
    if not drawn:
        raise UsageError("flown", "there is no flight to draw", "give one at least")
    told = told_apart(drawn)
    handed = drawn[0].flights[0].handed
    mirrored = handed == "left" if left_handed is None else left_handed
    paths = {id(row): _quiet(row) for row in drawn}
    far = max(one.distance for row in drawn for one in row.flights)
    span = (-0.6, far * (1.0 + MARGIN))
    above = [row for row in drawn if row.from_above and all(math.isfinite(one.impact_side) for one in row.flights)]
    if axes is not None and np.size(axes) == len(rows):
        above = []
    panels = _panels(rows, drawn, paths, FromTheSide(), enlarge, span)
    panels += _panels(above, above, paths, FromAbove(other(handed), mirrored), enlarge, span)
    head = _heading(flown, drawn, panels)
    figure, plain, made = _axes(axes, panels, head, told, drawn)
    scale = 72.0 * style.CENTIMETRE * (style.WIDTH - SIDE) / (span[1] - span[0])
    for ax, panel in zip(made, panels, strict=True):
        style.dress(ax, y=panel.view.label, title=panel.title, grid=False)
        if panel.row.flights:
            draw(ax, panel.view, panel.row, paths[id(panel.row)], told, scale)
        else:
            ax.text(
                0.5, 0.5, style.literal(textwrap.fill(panel.row.reason, 88)), transform=ax.transAxes,
                fontsize=style.SMALL, color=INK, ha="center", va="center", gid="reason",
            )  # fmt: skip
        scales(ax, panel.view, panel.times, span, panel.limits, mirrored)
        ax.tick_params(labelbottom=ax is made[-1])
    made[-1].set_xlabel("distance from the bow [m]", fontsize=style.TEXT, color=INK)
    if plain is not None:
        _true(plain, drawn[-1], paths[id(drawn[-1])], told, span, mirrored)
    style.head(figure, *head)
    _foot(figure, drawn, told, bool(above))
    return figure


def _panels(
    rows: list[Strip], drawn: list[Strip], paths: dict[int, QuietPath], view: View, enlarge: float | None,
    span: tuple[float, float],
) -> list[_Panel]:  # fmt: skip
    """The strips of one view, all of one scale."""
    if not rows:
        return []
    long, room = span[1] - span[0], style.WIDTH - SIDE
    low, high = limits(view, drawn, paths)
    times = float(enlarge) if enlarge is not None else float(enlargement(TALLEST * long / (room * (high - low))))
    if times * (high - low) * room / long < LEAST:
        spare = 0.5 * (LEAST * long / (room * times) - (high - low))
        low, high = low - spare, high + spare
    height = times * (high - low) * room / long
    from_above = isinstance(view, FromAbove)
    titles = [": ".join(filter(None, ("from above", row.name))) if from_above else row.words for row in rows]
    titles = [fold(title, TITLE) for title in titles]
    return [_Panel(row, view, title, (low, high), times, height) for row, title in zip(rows, titles, strict=True)]


def _axes(
    axes: Any, panels: list[_Panel], head: list[str], told: dict[int, Told], drawn: list[Strip]
) -> tuple[Figure, Axes | None, list[Axes]]:
    """The given axes, or those of a new figure after one for the strip that is not enlarged."""
    if axes is not None:
        figure, made = style.many_axes(axes, len(panels), 1, 1.0)
        return figure, None, made
    heights = [one.height for one in panels]
    names = list(dict.fromkeys(one.name for one in told.values()))
    lines = style.head_lines(head) - len(head) + _true_title(drawn[-1]).count("\n")
    more = LINE * (lines + sum(one.title.count("\n") for one in panels))
    more += legend_room([folded(one) for one in names], 1) + 0.5 * max(0, len(names) - 2)
    figure = style.new_figure(sum(heights) + 1.0 * len(panels) + 6.6 + more)
    ratios = [TRUE, *heights]
    made = list(figure.subplots(len(panels) + 1, 1, squeeze=False, gridspec_kw={"height_ratios": ratios}).ravel())
    return figure, made[0], made[1:]


def _true(
    ax: Axes, row: Strip, path: QuietPath, told: dict[int, Told], span: tuple[float, float], mirrored: bool
) -> None:  # fmt: skip
    """One strip from the side as it really is: up-down as along."""
    style.dress(ax, title=_true_title(row), grid=False)
    for flight in row.flights:
        tail, nose = ends(FromTheSide(), flight, path, places(flight))
        for (x0, y0), (x1, y1) in zip(tail.T, nose.T, strict=True):
            ax.plot([x0, x1], [y0, y1], color=told[id(flight)].look.color, linewidth=1.2, gid="true")
    ax.axvline(row.flights[0].distance, color=INK, linewidth=1.2, gid="target")
    half = 0.5 * TRUE * (span[1] - span[0]) / (style.WIDTH - SIDE)
    ax.set_xlim(span[::-1] if mirrored else span)
    ax.set_ylim(-half, half)
    ax.set_aspect(1.0)
    ax.set_xticks([])
    ax.set_yticks([])


def _true_title(row: Strip) -> str:
    """Title of the strip that is not enlarged."""
    return fold(f"{row.name} as it really looks, not enlarged".strip(), TITLE)


def _quiet(row: Strip) -> QuietPath:
    from archerysim.shot.flight.swing_free import quiet_path

    return quiet_path(row.flights[0])


def _heading(flown: Any, drawn: list[Strip], panels: list[_Panel]) -> list[str]:
    """Name, enlargement, what was taken away."""
    times = panels[0].times
    looks = round(math.degrees(math.atan(times * math.tan(math.radians(1.0)))))
    names = {flight.name for row in drawn for flight in row.flights}
    far = {flight.distance for row in drawn for flight in row.flights}
    one = drawn[0].flights[0]
    name = style.heading(one.name if len(names) == 1 else "", distance=one.distance if len(far) == 1 else math.nan)
    size = f"up-down ×{times:g}"
    size += f" (a lean of 1° looks like {looks}°)" if looks > 1 else ""
    head = [f"{name}.  {size}" if name else size, DROP]
    if hasattr(flown, "rows"):
        head.append(convention(flown.by))
    elif any(row.words.startswith("reading") for row in drawn):
        head.append(f"readings to the {convention_of(flight for row in drawn for flight in row.flights)} of the nock")
    return head


def _foot(figure: Figure, drawn: list[Strip], told: dict[int, Told], above: bool) -> None:
    """The legend; the cautions for bare and far shots."""
    from matplotlib.lines import Line2D

    from archerysim.shot.flight.range_cautions import range_cautions

    flights = [one for row in drawn for one in row.flights]
    seen = {one.name: one.look for one in told.values()}
    handles = [
        Line2D([], [], color=look.color, linestyle=look.line, linewidth=3.0, label=folded(name))
        for name, look in sorted(seen.items(), key=lambda pair: not pair[0].startswith("fletched"))
    ]
    dot: Any = Line2D([], [], linestyle="none", marker="o", markersize=3.0, color=INK, label="point")
    handles.append(dot)
    first = told[id(flights[0])].look.color
    handles.append(Line2D([], [], color=first, linewidth=THIN, label="thin line: path of the balance point"))
    wanted = any(math.isfinite(row.wanted) for row in drawn)
    if wanted:
        handles.append(Line2D([], [], label=style.WANTED, **style.WANTED_LINE))
    bare = any(not one.fletched for one in flights)
    cautions = range_cautions(max(one.distance for one in flights), bare, flights[0].category)
    notes = [WHY] * wanted + [ONE] * bare + [ASIDE] * above
    labels = [str(one.get_label()) for one in handles]
    columns = 3 if set(seen) <= {"fletched", "bare"} else 1
    style.foot(figure, handles, "\n".join((*notes, *cautions)), columns=columns, gap=legend_room(labels, columns))
