"""Reading groups as a picture: the move, the groups beside the model, what they taught about the unmeasured."""

from __future__ import annotations

import math
import textwrap
from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.fields.units import target_distance
from archerysim.show import style
from archerysim.show.style import FAINT, INK, LOOKS, MM, PALE

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from archerysim.study.notes.cause_estimate import CauseEstimate
    from archerysim.study.notes.group_means import Noted
    from archerysim.study.notes.read_group import Diagnosis

APART = 0.3  # of groups at one reading [mm]
COUNTED = {2: "two", 3: "three", 4: "four", 5: "five", 6: "six"}
YOURS, HANDS = "your groups, with their 90 % range", " with your hands"
TAUGHT = "What your groups showed about what nobody measured: the narrower, the more"
BESIDE = 3.5  # of the readings drawn [mm]
PROFILES = 5  # beside each other at most
ARROW: dict[str, Any] = {"arrowstyle": "-|>", "linewidth": 2.2, "shrinkA": 0.0, "shrinkB": 0.0}
LINES = (
    ("-", "D"),
    ((0, (4.0, 1.5)), "s"),
    ((0, (1.2, 1.2)), "o"),
    ((0, (6.0, 1.5, 1.2, 1.5)), "^"),
)


def diagnosis(found: Diagnosis, figure: Figure | None = None, *, profiles: bool = False) -> Figure:
    """Draw the groups with what the model expects, and the move.

    Parameters
    ----------
    found : Diagnosis
    figure : Figure, optional
        An empty one.
    profiles : bool
        Below, what the groups taught about each input that nobody measured.

    Returns
    -------
    Figure
        Heights of bare above fletched [mm] against the reading [mm], by the notes' convention.

    Examples
    --------
    >>> import archerysim
    >>> from archerysim import show
    >>> bow, notes = archerysim.load("examples/club-outdoor.toml"), archerysim.load_notes("examples/notes.toml")
    >>> found = archerysim.diagnose(bow, notes, further=False, mesh="coarse", planes=1)
    >>> len(show.diagnosis(found).axes) > 0
    True
    """
    causes = found.causes if profiles else ()
    rows = math.ceil(len(causes) / PROFILES)
    figure = style.new_figure(10.5 + 6.0 * rows) if figure is None else figure
    if not causes:
        ax = figure.add_subplot()
        _draw_groups(found, ax)
        style.foot(figure, _keys(ax), _foot(found), columns=_columns(found))
        return figure
    panels: Any = figure.subfigures(2, 1, height_ratios=(1.8, rows))
    ax = panels[0].add_subplot()
    _draw_groups(found, ax)
    panels[0].legend(
        handles=_keys(ax), loc="outside lower center", ncols=_columns(found), fontsize=style.SMALL, frameon=False,
        borderpad=0.0,
    )  # fmt: skip
    _draw_profiles(causes, panels[1], rows)
    style.foot(figure, [], _foot(found))
    return figure


def _foot(found: Diagnosis) -> str:
    """Whose convention the readings are told by, where that is not plain; the cautions for bare shafts."""
    from archerysim.shot.flight.range_cautions import range_cautions

    far = max((group.distance for group in found.groups), default=0.0)
    return "\n".join((found.by_words, *range_cautions(far, True, found.category))).strip()


def _columns(found: Diagnosis) -> int:
    """Of the legend."""
    return 1 if len({group.distance for group in found.groups}) > 1 else 2


def _keys(ax: Axes) -> list[Any]:
    return list(ax.get_legend_handles_labels()[0])


