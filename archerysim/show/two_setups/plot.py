"""Before and after: both bows at brace and at full draw, and what each change does."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.show import style
from archerysim.show.shots.two_bows import NEW, OLD, draw_bow
from archerysim.show.style import FAINT, INK, LOOKS
from archerysim.show.two_setups.table import change_words, names

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from archerysim.study.two_setups.compare import TwoSetups

# an answer drawn as bars, its title, its size in the unit shown
BARS = (
    ("together_reading", "best reading by the underside [mm]", 1.0),
    ("bare_above", "bare above fletched [cm]", 10.0),
)
LETTERS = 60  # of a change
MOST = 8  # changes with bars of their own
LEAST, PANEL, EACH = 12.0, 2.8, 0.8  # height of the picture, of a panel without bars, of a change's [cm]


def before_and_after(found: TwoSetups) -> Figure:
    """Draw the limbs, string and arrow of both setups in the same axes, and bars for what each change does.

    Parameters
    ----------
    found : TwoSetups

    Returns
    -------
    Figure
        The first setup grey, the second dark, equal scales; bars: each change made first, in the order of the file, and
        last; of a single change, one bar.

    Examples
    --------
    >>> import archerysim
    >>> from archerysim import show
    >>> outdoor = archerysim.load("examples/club-outdoor.toml")
    >>> found = archerysim.compare(outdoor, outdoor.replace({"arrow.point_mass": "110 gr"}), mesh="coarse")
    >>> len(show.before_and_after(found).axes) > 1
    True
    """
    drawn = _drawn(found)
    figure = style.new_figure(max(LEAST, len(BARS) * (PANEL + EACH * len(drawn))))
    grid = figure.add_gridspec(len(BARS), 2, width_ratios=(1.0, 1.25))
    bench = figure.add_subplot(grid[:, 0])
    for launch, color, name in zip(found.launches, (OLD, NEW), names(found), strict=True):
        draw_bow(bench, launch, color, name)
    style.dress(bench, "forward of the pivot [mm]", "above the pivot [mm]", "at brace and at full draw")
    bench.set_aspect("equal", adjustable="box")
    for k, (name, title, size) in enumerate(BARS):
        _bars(figure.add_subplot(grid[k, 1]), found, drawn, name, title, size)
    style.head(figure, "{} (grey) and {} (dark)".format(*names(found)))
    handles: list[Any] = [*bench.get_legend_handles_labels()[0], *figure.axes[1].get_legend_handles_labels()[0]]
    style.limits_passed(figure, found.launches[1], handles, columns=2)
    return figure


def _drawn(found: TwoSetups) -> list[int]:
    """The changes with the largest bars, in the order of the file."""
    columns = [found.answer(name) for name, _, _ in BARS]
    sizes = np.nan_to_num(np.abs(found.steps[:, columns])) / np.maximum(
        np.nan_to_num(np.abs(found.steps[:, columns])).max(axis=0, initial=0.0), 1e-9
    )
    return sorted(int(k) for k in np.argsort(-sizes.sum(axis=1), kind="stable")[:MOST])


def _bars(ax: Axes, found: TwoSetups, drawn: list[int], name: str, title: str, size: float) -> None:
    """What each change does, made first, in order, and last; a single one has no order."""
    column = found.answer(name)
    kinds = (
        (
            ("made first", found.first, LOOKS["separation"].color),
            ("in this order", found.steps, INK),
            ("made last", found.last, LOOKS["lower"].color),
        )
        if len(found.differences) > 1
        else (("what the change does", found.steps, INK),)
    )
    y = np.arange(len(drawn), dtype=float)
    for k, (label, values, color) in enumerate(kinds):
        ax.barh(
            y + 0.25 * (k - 0.5 * (len(kinds) - 1)), values[drawn, column] / size, height=0.22, color=color, label=label
        )
    ax.axvline(0.0, color=FAINT, linewidth=0.8)
    ax.set_yticks(y)
    ax.invert_yaxis()
    ends = (found.at[0, column] / size, found.at[-1, column] / size)
    told = f"{title}\n{ends[0]:.1f} before, {ends[1]:.1f} after" if np.isfinite(ends).all() else title
    style.dress(ax, "change", "", told)
    ax.set_yticklabels(
        [style.literal(_short(change_words(found, j, LETTERS))) for j in drawn], fontsize=style.SMALL - 1.5
    )


def _short(words: str) -> str:
    """A change in two lines."""
    path, _, values = words.partition(" ")
    return f"{path}\n{values}"
