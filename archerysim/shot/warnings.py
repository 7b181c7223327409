"""Warnings in words: what is dangerous, and what in the input is bad. None says that a bow is safe.

What merely happened on the way stands in `archerysim.shot.launch.Launch.events`.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

import numpy as np

from archerysim.equipment.arrow import grains_per_pound, total_mass
from archerysim.equipment.cautions import BOLTS, SCRAPING
from archerysim.equipment.filled_records import FilledArrow
from archerysim.equipment.filled_setup import FilledSetup
from archerysim.mechanics.release.layout import AT_X, AT_Y, SEPARATION
from archerysim.shot.bow_before import Before
from archerysim.shot.draw_weight import COACH, POUND, above_junior, more_weight
from archerysim.shot.release.release import Loosed
from archerysim.shot.statics.brace import Braced
from archerysim.shot.statics.draw import TRADE, Drawing
from archerysim.shot.statics.drawn import Drawn
from archerysim.shot.statics.strain import Strained, warned

NONE = "No limit known here was passed. That is not a promise that the bow is safe."
TOO_LIGHT = "arrow's mass"  # under the least of any bow
LIGHTEST, LIGHTEST_PER_WEIGHT = "limits.lightest_arrow", "limits.lightest_arrow_per_weight"
NOT_TO_SHOOT = (TOO_LIGHT, LIGHTEST, LIGHTEST_PER_WEIGHT)  # names of limits under which nothing is shot
JUNIOR_WEIGHT = "draw weight of a junior"
DO_NOT_SHOOT = 5.0  # [grains per pound], common practice
LIGHT = {"traditional": 8.0}  # wooden and traditional bows; others below
LIGHT_OTHERS = 6.0
STRENGTH_SHARE = 0.25
NEAR_USUAL = 0.8  # of a strain usual for a material, of which single pieces differ by a fifth and more [judgement]
MANY_TURNS = 2.0  # of a bolt since the bow was measured, where the maker's limit is not known [judgement]
PAST_REST = {"junior": 0.050}  # [m], learners; others below
PAST_REST_OTHERS = 0.025
DEEP = 1e-3  # [m] under the arm's top: a strike that is more than a graze [judgement]
NEVER_BEYOND, ARM_STRUCK, TAIL_TOUCHES = (
    "The shaft never goes beyond the arm of the rest", "The shaft strikes the arm of the rest from the side",
    "The tail touches the side support",
)  # fmt: skip
RAISE = "Raise the locators, take"
GRAZE = 0.05  # [m/s] of the arrow, some 0.05 deg: what a touch of its tail that is no more is worth [judgement]
GRAIN = 64.79891e-6  # [kg]


def of_limits(
    full: FilledSetup, braced: Braced, drawn: Drawn, strain: tuple[Strained, Strained] | None = None
) -> dict[str, str]:
    """Limits that are passed, those of the file and those on the arrow: name to sentence.

    A junior's draw weight above the usual comes first.
    """
    heavy = above_junior(full, drawn.weight)
    first = {JUNIOR_WEIGHT: heavy} if heavy else {}
    return first | limits_at_brace(full, braced) | limits_at_draw(full, drawn) | (warned(strain) if strain else {})


def all_warnings(passed: dict[str, str], others: Sequence[str]) -> tuple[str, ...]:
    """All warnings: of the limits passed first; where none was passed, at last what that means."""
    return (*passed.values(), *others, *(() if passed else (NONE,)))


def with_more(texts: Sequence[str], more: Sequence[str]) -> list[str]:
    """Warnings and more cautions, none of them twice; what no limit passed means still last."""
    new = [one for one in more if one not in texts]
    return [*(one for one in texts if one != NONE), *new, *(one for one in texts if one == NONE)]


def not_to_shoot(passed: Sequence[str], texts: Sequence[str]) -> str:
    """The warning that forbids to shoot, of a result's limits passed and warnings; "" where there is none."""
    return next((words for name, words in zip(passed, texts, strict=False) if name in NOT_TO_SHOOT), "")


