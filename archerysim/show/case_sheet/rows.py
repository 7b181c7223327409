"""The rows of a bow's page: measurements in both units, the predicted shot, directions, notes, cautions."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, NamedTuple

from archerysim.show.answers.shot import attack_words, clearance_words
from archerysim.show.style import INCH, MM, POUND
from archerysim.show.text import away, other, speed, tail, turning

if TYPE_CHECKING:
    from archerysim.equipment import Setup
    from archerysim.study.case_sheet.case_sheet import CaseSheet
    from archerysim.study.notes.read_group import Diagnosis

LAST, LONGEST = 5, 340  # entries of the journal that are told, and letters of each
MARK = "assumed"
TIE = "first tie"
ALONE = "by the measures alone, without your groups: "
GRAIN = 64.79891e-6  # [kg]


class Row(NamedTuple):
    """A measurement: its name, in metric and in the trade's units, and a mark."""

    name: str
    metric: str
    trade: str
    mark: str


def measurements(sheet: CaseSheet) -> list[Row]:
    """All that was measured on bow, string, arrow and archer, as the braced bow has it."""
    from archerysim.equipment import filled
    from archerysim.equipment.arrow import balance_point, front_of_centre, grains_per_pound, total_mass
    from archerysim.equipment.readings import sixteenths
    from archerysim.fields.units import show

    launch, given = sheet.launch, sheet.setup
    full = filled(launch.setup)
    bow, arrow, braced = given.bow, full.arrow, launch.braced
    mass = total_mass(arrow)
    by = full.nock.locators.convention

    def length(name: str, value: float, *paths: str, digits: int = 0, fine: bool = False) -> Row:
        inches = sixteenths(value) if fine else f"{value / INCH:.2f} in"
        return Row(name, f"{round(value / MM, digits) + 0.0:.{digits}f} mm", inches, _mark(sheet, paths))

    rows = [
        length("bow length", bow.length, "bow.length"),
        length("brace height", braced.brace_height, "bow.brace_height", fine=True),
        length("upper tiller", braced.upper_tiller, "bow.upper_tiller", fine=True),
        length("lower tiller", braced.lower_tiller, "bow.lower_tiller", fine=True),
        length("tiller split", braced.upper_tiller - braced.lower_tiller, digits=1, fine=True),
        Row("draw weight, at this draw", f"{launch.draw_force:.1f} N", f"{launch.draw_force / POUND:.1f} lb",
            _mark(sheet, ("bow.draw_weight",))),
        length("draw length (AMO)", full.archer.draw_length, "archer.draw_length"),
        length("a  to the underside" + (" (yours)" if by == "underside" else ""), launch.reading * MM,
               "nock.locators.reading", digits=1, fine=True),
        length("b  to the top" + (" (yours)" if by == "top" else ""), launch.reading_top * MM,
               "nock.locators.reading", digits=1, fine=True),
        length("c  nock axis above square", launch.axis_above_square * MM, digits=1, fine=True),
        Row("string", _string(sheet), f"{braced.string_length / INCH:.1f} in", _mark(sheet, ("string.strands",))),
        length("arrow length", arrow.length, "arrow.length"),
        length("shaft diameter", arrow.diameter, "arrow.diameter", digits=2),
        Row("spine", show(arrow.spine, "mm"), f"{arrow.spine / INCH:.3f} in", _mark(sheet, ("arrow.spine",))),
        Row("point", show(arrow.point_mass, "g", 3), f"{arrow.point_mass / GRAIN:.0f} gr",
            _mark(sheet, ("arrow.point_mass",))),
        Row("whole arrow", f"{1e3 * mass:.1f} g", f"{mass / GRAIN:.0f} gr",
            _mark(sheet, ("arrow.mass_per_length", "arrow.point_mass"))),
        length("balance from the throat", balance_point(arrow)),
        Row("front of centre", f"{front_of_centre(arrow):.1f} %", "", ""),
        Row("grains per pound", "", f"{grains_per_pound(mass, launch.draw_force):.1f}", ""),
        length("centre shot", full.side.offset, "side.offset", digits=1, fine=True),
    ]  # fmt: skip
    return rows


def _string(sheet: CaseSheet) -> str:
    string = sheet.launch.setup.string
    return f"{string.strands} {string.material}" if string.strands else "by its stiffness"


def _mark(sheet: CaseSheet, paths: tuple[str, ...]) -> str:
    noted = () if sheet.journal is None else [path for path, _ in sheet.journal.pending]
    guessed = any(path not in noted and (path in sheet.assumed or sheet.setup.get(path) is None) for path in paths)
    return MARK if guessed else ""


