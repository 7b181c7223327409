"""A sweep, one quantity a panel, at separation and at clear."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.errors import UsageError
from archerysim.show import style
from archerysim.show.style import FAINT, INK, LOOKS
from archerysim.show.sweeps import band
from archerysim.show.sweeps.axes import Along, event_names, failed, marked, shown_unit, varied, warnings_of
from archerysim.show.sweeps.sideways import against, is_difference, told

if TYPE_CHECKING:
    import xarray
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

PANELS = ("pitch", "pitch_rate", "vertical_velocity", "angle_of_attack")
DRAWN = ("pitch", "pitch_to_bow", "pitch_rate", "vertical_velocity", "angle_of_attack", "speed")
NAMES = {"pitch": "pitch to the aim line", "pitch_to_bow": "pitch in the bow's axes"}
SIGNS = {
    "pitch": ", nose up +",
    "pitch_rate": ", nose up +",
    "vertical_velocity": ", up +",
    "angle_of_attack": ", nose up +",
    "pitch_to_bow": ", nose up +",
    "aim_angle": ", nose up +",
    "yaw": ", nose out +",
    "yaw_rate": ", nose out +",
    "sideways_velocity": ", out +",
    "side_angle_of_attack": ", nose out +",
}
MARKS = {"today": "^", "square": "s"}
PLACES = {"today": "today", "square": "axis stands square"}
LEAST_RANGE = {"speed": 1.0}  # of an axis, in its unit: less than a shot can be measured to is not drawn large
WIDEST = 100  # letters of what was changed and held
MOST_LINES = 8
ONE_ROW = 0.5  # of the legend, for which there is room [cm]
HOLLOW = ("o", "s", "D", "^")
RAMP = ("#15133c", "#1f6f8b", "#d9b860")  # from dark to light, for values of a second parameter
LINES: tuple[Any, ...] = ("-", (0, (5, 1.5)), (0, (1.2, 1.2)), (0, (6, 1.5, 1.2, 1.5)))


def sweep(
    dataset: xarray.Dataset, quantities: Sequence[str] | None = None, moment: str = "clear", axes: Any = None
) -> Figure:
    """Draw a sweep, one panel per quantity.

    Over one parameter both moments are drawn. Over two, one line for each value of the second, or a filled
    contour where it has more than 8, at ``moment``. A point without numbers leaves a gap and a cross on the
    axis. An event that happened at some points only is marked there by hollow markers; one that happened
    at all of them is named in the title. The launches' warnings stand at the foot, those of limits first.

    A sweep with a band has it drawn under its lines at clear: where 90 % of the bows lie that fit what was measured.
    Over two parameters it is drawn under three lines at most, and not on a contour; the table holds it.

    Parameters
    ----------
    dataset : xarray.Dataset
        As `archerysim.sweep` returns it.
    quantities : sequence of str, optional
        Data variables, one per panel. Default: pitch to the aim line and in the bow's axes, pitch rate, vertical
        velocity, angle of attack and speed, as far as the sweep has them. Those sideways, such as
        ``side_angle_of_attack``, are drawn as differences from the setup's own point, where the sweep has it, else from
        its first: for a single shot they are poorly known.
    moment : {"clear", "separation"}
        For sweeps over two parameters.
    axes : sequence of Axes, optional
        One for each quantity.

    Returns
    -------
    Figure

    Raises
    ------
    UsageError
        If the sweep has more than two parameters, or lacks a quantity.

    Examples
    --------
    >>> import archerysim
    >>> from archerysim import show
    >>> setup = archerysim.load("examples/club-outdoor.toml")
    >>> data = archerysim.sweep(setup, {"nock.locators.reading": "6 mm:10 mm:2 mm"}, mesh="coarse")
    >>> len(show.sweep(data, ["pitch", "speed"]).axes)
    2
    """
    along = varied(dataset)
    if len(along) not in (1, 2):
        raise UsageError(
            "dataset",
            f"{len(along)} parameters were varied",
            "a picture shows one or two. Pick single values of the others with dataset.isel(...)",
        )
    own = axes is None
    if quantities is None:
        quantities = [one for one in DRAWN if one in dataset]
    count = len(quantities)
    columns = 2 if count > 1 else 1
    figure, panels = style.many_axes(axes, count, columns, 6.6, sharex=True)
    contour = len(along) == 2 and along[1].values.size > MOST_LINES
    for ax, quantity in zip(panels, quantities, strict=True):
        name, unit = _label(dataset, quantity)
        style.dress(ax, along[0].label, unit, name, grid=not contour)
        if contour:
            _contour(figure, ax, told(dataset, quantity, moment, along), along, unit)
        elif len(along) == 2:
            _family(ax, dataset, quantity, moment, along)
        else:
            _moments(ax, dataset, quantity, along[0])
        if quantity in SIGNS and not contour:
            ax.axhline(0.0, color=FAINT, linewidth=0.9, zorder=1.0, gid="zero")
        if quantity in LEAST_RANGE and not contour:
            _widened(ax, LEAST_RANGE[quantity])
        _axis(ax, dataset, along, contour)
        if own and columns == 2 and panels.index(ax) + columns < count:
            ax.set_xlabel("")
    _head(figure, panels, dataset, along, moment, quantities)
    _foot(figure, panels, dataset, own)
    return figure


def _widened(ax: Axes, least: float) -> None:
    """Have an axis reach over so much at least."""
    low, high = ax.get_ylim()
    if high - low < least:
        ax.set_ylim(0.5 * (low + high - least), 0.5 * (low + high + least))


def _label(dataset: xarray.Dataset, quantity: str) -> tuple[str, str]:
    """Name of a quantity with its sign, and its unit in brackets."""
    unit = shown_unit(dataset, quantity)
    name = NAMES.get(quantity, quantity.replace("_", " "))
    return name + SIGNS.get(quantity, ""), f"[{unit}]" if unit else ""


def _moments(ax: Axes, dataset: xarray.Dataset, quantity: str, along: Along) -> None:
    """Both moments over one parameter; one line where the quantity has no moments."""
    x = along.values[along.order]
    both = "moment" in dataset[quantity].dims if quantity in dataset else False
    for moment in ("separation", "clear") if both else ("clear",):
        y = told(dataset, quantity, moment, [along])[along.order]
        look = LOOKS[moment]
        drawn: dict[str, Any] = {**look.line_style, "marker": ".", "markersize": dot(x.size)}
        if along.apart:
            drawn |= {"linestyle": "none", "marker": look.marker, "markersize": 4.5}
        ax.plot(x, y, label=f"at {moment}" if both else "of the shot", gid=moment, **drawn)
        if moment == "clear" and band.has_band(dataset, quantity):
            low, high = (one[along.order] for one in band.ends(dataset, quantity, moment, [along]))
            band.fill(ax, along, low, high, look.color, "band")
        if not np.isfinite(y).any():
            ax.set_yticks([])
            style.note(ax, 0.5, 0.5, "at no point", transform=ax.transAxes, ha="center")
        _hollow(ax, dataset, [along], y, LOOKS[moment].color)


def _family(ax: Axes, dataset: xarray.Dataset, quantity: str, moment: str, along: list[Along]) -> None:
    """One line for each value of the second parameter."""
    first, second = along
    x = first.values[first.order]
    table = told(dataset, quantity, moment, along)
    colors = ramp(second.values.size)
    for n, k in enumerate(second.order):
        y = table[first.order, k]
        ax.plot(
            x, y, color=colors[n], linestyle="none" if first.apart else LINES[n % len(LINES)], linewidth=1.5,
            marker=".", markersize=dot(x.size), label=style.literal(f"{second.plain} {second.value_words(k)}"),
            gid=second.value_words(k),
        )  # fmt: skip
        if band.has_band(dataset, quantity) and second.values.size <= band.MOST_BANDS:
            low, high = (one[first.order, k] for one in band.ends(dataset, quantity, moment, along))
            band.fill(ax, first, low, high, colors[n], f"{second.value_words(k)} band")
        _hollow(ax, dataset, along, y, colors[n], k)


def dot(count: int) -> float:
    """Size of the dots on a line of ``count`` points [pt]."""
    return 5.0 if count <= 17 else 2.5


def ramp(count: int) -> list[Any]:
    """Colours from dark to light."""
    from matplotlib.colors import LinearSegmentedColormap

    return list(LinearSegmentedColormap.from_list("ramp", RAMP)(np.linspace(0.0, 1.0, count)))


def _contour(figure: Figure, ax: Axes, table: np.ndarray, along: list[Along], unit: str) -> None:
    from matplotlib.colors import LinearSegmentedColormap

    first, second = along
    ax.set_ylabel(second.label, fontsize=style.TEXT, color=INK)
    x, y = first.values[first.order], second.values[second.order]
    values = np.ma.masked_invalid(table[np.ix_(first.order, second.order)].T)
    if values.count() < 4 or np.ptp(values) == 0.0:
        style.note(ax, float(x.mean()), float(y.mean()), "too few values", ha="center")
        return
    drawn = ax.contourf(x, y, values, levels=12, cmap=LinearSegmentedColormap.from_list("ramp", RAMP))
    if values.min() < 0.0 < values.max():
        ax.contour(x, y, values, levels=[0.0], colors=["white"], linewidths=2.5)
        ax.contour(x, y, values, levels=[0.0], colors=[INK], linewidths=1.0)
    bar = figure.colorbar(drawn, ax=ax)
    bar.ax.tick_params(labelsize=style.SMALL)
    bar.set_label(unit, fontsize=style.TEXT)


def _hollow(ax: Axes, dataset: xarray.Dataset, along: list[Along], y: np.ndarray, color: Any, second: int = 0) -> None:
    """Hollow markers where an event happened at some points only."""
    dims = [one.dim for one in along]
    good = ~failed(dataset, dims)
    for (name, where), marker in zip(_some(dataset, dims, good).items(), HOLLOW, strict=False):
        here = (where if where.ndim == 1 else where[:, second])[along[0].order]
        x = along[0].values[along[0].order]
        ax.plot(
            x[here], y[here], marker=marker, markersize=7.0, markerfacecolor="none", markeredgecolor=color,
            markeredgewidth=0.8, linestyle="none", gid=f"event: {name}",
        )  # fmt: skip


def _some(dataset: xarray.Dataset, dims: list[str], good: np.ndarray) -> dict[str, np.ndarray]:
    """Events at some of the good points, not at all of them; those that always come together under one name."""
    out: dict[str, np.ndarray] = {}
    for name, where in event_names(dataset, dims).items():
        if where[good].all():
            continue
        twin = next((old for old, there in out.items() if (there == where).all()), None)
        if twin is None:
            out[name] = where
        else:
            out[f"{twin}; {name}"] = out.pop(twin)
    return out


def _axis(ax: Axes, dataset: xarray.Dataset, along: list[Along], contour: bool) -> None:
    """Failed points, today's value and the square's place."""
    from matplotlib.ticker import MaxNLocator

    first = along[0]
    if first.words:
        ax.set_xticks(first.values, [*map(style.literal, first.words)])
    else:
        ax.xaxis.set_major_locator(MaxNLocator(8, steps=[1, 2, 5, 10], integer=first.name == "case"))
    if contour and along[1].words:
        ax.set_yticks(along[1].values, [*map(style.literal, along[1].words)])
    lost = failed(dataset, [one.dim for one in along])
    lost = np.asarray(lost.reshape(first.values.size, -1).any(axis=1))
    ground = ax.get_xaxis_transform()
    if lost.any():
        ax.plot(
            first.values[lost], np.zeros(lost.sum()), transform=ground, marker="x", markersize=6.0, color=INK,
            linestyle="none", clip_on=False, zorder=6.0, gid="failed",
        )  # fmt: skip
    low, high = ax.get_xlim()
    for name, value in marked(dataset, first).items():
        if low <= value <= high:
            ax.axvline(
                value, color=INK if name == "today" else FAINT, linewidth=0.7, linestyle=(0, (1.5, 2.0)), zorder=1.0
            )
            ax.plot(
                [value], [0.0], transform=ground, marker=MARKS[name], markersize=7.0, color=INK, linestyle="none",
                markerfacecolor=INK if name == "today" else "white", clip_on=False, zorder=6.0, gid=name,
            )  # fmt: skip


def _head(
    figure: Figure, panels: list[Axes], dataset: xarray.Dataset, along: list[Along], moment: str,
    quantities: Sequence[str],
) -> None:  # fmt: skip
    """Title: what was swept, what was held, what is a difference, what happened at every point."""
    lines = [str(dataset.attrs.get("title", "sweep")) + (f", at {moment}" if len(along) == 2 else "")]
    if len(along) == 2 and along[1].values.size > MOST_LINES:
        lines[0] += "; zero along the line"
    for sentence in (*str(dataset.attrs.get("edits", "")).split("\n"), str(dataset.attrs.get("held", ""))):
        lines += textwrap.wrap(sentence, WIDEST)
    differ = [one.replace("_", " ") for one in quantities if is_difference(one)]
    if differ:
        lines += textwrap.wrap(f"against {against(dataset, along)}: {', '.join(differ)}; out: off the window", WIDEST)
    if len(along) == 1 or along[1].values.size <= band.MOST_BANDS:
        lines += textwrap.wrap("; ".join(band.sentences(dataset)), WIDEST)
    dims = [one.dim for one in along]
    good = ~failed(dataset, dims)
    everywhere = [name for name, where in event_names(dataset, dims).items() if good.any() and where[good].all()]
    if everywhere:
        lines.append(f"at every point: {'; '.join(everywhere)}")
    outside = []
    low, high = panels[0].get_xlim()
    for name, value in marked(dataset, along[0]).items():
        if not low <= value <= high:
            outside.append(f"{PLACES[name]} at {value:.1f} {along[0].unit}")
    if outside:
        lines.append(f"outside the picture: {', '.join(outside)}")
    figure.suptitle(style.literal("\n".join(lines)), fontsize=style.SMALL, color=INK, x=0.01, ha="left")


def _foot(figure: Figure, panels: list[Axes], dataset: xarray.Dataset, own: bool) -> None:
    """One legend for all panels, and the launches' warnings below it; a figure of our own grows by both."""
    from archerysim.shot.warnings import NONE

    handles = _handles(panels)
    longest = max((len(str(handle.get_label())) for handle in handles), default=0)
    columns = 4 if longest < 24 else 2 if longest < 48 else 1
    words = "\n".join(f"! {one}" for one in warnings_of(dataset)[0] if one != NONE)
    if own:
        more = max(0.0, style.foot_height(len(handles), words, columns) - ONE_ROW)
        figure.set_figheight(figure.get_figheight() + more * style.CENTIMETRE)
    style.foot(figure, handles, words, columns)


def _handles(panels: list[Axes]) -> list[Any]:
    """What the legend names: the lines, then what is marked."""
    from matplotlib.lines import Line2D

    handles: list[Any] = panels[0].get_legend_handles_labels()[0]
    ids = [line.get_gid() or "" for ax in panels for line in ax.lines]
    for gid, words, look in (
        ("today", PLACES["today"], {"marker": MARKS["today"], "color": INK}),
        ("square", PLACES["square"], {"marker": MARKS["square"], "color": INK, "markerfacecolor": "white"}),
        ("failed", "no result", {"marker": "x", "color": INK}),
    ):
        if gid in ids:
            handles.append(Line2D([], [], linestyle="none", markersize=6.0, label=words, **look))  # type: ignore[arg-type]
    for gid in dict.fromkeys(i for i in ids if i.startswith("event: ")):
        line = next(line for ax in panels for line in ax.lines if line.get_gid() == gid)
        handles.append(
            Line2D(
                [], [], linestyle="none", marker=line.get_marker(), markerfacecolor="none", markeredgecolor=INK,
                label=gid.removeprefix("event: "),
            )
        )  # fmt: skip
    return handles