def limits_at_brace(full: FilledSetup, braced: Braced) -> dict[str, str]:
    """Those that the braced bow passes."""
    out = {}
    limits = full.given.limits
    low, high, height = limits.brace_height_low, limits.brace_height_high, braced.brace_height
    if low is not None and height < low:
        out["limits.brace_height_low"] = (
            f"Brace height {1e3 * height:.0f} mm is under the maker's {1e3 * low:.0f} mm: twist the string."
        )
    if high is not None and height > high:
        out["limits.brace_height_high"] = (
            f"Brace height {1e3 * height:.0f} mm is over the maker's {1e3 * high:.0f} mm: untwist the string."
        )
    turns = limits.most_bolt_turns
    for name, limb in (("upper", full.upper_limb), ("lower", full.lower_limb)):
        if turns is not None and abs(limb.bolt_turns) > turns:
            out[f"limits.most_bolt_turns ({name})"] = (
                f"The {name} limb bolt is turned {limb.bolt_turns:+.2f} turns, past the maker's {turns:.2f}: "
                "turn it back, unstrung or as the maker says."
            )
        elif turns is None and abs(limb.bolt_turns) > MANY_TURNS:
            out[f"bolt turns, usual ({name})"] = (
                f"The {name} limb bolt is turned {limb.bolt_turns:+.2f} turns from where the bow was measured; more "
                f"than {MANY_TURNS:.0f} is much, and the maker's limit is not in the file. Ask the maker before "
                "turning a bolt so far, and give limits.most_bolt_turns."
            )
    return out


def limits_at_draw(full: FilledSetup, drawn: Drawn) -> dict[str, str]:
    """Those that the arrow and the bow at full draw pass."""
    out = {}
    limits, archer = full.given.limits, full.archer
    mass = total_mass(full.arrow)
    grains = grains_per_pound(mass, drawn.weight)
    light = LIGHT.get(full.category, LIGHT_OTHERS)
    per_weight = limits.lightest_arrow_per_weight
    if grains < DO_NOT_SHOOT:
        out[TOO_LIGHT] = (
            f"DO NOT SHOOT: the arrow has {grains:.1f} grains per pound of draw weight; under "
            f"{DO_NOT_SHOOT:.0f} is near to loosing without an arrow and can break bow and archer. Take a heavier one."
        )
    elif limits.lightest_arrow is not None and mass < limits.lightest_arrow:
        out[LIGHTEST] = (
            f"DO NOT SHOOT: the arrow's {1e3 * mass:.1f} g is under the maker's {1e3 * limits.lightest_arrow:.1f} g; "
            "take a heavier one."
        )
    elif per_weight is not None:
        if mass / drawn.weight < per_weight:
            least = per_weight * POUND / GRAIN
            out[LIGHTEST_PER_WEIGHT] = (
                f"DO NOT SHOOT: the arrow's {grains:.1f} grains per pound of draw weight are under the maker's "
                f"{least:.1f}; take a heavier one."
            )
    elif limits.lightest_arrow is None and grains < light:
        out["arrow's mass, usual"] = (
            f"Light arrow: {grains:.1f} grains per pound of draw weight; {light:.0f} is the usual minimum. Ask the "
            "maker of bow and limbs before shooting it, or take a heavier one."
        )
    if limits.longest_draw is not None and archer.draw_length > limits.longest_draw:
        out["limits.longest_draw"] = (
            f"Draw length {archer.draw_length / 0.0254:.2f} in is over the maker's "
            f"{limits.longest_draw / 0.0254:.2f} in: do not draw it so far."
        )
    if limits.highest_draw_weight is not None and drawn.weight > limits.highest_draw_weight:
        out["limits.highest_draw_weight"] = (
            f"Draw weight {drawn.weight / POUND:.1f} lbf is over the maker's "
            f"{limits.highest_draw_weight / POUND:.1f} lbf: do not draw it so far."
        )
    past = full.arrow.length - (archer.draw_length - TRADE) - full.rest.forward
    least_past = PAST_REST.get(full.category, PAST_REST_OTHERS)
    if past < least_past:
        out["arrow's reach past the rest"] = (
            f"The shaft reaches {1e3 * past:.0f} mm past the rest at full draw; {1e3 * least_past:.0f} mm is the "
            "minimum: an arrow drawn off its rest can hit the hand. Take a longer one."
        )
    return out


