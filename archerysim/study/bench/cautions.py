"""Cautions that stand with an answer of the bench: of the steps done, of the bows between, of what grew."""

from __future__ import annotations

from collections.abc import Sequence

from archerysim.equipment.bench.parts import OtherLimbs, OtherRiser, SwapLimbs
from archerysim.equipment.bench.pockets import Shim, Turn, Twist
from archerysim.equipment.bench.said import Step
from archerysim.equipment.bench.wood import Cut, Heat, Scrape, ScrapeAlong
from archerysim.equipment.cautions import BOLTS, CUTTING, HEAT, PARTS, PASSES, SCRAPING, SHIMS, TWISTING, TWO_MAKERS
from archerysim.equipment.filled_records import MeasuredBow
from archerysim.equipment.filled_setup import filled
from archerysim.fields.units import show
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.launch import Launch
from archerysim.shot.strain_along import StrainAlong

# of every step; what is not here has none of its own
CAUTIONS: dict[type, tuple[str, ...]] = {
    Turn: (BOLTS,),
    Shim: (SHIMS,),
    Twist: (TWISTING,),
    SwapLimbs: (PARTS,),
    OtherLimbs: (PARTS, TWO_MAKERS),
    OtherRiser: (PARTS, TWO_MAKERS),
    Cut: (CUTTING, SCRAPING),
    Heat: (HEAT, PASSES),
    Scrape: (SCRAPING, PASSES),
    ScrapeAlong: (SCRAPING, PASSES),
}
AFTER = "After step"  # begins what a bow between passes
GROWN = 0.005  # of a strain, from where on it is more than before [judgement]


def cautions_of(
    bow: FittedBow, steps: Sequence[Step], between: Sequence[Launch | None], strains: tuple[StrainAlong, StrainAlong]
) -> tuple[str, ...]:
    """What has to be said besides the warnings of the bow after all steps.

    Parameters
    ----------
    bow : FittedBow
        As it was.
    steps : sequence of Step
        Those done.
    between : sequence of Launch or None
        Of the bows after each step but the last; None where it could not be shot.
    strains : (StrainAlong, StrainAlong)
        Before and after.

    Returns
    -------
    tuple of str
        First what bows between pass, then what has grown, then the steps' own.
    """
    passed = [
        f"{AFTER} {k}: {words}"
        for k, launch in enumerate(between, 1)
        if launch is not None
        for _, words in zip(launch.limits_passed, launch.warnings, strict=False)
    ]
    own = [words for step in steps for words in CAUTIONS.get(type(step), ())]
    return tuple(dict.fromkeys([*passed, *_grown(strains), *_without_limits(bow), *own]))


def _grown(strains: tuple[StrainAlong, StrainAlong]) -> list[str]:
    """Limbs that are strained more than before."""
    before, after = (state.strain for state in strains)
    limbs = [
        f"{new.limb} limb {100 * old.largest:.2f} before, {100 * new.largest:.2f} % after"
        for old, new in zip(before, after, strict=True)
        if new.largest > (1.0 + GROWN) * old.largest
    ]
    if not limbs:
        return []
    return [
        f"More strain than before: {', '.join(limbs)}. What one limb bears another may not: ask its maker or a bowyer."
    ]


def _without_limits(bow: FittedBow) -> list[str]:
    """What must not be passed where the file has no limits of weight or draw."""
    limits = bow.given.limits
    if limits.highest_draw_weight is not None and limits.longest_draw is not None:
        return []
    lacks = [
        name
        for name, limit in (("draw weight", limits.highest_draw_weight), ("draw length", limits.longest_draw))
        if limit is None
    ]
    given = bow.before.given if bow.before else bow.given
    measured = filled(given).bow
    if isinstance(measured, MeasuredBow):
        weight, at, words = measured.draw_weight, measured.draw_weight_at, "measured"
    else:  # as built: nobody weighed it
        weight, at, words = bow.launch().draw_force, filled(given).archer.draw_length, "as given"
    return [
        f"The file has no limit of {' and '.join(lacks)}: never past the weight and draw {words}, "
        f"{show(weight, 'lbf', 3)} at {show(at, 'in')}, and ask the maker."
    ]