def _draw_groups(found: Diagnosis, ax: Axes) -> None:
    look = LOOKS["bare"]
    distances = sorted({group.distance for group in found.groups})
    shift = _beside(found)
    many = len(distances) > 1
    for distance, (line, marker) in zip(distances, LINES * len(distances), strict=False):
        groups = [one for one in found.groups if one.distance == distance and np.isfinite(one.difference)]
        for group in groups:
            _draw_group(ax, group, _at(found, group.reading) + shift[group.index], marker)
        curve: dict[str, Any] = {"color": look.color, "linestyle": line, "linewidth": 1.4}
        if distance in found.curves:
            readings, heights = found.curves[distance]
            ax.plot(found.by.reading(readings) / MM, heights / MM, gid=f"model {distance:g} m", **curve)
        if many:
            line_too = curve if distance in found.curves else {**curve, "linestyle": "none"}
            too = f", and what the model expects{HANDS}" if distance in found.curves else ""
            ax.plot([], [], marker=marker, label=f"at {target_distance(distance)}: {YOURS}{too}", **line_too)
        elif any(group.used for group in groups):
            ax.plot([], [], color=look.color, marker=marker, linestyle="none", label=YOURS)
            if distance in found.curves:
                ax.plot([], [], label=f"what the model expects{HANDS}", **curve)
    _draw_ends(found, ax)
    _draw_level(found, ax)
    if any(not one.used and np.isfinite(one.difference) for one in found.groups):
        ax.plot([], [], color=FAINT, marker="o", markerfacecolor="white", linestyle="none", label="not used")
    _draw_move(found, ax)
    places = [_at(found, one.reading) for one in found.groups] + ([_at(found, found.move.to)] if found.move else [])
    ax.set_xlim(min(places) - BESIDE, max(places) + BESIDE)
    low, high = ax.get_ylim()
    ax.set_ylim(low - 0.22 * (high - low), high + 0.06 * (high - low))
    bow = found.expected.bow.setup.name if found.expected is not None else found.notes.name
    title = f"{bow}: bare shafts at {' and '.join(target_distance(one) for one in distances)}"
    title += "\n" + "\n".join(textwrap.wrap(_title(found), 88))
    style.dress(ax, f"reading (locator height) {found.by.words} [mm]", "bare above fletched [mm]", title)


def _at(found: Diagnosis, underside: float) -> float:
    """Where a reading by the underside [m] stands in the picture [mm]."""
    return float(found.by.reading(underside)) / MM


def _beside(found: Diagnosis) -> dict[int, float]:
    """How far each group is drawn from its reading [mm]: those at one reading beside one another."""
    shift = {}
    for group in found.groups:
        same = [one.index for one in found.groups if one.reading == group.reading]
        shift[group.index] = APART * (same.index(group.index) - 0.5 * (len(same) - 1))
    return shift


def _draw_group(ax: Axes, group: Noted, x: float, marker: str) -> None:
    from archerysim.study.notes.posterior import RISE

    color = LOOKS["bare"].color if group.used else FAINT
    ax.errorbar(
        [x], [group.difference / MM], yerr=np.sqrt(RISE) * group.sigma / MM, color=color,
        marker=marker, markersize=6.0, capsize=3.0, markerfacecolor=color if group.used else "white", linestyle="none",
        zorder=4.0, gid=f"group {group.index + 1}",
    )  # fmt: skip


def _draw_ends(found: Diagnosis, ax: Axes) -> None:
    """Says how many ends stand at one reading and distance."""
    from archerysim.study.notes.posterior import RISE

    shift = _beside(found)
    ends: dict[tuple[float, float], list[tuple[float, float]]] = {}
    for group in (one for one in found.groups if one.used):
        top = (group.difference + np.sqrt(RISE) * group.sigma) / MM
        place = (group.reading, group.distance)
        ends.setdefault(place, []).append((_at(found, group.reading) + shift[group.index], top))
    for tops in ends.values():
        if len(tops) > 1:
            at = np.array(tops)
            ax.annotate(
                f"{COUNTED.get(len(tops), len(tops))} ends", (at[:, 0].mean(), at[:, 1].max()), xytext=(0, 4),
                textcoords="offset points", ha="center", va="bottom", fontsize=style.SMALL, color=INK,
            )  # fmt: skip


