"""Bows with the curved limbs of real recurves beside measured ones, and what ears and length do.

Measured: C. Tuijn and B. W. Kooi, European Journal of Physics 13 (1992) 127-134: four recurves' length, draw weight,
stroke from brace and stored energy. Limbs, brace height and tillers are not told there: ours are curved forward by
6 1/m over their outer third, on pockets of 2 deg, braced to 220 mm [judgement].
Directions: B. W. Kooi, Journal of the Society of Archer-Antiquaries 39 (1996) 73-77.
"""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import pytest

import archerysim
from archerysim.equipment import Setup, filled
from tests.support.shot.example_bows import measured

INCH, TRADE = 0.0254, 1.75 * 0.0254
HEIGHT = 0.220  # [m]
# length [in]: draw weight [N], stroke from brace [m], stored energy [J]
MEASURED = {
    "68 in, 38.5 lb": (68, 170.5, 0.430, 42.6),
    "70 in, 34 lb": (70, 170.0, 0.509, 50.3),
    "66 in, 40 lb": (66, 178.0, 0.440, 45.6),
    "68 in, 30 lb": (68, 130.0, 0.429, 33.2),
}
WITHIN = 0.02  # of weight times stroke: the limbs' shapes are not known
CURVED = 6.0  # [1/m]
BEGINS = 0.6  # of the limb's length
LONG, STROKE, WEIGHT = 68, 0.430, 170.0


def bow(
    length: float, weight: float, stroke: float, curved: float = CURVED, begins: float = BEGINS, **more: Any
) -> Setup:
    """The club bow of another length [in], weight [N] and stroke [m]; its limbs curved from a place on, or straight."""
    at = (0.0, begins, begins + 0.08, 1.0)
    limb = filled(measured("club-outdoor")).upper_limb
    draw = HEIGHT + stroke + TRADE
    return measured("club-outdoor").with_si(**{
        "bow.length": length * INCH, "bow.brace_height": HEIGHT,
        "bow.upper_tiller": HEIGHT - 0.040, "bow.lower_tiller": HEIGHT - 0.045,
        "bow.draw_weight": weight, "bow.draw_weight_at": draw, "archer.draw_length": draw,
        "arrow.length": draw + 0.03, "bow.pocket_angle": np.radians(2.0 if curved else 12.0),
        "limbs.at": at, "limbs.natural_curvature": (0.0, 0.0, curved, curved),
        "limbs.bending_stiffness": tuple(np.interp(at, limb.at, limb.bending_stiffness).tolist()), **more,
    })  # fmt: skip


@cache
def share(length: float, weight: float, stroke: float, curved: float = CURVED, begins: float = BEGINS) -> float:
    """Stored energy over draw weight times stroke."""
    curve = archerysim.draw(bow(length, weight, stroke, curved, begins), 25)
    return float(curve.energy[-1] / (weight * stroke))


def returned(**more: Any) -> float:
    """Share of the stored energy that the arrow takes along."""
    launch = archerysim.shoot(bow(LONG, WEIGHT, STROKE, **more), trace=False)
    return float(launch.efficiency)


@pytest.mark.parametrize("name", MEASURED)
def test_stored_energy_of_measured_recurves(name: str) -> None:
    """Straight limbs store a tenth less."""
    length, weight, stroke, energy = MEASURED[name]
    known = energy / (weight * stroke)
    assert share(length, weight, stroke) == pytest.approx(known, abs=WITHIN)
    assert share(length, weight, stroke, 0.0) < known - 0.04


def test_a_longer_bow_stores_more() -> None:
    for curved in (0.0, CURVED):
        shares = [share(length, WEIGHT, STROKE, curved) for length in (64, 66, 68, 70)]
        assert (np.diff(shares) > 1e-3).all()


def test_shorter_ears_store_less() -> None:
    shares = [share(LONG, WEIGHT, STROKE, begins=begins) for begins in (0.6, 0.65, 0.7, 0.75)]
    assert (np.diff(shares) < -1e-3).all()


def test_lighter_ears_return_a_larger_part() -> None:
    light, heavy = (returned(**{"limbs.tip_mass": mass}) for mass in (0.002, 0.010))
    assert light > heavy + 0.01


def test_ears_bring_weight_earlier_and_stack_less() -> None:
    """String that lies on the limbs at brace: more of the weight early, a smaller part of it in the last inch."""
    early, late = [], []
    for curved in (0.0, CURVED):
        force = archerysim.draw(bow(LONG, WEIGHT, STROKE, curved), 18).force / WEIGHT
        early.append(force[4])
        late.append(force[-1] - force[-2])
    assert early[1] > early[0] + 0.05
    assert late[1] < late[0] - 0.01
