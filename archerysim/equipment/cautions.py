"""Cautions that stand beside fields of a setup and beside what comes of changing them."""

from __future__ import annotations

BOLTS = (
    "Bolts turned: on a real bow first unstring it or do as its maker says, never turn past the maker's limit, and "
    "check brace height, tiller and locators again afterwards."
)
SCRAPING = (
    "Scraping: only the belly or the edges of solid wood, never a wooden back, glass or carbon; with eye protection "
    "and a dust mask, never past the intended draw weight. A splinter or a crack ends it. The model does not see "
    "twist, knots or old damage: ask a bowyer."
)
SHIMS = (
    "Shims: unstring the bow first, and only where the maker of riser and limbs allows them. See that the limb sits "
    "firm and straight, and check brace height, tiller and locators again afterwards."
)
TWISTING = (
    "String: never above or below the brace height that the bow's maker allows. Check the nocking point and the "
    "clearance again, and look for worn strands and loops."
)
PARTS = (
    "Limbs changed: unstring the bow first; only limbs that their maker means for this place and this riser, with a "
    "string of the right length. See that they sit firm and stand in line with the string, and check brace height, "
    "tiller and locators before the bow is drawn."
)
TWO_MAKERS = (
    "Two makers: of the limits in both files the stricter count here. What neither says is not known: ask both, of "
    "draw weight, draw length and lightest arrow."
)
HEAT = (
    "Heat: only dry solid wood without a glue line, well away from fire, with gloves. Too much chars it or dries it "
    "out, and it breaks later without a sign. Let it rest before it is strung, and ask a bowyer."
)
CUTTING = (
    "Cutting: what is off is off. A shorter limb bends more for the same draw and is heavier to draw. Begin anew: a "
    "shorter string, a low brace height, short draws, and no further until both limbs bend evenly."
)
PASSES = (
    "Pass by pass: after each, work the limbs at the length tillered so far, then look and measure before the next; "
    "rest between them. Draw further only when both limbs bend evenly at this length."
)
