"""Reading groups, in words and as a picture: the move, the groups beside the model, what the notes speak for."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.equipment import filled
from archerysim.equipment.readings import both_units, readings, sixteenths
from archerysim.show import style
from archerysim.show.style import FAINT, INK, LOOKS
from archerysim.show.text import columns, number, titled, warned, wrapped

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from archerysim.study.diagnose import Diagnosis, Told
    from archerysim.study.noted import Noted

CM = 100.0
BESIDE = 3.5  # of the readings drawn [mm]
ARROW: dict[str, Any] = {"arrowstyle": "-|>", "linewidth": 2.2, "shrinkA": 0.0, "shrinkB": 0.0}
LINES = (
    ("-", "D"),
    ((0, (4.0, 1.5)), "s"),
    ((0, (1.2, 1.2)), "o"),
    ((0, (6.0, 1.5, 1.2, 1.5)), "^"),
)


def diagnosis_table(found: Diagnosis) -> str:
    """What an archer's notes say: warnings first, then the move, the groups, and what they speak for.

    Parameters
    ----------
    found : Diagnosis

    Returns
    -------
    str
        Groups in cm, positive = bare above fletched; readings by the underside in mm and sixteenths of an inch.
    """
    from archerysim.shot.bare import CAUTION

    lines = [f"{found.notes.name}: what the groups say", ""]
    if found.warnings:
        lines += [*warned(found.warnings), ""]
    lines += titled("The move", _move(found))
    lines += titled("The groups", _groups(found))
    if found.causes:
        lines += titled("What the groups speak for (best value, 90 % between)", _causes(found))
    lines += titled("Before shooting", wrapped(CAUTION, "  ! ", "    "))
    return "\n".join(lines).rstrip() + "\n"


def _move(found: Diagnosis) -> list[str]:
    move = found.move
    lines = []
    for one in found.said:
        lines += wrapped(one, "  - ", "    ")
    if move is None:
        return lines if any("no advice" in one for one in found.said) else [*lines, "  no advice"]
    lines += wrapped(move.words)
    if found.expected is not None:
        full: Any = filled(found.expected.base.built)
        now, to = (readings(one, full.arrow.diameter, full.nock.height) for one in (move.reading, move.to))
        rows = [
            (name, both_units(before), both_units(after))
            for name, before, after in (
                ("reading, underside of the nock", now.underside, to.underside),
                ("reading, top of the nock", now.top, to.top),
                ("nock axis above square", now.axis_above_square, to.axis_above_square),
            )
        ]
        lines += columns(rows, ("", "now", "then"))
    if np.isfinite(move.probability):
        lines.append(
            f"  best estimate {number(1e3 * move.wanted, 'mm', 1, True)} "
            f"({_signed_sixteenths(move.wanted)}), up +; 90 % between {number(1e3 * move.low, 'mm', 1, True)} and "
            f"{number(1e3 * move.high, 'mm', 1, True)}"
        )
    return lines


def _signed_sixteenths(length: float) -> str:
    return ("+" if length > 0 and not sixteenths(length).startswith("0") else "") + sixteenths(length)


def _groups(found: Diagnosis) -> list[str]:
    rows = []
    for group in found.groups:
        k = _place(found, group)
        wanted, model = "-", "-"
        if found.expected is not None and k is not None:
            wanted = number(CM * float(found.expected.wanted[k]), "cm", 1, True)
            model = number(CM * float(found.at_answer[k]), "cm", 1, True) if found.at_answer.size else "-"
        hits = f"{group.bare.size} + {group.fletched.size}", f"{group.bad}"
        apart = number(CM * group.difference, "cm", 1, True), number(CM * group.sigma, "cm", 1)
        head = f"{group.index + 1}", f"{group.distance:g} m", f"{1e3 * group.reading:.1f} mm"
        rows.append((*head, *hits, *apart, wanted, model, "yes" if group.used else "no"))
    heads = (
        ("group", "at", "reading", "bare +", "called", "bare above", "give or", "by drag", "model at", "used"),
        ("", "", "underside", "fletched", "bad", "fletched", "take", "alone", "the answer", ""),
    )
    lines = columns(rows, *heads)
    if found.expected is not None and found.at_answer.size:
        lost = f" ({found.expected.failed} sets of values without a shot left out)" if found.expected.failed else ""
        lines += wrapped(
            f"From {found.expected.shots} shots{lost}; the surface through them misses real shots at the answer by "
            f"{1e3 * found.surface_error:.0f} mm at most."
        )
    return lines


def _causes(found: Diagnosis) -> list[str]:
    rows = []
    for told in found.causes:
        unit = told.cause.unit
        span, usual = (
            f"{_few(a)} to {_few(b)} {unit}" for a, b in ((told.low, told.high), (told.usual_low, told.usual_high))
        )
        rows.append((told.cause.name, f"{_few(told.value)} {unit}", span, usual))
    head, rule, *others = columns(rows, ("", "best", "by the notes", "beforehand"))
    lines = [head, rule, *(f"{line}  {told.words}" for line, told in zip(others, found.causes, strict=True))]
    if found.apart:
        lines += wrapped(f"{found.apart[0].upper()}{found.apart[1:]}.")
    return lines


def _few(value: float) -> str:
    return f"{round(value, 1 if abs(value) < 20 else 0) + 0.0:g}"


def _place(found: Diagnosis, group: Noted) -> int | None:
    place = (group.reading, group.distance)
    places = found.expected.places if found.expected is not None else ()
    return places.index(place) if place in places else None


def diagnosis(found: Diagnosis, figure: Figure | None = None) -> Figure:
    """Draw the groups with the model at the answer, and a small profile of each unmeasured input.

    Parameters
    ----------
    found : Diagnosis
    figure : Figure, optional
        An empty one.

    Returns
    -------
    Figure
    """
    from archerysim.shot.bare import CAUTION

    few = len(found.causes)
    figure = style.new_figure(14.5 if few else 8.5) if figure is None else figure
    grid = figure.add_gridspec(2 if few else 1, max(few, 1), height_ratios=(2.1, 1.0) if few else (1.0,))
    _draw_groups(found, figure.add_subplot(grid[0, :]))
    first: Any = None
    for k, told in enumerate(found.causes):
        first = ax = figure.add_subplot(grid[1, k], sharey=first)
        _draw_profile(told, ax, k == 0)
    figure.supxlabel(textwrap.fill(CAUTION, 96), fontsize=style.SMALL, color=INK)
    return figure


def _draw_groups(found: Diagnosis, ax: Axes) -> None:
    from archerysim.study.answer import RISE

    distances = sorted({group.distance for group in found.groups})
    shift = {group.index: 0.0 for group in found.groups}
    for group in found.groups:
        same = [one.index for one in found.groups if (one.reading, one.distance) == (group.reading, group.distance)]
        shift[group.index] = 0.12 * (same.index(group.index) - 0.5 * (len(same) - 1))
    for distance, (line, marker) in zip(distances, LINES * len(distances), strict=False):
        for group in (one for one in found.groups if one.distance == distance and np.isfinite(one.difference)):
            color = LOOKS["arrow"].color if group.used else FAINT
            ax.errorbar(
                [1e3 * group.reading + shift[group.index]], [CM * group.difference],
                yerr=CM * np.sqrt(RISE) * group.sigma, color=color, marker=marker, markersize=6.0, capsize=3.0,
                markerfacecolor=color if group.used else "white", linestyle="none", zorder=4.0,
                gid=f"group {group.index + 1}",
            )  # fmt: skip
        if distance in found.curves:
            readings, heights = found.curves[distance]
            ax.plot(
                1e3 * readings, CM * heights, color=LOOKS["arrow"].color, linestyle=line, linewidth=1.4,
                gid=f"model {distance:g} m",
            )  # fmt: skip
        label = f"{distance:g} m: groups with 90 %{', model at the answer' if found.curves else ''}"
        mark: dict[str, Any] = {"linestyle": line if found.curves else "none", "linewidth": 1.4, "marker": marker}
        ax.plot([], [], color=LOOKS["arrow"].color, label=label, **mark)
    _draw_level(found, ax)
    if any(not one.used and np.isfinite(one.difference) for one in found.groups):
        ax.plot([], [], color=FAINT, marker="o", markerfacecolor="white", linestyle="none", label="not used")
    _draw_move(found, ax)
    places = [1e3 * group.reading for group in found.groups] + ([1e3 * found.move.to] if found.move else [])
    ax.set_xlim(min(places) - BESIDE, max(places) + BESIDE)
    low, high = ax.get_ylim()
    ax.set_ylim(low - 0.1 * (high - low), high + 0.3 * (high - low))
    style.dress(ax, "reading (locator height), underside [mm]", "bare above fletched [cm]")
    ax.set_title("\n".join(textwrap.wrap(_title(found), 80)), fontsize=style.TEXT, color=INK, loc="left")
    style.legend(ax, loc="upper right", ncols=2)


def _draw_level(found: Diagnosis, ax: Axes) -> None:
    """Where a bare shaft ought to lie: level but for drag, or slightly low; nearest distance darkest."""
    from archerysim.study.aims import BARE_LOW
    from archerysim.study.move import LOW_AT

    expected = found.expected
    distances = sorted({far for _, far in expected.places}) if expected is not None else []
    for distance in distances:
        wanted = _wanted(found, distance)
        ax.axhspan(
            CM * (wanted - BARE_LOW * distance / LOW_AT), CM * wanted, color=FAINT, alpha=0.18, zorder=0.5,
            linewidth=0.0, label="level by drag alone, or slightly low" if distance == distances[0] else None,
            gid=f"level {distance:g} m",
        )  # fmt: skip


def _title(found: Diagnosis) -> str:
    if found.move:
        return found.move.words
    return "no advice: " + (found.said[0].removeprefix("no advice: ") if found.said else "")


def _wanted(found: Diagnosis, distance: float) -> float:
    assert found.expected is not None
    rows = [k for k, place in enumerate(found.expected.places) if place[1] == distance]
    return float(np.mean(found.expected.wanted[rows]))


def _draw_move(found: Diagnosis, ax: Axes) -> None:
    if found.move is None:
        return
    now, to = 1e3 * found.move.reading, 1e3 * found.move.to
    ax.axvline(now, color=INK, linestyle=":", linewidth=1.0, zorder=1.5, gid="now")
    ax.annotate(
        "now", (now, 0.0), xycoords=("data", "axes fraction"), xytext=(3 if to <= now else -3, 4),
        textcoords="offset points", ha="left" if to <= now else "right", fontsize=style.SMALL, color=INK,
    )  # fmt: skip
    if abs(to - now) > 1e-3:
        at = ("data", "axes fraction")
        ax.annotate(
            "", (to, 0.1), (now, 0.1), xycoords=at, textcoords=at, gid="move",
            arrowprops={**ARROW, "color": LOOKS["clear"].color},
        )  # fmt: skip
        ax.annotate(
            f"to {to:.1f} mm", (0.5 * (now + to), 0.1), xycoords=at, xytext=(0, 5), textcoords="offset points",
            ha="center", fontsize=style.SMALL, color=LOOKS["clear"].color,
        )  # fmt: skip


def _draw_profile(told: Told, ax: Axes, first: bool) -> None:
    """Rise of chi square over one input; the prior's alone in grey."""
    from archerysim.study.answer import RISE

    look = LOOKS["clear"]
    cause, name = told.cause, "\n".join(textwrap.wrap(told.cause.name, 14))
    ax.plot(*told.profile.T, color=look.color, linewidth=look.width, gid=cause.name)
    z = np.linspace(cause.low, cause.high, 41)
    ax.plot([cause.value(one) for one in z], z**2, color=FAINT, linestyle="--", linewidth=1.0, zorder=1.5)
    ax.axvspan(told.low, told.high, color=look.color, alpha=0.12, linewidth=0.0)
    ax.axhline(RISE, color=INK, linewidth=0.7, linestyle=":")
    if first:
        style.note(ax, cause.value(cause.high), RISE, "90 %", ha="right", va="bottom")
    ax.set_ylim(0.0, 5.5)
    ax.set_xlim(cause.value(cause.low), cause.value(cause.high))
    style.dress(ax, f"[{cause.unit}]", "misfit; grey: beforehand" if first else "", name, grid=False)
    ax.tick_params(labelleft=first)
