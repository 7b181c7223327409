"""The inputs that make left and right unsure, and how well each is known."""

from __future__ import annotations

from collections.abc import Mapping

from archerysim.equipment import NO_CHANGES, filled
from archerysim.shot.fitted_bow import FittedBow
from archerysim.study.uncertainty.inputs import BOTH_PLANES, TIMES, Input, by_limb, usual_inputs

# shares of the value, beside what is usual in the shot in both planes
TIPS = (
    Input("limbs.side_damping", 0.5, True, "not measured [judgement]", BOTH_PLANES),
    Input("limbs.side_mass", 0.3, True, "not measured [judgement]", BOTH_PLANES),
)


def unsure_inputs(bow: FittedBow) -> tuple[Input, ...]:
    """What only the shot in both planes is told, and the release time, as far as this bow has them."""
    full = filled(bow.setup)
    usual = [one for one in usual_inputs(bow.setup, 2) if one.planes == BOTH_PLANES or one.path == TIMES]
    tips = [one for both in TIPS for one in by_limb(both, full) if one.value(full) > 0.0]
    return (*usual, *tips)


def bow_with(bow: FittedBow, inputs: tuple[Input, ...], amounts: Mapping[str, float]) -> FittedBow:
    """The bow as built with some of the inputs moved by so many standard deviations."""
    full, changes = filled(bow.setup), NO_CHANGES
    for one in inputs:
        if one.path in amounts:
            changes = changes | one.moved(full, amounts[one.path] * one.size(full))
    return bow.with_changes(changes)
