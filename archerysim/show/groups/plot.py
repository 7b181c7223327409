"""Groups: where the shots strike up and down, bare and fletched, and how their launch scatters."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.equipment.readings import read_by
from archerysim.fields.units import target_distance
from archerysim.show import style, text
from archerysim.show.style import FAINT, INK, LOOKS, MM

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from archerysim.study.groups.compare import LocatorGroups, ReadingGroups
    from archerysim.study.groups.group import Group
    from archerysim.study.groups.spread import Ratio

KINDS = (("fletched", "fletched"), ("bare", "bare shaft"))
LEAST = 6.0  # least height of the target shown [cm]
ASIDE = 0.2  # how far dots are moved sideways at most, of the way between two columns
GREY = "#8c8c8c"
OUTSIDE = "Without aiming and wind: a real group is wider."
SLIDING = "A nock with play settles as if without friction: a real one may lie elsewhere in its play."
INTERVAL = "95 %: where the standard deviation would lie after endless shooting."


def group(result: Group, axes: Any = None) -> Figure:
    """Draw a group: a strip of the target, up and down to scale, and how each shaft leaves the bow.

    Parameters
    ----------
    result : Group
    axes : sequence of 2 Axes, optional

    Returns
    -------
    Figure
        Left: height on the target [cm], one dot per shot; sideways means nothing. Right: pitch against angle of attack
        at clear [deg].

    Examples
    --------
    >>> import archerysim
    >>> from archerysim import show
    >>> found = archerysim.group(archerysim.load("examples/club-outdoor.toml"), 6, mesh="coarse")
    >>> len(show.group(found).axes)
    2
    """
    new = axes is None
    figure, (strip, launch) = style.many_axes(axes, 2, 2, 12.5, width_ratios=(1.7, 1.0))
    for column, (name, words) in enumerate(KINDS):
        _column(strip, column, getattr(result, name), result, name, words)
    heights = np.concatenate([result.fletched, result.bare])
    _target(strip, heights)
    strip.set_xlim(-0.4, 1.55)
    strip.set_xticks([0, 1], [_numbers(result, name, words) for name, words in KINDS])
    strip.tick_params(axis="x", length=0)
    style.dress(strip, "", "height above the centre [cm]", "sideways means nothing")
    strip.xaxis.grid(False)
    _launches(launch, result)
    if new:
        failed = f", {result.failed} without a result" if result.failed else ""
        style.head(
            figure, _bow(result, result.nominal.reading),
            f"{result.count} shots at {target_distance(result.distance)}, one sight{failed}. {OUTSIDE}",
        )  # fmt: skip
        _foot(figure, result, f"Bar and ±: one standard deviation. {INTERVAL}")
    return figure


def _bow(group: Group, reading: float) -> str:
    """Name, and reading by the underside [mm] as the setup tells it."""
    return f"{group.setup.name}, {text.reading(reading * MM, read_by(group.setup))}"


def _column(ax: Axes, place: int, heights: np.ndarray, result: Group, name: str, words: str) -> None:
    known = heights[np.isfinite(heights)]
    aside = place + ASIDE * np.random.default_rng([result.seed, place]).uniform(-1.0, 1.0, known.size)
    look = LOOKS[name]
    ax.plot(aside, known, marker=look.marker, markersize=4.6, linestyle="none", color=look.color, alpha=0.8,
            markeredgecolor="white", markeredgewidth=0.4, gid=f"shots, {words}")  # fmt: skip
    spread = result.spread(name)
    if not np.isfinite(spread.deviation):
        return
    ax.errorbar([place + 0.33], [spread.mean], yerr=[spread.deviation], color=INK, linewidth=1.4, capsize=4.0,
                marker="_", markersize=7.0, linestyle="none")  # fmt: skip


def _numbers(result: Group, name: str, words: str) -> str:
    """The words under a column."""
    spread = result.spread(name)
    if not np.isfinite(spread.deviation):
        return words
    return (
        f"{words}\n± {spread.deviation:.2f} cm\n95 %: {spread.low:.2f} to {spread.high:.2f} cm\n"
        f"highest to lowest {spread.full:.1f} cm"
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
    """One dot a shot: it is the same launch with and without fletching."""
    ax.axhline(0.0, color=FAINT, linewidth=0.8, zorder=1.0)
    ax.axvline(0.0, color=FAINT, linewidth=0.8, zorder=1.0)
    ax.plot(result.angle_of_attack, result.pitch, marker="o", markersize=3.6, linestyle="none", color=GREY,
            markeredgecolor="white", markeredgewidth=0.4, gid="launches")  # fmt: skip
    clear = result.nominal.clear
    ax.plot([clear.angle_of_attack], [clear.pitch], marker="+", markersize=10.0, markeredgewidth=1.8, color=INK,
            linestyle="none", gid="without scatter", zorder=4.0, label="without scatter")  # fmt: skip
    both = (result.angle_of_attack, clear.angle_of_attack), (result.pitch, clear.pitch)
    for values, middle, limits in ((*both[0], ax.set_xlim), (*both[1], ax.set_ylim)):
        known = np.append(values[np.isfinite(values)], [middle, 0.0])
        reach = max(0.06, float(np.ptp(known)) * 0.12)
        limits(float(known.min()) - reach, float(known.max()) + reach)
    style.dress(ax, "angle of attack,\nnose up + [deg]", "pitch, nose up + [deg]", "how they leave the bow")
    ax.locator_params(axis="x", nbins=4)
    style.legend(ax, loc="best")


def group_by_reading(result: ReadingGroups, axes: Any = None) -> Figure:
    """Draw how the scatter changes with the reading.

    Parameters
    ----------
    result : ReadingGroups
    axes : sequence of 2 Axes, optional

    Returns
    -------
    Figure
        Standard deviations against the reading [mm], by the setup's convention: of heights [cm], of the launch [deg];
        bars are 95 % intervals. The hands are the same at every reading, so differences are surer than the bars.

    Examples
    --------
    >>> import archerysim
    >>> from archerysim import show
    >>> setup = archerysim.load("examples/club-outdoor.toml")
    >>> found = archerysim.group_by_reading(setup, 6, ("0 mm", "3 mm"), mesh="coarse")
    >>> len(show.group_by_reading(found).axes)
    2
    """
    new = axes is None
    figure, (heights, launch) = style.many_axes(axes, 2, 2, 10.6)
    for shift, (name, words) in zip((-0.06, 0.06), KINDS, strict=True):
        look = LOOKS[name]
        _line(heights, result, name, words, shift, look.line_style, look.marker)
    angles = (
        ("pitch", "pitch", INK, "-", "s"),
        ("angle_of_attack", "angle of attack", GREY, "--", "D"),
    )
    for shift, (name, words, color, line, marker) in zip((-0.06, 0.06), angles, strict=True):
        _line(launch, result, name, words, shift, {"color": color, "linestyle": line, "linewidth": 1.4}, marker)
    best, now = (result.by.reading(one * MM) / MM for one in (result.best, result.today))
    for ax in (heights, launch):
        ax.axvline(best, color=FAINT, linewidth=0.9, linestyle=(0, (2.0, 2.0)), zorder=1.0, gid="best")
        left = now >= best
        ax.annotate(
            f"best: {best:.1f} mm", (best, 0.0), xycoords=("data", "axes fraction"),
            xytext=(-4 if left else 4, 5), textcoords="offset points", ha="right" if left else "left",
            fontsize=style.SMALL, color=INK,
        )  # fmt: skip
        ax.set_ylim(0.0, 1.28 * ax.get_ylim()[1])
        if np.isfinite(now):
            style.today(ax, now, markersize=8.0)
        style.legend(ax, loc="upper left")
    reading = f"reading {result.by.words} [mm]"
    style.dress(heights, reading, "standard deviation [cm]", "how wide the group is,\nup and down")
    style.dress(launch, reading, "standard deviation [deg]", "how much the launch angle\ndiffers from shot to shot")
    if new:
        one = next((g for g in result.groups if g is not None), None)
        if one is not None:
            heading = f"{one.count} shots at {target_distance(one.distance)} each, the same hands. {OUTSIDE}"
            style.head(figure, f"{one.setup.name}: how wide the groups are by the reading", heading)
        why = f"best by {result.how!r}, not by the groups" if result.how != "as given" else "the reading asked for"
        today = f"Triangle: today's reading, {now:.1f} mm. " if np.isfinite(now) else ""
        _foot(figure, one, f"{today}Dotted line: {why}. Bars, {INTERVAL[0].lower()}{INTERVAL[1:]}")
    return figure


def _line(
    ax: Axes, result: ReadingGroups, name: str, words: str, shift: float, line: dict[str, Any], marker: str
) -> None:  # fmt: skip
    kept = [(o, g.spread(name)) for o, g in zip(result.offsets, result.groups, strict=True) if g is not None]
    kept = [(o, s) for o, s in sorted(kept, key=lambda pair: pair[0]) if np.isfinite(s.deviation)]
    if not kept:
        return
    x = result.by.reading(result.best * MM) / MM + np.array([o for o, _ in kept]) + shift
    y = np.array([s.deviation for _, s in kept])
    error = np.array([[s.deviation - s.low for _, s in kept], [s.high - s.deviation for _, s in kept]])
    ax.errorbar(x, y, yerr=error, fmt="none", ecolor=line["color"], elinewidth=0.9, capsize=2.5, alpha=0.7)
    ax.plot(x, y, marker=marker, markersize=5.0, label=words, gid=name, **line)


def locators_compared(result: LocatorGroups, ax: Axes | None = None) -> Axes:
    """Draw the standard deviation of heights with each fit of the locators.

    Parameters
    ----------
    result : LocatorGroups
    ax : Axes, optional

    Returns
    -------
    Axes
        Standard deviation [cm] to the right, with its 95 % interval, and whether it can be told apart from the first
        fit's, with the same hands.

    Examples
    --------
    >>> import archerysim
    >>> from archerysim import show
    >>> found = archerysim.compare_locators(archerysim.load("examples/club-outdoor.toml"), 6, mesh="coarse")
    >>> len(show.locators_compared(found).get_yticks()), len(found.names)
    (4, 4)
    """
    from archerysim.show.groups.table import fit_words

    given = ax is not None
    ax = style.one_axes(ax, 5.0 + 1.7 * len(result.names))
    rows = [
        f"{fit}\n(the bow today)" if name == result.today else fit
        for name, fit in zip(result.names, fit_words(result), strict=True)
    ]
    for row, (name, one, reason) in enumerate(zip(result.names, result.groups, result.reasons, strict=True)):
        if one is None:
            style.note(ax, 0.0, row, "  no result (see the table)" if reason else "", va="center", linespacing=1.3)
            continue
        for at, (kind, label) in zip((-0.2, 0.2), KINDS, strict=True):
            spread = one.spread(kind)
            known = row == next(k for k, g in enumerate(result.groups) if g is not None)
            ax.barh(row + at, spread.deviation, height=0.36, color=LOOKS[kind].color, gid=f"{kind} {row}",
                    label=label if known else None)  # fmt: skip
            ax.plot([spread.low, spread.high], [row + at] * 2, color=INK, linewidth=1.2, marker="|", markersize=6.0)
            if row and result.groups[0] is not None:
                style.note(ax, spread.high, row + at, f"  {_apart(result.ratio(name, kind))}", va="center")
    ax.set_yticks(range(len(rows)), rows)
    ax.set_ylim(len(rows) - 0.45, -0.55)
    first = next((g for g in result.groups if g is not None), None)
    style.dress(ax, "how wide the group is, up and down: standard deviation [cm]")
    ax.yaxis.grid(False)
    ax.tick_params(axis="y", length=0.0, pad=8.0)
    ax.set_xlim(left=0.0, right=1.3 * ax.get_xlim()[1])
    if result.today:
        ax.plot([0.0], [result.names.index(result.today)], marker=">", markersize=8.0, color=INK, clip_on=False,
                transform=ax.get_yaxis_transform(), gid="today", zorder=6.0)  # fmt: skip
    if first is not None:
        style.legend(ax, loc="upper right")  # beside the first row, which has no words behind its bars
    if not given:
        if first is not None:
            heading = f"{first.count} shots at {target_distance(first.distance)} each, the same hands. {OUTSIDE}"
            figure: Any = ax.figure
            style.head(figure, _bow(first, first.nominal.reading), heading)
        words = f"Clearly: against the first row, shot by shot with the same hands, 95 % sure. Thin bar, {INTERVAL}"
        if any(change.get("nock.locators.upper_present") is False for change in result.changes):
            words += f"\n{SLIDING}"
        _foot(ax.figure, first, words)
    return ax


def _apart(ratio: Ratio) -> str:
    """Whether a group is told apart from the first by the same hands."""
    if not ratio.told_apart:
        return "no clear difference"
    return "clearly wider" if ratio.value > 1.0 else "clearly narrower"


def _foot(figure: Any, group: Group | None, words: str) -> None:
    """Words under a picture, with the cautions for bare shafts."""
    from archerysim.shot.flight.range_cautions import range_cautions

    cautions = range_cautions(group.distance, True, group.setup.category) if group is not None else ()
    style.foot(figure, [], "\n".join((words, *cautions)))