def predicted(sheet: CaseSheet) -> list[tuple[str, str]]:
    """How the arrow leaves; what to do now, by the archer's groups where there are some; the range with 90 %."""
    from archerysim.show.tuning.answer import answer_rows

    clear, tuned, groups = sheet.launch.clear, sheet.tuned, sheet.groups
    rows = [
        ("speed", speed(clear.speed)),
        ("pitch", f"{tail(clear.pitch)}, {turning(clear.pitch_rate)}"),
        ("attack", attack_words(clear.angle_of_attack)),
        ("clearance", clearance_words(sheet.launch)),
    ]
    own = [] if groups is None else _by_groups(sheet, groups)
    if tuned.range is None or tuned.move is None:
        return [*rows, *own, ("locators", f"no range: {tuned.no_range}" if tuned.no_range else "no range")]
    told = answer_rows(tuned.range, tuned.move, tuned.butt, distance_words(sheet), tuned.met)
    if own:
        told = [(name, ALONE + text if name == "range" else text) for name, text in told if name not in ("now", TIE)]
    return [*rows, *own, *((name, text) for name, text in told if name in ("now", TIE, "range", "at the butt"))]


def _by_groups(sheet: CaseSheet, groups: Diagnosis) -> list[tuple[str, str]]:
    """What the archer's groups ask for, by the setup's convention; why nothing, where they ask for nothing."""
    from archerysim.equipment.readings import both_units, read_by

    move, by = groups.move, read_by(sheet.setup)
    if move is None:
        return [("now", next((one for one in groups.remarks if "no advice" in one), "no advice"))]
    here, there = (both_units(by.reading(one)) for one in (move.reading, move.to))
    where = f"from {here} to {there} {by.words}" if move.size else f"at {here} {by.words}"
    rows = [("now", f"{move.words}; by your groups, {where}")]
    if move.repeated:
        rows.append((TIE, f"on a new string at {there} {by.words}, by your groups"))
    return rows


def distance_words(sheet: CaseSheet) -> str:
    """The distance as it was given."""
    from archerysim.fields.units import target_distance

    return target_distance(sheet.distance, sheet.distance_words)


def directions(setup: Setup) -> list[tuple[str, str]]:
    """What is seen, and which way that asks to go; left and right as seen from behind this archer.

    A shelf has no side support that could be moved. Moving one takes the whole group along, farther than bare shafts
    beside it.
    """
    from archerysim.equipment import filled

    out = away(setup)  # the side away from the riser
    back = other(out)
    moved = filled(setup).rest.kind != "shelf"
    inwards, outwards = (
        f"; a little: side support {way}, and the group goes {side} with it" if moved else ""
        for way, side in (("IN, towards the riser", back), ("OUT, away from the riser", out))
    )
    return [
        ("bare high", "locators UP, which turns the nose down"),
        ("bare low", "locators DOWN, which turns the nose up"),
        (f"bare {out}", f"weaker: softer shaft, heavier point{inwards}"),
        (f"bare {back}", f"stiffer: stiffer shaft, lighter point{outwards}"),
        ("powder or marks on rest or shaft, torn vanes", "clear the contact first: groups mislead until then"),
    ]


ORDER = "Nock fit and brace height first, then contact, then up and down, then left and right; one change at a time."


def last_lines(sheet: CaseSheet) -> list[str]:
    """The last entries of the journal, the latest last."""
    from archerysim.show.journal.lines import entry_line

    journal = sheet.journal
    told = [] if journal is None else [entry_line(one, journal) for one in journal.entries[-LAST:]]
    return [textwrap.shorten(line, LONGEST, placeholder=" ...") for line in told]


def cautions(sheet: CaseSheet) -> list[str]:
    """What has to be minded: limits that are passed, and what goes with this bow's range."""
    from archerysim.shot.flight.range_cautions import range_cautions
    from archerysim.shot.warnings import with_more

    more = range_cautions(sheet.distance, True, sheet.setup.category)
    told = list(with_more(sheet.launch.warnings, more))
    pending = () if sheet.journal is None else sheet.journal.pending
    if pending:
        changed = ", ".join(f"{path} = {value}" for path, value in pending)
        told.append(f"This page shows the bow as the journal leaves it; the setup file lacks {changed}.")
    return told


def assumed_words(sheet: CaseSheet) -> str:
    """How many values nobody has measured; "" where all were."""
    if not sheet.assumed:
        return ""
    return f"{len(sheet.assumed)} values of the file are only assumed; the predictions are no better than they are."