def of_bow(full: FilledSetup, braced: Braced) -> list[str]:
    """What the braced bow gives rise to besides."""
    out = []
    string = full.string
    if string.strands and string.strand_strength:
        strength = string.strands * string.strand_strength
        if braced.tension > STRENGTH_SHARE * strength:
            out.append(
                f"String tension {braced.tension:.0f} N at brace is above a quarter of its strength "
                f"({strength:.0f} N): do not draw it; take a string with more strands, as the bow's maker says."
            )
    reach = 0.5 * string.serving_length
    middle = string.serving_centre
    for name, at in (
        ("upper", braced.throat + full.nock.locators.mass_at),
        ("lower", braced.throat - full.nock.locators.mass_at),
    ):
        if abs(at - middle) > reach:
            out.append(f"The {name} locator sits outside the serving: serve the string there first.")
    if full.upper_limb.bolt_turns or full.lower_limb.bolt_turns:
        out.append(BOLTS)
    return out


def of_changes(full: FilledSetup, weight: float, before: Before | None) -> list[str]:
    """What is said of a draw weight [N] and of limbs that are not those of the bow before any change.

    A junior's coach is named once: here, or where the draw weight is above what juniors usually draw.
    """
    more = more_weight(full, weight, before)
    out = [more] if more else []
    if full.category == "junior" and not above_junior(full, weight):
        out.append(COACH)
    if before is not None and scraped(full, before):
        out.append(SCRAPING)
    return out


def of_strain(strain: tuple[Strained, Strained]) -> list[str]:
    """Limbs that are strained nearly as much as is usual for their material: single pieces may bear less."""
    return [
        f"The {one.limb} limb's {one.side} is strained by {100 * one.largest:.2f} % at {one.moment}, "
        f"{100 * one.largest / one.limit:.0f} % of the {100 * one.limit:.2f} % usual for {one.usual_for}; single "
        "pieces differ by a fifth and more. Ask a bowyer who has the bow in hand before it is drawn so far."
        for one in strain
        if one.usual_for and one.limit and one.limit >= one.largest > NEAR_USUAL * one.limit
    ]


def scraped(full: FilledSetup, before: Before) -> bool:
    """Whether a limb is anywhere narrower or thinner than before."""
    for name in ("upper_limb", "lower_limb"):
        now, then = getattr(full, name), getattr(before.setup, name)
        for table in ("width", "thickness"):
            values, others = getattr(now, table), getattr(then, table)
            if values is None or others is None:
                continue
            if len(values) != len(others) or any(a < b for a, b in zip(values, others, strict=True)):
                return True
    return False


def of_release(drawing: Drawing, loosed: Loosed) -> list[str]:
    """What the release gives rise to: input that cannot be right, or is none for this model."""
    out = []
    a = drawing.braced.marks.tail
    left_at = loosed.states[SEPARATION, AT_X, a]
    if left_at < drawing.begin - 0.06:
        out.append(
            f"The nock loses the string early, {1e3 * (drawing.begin - left_at):.0f} mm before brace height: "
            "check the nock's fit and the throat's depth."
        )
    if abs(np.degrees(loosed.moments[SEPARATION].riser_turn)) > 5.0:
        out.append(
            "The riser turns more than 5 degrees before the arrow leaves, outside what the model is made for: check "
            "the riser's mass, its rods and the hand in the file."
        )
    largest_bend = _shaft_bend(drawing, loosed)
    if largest_bend > 0.05:
        out.append(
            f"The shaft bends by {100 * largest_bend:.0f} % of its length up and down, outside what the model is "
            "made for: check spine, point and finger shares in the file."
        )
    return out


