"""Every word of the moving pictures, in one table. Another language is another column with the same keys.

What stands in braces is filled in as the picture is made or as it plays.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from archerysim.show.page.texts import ENGLISH as SHARED
from archerysim.show.page.texts import checked

ENGLISH: Mapping[str, str] = {
    **SHARED,
    "title_release": "{name}: the release",
    "title_flight": "{name}: {distance}",
    "skip": "Skip to the pictures",
    "pictures": "Pictures",
    "controls": "Play and step",
    "step_back": "One picture back",
    "step_on": "One picture on",
    "keys": "Space: play or pause. Left and right arrow: one picture. Plus and minus: faster, slower. Home, End: first "
    "and last picture.",
    "now": "{time} {unit}",
    "now_far": "{time} {unit}, the point at {way}",
    "of_pictures": "picture {number} of {count}",
    "what_happens": "What happens when",
    "minded": "To be minded",
    "mirrored": "For a left-handed archer: left and right are exchanged. Everything up and down is as it is for a "
    "right-handed one.",
    "slow": "about {times} times slower than real",
    # the release
    "full_draw": "full draw",
    "let_go": "fingers let go",
    "driven": "bow drives the arrow",
    "off": "arrow is off the string",
    "clear": "clear",
    "whole_bow": "the whole bow, to scale",
    "nock_enlarged": "nock, enlarged",
    "rest_enlarged": "rest, enlarged",
    "rest_idle": "rest: supports no longer",
    "from_behind": "at the rest, from behind",
    "side_view": "from the side, up-down x{times}",
    "from_above": "from above ({away} is up), x{times}",
    "against_line": "the arrow against its line at full draw, up-down x{times}",
    "axis_touches": "dot: axis at the {what}",
    "axis_on": "its axis when touching the {what}",
    "axis_lies": "dot: where the shaft's axis lies when it just touches the rest",
    "line_at_full_draw": "its line at full draw",
    "upper_limb": "upper limb",
    "lower_limb": "lower limb",
    "riser": "riser",
    "string": "string",
    "arrow": "arrow",
    "fingers": "fingers",
    "locator": "locator",
    "locators": "locators",
    "nock": "nock",
    "shaft": "shaft",
    "vanes": "vanes",
    "rest": "rest",
    "shelf": "shelf",
    "arm": "rest's arm",
    "side_support": "side support",
    "away_left": "← left (away from the window)",
    "away_right": "right → (away from the window)",
    "fingers_hold": "fingers hold",
    "string_pushes": "string pushes",
    "rest_pushes": "rest pushes",
    "side_pushes": "side support pushes",
    "force": "{now} of {most} N",
    "happened": "In this computation the shaft {what}; how a real shaft fares, powder on the rest tells.",
    "touched_again": "touches the rest again at {time} ms",
    "arm_struck": "strikes the rest's arm from the side at {time} ms",
    "tail_touched": "touches the side support with its tail at {time} ms",
    "had_it_stayed": "would touch the rest again, had it stayed",
    # the flight
    "way": "path with the drop taken out, up-down x{times}",
    "target": "target",
    "drop_line": "the way to the centre, drop taken out",
    "distance_of_point": "distance of the point",
    "time_word": "time",
    "true_angle": "{name}, x1",
    "attack": "angle of attack {angle}",
    "angle": "{angle} deg, {lean}",
    "straight": "straight",
    "tail_low": "tail low",
    "tail_high": "tail high",
    "on_the_ground": "on the ground",
    "in_the_target": "in the target",
    "higher": " lands {apart} mm higher than ",
    "lower": " lands {apart} mm lower than ",
}


def checked_texts(texts: Mapping[str, str]) -> Mapping[str, str]:
    """A table of texts that has every sentence, with what is filled into it.

    Raises
    ------
    SetupError
        If one is missing or unknown, or holds other braces than in English.
    """
    return checked(texts, ENGLISH, "archerysim.show.motion.texts.ENGLISH")


def said(key: str, **values: Any) -> str:
    """A text of a picture, filled in; what is not handed over stays in its braces."""
    text = ENGLISH[key]
    for name, value in values.items():
        text = text.replace(f"{{{name}}}", str(value))
    return text
