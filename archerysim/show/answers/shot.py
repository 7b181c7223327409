"""How the arrow leaves, in a dozen lines: speed, attitude in the trade's words, locators, what it touches, energy."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from archerysim.show.answers.bow import locator_words, strain_words
from archerysim.show.lines import edit_lines
from archerysim.show.shots.passage_table import LEAST_GAP, NO_SHOT_BEFORE, SAME, TURN_ROUND, changed, turned
from archerysim.show.shots.passing import depth_words
from archerysim.show.style import MM
from archerysim.show.text import away, energy, nose, number, speed, tail, told, turning, with_warnings

if TYPE_CHECKING:
    from archerysim.shot.launch import Launch
    from archerysim.shot.side_change import SideChange

HARDLY = 0.05  # an angle of attack that is as good as none [deg] [judgement]
WHY_NOT = "only changes are given (archerysim sideways, or --set): the fingers' roll is a guess"


def launch_answer(launch: Launch, change: SideChange | None = None) -> str:
    """How the arrow leaves, what it touches on the way, and what a change does to left and right.

    Parameters
    ----------
    launch : Launch
    change : SideChange, optional
        What the changes on its bow do sideways, in both planes.
    """
    clear, full = launch.clear, launch.drawing.setup
    lines = [f"{launch.setup.name}: the arrow as it leaves the bow", *edit_lines(launch.edits)]
    lines += told(
        [
            ("speed", speed(clear.speed)),
            ("pitch", f"{tail(clear.pitch)}, {turning(clear.pitch_rate)}"),
            ("attack", attack_words(clear.angle_of_attack)),
            ("locators", locator_words(full, launch.reading * MM)),
            ("clearance", clearance_words(launch)),
            ("energy", _energy(launch)),
            ("strain", strain_words(launch.strain)),
            ("sideways", sideways_words(launch, change) if launch.planes == 2 else ""),
        ]
    )
    lines += ["  Both moments, the way past the rest, the energy part by part: --all", ""]
    return with_warnings(lines, launch.warnings, len(launch.limits_passed))


def attack_words(attack: float) -> str:
    """An angle of attack at clear [deg], and what it starts."""
    if abs(attack) < HARDLY:
        return f"hardly any ({nose(attack)}): it hardly starts porpoising"
    return f"{tail(attack)} against the way it flies: it starts porpoising"


def clearance_words(launch: Launch) -> str:
    """What touches after the shaft has left rest and side support, and by how little the rest goes by."""
    if launch.planes == 1:
        return _flat_clearance(launch)
    passage, arm = launch.passage, launch.drawing.setup.rest.kind != "shelf"
    gaps = {"side support": passage.side_gap} | ({"arm": passage.arm_gap} if arm else {})  # on a shelf it lies
    passed = [f"{abs(gap):.1f} mm from the {what}" for what, gap in gaps.items() if gap > -LEAST_GAP]
    text = touching(launch)
    if not text:
        text = "nothing touches once the shaft is off" + (f"; it passes {' and '.join(passed)}" if passed else "")
        if arm and passage.arm_gap < -LEAST_GAP:
            text += f"; its flank reaches {-passage.arm_gap:.1f} mm into the arm's end, which is not felt here"
    gaps = {"side support": passage.vane_side_gap, "arm" if arm else "shelf": passage.vane_arm_gap}
    vanes = [f"{-gap:.1f} mm into the {what}" for what, gap in gaps.items() if gap < -LEAST_GAP]
    return f"{text}. Vanes reach {', '.join(vanes)}: ignored by the model" if vanes else text


def touching(launch: Launch) -> str:
    """What touches after the shaft has left rest and side support; "" where nothing does, and in one plane."""
    from archerysim.shot.warnings import DEEP, touches_hard

    passage, full = launch.passage, launch.drawing.setup
    if launch.planes == 1:
        return ""
    if full.rest.kind != "shelf" and not math.isfinite(passage.arm_left_at):
        return "TOUCHES: the shaft never leaves the rest's arm"
    found = []
    if passage.arm_strikes:
        how = "strikes" if passage.arm_strike_depth * MM > DEEP else "grazes"
        found.append(f"the shaft {how} the arm, {depth_words(launch)}, {passage.arm_strike_place:.0f} mm from the nock")
    if math.isfinite(passage.tail_touch_at):
        hard = touches_hard(full.arrow, passage.tail_touch_force, passage.tail_touch_lasted)
        how = "knocks against" if hard else "grazes"
        found.append(f"the tail {how} the side support, with up to {passage.tail_touch_force:.1f} N")
    return f"touches: {'; '.join(found)}" if found else ""


def _flat_clearance(launch: Launch) -> str:
    """In one plane: the rest alone, as long as it supports and what would touch after that."""
    if math.isfinite(launch.suppressed_strike):
        return f"the shaft would touch the rest after its support ends, {launch.suppressed_strike:.1f} mm deep"
    if math.isfinite(launch.least_gap):
        return f"nothing touches after the rest's support ends; least gap {launch.least_gap:.1f} mm"
    return "the rest supports to the end"


def sideways_words(launch: Launch, change: SideChange | None) -> str:
    """What the changes on the bow do to left and right; without any, why nothing is told."""
    if change is None:
        return NO_SHOT_BEFORE if launch.edits else WHY_NOT
    side = away(launch.setup)
    by = {
        "yaw": turned(change.yaw, side),
        "sideways velocity": changed(change.sideways_velocity, "m/s", 3, side),
        "side angle of attack": turned(change.side_angle_of_attack, side),
    }
    text = ", ".join(f"{name} {words}" for name, words in by.items() if words != SAME) or SAME
    text += ", against the bow before the changes" if text != SAME else ""
    return (
        f"{text}. The tail touches the side support: {TURN_ROUND}" if change.touches or change.touched_before else text
    )


def _energy(launch: Launch) -> str:
    return f"{energy(launch.stored_energy)} stored, {number(100.0 * launch.efficiency, '%', 1)} of it in the arrow"
