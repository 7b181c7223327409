"""Reading groups in words: the move, the groups beside the model, what the notes speak for."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from archerysim.equipment import filled
from archerysim.equipment.readings import both_units, readings, sixteenths
from archerysim.fields.units import target_distance
from archerysim.show.style import MM
from archerysim.show.text import columns, number, titled, warned, wrapped

if TYPE_CHECKING:
    from archerysim.study.notes.group_means import Noted
    from archerysim.study.notes.left_right import LeftRight
    from archerysim.study.notes.next_end import NextEnd
    from archerysim.study.notes.read_group import Diagnosis

CLEARANCE = (
    "Check clearance: powder on rest and shelf, then shoot; no mark of shaft, nock or fletching may show where "
    "it ought to pass free."
)


def diagnosis_table(found: Diagnosis, everything: bool = False) -> str:
    """What an archer's notes say: what to do now, in a few lines; warnings and cautions with it.

    Parameters
    ----------
    found : Diagnosis
    everything : bool
        The groups beside the model, and what they speak for, too.

    Returns
    -------
    str
        Heights in mm, positive = bare above fletched; places sideways in cm, as the archer sees the target; readings
        in mm and sixteenths of an inch, in the groups by the notes' convention.
    """
    from archerysim.shot.flight.range_cautions import range_cautions
    from archerysim.shot.warnings import NONE

    lines = [f"{found.notes.name}: what to do now", ""]
    sentences = [one for one in found.warnings if one != NONE]
    if sentences:
        lines += [*warned(sentences), ""]
    lines += titled("The move", _answer(found))
    if everything:
        lines += titled("The move in full", _move(found))
        lines += titled("The groups", _groups(found))
        if found.causes:
            lines += titled("What the groups show (best value, 90 % between)", _causes(found))
    far = max((group.distance for group in found.groups), default=0.0)
    before = [*range_cautions(far, True, found.category), *(one for one in found.warnings if one == NONE)]
    lines += titled("Before shooting", [line for one in before for line in wrapped(one, "  ! ", "    ")])
    return "\n".join(lines).rstrip() + "\n"


def _answer(found: Diagnosis) -> list[str]:
    """What to do now, in as few lines as can be."""
    move, lines = found.move, []
    if move is not None:
        lines += wrapped(f"{move.words[0].upper()}{move.words[1:]}.")
        if move.size:
            now, to = (both_units(found.by.reading(one)) for one in (move.reading, move.to))
            lines += wrapped(f"That is from {now} to {to} {found.by.words}.")
        if move.way == "down":
            lines += wrapped(CLEARANCE)
    for one in found.remarks:
        lines += wrapped(one, "  - ", "    ")
    if found.left_right is not None:
        later = "" if move is None or move.way == "hold" or found.left_right.contact else "; the height first"
        sentence = f"Sideways: {found.left_right.words}{later}."
        if found.left_right.told and not later:
            sentence += f" What takes it back: archerysim sideways SETUP {_gap(found.left_right)}."
        lines += wrapped(sentence)
    if found.next_end is not None:
        lines += wrapped(f"Next: {found.next_end.words}.")
        if found.next_end.farther:
            lines += wrapped(f"{found.next_end.farther[0].upper()}{found.next_end.farther[1:]}.")
    if move is None and not any("no advice" in one for one in found.remarks):
        lines.append("  no advice")
    return lines


def _move(found: Diagnosis) -> list[str]:
    move = found.move
    if move is None:
        return ["  no advice"]
    lines = []
    if found.expected is not None:
        full = filled(found.expected.bow.setup)
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
    if found.next_end is not None:
        lines += wrapped(_tells(found.next_end))
    return lines


def _gap(aside: LeftRight) -> str:
    """The gap as another command takes it."""
    at = target_distance(aside.distance)
    way = f'--gap "{100.0 * abs(aside.gap):.0f} cm {"right" if aside.gap > 0.0 else "left"}"'
    return way if at == "18 m" else f'{way} --distance "{at}"'


def _tells(end: NextEnd) -> str:
    """How many ends tell one millimetre of reading, and from which distance on two do."""
    count, at = math.ceil(end.tells), target_distance(end.distance)
    ends = "one end" if count == 1 else f"{count} ends"
    text = f"With your scatter it takes {ends} of three bare and six fletched shafts at {at} to show a move of 1 mm"
    return f"{text}; from {end.tells_from:.0f} m on two do." if math.isfinite(end.tells_from) else f"{text}."


def _signed_sixteenths(length: float) -> str:
    return ("+" if length > 0 and not sixteenths(length).startswith("0") else "") + sixteenths(length)


def _groups(found: Diagnosis) -> list[str]:
    rows, both = [], found.expected is not None and found.expected.bow.planes == 2
    for group in found.groups:
        k = _place(found, group)
        wanted, model, aside = "-", "-", "-"
        if found.expected is not None and k is not None:
            wanted = number(float(found.expected.wanted[k]) / MM, "mm", 0, True)
            if found.at_answer.size:
                model = number(float(found.at_answer[0, k]) / MM, "mm", 0, True)
                aside = _aside(found, float(found.at_answer[1, k])) if both else "-"
        hits = f"{group.bare.size} + {group.fletched.size}", f"{group.bad}", f"{group.missed}"
        apart = number(group.difference / MM, "mm", 0, True), number(group.sigma / MM, "mm", 0)
        head = (
            f"{group.index + 1}",
            target_distance(group.distance),
            f"{1e3 * found.by.reading(group.reading):.1f} mm",
        )
        beside = _aside(found, group.beside), aside
        rows.append((*head, *hits, *apart, wanted, model, *beside, "yes" if group.used else "no"))
    first = (
        "group, at, reading, bare +, called, missed, bare above, give or, by drag, model at, bare to, model at, used"
    )
    below = f", , {found.by.convention}, fletched, bad, , fletched, take, alone, the answer, right, the answer, "
    heads = first.split(", "), below.split(", ")
    lines = columns(rows, *heads)
    if found.by_words:
        lines += wrapped(found.by_words)
    if found.expected is not None and found.at_answer.size:
        lost = f", {found.expected.failed} left out because something touched" if found.expected.failed else ""
        lines += wrapped(
            f"From {found.expected.shots} shots{lost}; the surfaces through them miss computed shots at the answer by "
            f"{1e3 * found.surface_error:.0f} mm at most."
        )
    return lines


def _aside(found: Diagnosis, beside: float) -> str:
    """How far to the right, from a place sideways off the window [m]."""
    from archerysim.study.notes.group_means import away_from_window

    assert found.expected is not None or not np.isfinite(beside)
    away = 1.0 if found.expected is None else away_from_window(found.expected.bow.setup)
    return number(100.0 * away * beside, "cm", 0, True)


def _causes(found: Diagnosis) -> list[str]:
    rows = []
    for estimate in found.causes:
        unit = estimate.cause.unit
        span, usual = (
            f"{_few(a)} to {_few(b)} {unit}"
            for a, b in ((estimate.low, estimate.high), (estimate.usual_low, estimate.usual_high))
        )
        rows.append((estimate.cause.name, f"{_few(estimate.value)} {unit}", span, usual))
    head, rule, *others = columns(rows, ("", "best", "by the notes", "beforehand"))
    lines = [head, rule, *(f"{line}  {estimate.words}" for line, estimate in zip(others, found.causes, strict=True))]
    if found.apart:
        lines += wrapped(f"{found.apart[0].upper()}{found.apart[1:]}.")
    return lines


def _few(value: float) -> str:
    return f"{round(value, 1 if abs(value) < 20 else 0) + 0.0:g}"


def _place(found: Diagnosis, group: Noted) -> int | None:
    from archerysim.study.notes.suspicion import place_of

    places = found.expected.places if found.expected is not None else ()
    return places.index(place_of(group)) if place_of(group) in places else None
