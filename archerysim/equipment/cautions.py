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
