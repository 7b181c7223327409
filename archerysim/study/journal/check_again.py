"""What one change makes worth measuring or looking at again; all of it common practice."""

from __future__ import annotations

import re
from typing import NamedTuple

from archerysim.equipment.readings import READING

MEASURED = {
    "bow.brace_height": "brace height", "bow.upper_tiller": "upper tiller", "bow.lower_tiller": "lower tiller",
    "bow.draw_weight": "draw weight", READING: "the locators' reading",
}  # fmt: skip
ALL = tuple(MEASURED)


class Rule(NamedTuple):
    """What follows a change of some places."""

    places: str  # pattern of dotted paths
    what: str  # was changed, in words
    again: tuple[str, ...]  # places to be measured again
    look: str  # what else to mind


LIMBS = r"(limbs|upper_limb|lower_limb)\."
RULES = (
    Rule(r"string\..*", "a new string", ALL, "it stretches in use: measure once more after the first evening"),
    Rule(r"bow\.brace_height", "brace height", ALL, "then see that the arrow still clears the rest"),
    Rule(r"bow\.(upper_tiller|lower_tiller|draw_weight)", "the limb bolts", ALL, "stay within the maker's turns"),
    Rule(LIMBS + "bolt_turns", "the limb bolts", ALL, "stay within the maker's turns"),
    Rule(LIMBS + ".*", "the limbs", ALL, "see that both bend alike at brace"),
    Rule(r"rest\..*", "the rest", (READING,), "the square lies on it; powder on rest and shelf shows contact"),
    Rule(r"nock\.locators\.(reading|convention|place)", "the locators", (), "powder on rest and shelf shows contact"),
    Rule(r"nock\..*", "nock or locators", (READING,), "try how the nock sits on the string and comes off"),
    Rule(r"arrow\.diameter", "another shaft", (), "the same reading is another height of the nock's axis: see check"),
    Rule(r"arrow\..*", "the arrow", (), "the height first, then left and right; its mass against the maker's least"),
    Rule(r"side\..*", "the side support", (), "look at the height again too, and at clearance"),
    Rule(r"archer\.draw_length", "the draw", ("bow.draw_weight",), "see how far the point stands past the rest"),
)


def rule_of(path: str) -> Rule | None:
    """What follows a change at a path; None where nothing is known to."""
    return next((rule for rule in RULES if re.fullmatch(rule.places, path)), None)


def told_apart(paths: tuple[str, ...]) -> tuple[str, ...]:
    """Of places changed at one time those that count as changes: what was measured again after one of them does not."""
    counted: list[str] = []
    for path in paths:
        rules = [rule for one in counted if (rule := rule_of(one)) is not None]
        if path not in counted and not any(path in rule.again for rule in rules):
            counted.append(path)
    return tuple(counted)


def listed(paths: tuple[str, ...]) -> str:
    """Places that are measured, in words."""
    names = [MEASURED[path] for path in paths]
    return f"{', '.join(names[:-1])} and {names[-1]}" if len(names) > 1 else "".join(names)
