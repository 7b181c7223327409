"""The size of the limbs' curve from draw forces: what is measured on a bow finds that bow again."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from archerysim.equipment import Setup, SetupError, filled
from archerysim.errors import ShotError
from archerysim.shot.arrays.mesh import mesh_of
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.statics.fit_shape import LEAST, SCALE, best_factor, fit_to_forces, remark
from archerysim.show.lines import fit_lines
from archerysim.show.shots.check_table import check_table
from tests.support.shot.example_bows import measured

MESH = "coarse"
DRAWS = ("16 in", "20 in", "24 in")
POUND = 4.4482216152605


@cache
def recurve() -> Setup:
    return measured("club-outdoor").replace(**{"limbs.shape": "recurve"})


def forces_of(size: float) -> tuple[float, ...]:
    """Forces [N] at some draws of the bow with so many times a recurve's curve, else the same."""
    full = filled(recurve())
    limb = full.upper_limb
    bow = FittedBow.of(recurve().with_si(**{
        "limbs.natural_curvature": tuple(size * one for one in limb.natural_curvature),
        "limbs.curvature_at": limb.curvature_at,
        "limbs.length": limb.length,
        "bow.pocket_angle": full.bow.pocket_angle,  # type: ignore[attr-defined]
    }), mesh_of(MESH))  # fmt: skip
    return tuple(bow.drawn_to(draw).drawn.weight for draw in DRAWS)


def weighed(forces: tuple[float, ...]) -> Setup:
    return recurve().replace(**{
        "bow.draw_forces": [(one, "N") for one in forces], "bow.draw_forces_at": DRAWS[: len(forces)],
    })  # fmt: skip


@pytest.mark.parametrize("size", [0.6, 1.0, 1.25])
def test_forces_of_a_bow_find_it_again(size: float) -> None:
    found = fit_to_forces(weighed(forces_of(size)), mesh_of(MESH))
    assert found.shape_factor == pytest.approx(size, abs=1e-5)
    curve = found.setup.upper_limb.natural_curvature
    told = filled(recurve()).upper_limb.natural_curvature
    assert curve == pytest.approx([size * one for one in told], abs=1e-4)
    assert [one.path for one in found.met[4:]] == [f"bow.draw_forces.{k}" for k in range(3)]
    for one in found.met[4:]:
        assert abs(one.miss) < 1e-3
    assert "lbf in place of" in found.met[4].words()
    assert found.setup.bow.draw_forces is None  # as built


def test_more_curve_is_earlier_weight() -> None:
    sizes = [forces_of(size) for size in (0.0, 0.5, 1.0)]
    assert (np.diff(sizes, axis=0) > 0.5 * POUND).all()


def test_a_shape_that_does_not_fit_is_met_by_least_squares_and_said() -> None:
    forces = np.array(forces_of(1.0)) + np.array([0.6, -0.4, 0.2]) * POUND
    bow = FittedBow.of(weighed(tuple(forces)), MESH)
    misses = np.array([one.miss for one in bow.met[4:]])
    assert SCALE < np.abs(misses).max() < POUND
    for size in (bow.shape_factor - 0.03, bow.shape_factor + 0.03):
        assert np.square(np.array(forces_of(size)) - forces).sum() > np.square(misses).sum()
    lines = "\n".join(fit_lines(bow))
    assert f"natural curve times {bow.shape_factor:.4g}" in lines
    assert "more than the 0.25 lb that a scale can show" in " ".join(lines.split())
    force = bow.met[4]
    for words in ("draw force at 406.4 mm (16.00 in)", f"{force.found:.1f} N", f"{force.miss:+.4f} N"):
        assert words in lines


def test_check_tells_the_curve_that_was_found() -> None:
    """Not the one told, and by what it was found."""
    bow = FittedBow.of(weighed(forces_of(0.8)), MESH)
    tip = bow.setup.upper_limb.natural_curvature[-1]
    row = next(line for line in check_table(bow, MESH).splitlines() if line.lstrip().startswith("natural_curvature"))
    assert f"{tip:.4g} 1/m" in row
    assert "found by the fit" in row


def test_nothing_is_said_where_the_misses_are_a_scales() -> None:
    assert not remark([0.9 * SCALE, -0.9 * SCALE])
    assert remark([0.0, -1.1 * SCALE])


def test_forces_that_no_bow_has_are_refused_in_one_sentence() -> None:
    forces = tuple(0.6 * one for one in forces_of(0.0))
    with pytest.raises(
        SetupError, match=r"^bow.draw_forces: no size of the limbs' curve meets them: the nearest, 0.00"
    ):
        fit_to_forces(weighed(forces), mesh_of(MESH))


def test_straight_limbs_have_no_curve_to_size() -> None:
    with pytest.raises(SetupError, match="there is no curve to find the size of"):
        fit_to_forces(weighed(forces_of(1.0)).replace(**{"limbs.shape": "straight"}), mesh_of(MESH))


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"bow.draw_forces": ["12 lb"]}, "1 forces for 3 draw lengths"),
        ({"bow.draw_forces": ["14 lb", "12 lb", "20 lb"]}, "its values do not increase"),
        ({"bow.draw_forces": ["14 lb", "20 lb", "35 lb"]}, "35 lbf is not below the draw weight, 34 lbf"),
        ({"bow.draw_forces_at": None}, "means nothing without it"),
        ({"bow.draw_forces_at": ["10 in", "18 in", "20 in"]}, "10 in is not between brace and"),
        ({"bow.draw_forces_at": ["18 in", "20 in", "28 in"]}, "28 in is not between brace and"),
    ],
)
def test_forces_and_draws_that_do_not_go_together(changes: dict[str, object], words: str) -> None:
    with pytest.raises(SetupError, match=words):
        fit_to_forces(weighed(forces_of(1.0)).replace(changes), mesh_of(MESH))


def test_bolts_turned_since_do_not_change_what_was_measured() -> None:
    setup = weighed(forces_of(0.8))
    turned = fit_to_forces(setup.replace(**{"limbs.bolt_turns": "1 turn"}), mesh_of(MESH))
    assert turned.shape_factor == pytest.approx(0.8, abs=1e-5)


def test_another_force_has_the_bow_fitted_anew() -> None:
    bow = FittedBow.of(weighed(forces_of(1.0)), MESH)
    heavier = bow.with_changes({"bow.draw_forces.1": (forces_of(1.0)[1] + 0.5, "N")})
    assert heavier.edits[-1].refitted
    assert heavier.shape_factor != pytest.approx(bow.shape_factor, abs=1e-3)
    more = FittedBow.of(weighed(forces_of(1.1)), MESH)
    assert FittedBow.of(bow, MESH).shape_factor != more.shape_factor


def test_a_factor_is_found_between_bows_that_do_not_brace() -> None:
    """Where trials fail, the search halves its steps; what it cannot reach it refuses."""

    def misses(factor: float) -> np.ndarray:
        if factor > 1.2:
            raise ShotError("brace", 1)
        return np.array([10.0 * (factor - 1.19)])

    assert best_factor(misses, 5.0) == pytest.approx(1.19, abs=1e-3)
    with pytest.raises(SetupError, match="no bow of these measurements can be braced with more of it, or less"):
        best_factor(lambda factor: misses(factor) - 5.0, 5.0)
    assert best_factor(lambda factor: np.array([factor - LEAST]), 5.0) == LEAST
