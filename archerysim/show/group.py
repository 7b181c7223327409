"""Groups: where the shots strike up and down, bare and fletched, and how their launch scatters."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.show import style
from archerysim.show.style import FAINT, INK, LOOKS

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from archerysim.study.group import Group
    from archerysim.study.groups import LocatorGroups, ReadingGroups

KINDS = (("fletched", "fletched", "arrow"), ("bare", "bare shaft", "clear"))
LEAST = 6.0  # least height of the target shown [cm]


def group(result: Group, axes: Any = None) -> Figure:
    """Draw a group: a strip of the target, up and down to scale, and the pitch of each shot at clear.

    Parameters
    ----------
    result : Group
    axes : sequence of 2 Axes, optional

    Returns
    -------
    Figure
        Left: height on the target [cm], a dot a shot; dots are moved sideways only to be seen. Right: pitch against
        angle of attack at clear [deg].
    """
    figure, (strip, launch) = style.many_axes(axes, 2, 2, 12.5)
    for column, (name, words, look) in enumerate(KINDS):
        _column(strip, column, getattr(result, name), result, name, words, look)
    heights = np.concatenate([result.fletched, result.bare])
    _target(strip, heights)
    strip.set_xlim(-0.5, 1.6)
    strip.set_xticks([0, 1], [_numbers(result, name, words) for name, words, _ in KINDS])
    strip.tick_params(axis="x", length=0)
    style.dress(strip, "", "height above the centre [cm]")
    strip.xaxis.grid(False)
    _launches(launch, result)
    if axes is None:
        failed = f", {result.failed} without a result" if result.failed else ""
        figure.suptitle(
            f"{result.setup.name}: {result.count} shots at {result.distance:g} m, one sight{failed}",
            fontsize=style.TEXT, color=INK, x=0.01, ha="left",
        )  # fmt: skip
        _foot(figure, "Bar: one standard deviation either way; up and down only, without aiming and wind.")
    return figure


def _column(ax: Axes, place: int, heights: np.ndarray, result: Group, name: str, words: str, look: str) -> None:
    known = heights[np.isfinite(heights)]
    order = np.argsort(np.argsort(known, kind="stable"), kind="stable")
    aside = place + 0.11 * (order % 5 - 2.0)
    color = LOOKS[look].color
    ax.plot(aside, known, marker="o", markersize=4.2, linestyle="none", color=color, alpha=0.75,
            markeredgecolor="white", markeredgewidth=0.4, gid=f"shots, {words}")  # fmt: skip
    spread = result.spread(name)
    if not np.isfinite(spread.deviation):
        return
    ax.errorbar([place + 0.36], [spread.mean], yerr=[spread.deviation], color=INK, linewidth=1.4, capsize=4.0,
                marker="_", markersize=7.0, linestyle="none")  # fmt: skip


def _numbers(result: Group, name: str, words: str) -> str:
    """The words under a column."""
    spread = result.spread(name)
    if not np.isfinite(spread.deviation):
        return words
    return (
        f"{words}\n± {spread.deviation:.2f} cm\n({spread.low:.2f} to {spread.high:.2f})\nfull spread "
        f"{spread.full:.1f} cm"
    )


def _target(ax: Axes, heights: np.ndarray) -> None:
    """The centre's line, and room enough that a small group looks small."""
    known = heights[np.isfinite(heights)]
    low, high = (float(known.min()), float(known.max())) if known.size else (0.0, 0.0)
    low, high = min(low, 0.0), max(high, 0.0)
    room = max(0.0, LEAST - (high - low)) / 2.0 + 0.06 * (high - low)
    ax.set_ylim(low - room, high + room)
    ax.axhline(0.0, color=FAINT, linewidth=0.9, linestyle=(0, (2.0, 2.0)), zorder=1.0, gid="centre")


def _launches(ax: Axes, result: Group) -> None:
    ax.axhline(0.0, color=FAINT, linewidth=0.8, zorder=1.0)
    ax.axvline(0.0, color=FAINT, linewidth=0.8, zorder=1.0)
    look = LOOKS["arrow"]
    ax.plot(result.angle_of_attack, result.pitch, marker="o", markersize=4.2, linestyle="none", color=look.color,
            alpha=0.75, markeredgecolor="white", markeredgewidth=0.4, gid="launches")  # fmt: skip
    clear = result.nominal.clear
    ax.plot([clear.angle_of_attack], [clear.pitch], marker="+", markersize=11.0, markeredgewidth=1.8, color=INK,
            linestyle="none", gid="without scatter", zorder=4.0, label="without scatter")  # fmt: skip
    both = (result.angle_of_attack, clear.angle_of_attack), (result.pitch, clear.pitch)
    for values, middle, limits in ((*both[0], ax.set_xlim), (*both[1], ax.set_ylim)):
        known = np.append(values[np.isfinite(values)], [middle, 0.0])
        reach = max(0.06, float(np.ptp(known)) * 0.12)
        limits(float(known.min()) - reach, float(known.max()) + reach)
    attack, pitch = result.spread("angle_of_attack"), result.spread("pitch")
    style.dress(ax, "angle of attack at clear [deg]", "pitch at clear, nose up + [deg]")
    if np.isfinite(pitch.deviation):
        ax.set_title(
            f"pitch ± {pitch.deviation:.3f}°, attack ± {attack.deviation:.3f}°", fontsize=style.SMALL, color=INK,
            loc="left",
        )  # fmt: skip
    style.legend(ax, loc="best")


