"""The limbs without a string."""

from __future__ import annotations

import numpy as np

import archerysim
from archerysim.equipment import Setup
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.statics.unstrung import unstrung
from tests.support.shot.example_bows import measured


def test_straight_limbs_stand_straight_at_the_pocket_angle() -> None:
    bow = FittedBow.of(measured("club-outdoor").replace(**{"limbs.shape": "straight"}), "coarse")
    for limb, lean, side, record in zip(
        unstrung(bow.braced),
        bow.braced.leans,
        (1.0, -1.0),
        (bow.setup.upper_limb, bow.setup.lower_limb),
        strict=True,
    ):
        along = limb[-1] - limb[0]
        assert record.length is not None
        np.testing.assert_allclose(along, record.length * np.array([np.sin(lean), side * np.cos(lean)]), rtol=1e-12)


def test_a_naturally_curved_limb_turns_forward_by_its_curve(built: Setup) -> None:
    curved = built.with_si(**{"limbs.natural_curvature": [0.4, 0.4]})
    braced = archerysim.brace(curved)
    length = built.upper_limb.length
    assert length is not None
    upper, lower = unstrung(braced)
    for limb, lean, side in ((upper, braced.leans[0], 1.0), (lower, braced.leans[1], -1.0)):
        # an arc: the tip's direction leans 0.4 l further forward than the root's
        s = 0.4 * length
        expected = (
            (np.cos(lean) - np.cos(lean + s)) / 0.4,
            side * (np.sin(lean + s) - np.sin(lean)) / 0.4,
        )
        np.testing.assert_allclose(limb[-1] - limb[0], expected, atol=2e-4)