def _draw_level(found: Diagnosis, ax: Axes) -> None:
    """Where a bare shaft ought to lie: level but for drag, or slightly low; nearest distance darkest."""
    from archerysim.study.notes.move import LOW_AT
    from archerysim.study.tuning.aims import BARE_LOW

    expected = found.expected
    shot = {group.distance for group in found.groups}
    distances = sorted({place.distance for place in expected.places} & shot) if expected is not None else []
    for distance in distances:
        wanted = _wanted(found, distance)
        ax.axhspan(
            (wanted - BARE_LOW * distance / LOW_AT) / MM, wanted / MM, color=FAINT, alpha=0.18, zorder=0.5,
            linewidth=0.0, gid=f"level {distance:g} m",
            label="good: where drag alone puts it, down to slightly low" if distance == distances[0] else None,
        )  # fmt: skip


def _title(found: Diagnosis) -> str:
    return found.move.words if found.move else found.remarks[0] if found.remarks else "no advice"


def _wanted(found: Diagnosis, distance: float) -> float:
    assert found.expected is not None
    rows = [k for k, place in enumerate(found.expected.places) if place.distance == distance]
    return float(np.mean(found.expected.wanted[rows]))


def _draw_move(found: Diagnosis, ax: Axes) -> None:
    now = _at(found, found.groups[-1].reading)
    to = _at(found, found.move.to) if found.move is not None else now
    style.today(ax, now, markersize=8.0)
    ax.annotate(
        f"today {now:.1f} mm", (now, 0.0), xycoords=("data", "axes fraction"), xytext=(7 if to <= now else -7, 4),
        textcoords="offset points", ha="left" if to <= now else "right", fontsize=style.SMALL, color=INK,
    )  # fmt: skip
    if abs(to - now) > 1e-3:
        at = ("data", "axes fraction")
        ax.annotate(
            "", (to, 0.1), (now, 0.1), xycoords=at, textcoords=at, gid="move", arrowprops={**ARROW, "color": INK},
        )  # fmt: skip
        ax.annotate(
            f"to {to:.1f} mm", (0.5 * (now + to), 0.1), xycoords=at, xytext=(0, 5), textcoords="offset points",
            ha="center", fontsize=style.SMALL, color=INK,
        )  # fmt: skip


def _draw_profiles(causes: tuple[CauseEstimate, ...], panel: Any, rows: int) -> None:
    """A small curve for each input: how badly the groups fit with each of its values."""
    first: Any = None
    columns = math.ceil(len(causes) / rows)
    for k, estimate in enumerate(causes):
        first = ax = panel.add_subplot(rows, columns, k + 1, sharey=first)
        _draw_profile(estimate, ax, k % columns == 0)
    panel.suptitle(
        f"{TAUGHT}\nShaded: 90 % range. Dashed: beforehand.", fontsize=style.TEXT, color=INK, x=0.01,
        ha="left", linespacing=1.3,
    )  # fmt: skip


def _draw_profile(estimate: CauseEstimate, ax: Axes, first: bool) -> None:
    """Rise of chi square over one input; the prior's alone in grey."""
    cause, name = estimate.cause, "\n".join(textwrap.wrap(estimate.cause.name, 14))
    ax.plot(*estimate.profile.T, color=INK, linewidth=1.6, gid=cause.name)
    z = np.linspace(cause.low, cause.high, 41)
    ax.plot([cause.value(one) for one in z], z**2, color=FAINT, linestyle="--", linewidth=1.0, zorder=1.5)
    ax.axvspan(estimate.low, estimate.high, color=PALE, linewidth=0.0)
    ax.set_ylim(0.0, 5.5)
    ax.set_xlim(cause.value(cause.low), cause.value(cause.high))
    style.dress(ax, f"[{cause.unit}]", "how poorly it fits" if first else "", name, grid=False)
    ax.tick_params(left=False, labelleft=False)
