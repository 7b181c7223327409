"""What is said of the draw weight: more than the bow as given has, and more than juniors usually draw."""

from __future__ import annotations

from archerysim.equipment.filled_setup import FilledSetup
from archerysim.equipment.typical import usual_draw_weight
from archerysim.shot.bow_before import Before

POUND = 4.4482216152605  # [N]
SLACK = 0.1 * POUND  # [N] of draw weight that counts as the same [judgement]
SLACK_SHARE = 0.005  # the same, of the draw weight; the larger counts
COACH = "A junior's bow: set up, changed and shot with a coach."


def above_junior(full: FilledSetup, weight: float) -> str:
    """What is said where a junior draws more than juniors usually do [N]; else empty."""
    if full.category != "junior":
        return ""
    low, high = usual_draw_weight("junior")
    if weight <= high + SLACK:
        return ""
    return (
        f"Draw weight {weight / POUND:.1f} lbf is above the {low / POUND:.0f} to {high / POUND:.0f} lbf usual for "
        "juniors: a coach who knows the archer decides before anything is shot."
    )


def more_weight(full: FilledSetup, weight: float, before: Before | None) -> str:
    """What is said where the draw weight [N] is more than that of the bow before any change; else empty."""
    if before is None or not weight > before.weight + max(SLACK, SLACK_SHARE * before.weight):
        return ""
    coach = "" if full.category == "junior" else "; juniors with a coach"  # a junior's result names one anyhow
    return (
        f"More draw weight than the bow {before.words}, {weight / POUND:.1f} instead of {before.weight / POUND:.1f} "
        f"lbf: in small steps, within the maker's limit{coach}. Pain means stop."
    )
