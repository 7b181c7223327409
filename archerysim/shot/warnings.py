"""Warnings in words. They say what was noticed; none says that a bow is safe."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

import numpy as np

from archerysim.equipment.arrow import grains_per_pound, total_mass
from archerysim.shot.brace import Braced
from archerysim.shot.draw import TRADE, Drawing, Drawn
from archerysim.shot.loose import Loosed

NONE = "No limit known here was passed. That is not a promise that the bow is safe."
BOLTS = (
    "Bolts turned: on a real bow unstring it or follow its maker first, never turn past the maker's limit, and check "
    "brace height, tiller and locators again afterwards."
)
MORE_WEIGHT = "More draw weight: in small steps, within the maker's limit; juniors with a coach. Pain means stop."
AGAIN = "The shaft comes down on the rest again"
SUPPRESSED = "A second strike on the rest was suppressed"
TOO_LIGHT = "arrow's mass"  # names the limit under which nothing is shot
DO_NOT_SHOOT = 5.0  # [grains per pound], common practice
LIGHT = {"traditional": 8.0}  # wooden and traditional bows; others below
LIGHT_OTHERS = 6.0
STRENGTH_SHARE = 0.25
PAST_REST = {"junior": 0.050}  # [m], learners; others below
PAST_REST_OTHERS = 0.025
GRAIN = 64.79891e-6  # [kg]
POUND = 4.4482216152605  # [N]


def of_limits(full: Any, braced: Braced, drawn: Drawn) -> dict[str, str]:
    """Limits that are passed, those of the file and those on the arrow: name to sentence."""
    return limits_at_brace(full, braced) | limits_at_draw(full, drawn)


def limits_at_brace(full: Any, braced: Braced) -> dict[str, str]:
    """Those that the braced bow passes."""
    out = {}
    limits = full.limits
    low, high, height = limits.brace_height_low, limits.brace_height_high, braced.brace_height
    if low is not None and height < low:
        out["limits.brace_height_low"] = f"Brace height {1e3 * height:.0f} mm is under the maker's {1e3 * low:.0f} mm."
    if high is not None and height > high:
        out["limits.brace_height_high"] = f"Brace height {1e3 * height:.0f} mm is over the maker's {1e3 * high:.0f} mm."
    turns = limits.most_bolt_turns
    for name, limb in (("upper", full.upper_limb), ("lower", full.lower_limb)):
        if turns is not None and abs(limb.bolt_turns) > turns:
            out[f"limits.most_bolt_turns ({name})"] = (
                f"The {name} limb bolt is turned {limb.bolt_turns:+.2f} turns, past the maker's {turns:.2f}: "
                "turn it back, unstrung or as the maker says."
            )
    return out


def limits_at_draw(full: Any, drawn: Drawn) -> dict[str, str]:
    """Those that the arrow and the bow at full draw pass."""
    out = {}
    limits, archer = full.limits, full.archer
    mass = total_mass(full.arrow)
    grains = grains_per_pound(mass, drawn.weight)
    light = LIGHT.get(full.category, LIGHT_OTHERS)
    per_weight = limits.lightest_arrow_per_weight
    if grains < DO_NOT_SHOOT:
        out[TOO_LIGHT] = (
            f"DO NOT SHOOT: the arrow has {grains:.1f} grains per pound of draw weight; under "
            f"{DO_NOT_SHOOT:.0f} is near to loosing without an arrow and can break bow and archer."
        )
    elif limits.lightest_arrow is not None and mass < limits.lightest_arrow:
        out["limits.lightest_arrow"] = (
            f"Light arrow: {1e3 * mass:.1f} g is under the maker's {1e3 * limits.lightest_arrow:.1f} g."
        )
    elif per_weight is not None:
        if mass / drawn.weight < per_weight:
            least = per_weight * POUND / GRAIN
            out["limits.lightest_arrow_per_weight"] = (
                f"Light arrow: {grains:.1f} grains per pound is under the maker's {least:.1f}."
            )
    elif limits.lightest_arrow is None and grains < light:
        out["arrow's mass, usual"] = (
            f"Light arrow: {grains:.1f} grains per pound of draw weight; {light:.0f} is the usual least."
        )
    if limits.longest_draw is not None and archer.draw_length > limits.longest_draw:
        out["limits.longest_draw"] = (
            f"Draw length {archer.draw_length / 0.0254:.2f} in is over the maker's "
            f"{limits.longest_draw / 0.0254:.2f} in."
        )
    if limits.highest_draw_weight is not None and drawn.weight > limits.highest_draw_weight:
        out["limits.highest_draw_weight"] = (
            f"Draw weight {drawn.weight / POUND:.1f} lbf is over the maker's "
            f"{limits.highest_draw_weight / POUND:.1f} lbf."
        )
    past = full.arrow.length - (archer.draw_length - TRADE) - full.rest.forward
    least_past = PAST_REST.get(full.category, PAST_REST_OTHERS)
    if past < least_past:
        out["arrow's reach past the rest"] = (
            f"The shaft reaches {1e3 * past:.0f} mm past the rest at full draw; {1e3 * least_past:.0f} mm is the "
            "least: an arrow drawn off its rest can hit the hand."
        )
    return out


def of_bow(full: Any, braced: Braced) -> list[str]:
    """What the braced bow gives rise to besides."""
    out = []
    string = full.string
    if string.strands and string.strand_strength:
        strength = string.strands * string.strand_strength
        if braced.tension > STRENGTH_SHARE * strength:
            out.append(
                f"String tension {braced.tension:.0f} N at brace is above a quarter of its strength "
                f"({strength:.0f} N): use more strands."
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


def of_release(full: Any, drawing: Drawing, drawn: Drawn, loosed: Loosed) -> list[str]:
    """What the release gives rise to."""
    out = []
    notes = loosed.notes
    if np.isfinite(notes[5]):
        out.append(
            f"{AGAIN} {1e3 * notes[5]:.1f} ms after the release: a second strike, "
            "which a real shaft often escapes by bending sideways."
        )
    if notes[2] > 0.0:
        out.append(
            f"{SUPPRESSED}: after {1e3 * full.rest.support_travel:.0f} mm of travel "
            f"the shaft would have pressed it by {1e3 * notes[2]:.1f} mm. Check clearance with powder or paint."
        )
    a = drawing.braced.marks.tail
    left_at = loosed.states[0, 0, a]
    if left_at < drawing.begin - 0.06:
        out.append(
            f"The nock loses the string early, {1e3 * (drawing.begin - left_at):.0f} mm before brace height: "
            "check the nock's fit and the throat's depth."
        )
    moment = loosed.moments[0]
    if abs(np.degrees(moment[3])) > 5.0:
        out.append("The riser turns more than 5 degrees before the arrow leaves: outside what the model is for.")
    largest_bend = _shaft_bend(drawing, loosed)
    if largest_bend > 0.05:
        out.append(
            f"The shaft bends by {100 * largest_bend:.0f} % of its length up and down: outside what the model is for."
        )
    return out


def _shaft_bend(drawing: Drawing, loosed: Loosed) -> float:
    """Largest deflection of the shaft from its chord at separation, over its length."""
    a = drawing.braced.marks.tail
    x, y = loosed.states[0, 0, a:], loosed.states[0, 1, a:]
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
