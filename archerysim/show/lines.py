"""Lines that several tables share: the readings, the braced bow, how well a fit met what was measured."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from archerysim.show.style import INCH, MM
from archerysim.show.text import columns, force, length, number, pairs, speed, wrapped

if TYPE_CHECKING:
    from archerysim.equipment.filled_setup import FilledSetup
    from archerysim.shot.edit import Edit
    from archerysim.shot.fitted_bow import FittedBow
    from archerysim.shot.statics.brace import Braced
    from archerysim.shot.statics.strain import Strained

# of what was measured, other than a length: how it is shown, size and unit of its miss
SHOWN = {"draw weight": (force, 1.0, "N"), "draw force": (force, 1.0, "N"), "arrow speed": (speed, 1.0, "m/s")}


def reading_lines(underside: float, top: float, axis: float) -> list[str]:
    """The three numbers of a locator height [mm], in mm and to the nearest sixteenth of an inch."""
    from archerysim.equipment.readings import both_units

    return pairs(
        [
            ("reading, underside of the nock", both_units(underside * MM)),
            ("reading, top of the nock", both_units(top * MM)),
            ("nock axis above square", f"{both_units(axis * MM)}; compares across shafts"),
        ]
    )


def readings_of(full: FilledSetup, braced: Braced) -> list[str]:
    """The three numbers of a braced bow's locators; ``full`` is the filled setup."""
    from archerysim.equipment.readings import readings

    found = readings(braced.reading, full.arrow.diameter, full.nock.height)
    return reading_lines(found.underside / MM, found.top / MM, found.axis_above_square / MM)


def braced_lines(braced: Braced) -> list[str]:
    """Brace height, tillers, string and pocket angles."""
    split = braced.upper_tiller - braced.lower_tiller
    return pairs(
        [
            ("brace height", length(braced.brace_height)),
            ("upper tiller", length(braced.upper_tiller)),
            ("lower tiller", length(braced.lower_tiller)),
            (
                "tiller split, upper minus lower",
                f"{number(split / MM, 'mm', 1, True)} ({number(split / INCH, 'in', 2, True)})",
            ),
            ("string, unloaded", length(braced.string_length)),
            ("string, under load", length(braced.loaded_length)),
            ("string tension", force(braced.tension)),
            *lying_rows(braced),
            ("string pushed along itself", f"{number(braced.string_stiffness, 'N/m', 0)} (zero: the limbs would tip)"),
            ("pocket angle, upper; lower", "; ".join(f"{np.degrees(lean):.2f} deg" for lean in braced.leans)),
        ]
    )


def lying_rows(braced: Braced) -> list[tuple[str, str]]:
    """Along how much of both limbs the string lies; nothing for limbs that it cannot touch."""
    if not braced.marks.reach_u + braced.marks.reach_l:
        return []
    return [("string on the limbs, upper; lower", "; ".join(length(one) for one in braced.lying))]


def strain_rows(strain: tuple[Strained, Strained]) -> list[tuple[str, str]]:
    """Names and words of each limb's largest strain beside its limit, or why it was not compared with one."""
    rows = []
    for limb in strain:
        words = f"not checked: {limb.unchecked}"
        if not limb.unchecked:
            usual = f" (usual for {limb.usual_for})" if limb.usual_for else ""
            words = (
                f"{100 * limb.largest:.2f} %, limit {100 * (limb.limit or 0.0):.2f} %{usual}; {limb.side} at "
                f"{limb.moment}, {limb.at / MM:.0f} mm from the root"
            )
        rows.append((f"strain, {limb.limb} limb", words))
    if rows[0][1] == rows[1][1]:
        return [("strain, both limbs", rows[0][1])]
    return rows


def edit_lines(edits: tuple[Edit, ...]) -> list[str]:
    """What was changed on a bow, what was held and whether it was fitted anew; nothing for a bow as its file has it."""
    return [line for edit in edits for line in wrapped(edit.words())]


def fit_lines(bow: FittedBow) -> list[str]:
    """What was measured, what the fitted bow has, and the miss."""
    rows = []
    for met in bow.met:
        name = met.path.rpartition(".")[2].replace("_", " ")
        if name.isdigit():
            name = f"draw force at {length((bow.given.bow.draw_forces_at or ())[int(name)])}"
        show, size, unit = SHOWN.get(name.partition(" at ")[0], (length, MM, "mm"))
        rows.append((name, show(met.wanted), show(met.found), number(met.miss / size, unit, 4, True)))
    lines = columns(rows, ("", "measured", "found", "miss"))
    lines.append(f"  both limbs' stiffness times {bow.stiffness_factor:.4g}, found in {bow.draws} draws")
    if bow.laid is not None:
        lines += wrapped(bow.laid.words())
    for said in bow.remarks:
        lines += wrapped(said)
    if bow.given.bow.draw_forces:
        lines.append(f"  both limbs' natural curve times {bow.shape_factor:.4g}, found from the draw forces")
        lines += wrapped(curve_remark(bow))
    if any(met.path.endswith("arrow_speed") for met in bow.met):
        lines += wrapped(f"both limbs' moving mass times {bow.moving_factor:.4g}: {_moving(bow)}", "  ", "  ")
    if bow.setup.upper_limb.bolt_turns or bow.setup.lower_limb.bolt_turns:
        lines.append("  measured and fitted before the bolts were turned")
    elif any(not edit.refitted for edit in bow.edits):
        lines.append("  measured and fitted before these changes")
    return lines


def curve_remark(bow: FittedBow) -> str:
    """What is to be said of draw forces that the fit misses; "" where a scale would not tell, or none is given."""
    from archerysim.shot.statics.fit_shape import PATH, remark

    return remark([one.miss for one in bow.met if one.path.startswith(PATH)])


def _moving(bow: FittedBow) -> str:
    """How much of each limb moves, and how much stands in its pocket."""
    from archerysim.equipment import filled

    full = filled(bow.setup)
    limbs = (full.upper_limb, full.lower_limb)
    upper, lower = (
        f"{number(1e3 * (limb.mass - limb.butt_mass + limb.tip_mass), 'g', 1)} with its tip, "
        f"{number(1e3 * limb.butt_mass, 'g', 1)} in the pocket"
        for limb in limbs
    )
    return upper if upper == lower else f"upper {upper}; lower {lower}"
