"""Random but plausible bows from a seed: straight and curved limbs, alike and unlike, weighed here and there.

Some have their limbs' shape told as archers do: by a usual one, by tip and angles, or by points traced along them.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from archerysim.equipment import Setup, filled
from archerysim.equipment.limbs.natural_shape import limb_line
from tests.support.equipment.random_setups import INCH, random_setup

CURVED = 0.5  # share of bows whose limbs are not straight
TIP = (-0.5, 10.0)  # natural curvature at the tip, falling to zero at half the limb's length or further out [1/m]
EARS = 0.4  # of these that have it over the whole of the outer part, from a short way on
ALL_ALONG = 0.1  # that are curved over the whole limb; hardly one of these stays braced
REFLEX = (1.0, 4.0)  # of these [1/m]
UNLIKE = 0.3  # whose limbs differ in length
HALF_AGAIN = 0.1  # of the others, one limb of which is half again as long as the other
STIFF_STRING = 0.15  # whose string hardly yields
MOST_STRETCH = (3e5, 1e7)  # EA of these [N]
WEIGHED_ELSEWHERE = 0.4  # that were weighed at another draw than the archer's
ONE_LOCATOR = 0.1
PLAY = 0.1  # of the nock between two locators
BOLTS = 0.2  # whose bolts have been turned since
SHORT = 0.02  # whose shaft is too short for the archer
BUILT = 0.3  # told as built
OTHERWISE = 0.3  # of all, whose shape is not told by a table of curvature
USUAL, BY_TIP = 0.3, 0.4  # of these, by a usual shape; by its tip; the others by points along it
LEAN = {"recurve": (0.0, 4.0), "reflexed": (4.0, 10.0)}  # pocket angles with such limbs [deg]
FORWARD = (0.0, 0.18)  # of the tip, as a share of the shorter limb's length; a limb can be bent no further than 0.24
TURN, MIDDLE = (0.0, 80.0), (-3.0, 4.0)  # angles of the tip and at half length [deg]
POINTS, PENCIL = 24, 0.7e-3  # traced along a limb; their error across it [m]
ONE_PIECE = 0.2  # of those with limbs alike, in one piece: their stiffness makes the difference of the tillers


def random_bow(rng: np.random.Generator) -> Setup:
    """One measured bow of any category."""
    setup = by_tables(rng)
    apart = rng.spawn(1)[0]  # what follows moves no other draw
    setup = _told_otherwise(apart, setup)
    if apart.random() < ONE_PIECE and setup.upper_limb.length is None:
        return setup.replace(**{"bow.kind": "one piece", "bow.stiffness_ratio": None, "limbs.bolt_turns": None})
    return setup


def by_tables(rng: np.random.Generator) -> Setup:
    """The same, its limbs' shape told by a table of curvature where they are not straight."""
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
        changes |= _curved(rng)
    if rng.random() < UNLIKE:
        length = filled(setup).upper_limb.length
        changes["upper_limb.length"] = float(length * rng.uniform(0.95, 1.1))
        changes["lower_limb.length"] = float(length * rng.uniform(0.95, 1.1))
    elif rng.random() < HALF_AGAIN:
        length = float(filled(setup).upper_limb.length or 0.0)
        longer = 0.2 if rng.random() < 0.5 else -0.2
        changes["upper_limb.length"] = length * (1.0 + longer)
        changes["lower_limb.length"] = length * (1.0 - longer)
    if rng.random() < BOLTS:
        for limb in ("upper_limb", "lower_limb"):
            changes[f"{limb}.bolt_turns"] = float(rng.uniform(-2.0, 2.0))
    if rng.random() < STIFF_STRING:
        changes["string.axial_stiffness"] = float(np.exp(rng.uniform(*np.log(MOST_STRETCH))))
    return changes


def _curved(rng: np.random.Generator) -> dict[str, Any]:
    """Curvature that grows towards the tip, that the outer part has, or that the whole limb has."""
    kind = rng.random()
    if kind < ALL_ALONG:
        return {"limbs.natural_curvature": (float(rng.uniform(*REFLEX)),) * 2}
    begin, tip = float(rng.uniform(0.5, 0.75)), float(rng.uniform(*TIP))
    at = (0.0, begin, 1.0) if kind < 1.0 - EARS else (0.0, begin, begin + 0.08, 1.0)
    return {
        "limbs.at": at,
        "limbs.natural_curvature": (0.0, 0.0, *(tip,) * (len(at) - 2)),
        "limbs.bending_stiffness": tuple(1.0 - 0.765 * place for place in at),
    }


def _told_otherwise(rng: np.random.Generator, setup: Setup) -> Setup:
    """A bow of modern or gently reflexed limbs, in the words of an archer."""
    if rng.random() > OTHERWISE:
        return setup
    kind, usual = rng.random(), str(rng.choice(list(LEAN)))
    leaning = {"bow.pocket_angle": np.radians(float(rng.uniform(*LEAN[usual])))}
    if kind < USUAL:
        return setup.with_si(**{"limbs.shape": usual, **leaning})
    changes = {"bow.pocket_angle": np.radians(float(rng.uniform(*LEAN["recurve"])))}
    if rng.random() < 0.5:
        full = filled(setup)
        length = min(float(limb.length) for limb in (full.upper_limb, full.lower_limb))
        changes["limbs.tip_forward"] = length * float(rng.uniform(*FORWARD))
    else:
        changes["limbs.tip_angle"] = np.radians(float(rng.uniform(*TURN)))
    if rng.random() < 0.5:
        changes["limbs.middle_angle"] = np.radians(float(rng.uniform(*MIDDLE)))
    told = setup.with_si(**changes)
    return told if kind < USUAL + BY_TIP else _traced(rng, told)


def _traced(rng: np.random.Generator, setup: Setup) -> Setup:
    """Both limbs of a bow by points along them, each traced with a pencil's error."""
    full, points = filled(setup), {}
    for name in ("upper_limb", "lower_limb"):
        line = limb_line(getattr(full, name))
        place = np.linspace(0.0, line.place[-1], POINTS)
        off = PENCIL * rng.standard_normal(POINTS)
        angle = np.interp(place, line.place, line.angle)
        for axis, values in (
            ("x", np.interp(place, line.place, line.forward) + off * np.cos(angle)),
            ("y", np.interp(place, line.place, line.along) - off * np.sin(angle)),
        ):
            points[f"{name}.profile_{axis}"] = tuple(map(float, values))
    return setup.with_si(**points)


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
