"""A setup looked over in a dozen lines: what is odd, what the bow comes to, what to measure next."""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING

from archerysim.show.answers.bow import energy_words, locator_words, split_words, strain_words
from archerysim.show.answers.guesses import assumed_words, measure_words
from archerysim.show.lines import curve_remark, edit_lines
from archerysim.show.shots.check_table import given_cautions, in_both, listed, odd_lines
from archerysim.show.text import length, told, with_warnings, wrapped

if TYPE_CHECKING:
    from archerysim.equipment import Setup
    from archerysim.equipment.archer import Limits
    from archerysim.equipment.filled_setup import FilledSetup
    from archerysim.shot.arrays.mesh import Mesh
    from archerysim.shot.fitted_bow import FittedBow
    from archerysim.study.uncertainty.measure_next import MeasureNext

MORE = "Every value with its source, and the fit: --all"


def check_answer(
    bow: Setup | FittedBow, mesh: str | Mesh = "default", marked: Collection[str] = (),
    found: MeasureNext | None = None,
) -> str:  # fmt: skip
    """What is odd, what bow, arrow and limits come to, and what would be worth measuring next.

    Parameters
    ----------
    bow : Setup or FittedBow
    mesh : str or Mesh
    marked : collection of str
        Paths of what its file marks as assumed.
    found : MeasureNext, optional
        What measuring these would do.

    Returns
    -------
    str
        A dozen lines where nothing is odd; all warnings.

    Raises
    ------
    SetupError, ShotError
        Where the setup contradicts itself or no such bow stands.
    """
    from archerysim.equipment import filled, oddities
    from archerysim.shot.fitted_bow import FittedBow
    from archerysim.shot.warnings import with_more

    fitted = FittedBow.of(bow, mesh)
    curve = fitted.draw_curve()
    setup, full = listed(fitted), filled(fitted.setup)
    odd = oddities(setup)
    lines = [f"{setup.name}: category {setup.category}, bow as {setup.form}", *edit_lines(fitted.edits)]
    if odd:
        lines += ["  outside what is usual:", *odd_lines(odd)]
    lines += told(
        [
            ("" if odd else "odd", "" if odd else "nothing: every value is within the usual range"),
            ("draw weight", energy_words(curve)),
            ("brace height", f"{length(curve.braced.brace_height)}; tiller split {split_words(curve.braced)}"),
            ("locators", locator_words(full, curve.braced.reading)),
            ("arrow", _arrow(full, float(curve.force[-1]))),
            ("limits", _limits(setup.limits)),
            ("strain", strain_words(curve.strain)),
            ("assumed", assumed_words(setup, marked)),
            ("measure next", measure_words(setup, found)),
        ]
    )
    for said in (*fitted.remarks, curve_remark(fitted)):
        lines += wrapped(said)
    cautions = [one for one in given_cautions(setup) if one not in curve.warnings]
    return with_warnings([*lines, f"  {MORE}", ""], with_more(curve.warnings, cautions), len(curve.limits_passed))


def _arrow(full: FilledSetup, weight: float) -> str:
    from archerysim.equipment.arrow import front_of_centre, grains_per_pound, total_mass

    mass = total_mass(full.arrow)
    grains = f"{grains_per_pound(mass, weight):.1f} grains per pound"
    return f"{in_both(mass, 'gr')}, {grains}; front of centre {front_of_centre(full.arrow):.1f} %"


def _limits(limits: Limits) -> str:
    """Which of the makers' figures the file has."""
    from archerysim.equipment import field_info
    from archerysim.fields.record import fields_of
    from archerysim.fields.units import show

    given = {name: getattr(limits, name) for name in fields_of(type(limits)) if getattr(limits, name) is not None}
    if not given:
        return "no maker's limits in the file ([limits]): ask for lightest arrow and brace height"
    words = [f"{name.replace('_', ' ')} {show(at, field_info(f'limits.{name}').unit)}" for name, at in given.items()]
    return f"the makers': {', '.join(words)}"
