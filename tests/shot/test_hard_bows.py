"""Bows that were refused, accepted or told wrongly once; those in files were drawn at random, invented values."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from archerysim import status
from archerysim.equipment import Setup, filled, load
from archerysim.errors import SHORT_ARROW, ShotError
from archerysim.shot.arrays.mesh import MESHES
from archerysim.shot.shoot import brace, draw, shoot
from archerysim.shot.statics.brace import brace_with_string
from archerysim.shot.statics.fit import fit
from tests.support.shot.example_bows import measured

HERE = Path(__file__).parent / "hard_bows"
MESH = "coarse"
RECURVED = {"limbs.at": (0.0, 0.6, 1.0), "limbs.bending_stiffness": (1.0, 0.541, 0.235)}


def hard(name: str) -> Setup:
    return load(HERE / f"{name}.toml")


def weighed_far_back() -> Setup:
    return measured("junior").replace(**{"bow.draw_weight_at": "28 in", "arrow.length": "25 in"})


def test_an_arrow_may_be_short_where_the_bow_was_weighed() -> None:
    """The archer never draws so far: 24 in, where the shaft reaches well past the rest."""
    launch = shoot(weighed_far_back(), MESH, trace=False)
    assert launch.draw_force < measured("junior").bow.draw_weight


def test_the_arrow_hardly_moves_the_weight_found_on_the_scale() -> None:
    longer = weighed_far_back().replace(**{"arrow.length": "30 in", "arrow.mass_per_length": "5.0 gr/in"})
    short, long = (fit(setup, MESH).stiffness_factor for setup in (weighed_far_back(), longer))
    assert short == pytest.approx(long, rel=1e-3)


def test_an_arrow_must_not_be_short_where_the_archer_draws() -> None:
    setup = weighed_far_back().replace(**{"archer.draw_length": "28 in"})
    with pytest.raises(ShotError) as caught:
        shoot(setup, MESH)
    assert caught.value.status == SHORT_ARROW
    assert brace(setup.replace(**{"bow.draw_weight_at": "27 in"}), MESH).tension > 0.0  # what nobody draws is braced


@pytest.mark.parametrize(
    ("name", "upper", "lower", "tip"),
    [
        ("junior", "498 mm", "576 mm", 4.0),
        ("junior", "576 mm", "498 mm", 4.0),
        ("junior", "540 mm", "498 mm", 7.0),
        ("club-outdoor", "557 mm", "622 mm", 7.0),
    ],
)
def test_pockets_of_unlike_limbs_do_not_turn_round(name: str, upper: str, lower: str, tip: float) -> None:
    changes = RECURVED | {"upper_limb.length": upper, "lower_limb.length": lower}
    setup = measured(name).with_si(**changes, **{"limbs.natural_curvature": (0.0, 0.0, tip)})
    found = fit(setup, MESH)
    leans = np.degrees([found.setup.upper_limb.pocket_angle, found.setup.lower_limb.pocket_angle])
    assert np.abs(leans - np.degrees(filled(setup).bow.pocket_angle)).max() < 15.0
    assert all(abs(met.miss) < 1e-6 * met.wanted for met in found.met)


@pytest.mark.parametrize("name", ["junior-with-play", "barebow-with-play", "junior-one-locator"])
def test_a_draw_curve_does_not_depend_on_how_many_points_it_has(name: str) -> None:
    setup = hard(name)
    full_draw = shoot(setup, MESH, trace=False).draw_force
    finest = draw(setup, 25, MESH)
    for points in (2, 3, 4, 5, 7, 9, 13, 40):
        curve = draw(setup, points, MESH)
        assert curve.force[-1] == pytest.approx(full_draw, rel=1e-9)
        shared = [i for i, at in enumerate(curve.draw_length) if np.abs(finest.draw_length - at).min() < 1e-9]
        for i in shared:
            k = int(np.abs(finest.draw_length - curve.draw_length[i]).argmin())
            assert curve.force[i] == pytest.approx(finest.force[k], rel=1e-6, abs=1e-6)
    assert np.diff(finest.force).min() > 0.0


@pytest.mark.parametrize("name", ["tips-over", "tips-over-too"])
def test_a_fit_is_refused_where_the_bow_would_tip_over(name: str) -> None:
    """Braced again with the string that was found, these had another brace height than the measured one."""
    with pytest.raises(ShotError, match="limbs would tip") as caught:
        fit(hard(name), MESH)
    assert caught.value.status == status.UNSTABLE


@pytest.mark.parametrize("name", ["club-outdoor", "barebow", "junior"])
@pytest.mark.parametrize("turns", [0.0, 1.0])
def test_misses_are_those_of_the_bow_that_is_used(name: str, turns: float) -> None:
    """With bolts turned since, of the bow before."""
    found = fit(measured(name).with_si(**{"lower_limb.bolt_turns": turns}), MESH)
    full = filled(found.setup.replace(**{"limbs.bolt_turns": "0 turn"}))
    again = brace_with_string(full, full.number("string.length"), MESHES[MESH])
    told = {met.path: met.found for met in found.met}
    assert told["bow.brace_height"] == again.brace_height
    assert (told["bow.upper_tiller"], told["bow.lower_tiller"]) == (again.upper_tiller, again.lower_tiller)


def test_a_string_that_brings_short_limbs_far_back_is_not_too_short() -> None:
    """Half-way to the greatest brace height tried no bend of these limbs reaches the string: it is nearer, then."""
    setup = measured("club-outdoor").replace(**{"limbs.length": "450 mm"})
    assert shoot(fit(setup, MESH).setup, MESH, trace=False).brace_height == pytest.approx(220.0, abs=1e-3)