def of_passing(full: FilledSetup, loosed: Loosed) -> list[str]:
    """What keeps the shaft from passing rest and side support, in both planes; grazes do not."""
    if loosed.sideways is None:
        return []
    out = []
    notes: Any = loosed.sideways.notes
    cell = 1e3 * full.arrow.length / loosed.sideways.cells
    if full.rest.kind == "arm" and np.isnan(notes.arm_left_time):
        out.append(
            f"{NEVER_BEYOND}: its tail comes down on the arm and drags over it, and the "
            "arrow leaves nose down. Take a shorter arm (rest.reach), and check the roll of the fingers "
            "(archer.side_roll): the shaft has to bend away from the arm."
        )
    if notes.arm_strikes > 0 and notes.arm_strike_depth > DEEP:
        out.append(
            f"{ARM_STRUCK}, {cell * notes.arm_strike_place:.0f} mm from the "
            f"nock, {1e3 * notes.arm_strike_depth:.1f} mm deep at most; here the arm folds away; a real one may turn "
            f"the arrow. {RAISE} a shorter arm, or set the side support further in."
        )
    if touches_hard(full.arrow, notes.tail_force, notes.tail_lasted):
        out.append(
            f"{TAIL_TOUCHES}, {cell * notes.tail_place:.0f} mm from the nock, with up to "
            f"{notes.tail_force:.1f} N. Clear the contact first: left and right of bare shafts may be reversed. Set "
            "the side support further in, and check the roll of the fingers (archer.side_roll)."
        )
    return out


def of_contact(texts: Sequence[str]) -> tuple[str, ...]:
    """Those of a shot's warnings that say that something touches after the shaft has first left: of `of_passing`."""
    return tuple(one for one in texts if one.startswith((NEVER_BEYOND, ARM_STRUCK, TAIL_TOUCHES)))


def of_contact_at(texts: Sequence[str], where: str, lower: bool) -> list[str]:
    """A shot's warnings where the bow does not stand so yet: those of contact say where they hold.

    Parameters
    ----------
    texts : sequence of str
    where : str
        The value that the shot was made with, in words: "At 6.9 mm (the estimate)".
    lower : bool
        Whether the locators are lower there than today: then no warning says to raise them.
    """
    out = []
    for one in texts:
        if of_contact([one]):
            one = f"{where}: {one[0].lower()}{one[1:]}"
            one = one.replace(RAISE, "Take") if lower else one
        out.append(one)
    return out


def touches_hard(arrow: FilledArrow, force: float, lasted: float) -> bool:
    """Whether a touch of the side support by the tail, with so much force [N] for so long [s], is more than a graze."""
    return force * lasted > GRAZE * total_mass(arrow)


def _shaft_bend(drawing: Drawing, loosed: Loosed) -> float:
    """Largest deflection of the shaft from its chord at separation, over its length."""
    a = drawing.braced.marks.tail
    x, y = loosed.states[SEPARATION, AT_X, a:], loosed.states[SEPARATION, AT_Y, a:]
    chord = np.array([x[-1] - x[0], y[-1] - y[0]])
    length = np.hypot(*chord)
    return float(np.abs((x - x[0]) * chord[1] - (y - y[0]) * chord[0]).max() / length**2)


NUMBER = re.compile(r"[-+]?\d+(?:\.\d+)?")


def kind_of(sentence: str) -> str:
    """A warning without its numbers: two of one kind differ in these only."""
    return NUMBER.sub("#", sentence)


def ranged(sentences: Sequence[str]) -> str:
    """Warnings of one kind in one sentence: a number that differs among them as a range."""
    numbers = zip(*(NUMBER.findall(sentence) for sentence in sentences), strict=True)
    ranges = []
    for found in numbers:
        low, high = min(found, key=float), max(found, key=float)
        ranges.append(low if low == high else f"{low} to {high}")
    following = iter(ranges)
    return NUMBER.sub(lambda _: next(following), sentences[0])
