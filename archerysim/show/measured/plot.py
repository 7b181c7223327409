"""Measured data beside the model: what was measured on what is computed, and the differences below."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.fields.units import from_si
from archerysim.show import style
from archerysim.show.measured.table import OTHER
from archerysim.show.style import FAINT, INK, LOOKS

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from archerysim.study.measured.compare import DataCompared, Residuals
    from archerysim.study.measured.fit_data import OwnFit

HEIGHT = 7.4  # of a panel with its residuals [cm]
MARKS = (LOOKS["clear"].marker, "s", "^", "D", "v", "P")  # of speeds by the distance of measuring


def own_data(result: DataCompared | OwnFit, figure: Figure | None = None) -> Figure:
    """Draw measured draw force, speeds and tracks over what the model says, with measured minus computed under each.

    Parameters
    ----------
    result : DataCompared or OwnFit
        For a fit, both the setup as it was (grey, broken line) and the one found are drawn.
    figure : Figure, optional
        An empty one.

    Returns
    -------
    Figure
        The band under each panel is the error stated for one measured value, either way. Speeds measured at several
        distances have a curve and a marker for each distance.

    Examples
    --------
    >>> import archerysim
    >>> from archerysim import show
    >>> speeds = archerysim.Speeds(arrow_mass=([19, 25], "g"), speed=([55.8, 50.4], "m/s"))
    >>> setup = archerysim.load("examples/club-outdoor.toml")
    >>> found = archerysim.compare_data(setup, archerysim.OwnData(speeds=speeds))
    >>> len(show.own_data(found).axes)  # speeds, and what is left below
    2
    """
    old, new = _both(result)
    count = len(new.tables)
    rows, across = -(-count // 2), min(count, 2)
    if figure is None:
        figure = style.new_figure(HEIGHT * rows + 1.2)
    grid = figure.add_gridspec(2 * rows, across, height_ratios=[2.6, 1.0] * rows)
    for k, table in enumerate(new.tables):
        row, column = divmod(k, 2)
        top: Any = figure.add_subplot(grid[2 * row, column])
        below: Any = figure.add_subplot(grid[2 * row + 1, column], sharex=top)
        if old is not None:
            _line(top, old, table.name, {"color": FAINT, "linestyle": (0, (3.0, 2.0)), "linewidth": 1.4}, "before")
        _line(top, new, table.name, {"color": INK, "linewidth": 1.6}, "computed" if old is None else "fitted")
        _points(top, table)
        style.dress(top, "", f"[{table.unit}]", table.name)
        top.tick_params(labelbottom=False)
        if table.unit in OTHER:
            other = OTHER[table.unit]
            style.second_axis(top, "right", from_si(1.0, other) / from_si(1.0, table.unit), f"[{other}]")
        _residuals(below, table, None if old is None else old.tables[k])
        if table.distance is not None:
            low, high = _in(np.array([table.at.min(), table.at.max()]), table.along_unit)
            below.set_xlim(low - 0.08 * (high - low) - 5.0, high + (0.12 + 0.12 * across) * (high - low) + 5.0)
    figure.suptitle(
        style.literal(f"{new.setup.name}: measured beside the model\n")
        + "below each: measured minus computed; grey band: the error stated",
        fontsize=style.TEXT, color=INK, x=0.01, ha="left",
    )  # fmt: skip
    handles = {
        str(one.get_label()): one for ax in figure.axes for one in ax.lines if not str(one.get_label()).startswith("_")
    }
    figure.legend(
        handles.values(), handles.keys(), loc="outside lower left", ncols=min(len(handles), 4), fontsize=style.SMALL,
        frameon=False,
    )  # fmt: skip
    figure.align_ylabels()
    return figure


def _both(result: Any) -> tuple[DataCompared | None, DataCompared]:
    return (result.before, result.after) if hasattr(result, "estimates") else (None, result)


def _points(ax: Axes, table: Residuals) -> None:
    look = LOOKS["clear"]
    seen = np.isfinite(table.measured)
    at, measured = _in(table.at, table.along_unit), _in(table.measured, table.unit)
    used = seen & np.isfinite(table.computed)
    for here, marker, place in _places(table):
        for which, face, words in ((here & used, look.color, "measured"), (here & seen & ~used, "none", "left out")):
            if which.any():
                ax.plot(
                    at[which], measured[which], marker=marker, markersize=3.2, linestyle="none", color=look.color,
                    markerfacecolor=face, label=f"{words}, {place}" if place else words, gid=words, zorder=4.0,
                )  # fmt: skip


def _places(table: Residuals) -> list[tuple[np.ndarray, str, str]]:
    """Rows of each distance of measuring, its marker and its words; one of all rows where no distance was given."""
    if table.distance is None:
        return [(np.ones(table.at.size, dtype=bool), MARKS[0], "")]
    given = np.nan_to_num(table.distance, nan=-1.0)  # at clear
    return [
        (given == one, MARKS[k % len(MARKS)], "at clear" if one < 0.0 else f"{one:g} m")
        for k, one in enumerate(np.unique(given))
    ]


def _line(ax: Axes, compared: DataCompared, name: str, look: dict[str, Any], words: str) -> None:
    """The computed curve of a table."""
    table, modelled, shift = compared.table(name), compared.modelled, compared.alignment
    if name == "draw force":
        assert modelled.draw_length is not None
        assert modelled.force is not None
        x, y = modelled.draw_length, modelled.force
    elif name == "arrow speed":
        for here, _, place in _places(table):
            order = np.argsort(table.at[here], kind="stable")
            x, y = table.at[here][order], table.computed[here][order]
            _plot(ax, x, y, table, look, words)
            if place and words != "before":
                ax.annotate(
                    place, (_in(x, table.along_unit)[-1], _in(y, table.unit)[-1]), (4, 0), textcoords="offset points",
                    va="center", fontsize=style.SMALL, color=INK,
                )  # fmt: skip
        return
    else:
        assert modelled.path is not None
        column = name.replace(" ", "_")
        last = modelled.path.time[-1] + shift.time_offset
        x = np.linspace(min(table.at[0], shift.time_offset), last, 400)
        y = modelled.path.at(column, x - shift.time_offset) + (shift.shift_x if column.endswith("x") else shift.shift_y)
    _plot(ax, x, y, table, look, words)


def _plot(ax: Axes, x: np.ndarray, y: np.ndarray, table: Residuals, look: dict[str, Any], words: str) -> None:
    ax.plot(_in(x, table.along_unit), _in(y, table.unit), label=words, gid=words, **look)


def _residuals(ax: Axes, table: Residuals, old: Residuals | None) -> None:
    at = _in(table.at, table.along_unit)
    error = from_si(table.error, table.unit)
    ax.axhspan(-error, error, color=style.PALE, zorder=0.5, gid="error")
    ax.axhline(0.0, color=FAINT, linewidth=0.8, zorder=1.0)
    if old is not None:
        ax.plot(
            at, _in(old.difference, table.unit), marker="x", markersize=3.4, linestyle="none", color=FAINT,
            gid="residual before", label="difference before",
        )  # fmt: skip
    for here, marker, _ in _places(table):
        ax.plot(
            at[here], _in(table.difference, table.unit)[here], marker=marker, markersize=3.0, linestyle="none",
            color=LOOKS["clear"].color, gid="residual",
        )  # fmt: skip
    style.dress(ax, f"{table.along} [{table.along_unit}]", f"[{table.unit}]", grid=False)
    most = np.nanmax(np.abs(ax.dataLim.intervaly)) if np.isfinite(ax.dataLim.intervaly).all() else error
    ax.set_ylim(-1.15 * max(most, error), 1.15 * max(most, error))


def _in(values: np.ndarray, unit: str) -> np.ndarray:
    """Values in SI as numbers in a unit."""
    return np.asarray(values) / (1.0 if not unit else _size(unit))


def _size(unit: str) -> float:
    return 1.0 / from_si(1.0, unit)
