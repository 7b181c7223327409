"""What the fit says it met, and what is measured afterwards on the bow as built."""

from __future__ import annotations

import numpy as np
import pytest

from archerysim.equipment import SetupError, filled
from archerysim.shot.arrays.mesh import MESHES
from archerysim.shot.shoot import brace
from archerysim.shot.statics.brace import brace_with_string
from archerysim.shot.statics.draw import TRADE, draw_to
from archerysim.shot.statics.fit import fit
from tests.support.shot.example_bows import NAMES, built, fitted, measured
from tests.support.shot.residual_forces import CONVERGED, braced_residual, drawn_residual, least_tension, turning_moment

SAME = 1e-6  # relative
WEIGHT_AT = TRADE - 28 * 0.0254  # x of the throat at the usual draw length [m]


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("mesh", ["coarse", "default", "fine"])
def test_measures_come_out_again(name: str, mesh: str) -> None:
    bow = measured(name).bow
    full = filled(built(name, mesh))
    braced = brace_with_string(full, full.number("string.length"), MESHES[mesh])
    at = TRADE - bow.draw_weight_at if bow.draw_weight_at is not None else WEIGHT_AT
    _, drawn = draw_to(full, braced, at)
    found = (braced.brace_height, braced.upper_tiller, braced.lower_tiller, drawn.weight)
    np.testing.assert_allclose(
        found, (bow.brace_height, bow.upper_tiller, bow.lower_tiller, bow.draw_weight), rtol=SAME
    )
    assert braced.reading == pytest.approx(measured(name).nock.locators.reading, abs=1e-7)


@pytest.mark.parametrize("name", NAMES)
def test_what_the_fit_says(name: str) -> None:
    bow, said = measured(name).bow, fitted(name)
    assert [m.path for m in said.met] == [
        "bow.brace_height", "bow.upper_tiller", "bow.lower_tiller", "bow.draw_weight",
    ]  # fmt: skip
    for met in said.met:
        assert met.wanted == measured(name).get(met.path)
        assert met.miss == met.found - met.wanted
        assert abs(met.miss) <= SAME * met.wanted
    assert said.setup.form == "built"
    assert said.setup.bow.length == bow.length
    assert said.setup.bow.brace_height is None


@pytest.mark.parametrize("name", [*NAMES, "longbow"])
def test_the_tips_keep_the_stiffness_sideways_of_the_bow_as_measured(name: str) -> None:
    """Which follows from its draw weight; a bow as built has none, so the fit writes it down."""
    given, said = measured(name), built(name, "coarse")
    for limb in ("upper_limb", "lower_limb"):
        found = said.get(f"{limb}.side_stiffness")
        assert found == filled(given).get(f"{limb}.side_stiffness")
        assert found == pytest.approx(6.6 * given.number("bow.draw_weight"))
        assert filled(said).get(f"{limb}.side_mass") == pytest.approx(filled(given).get(f"{limb}.side_mass"))
    assert said.side == given.side


def test_a_tips_stiffness_sideways_that_is_given_is_kept_and_moves_nothing_else() -> None:
    given = measured("club-outdoor").replace(**{"upper_limb.side_stiffness": "700 N/m"})
    said, plain = fit(given, "coarse").setup, built("club-outdoor", "coarse")
    assert said.get("upper_limb.side_stiffness") == 700.0
    assert said.with_si(**{"upper_limb.side_stiffness": plain.upper_limb.side_stiffness}) == plain


@pytest.mark.parametrize("name", NAMES)
def test_converged(name: str) -> None:
    full = filled(built(name))
    braced = brace_with_string(full, full.number("string.length"), MESHES["default"])
    _, drawn = draw_to(full, braced, WEIGHT_AT if name != "junior" else TRADE - 24 * 0.0254)
    assert braced_residual(full, braced) < CONVERGED
    assert drawn_residual(full, braced, drawn) < CONVERGED
    assert least_tension(braced, braced.x, braced.y) > 0.0
    assert least_tension(braced, drawn.x, drawn.y) > 0.0
    assert turning_moment(full, braced, drawn) == pytest.approx(0.0, abs=1e-6)


def test_a_built_bow_is_returned_as_it_is() -> None:
    setup = built("barebow")
    assert fit(setup).setup == setup


def test_stiffness_ratio_is_kept() -> None:
    setup = fit(measured("club-outdoor").replace(**{"bow.stiffness_ratio": 1.05})).setup
    upper, lower = (np.array(limb.bending_stiffness) for limb in (setup.upper_limb, setup.lower_limb))
    np.testing.assert_allclose(upper / lower, 1.05, rtol=1e-12)


def test_mean_pocket_angle_is_kept() -> None:
    setup = fit(measured("club-outdoor").replace(**{"bow.pocket_angle": "9 deg"})).setup
    assert np.degrees(0.5 * (setup.upper_limb.pocket_angle + setup.lower_limb.pocket_angle)) == pytest.approx(9.0)


def test_bolts_of_a_measured_bow_are_turned_since_it_was_measured() -> None:
    """As when they are turned on the bow as built: its numbers are no longer the measured ones."""
    turns = {"upper_limb.bolt_turns": "1.5 turn"}
    straight, braced = brace(measured("club-outdoor")), brace(measured("club-outdoor").replace(**turns))
    after = brace(built("club-outdoor").replace(**turns))
    limb = filled(built("club-outdoor")).upper_limb
    assert braced.leans[0] == pytest.approx(straight.leans[0] + 1.5 * limb.lean_per_turn, rel=1e-9)
    assert braced.leans[1] == pytest.approx(straight.leans[1], rel=1e-9)
    assert braced.upper_tiller == pytest.approx(after.upper_tiller, rel=1e-9)
    assert braced.reading == pytest.approx(after.reading, abs=1e-9)
    assert straight.upper_tiller - braced.upper_tiller > 0.0005  # in: shorter tiller


def test_roots_beside_tillers_are_refused() -> None:
    with pytest.raises(SetupError, match=r"riser\.upper_root_x"):
        fit(measured("junior").replace(**{"riser.upper_root_x": "10 mm"}))
