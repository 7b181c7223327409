"""Reading groups in words: the move, the groups beside the model, what the notes speak for."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from archerysim.equipment import filled
from archerysim.equipment.readings import both_units, readings, sixteenths
from archerysim.show.style import MM
from archerysim.show.text import columns, number, titled, warned, wrapped

if TYPE_CHECKING:
    from archerysim.study.notes.group_means import Noted
    from archerysim.study.notes.read_group import Diagnosis

CLEARANCE = (
    "Check clearance: powder on rest and shelf, then shoot; no mark of shaft, nock or fletching may show where "
    "it ought to pass free."
)


def diagnosis_table(found: Diagnosis) -> str:
    """What an archer's notes say: warnings first, then the move, the groups, and what they speak for.

    Parameters
    ----------
    found : Diagnosis

    Returns
    -------
    str
        Heights in mm, positive = bare above fletched; readings in mm and sixteenths of an inch, in the groups by the
        notes' convention.
    """
    from archerysim.shot.flight.range_cautions import range_cautions
    from archerysim.shot.warnings import NONE

    lines = [f"{found.notes.name}: what the groups say", ""]
    sentences = [one for one in found.warnings if one != NONE]
    if sentences:
        lines += [*warned(sentences), ""]
    lines += titled("The move", _move(found))
    lines += titled("The groups", _groups(found))
    if found.causes:
        lines += titled("What the groups speak for (best value, 90 % between)", _causes(found))
    far = max((group.distance for group in found.groups), default=0.0)
    before = [*range_cautions(far, True, found.category), *(one for one in found.warnings if one == NONE)]
    lines += titled("Before shooting", [line for one in before for line in wrapped(one, "  ! ", "    ")])
    return "\n".join(lines).rstrip() + "\n"


def _move(found: Diagnosis) -> list[str]:
    move = found.move
    lines = []
    for one in found.remarks:
        lines += wrapped(one, "  - ", "    ")
    if move is None:
        return lines if any("no advice" in one for one in found.remarks) else [*lines, "  no advice"]
    lines += wrapped(move.words)
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
    if move.way == "down":
        lines += wrapped(CLEARANCE)
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
            wanted = number(float(found.expected.wanted[k]) / MM, "mm", 0, True)
            model = number(float(found.at_answer[k]) / MM, "mm", 0, True) if found.at_answer.size else "-"
        hits = f"{group.bare.size} + {group.fletched.size}", f"{group.bad}"
        apart = number(group.difference / MM, "mm", 0, True), number(group.sigma / MM, "mm", 0)
        head = f"{group.index + 1}", f"{group.distance:g} m", f"{1e3 * found.by.reading(group.reading):.1f} mm"
        rows.append((*head, *hits, *apart, wanted, model, "yes" if group.used else "no"))
    heads = (
        ("group", "at", "reading", "bare +", "called", "bare above", "give or", "by drag", "model at", "used"),
        ("", "", found.by.convention, "fletched", "bad", "fletched", "take", "alone", "the answer", ""),
    )
    lines = columns(rows, *heads)
    if found.by_words:
        lines += wrapped(found.by_words)
    if found.expected is not None and found.at_answer.size:
        lost = f" ({found.expected.failed} sets of values without a shot left out)" if found.expected.failed else ""
        lines += wrapped(
            f"From {found.expected.shots} shots{lost}; the surface through them misses real shots at the answer by "
            f"{1e3 * found.surface_error:.0f} mm at most."
        )
    return lines


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
    place = (group.reading, group.distance)
    places = found.expected.places if found.expected is not None else ()
    return places.index(place) if place in places else None