def group_by_reading(result: ReadingGroups, axes: Any = None) -> Figure:
    """Draw how the scatter changes with the reading, off the best.

    Parameters
    ----------
    result : ReadingGroups
    axes : sequence of 2 Axes, optional

    Returns
    -------
    Figure
        Standard deviations against the reading less the best [mm]: of heights [cm], of the launch [deg]; bars are 95 %
        intervals. The same hands at every reading, so that differences are surer than the bars.
    """
    figure, (heights, launch) = style.many_axes(axes, 2, 2, 9.6)
    rows = (
        (heights, "cm", (("fletched", "fletched", "arrow"), ("bare", "bare shaft", "clear"))),
        (launch, "deg", (("pitch", "pitch", "upper"), ("angle_of_attack", "angle of attack", "lower"))),
    )
    for ax, unit, lines in rows:
        for shift, (name, words, look) in zip((-0.06, 0.06), lines, strict=True):
            _line(ax, result, name, words, look, shift)
        ax.axvline(0.0, color=FAINT, linewidth=0.9, linestyle=(0, (2.0, 2.0)), zorder=1.0)
        ax.set_ylim(0.0, 1.28 * ax.get_ylim()[1])
        style.dress(ax, "reading less the best [mm]", f"standard deviation [{unit}]")
        style.legend(ax, loc="upper left")
    if axes is None:
        one = next((g for g in result.groups if g is not None), None)
        told = "" if one is None else f"{one.setup.name}: {one.count} shots each at {one.distance:g} m, the same hands"
        figure.suptitle(told, fontsize=style.TEXT, color=INK, x=0.01, ha="left")
        _foot(figure, f"Best reading {result.best:.1f} mm by the underside ({result.how}); bars: 95 % intervals.")
    return figure


def _line(ax: Axes, result: ReadingGroups, name: str, words: str, look: str, shift: float) -> None:
    kept = [(o, g.spread(name)) for o, g in zip(result.offsets, result.groups, strict=True) if g is not None]
    kept = [(o, s) for o, s in sorted(kept, key=lambda pair: pair[0]) if np.isfinite(s.deviation)]
    if not kept:
        return
    x = np.array([o for o, _ in kept]) + shift
    y = np.array([s.deviation for _, s in kept])
    error = np.array([[s.deviation - s.low for _, s in kept], [s.high - s.deviation for _, s in kept]])
    style_of = LOOKS[look]
    ax.errorbar(x, y, yerr=error, fmt="none", ecolor=style_of.color, elinewidth=0.9, capsize=2.5, alpha=0.7)
    ax.plot(x, y, marker=style_of.marker, markersize=5.0, label=words, gid=name, **style_of.line_style)


def locators_compared(result: LocatorGroups, ax: Axes | None = None) -> Axes:
    """Draw the standard deviation of heights with each fit of the locators.

    Parameters
    ----------
    result : LocatorGroups
    ax : Axes, optional

    Returns
    -------
    Axes
        Standard deviation [cm] to the right, with its 95 % interval.
    """
    given = ax is not None
    ax = style.one_axes(ax, 3.8 + 1.5 * len(result.names))
    for row, (one, reason) in enumerate(zip(result.groups, result.reasons, strict=True)):
        if one is None:
            style.note(ax, 0.0, row, "  no result (see the table)" if reason else "", va="center")
            continue
        for at, (name, words, look) in zip((-0.2, 0.2), KINDS, strict=True):
            spread = one.spread(name)
            known = row == next(k for k, g in enumerate(result.groups) if g is not None)
            ax.barh(row + at, spread.deviation, height=0.36, color=LOOKS[look].color, gid=f"{name} {row}",
                    label=words if known else None)  # fmt: skip
            ax.plot([spread.low, spread.high], [row + at] * 2, color=INK, linewidth=1.2, marker="|", markersize=6.0)
    ax.set_yticks(range(len(result.names)), result.names)
    ax.set_ylim(len(result.names) - 0.45, -0.55)
    first = next((g for g in result.groups if g is not None), None)
    title = (
        "" if first is None else f"{first.setup.name}: {first.count} shots each at {first.distance:g} m, the same hands"
    )
    style.dress(ax, "standard deviation of the height [cm], with its 95 % interval", title=title)
    ax.yaxis.grid(False)
    ax.set_xlim(left=0.0)
    if first is not None:
        style.legend(ax, loc="best")
    if not given:
        _foot(ax.figure)
    return ax


def _foot(figure: Any, words: str = "") -> None:
    """Words under a picture, with the caution for bare shafts."""
    from archerysim.shot.bare import CAUTION

    lines = [words] if words else []
    lines += textwrap.wrap(CAUTION, 108)
    figure.supxlabel("\n".join(lines), fontsize=style.SMALL, color=INK, linespacing=1.25)
