"""The bow at brace and while it is drawn, in a dozen lines: how heavy, how it stacks, how its limbs are strained."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from archerysim.show.lines import curve_remark, edit_lines
from archerysim.show.style import INCH, MM, POUND
from archerysim.show.text import energy, force, length, number, told, with_warnings, wrapped

if TYPE_CHECKING:
    from archerysim.equipment.filled_setup import FilledSetup
    from archerysim.shot.draw_curve import DrawCurve
    from archerysim.shot.fitted_bow import FittedBow
    from archerysim.shot.statics.brace import Braced
    from archerysim.shot.statics.strain import Strained
    from archerysim.shot.strain_along import StrainAlong

MISSED = 1e-3  # of a measured value: less is met


def draw_answer(curve: DrawCurve) -> str:
    """Force at full draw, stored energy, letting down, and how the bow stacks.

    Parameters
    ----------
    curve : DrawCurve
    """
    lines = [f"{curve.setup.name}: drawing the bow", *edit_lines(curve.edits)]
    lines += told(
        [
            ("at full draw", energy_words(curve)),
            ("stacking", _stacking(curve)),
            ("letting down", _letting_down(curve)),
            ("strain", strain_words(curve.strain)),
        ]
    )
    return with_warnings([*lines, "  The curve, draw by draw: --all", ""], curve.warnings, len(curve.limits_passed))


def energy_words(curve: DrawCurve) -> str:
    """Force and energy at full draw."""
    weight = float(curve.force[-1])
    at = f"{curve.draw_length[-1] / INCH:.2f} in ({curve.draw_length[-1] / MM:.0f} mm)"
    return f"{weight / POUND:.1f} lb ({weight:.1f} N) at {at}; stores {energy(float(curve.energy[-1]))}"


def strain_words(strain: tuple[Strained, Strained]) -> str:
    """The largest strain of each limb beside its limit; "" where it was not compared with one."""
    known = [one for one in strain if not one.unchecked]
    words = [f"{one.limb} limb {100.0 * one.largest:.2f} % of {100.0 * (one.limit or 0.0):.2f} %" for one in known]
    return ", ".join(words) + (f" (usual for {known[0].usual_for})" if known and known[0].usual_for else "")


def _stacking(curve: DrawCurve) -> str:
    """What an inch more takes at the end, beside where it takes least."""
    rising = curve.stiffness / POUND * INCH
    least = int(rising.argmin())
    text = f"at the end the force rises by {rising[-1]:.1f} lb an inch"
    if least == rising.size - 1:
        return f"{text}, and nowhere by less: no stacking"
    return (
        f"{text}, {rising[-1] / rising[least]:.1f} times as fast as where it rises slowest ({rising[least]:.1f} lb an "
        f"inch at {curve.draw_length[least] / INCH:.0f} in)"
    )


def _letting_down(curve: DrawCurve) -> str:
    kept = curve.kept_by_limbs
    if not kept:
        return "goes back the same way: the limbs keep nothing"
    share = 100.0 * kept / (curve.energy[-1] + 0.5 * kept)
    most = float(np.max(curve.force - curve.let_down))
    return f"up to {force(most)} less than drawing; the limbs keep {energy(kept)}, {share:.1f} % of the work"


def brace_answer(bow: FittedBow, curve: DrawCurve | None = None) -> str:
    """Brace height, tillers, string and locators of the braced bow, and whether the fit meets what was measured.

    Parameters
    ----------
    bow : FittedBow
    curve : DrawCurve, optional
        Of the same bow, for what is said of its draw.
    """
    from archerysim.equipment import filled
    from archerysim.shot import warnings

    full, braced = filled(bow.setup), bow.braced
    tillers = f"{length(braced.upper_tiller)} upper, {length(braced.lower_tiller)} lower"
    lines = [f"{bow.setup.name}: at brace", *edit_lines(bow.edits)]
    lines += told(
        [
            ("brace height", length(braced.brace_height)),
            ("tillers", f"{tillers}; split {split_words(braced)}"),
            ("string", f"{length(braced.string_length)} unloaded; pulls {force(braced.tension)} at brace"),
            ("locators", locator_words(full, braced.reading)),
            ("the fit", _fit(bow)),
        ]
    )
    for said in (*bow.remarks, curve_remark(bow)):
        lines += wrapped(said)
    lines += ["  Pocket angles, the string on the limbs, and the fit: --all", ""]
    if curve is not None:
        return with_warnings(lines, curve.warnings, len(curve.limits_passed))
    passed = warnings.limits_at_brace(full, braced)
    lines += ["Not drawn: draw and arrow are left out", ""]
    return with_warnings(lines, warnings.all_warnings(passed, warnings.of_bow(full, braced)), len(passed))


def split_words(braced: Braced) -> str:
    """The tiller split."""
    return number((braced.upper_tiller - braced.lower_tiller) / MM, "mm", 1, True)


def locator_words(full: FilledSetup, underside: float) -> str:
    """A locator height by both conventions, the setup's first, and the axis above square; ``underside`` in m."""
    from archerysim.equipment.readings import both_units, read_by, readings

    found = readings(underside, full.arrow.diameter, full.nock.height)
    ways = [f"{both_units(found.underside)} underside", f"{both_units(found.top)} top"]
    ways = ways[::-1] if read_by(full).convention == "top" else ways
    return f"{', '.join(ways)}; nock axis {number(found.axis_above_square / MM, 'mm', 1)} above square"


def _fit(bow: FittedBow) -> str:
    """Whether it meets what was measured; "" where nothing was."""
    if not bow.met:
        return ""
    missed = [one.path for one in bow.met if abs(one.miss) > MISSED * abs(one.wanted)]
    if missed:
        return f"misses {', '.join(missed)}"
    return f"meets all {len(bow.met)} measures"


def strain_answer(found: StrainAlong) -> str:
    """The largest strain of each limb beside its limit, and where each limb bends most.

    Parameters
    ----------
    found : StrainAlong
    """
    from archerysim.equipment.cautions import SCRAPING
    from archerysim.shot.warnings import with_more
    from archerysim.show.shots.strain_table import largest

    shaped = bool(np.isfinite(found.width).any())
    lines = [f"{found.setup.name}: how the limbs bend", *edit_lines(found.edits)]
    lines += told([*largest(found), *_bent(found)])
    lines += ["  Curvature and strain from root to tip: --all", ""]
    return with_warnings(lines, with_more(found.warnings, [SCRAPING] if shaped else []), len(found.limits_passed))


def _bent(found: StrainAlong) -> list[tuple[str, str]]:
    """Where each limb's curvature changes most, from brace to full draw and from the unstrung limb, as it is drawn."""
    from archerysim.shot.statics.strain import LIMBS

    rows = []
    for k, name in enumerate(LIMBS):
        told = []
        for since, more in (
            ("from brace to full draw", found.curvature[k, 1] - found.curvature[k, 0]),
            ("from the unstrung limb", found.curvature[k, 1]),
        ):
            i = int(more.argmax())
            told.append(f"{since} most at {found.from_root[k, i] / MM:.0f} mm from the root, by {more[i]:.2f} 1/m")
        rows.append((f"the {name} limb bends", "; ".join(told)))
    return rows
