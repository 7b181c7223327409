"""The braced bow, both ways round: string from brace height and brace height from string; turned bolts."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from archerysim.equipment import filled
from archerysim.shot.arrays.mesh import MESHES
from archerysim.shot.shoot import brace, shoot
from archerysim.shot.statics.brace import Braced, brace_to_height, brace_with_string
from archerysim.shot.statics.bracing import TOLERANCE, tolerance_of
from archerysim.shot.statics.fit import fit
from tests.support.equipment.random_setups import random_setup
from tests.support.shot.example_bows import MM, NAMES, READING, built, measured
from tests.support.shot.residual_forces import CONVERGED, braced_residual, least_tension

MESH = MESHES["default"]


def with_string(name: str, **changes: Any) -> Braced:
    setup = built(name).with_si(**{path.replace("__", "."): value for path, value in changes.items()})
    full = filled(setup)
    return brace_with_string(full, full.number("string.length"), MESH)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("longer", [-0.020, -0.005, 0.0, 0.005, 0.015])
def test_string_and_brace_height_are_inverse(name: str, longer: float) -> None:
    full = filled(built(name))
    length = full.number("string.length") + longer
    braced = brace_with_string(full, length, MESH)
    again = brace_to_height(full, braced.brace_height, MESH)
    assert again.string_length == pytest.approx(length, rel=1e-8)
    assert again.tension == pytest.approx(braced.tension, rel=1e-6)
    np.testing.assert_allclose((again.x, again.y), (braced.x, braced.y), atol=1e-7)
    for bow in (braced, again):
        assert braced_residual(full, bow) < CONVERGED
        assert least_tension(bow, bow.x, bow.y) > 0.0


@pytest.mark.parametrize("name", NAMES)
def test_a_longer_string_braces_lower(name: str) -> None:
    heights = [with_string(name, string__length=built(name).string.length + d).brace_height for d in (-0.01, 0.0, 0.01)]
    assert heights[0] > heights[1] > heights[2]


@pytest.mark.parametrize("seed", range(20))
def test_random_bows_with_turned_bolts_and_another_string(seed: int) -> None:
    rng = np.random.default_rng([19, seed])
    made = fit(random_setup(rng)).setup
    turned = filled(
        made.with_si(**{
            "upper_limb.bolt_turns": float(rng.uniform(-2, 2)), "lower_limb.bolt_turns": float(rng.uniform(-2, 2)),
            "string.length": made.string.length + float(rng.uniform(-0.01, 0.01)),
        })
    )  # fmt: skip
    braced = brace_with_string(turned, turned.number("string.length"), MESH)
    again = brace_to_height(turned, braced.brace_height, MESH)
    assert again.string_length == pytest.approx(braced.string_length, rel=1e-8)
    assert braced_residual(turned, braced) < CONVERGED
    assert least_tension(braced, braced.x, braced.y) > 0.0


@pytest.mark.parametrize("name", NAMES)
def test_bolt_in_shortens_the_tiller_of_that_limb(name: str) -> None:
    straight = with_string(name)
    upper = with_string(name, upper_limb__bolt_turns=1.0)
    lower = with_string(name, lower_limb__bolt_turns=1.0)
    split = straight.upper_tiller - straight.lower_tiller
    assert upper.upper_tiller - upper.lower_tiller < split
    assert lower.upper_tiller - lower.lower_tiller > split


@pytest.mark.parametrize("name", NAMES)
def test_measures_by_hand(name: str) -> None:
    """Brace height and tillers from the nodes' places: distances from a straight line through the string's nodes off
    the limbs.
    """
    full = filled(built(name))
    braced = with_string(name)
    marks = braced.marks
    tips = np.array([[braced.x[i], braced.y[i]] for i in (marks.tip_l - 1, marks.tip_u + 1)])
    along = (tips[1] - tips[0]) / np.hypot(*(tips[1] - tips[0]))
    forward = np.array([along[1], -along[0]])
    pivot = float(-tips[0] @ forward)
    assert braced.brace_height == pytest.approx(pivot, abs=0.2 * MM)  # the arrow bends the string that much
    for root, limb, tiller in (
        (marks.root_u, full.upper_limb, braced.upper_tiller),
        (marks.root_l, full.lower_limb, braced.lower_tiller),
    ):
        place = np.array([braced.x[root], braced.y[root]])
        found = float((place - tips[0]) @ forward) - 0.5 * limb.root_thickness
        assert tiller == pytest.approx(found, abs=0.2 * MM)


@pytest.mark.parametrize("name", NAMES)
def test_a_reading_and_its_place_are_the_same_bow(name: str) -> None:
    by_reading = with_string(name, **{READING: 9.0 * MM})
    assert by_reading.reading == pytest.approx(9.0 * MM, abs=1e-9)
    by_place = with_string(name, nock__locators__place=by_reading.throat)
    assert by_place.reading == pytest.approx(9.0 * MM, abs=1e-9)
    np.testing.assert_allclose(by_place.y, by_reading.y, atol=1e-9)
    height = filled(built(name)).number("nock.height")
    setup = built(name).with_si(**{READING: 9.0 * MM + height, "nock.locators.convention": "top"})
    assert brace(setup).throat == pytest.approx(by_reading.throat, abs=1e-9)


@pytest.mark.parametrize("name", NAMES)
def test_the_square_by_hand(name: str) -> None:
    """The throat's middle stands at the reading and half the nock above the foot of the square.

    The square is put to the bow without its arrow; the arrow's tail lifts the whole string by some 0.1 mm.
    """
    full = filled(built(name))
    braced = with_string(name)
    marks, rest = braced.marks, full.rest
    low = np.array([braced.x[marks.tip_l - 1], braced.y[marks.tip_l - 1]])
    reach = np.array([braced.x[marks.tip_u + 1], braced.y[marks.tip_u + 1]]) - low
    span = float(np.hypot(*reach))
    foot = float((np.array([rest.forward, rest.height]) - low) @ reach / span)
    assert braced.square.foot == pytest.approx(foot, abs=0.2 * MM)
    assert braced.square.span == pytest.approx(span, abs=0.02 * MM)
    edges = np.array([[braced.x[i], braced.y[i]] for i in (marks.edge_u, marks.edge_l)])
    throat = float((edges.mean(axis=0) - low) @ reach / span)
    expected = braced.square.foot + braced.reading + 0.5 * full.nock.height
    assert throat == pytest.approx(expected, abs=0.005 * MM)


def test_a_real_bow_takes_a_real_string() -> None:
    """A 68 in bow takes a string of about 64 to 65 in (common practice)."""
    for name in ("club-outdoor", "club-indoor", "barebow"):
        assert 63.5 <= built(name).string.length / 0.0254 <= 65.5


@pytest.mark.parametrize("name", ["club-outdoor", "junior"])
def test_limbs_that_hardly_stretch_brace_on_any_mesh(name: str) -> None:
    """Up to the stiffest that may be given: what rounding leaves of their cells' forces is no miss."""
    for mesh in MESHES:
        left = []
        for stiffness in (1e7, 3e7):
            setup = measured(name).with_si(**{"limbs.axial_stiffness": stiffness})
            left.append(shoot(setup, mesh, trace=False).clear.angle_of_attack)
        assert left[1] == pytest.approx(left[0], abs=1e-3)  # [deg]; what is left of the stretch itself is a fifth of it


@pytest.mark.parametrize("name", NAMES)
def test_rounding_is_no_excuse_for_other_bows(name: str) -> None:
    for mesh in MESHES:
        assert tolerance_of(brace(built(name), mesh).chain) == TOLERANCE
