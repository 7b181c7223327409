"""Random but plausible bows from a seed: straight and curved limbs, alike and unlike, weighed here and there."""

from __future__ import annotations

from typing import Any

import numpy as np

from archerysim.equipment import Setup, filled
from tests.support.equipment.random_setups import INCH, random_setup

CURVED = 0.4  # share of bows whose limbs are not straight
TIP = (-0.5, 10.0)  # natural curvature at the tip, falling to zero at half the limb's length or further out [1/m]
UNLIKE = 0.3  # whose limbs differ in length
WEIGHED_ELSEWHERE = 0.4  # that were weighed at another draw than the archer's
ONE_LOCATOR = 0.1
PLAY = 0.1  # of the nock between two locators
BOLTS = 0.2  # whose bolts have been turned since
SHORT = 0.02  # whose shaft is too short for the archer
BUILT = 0.3  # told as built


def random_bow(rng: np.random.Generator) -> Setup:
    """One measured bow of any category."""
    setup = random_setup(rng)
    return setup.with_si(**_limbs(rng, setup), **_nock(rng), **_draw(rng, setup))


def as_built(rng: np.random.Generator, built: Setup) -> Setup:
    """A bow told as built: a fitted one with another string and other pockets, so that nobody knows its measures."""
    changes: dict[str, Any] = {"string.length": built.number("string.length") * (1.0 + float(rng.uniform(-3e-3, 3e-3)))}
    for limb in ("upper_limb", "lower_limb"):
        path = f"{limb}.pocket_angle"
        changes[path] = built.number(path) + np.radians(float(rng.uniform(-1.0, 1.0)))
    return built.with_si(**changes)


def _limbs(rng: np.random.Generator, setup: Setup) -> dict[str, Any]:
    changes: dict[str, Any] = {}
    if rng.random() < CURVED:
        begin, tip = float(rng.uniform(0.5, 0.75)), float(rng.uniform(*TIP))
        changes["limbs.at"] = (0.0, begin, 1.0)
        changes["limbs.natural_curvature"] = (0.0, 0.0, tip)
        stiffness = (1.0, 1.0 - 0.765 * begin, 0.235)
        changes["limbs.bending_stiffness"] = stiffness
    if rng.random() < UNLIKE:
        length = filled(setup).upper_limb.length
        changes["upper_limb.length"] = float(length * rng.uniform(0.95, 1.1))
        changes["lower_limb.length"] = float(length * rng.uniform(0.95, 1.1))
    if rng.random() < BOLTS:
        for limb in ("upper_limb", "lower_limb"):
            changes[f"{limb}.bolt_turns"] = float(rng.uniform(-2.0, 2.0))
    return changes


def _nock(rng: np.random.Generator) -> dict[str, Any]:
    if rng.random() < ONE_LOCATOR:
        return {f"nock.locators.{rng.choice(['upper', 'lower'])}_present": False}
    if rng.random() < PLAY:
        return {"nock.locators.gap": float(rng.uniform(0.1e-3, 1.5e-3))}
    return {}


def _draw(rng: np.random.Generator, setup: Setup) -> dict[str, Any]:
    draw = float(setup.archer.draw_length)
    changes: dict[str, Any] = {}
    if rng.random() < WEIGHED_ELSEWHERE:
        changes["bow.draw_weight_at"] = draw + float(rng.uniform(-2.0, 3.0)) * INCH
    if rng.random() < SHORT:
        changes["arrow.length"] = draw - 1.75 * INCH + float(setup.rest.forward or 0.0) - 0.01
    return changes
