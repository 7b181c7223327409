"""How limbs bend and are strained from root to tip: closed forms, what touches, what is told without a table."""

from __future__ import annotations

from functools import cache
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

import archerysim
from archerysim.equipment import Limb, filled
from archerysim.mechanics.arrays import Marks
from archerysim.shot.arrays.build import limb_cells
from archerysim.shot.arrays.wraps import lying
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.statics.strain import limb_strains, moments
from archerysim.shot.strain_along import StrainAlong, of_limb, strain_along
from tests.outside.test_recurve import MESHES, drawn
from tests.support.mechanics.beams_and_strings import make_chain, settle
from tests.support.shot.example_bows import measured

LENGTH, LOAD, MODULUS = 0.6, 0.2, 20e9
WIDTH, THICKNESS = (0.04, 0.02), (0.008, 0.005)
TABLES = {
    "limbs.stations": ("0 cm", "30 cm", "58 cm"), "limbs.width": ("42 mm", "40 mm", "16 mm"),
    "limbs.thickness": ("9 mm", "7 mm", "5 mm"), "limbs.material": "glass on wood core",
}  # fmt: skip


def cantilever(cells: int) -> tuple[np.ndarray, np.ndarray]:
    """Change of curvature and strains (3, k) of one tapered limb pulled by a small force at its tip, and places."""
    limb: Any = Limb(
        at=(0.0, 1.0), length=LENGTH, width=WIDTH, thickness=THICKNESS, modulus=MODULUS, natural_curvature=(0.0, 0.0),
        density=700.0, tip_mass=0.0, axial_stiffness=3e6, loss_time=0.0,
    )  # fmt: skip
    parts, size = limb_cells(limb, cells), LENGTH / cells
    bend = np.concatenate(([0.0], parts["bend"], [0.0]))
    chain = make_chain(np.ones(cells + 2), np.full(cells + 1, 3e6 / size), np.full(cells + 1, size), bend, fixed=(0, 1))
    x, y = np.zeros(cells + 2), np.arange(-1, cells + 1) * size
    pull = np.zeros(cells + 2)
    pull[-1] = -LOAD  # towards the archer
    x, y = settle(chain, x, y, lambda x, y: (pull, 0.0 * pull), tolerance=1e-7)
    braced: Any = SimpleNamespace(chain=chain, marks=Marks(1, cells + 1, 0, 0, 0, 0, 0))
    place = np.linspace(0.0, 1.0, 31)
    return of_limb(limb, "upper", braced, SimpleNamespace(x=x, y=y), place), place  # type: ignore[arg-type]


@pytest.mark.parametrize("cells", [12, 24])
def test_a_tapered_cantilever(cells: int) -> None:
    """P (L - s) over E w t^3 / 12, and 6 P (L - s) / (E w t^2) at the surface: textbook, small deflections."""
    (curvature, back, belly), place = cantilever(cells)
    width, thickness = (np.interp(place, (0.0, 1.0), table) for table in (WIDTH, THICKNESS))
    moment = LOAD * LENGTH * (1.0 - place)
    exact = 6.0 * moment / (MODULUS * width * thickness**2)
    np.testing.assert_allclose(curvature, 12.0 * moment / (MODULUS * width * thickness**3), rtol=1e-5, atol=1e-12)
    np.testing.assert_allclose(0.5 * (back - belly), exact, rtol=1e-5, atol=1e-12)
    assert np.abs(back + belly).max() < 1e-4 * exact[0]  # the force along the limb is of second order
    assert back[0] > 0.0  # pulled towards the archer: the back is stretched


@pytest.mark.parametrize("tip", [6.0, 8.0])
def test_what_the_string_touches_carries_no_moment_from_it(tip: float) -> None:
    """With the string on the limb's axis (h = 0) it pulls along the touched part: there the limb keeps its shape."""
    rest = []
    for cells in MESHES:
        braced = drawn(tip, True, cells)[1].braced
        places, moment, _ = moments(braced.chain, braced.marks, braced.x, braced.y, "upper", 0.58)
        touched = places > 0.58 - lying(braced.chain.above, braced.x, braced.y)
        assert touched.sum() > 2
        rest.append(np.abs(moment[touched]).max() / moment[0])
    assert rest[0] < 1.1e-3
    orders = np.log2(np.array(rest[:-1]) / rest[1:])  # the mesh's own, between a smooth belly and straight cells
    np.testing.assert_allclose(orders, 2.0, atol=0.1)


@cache
def along(curved: float = 0.0) -> StrainAlong:
    changes = {**TABLES, "limbs.natural_curvature": (0.0, 0.0, curved)}
    return strain_along(measured("club-outdoor").with_si(**changes), "coarse")


def test_both_limbs_at_both_moments() -> None:
    found = along(2.0)
    assert found.curvature.shape == found.back.shape == (2, 2, found.place.size)
    assert found.place[0] == 0.0
    assert found.place[-1] == 1.0
    assert 30.0 / 58.0 in found.place.round(12).tolist() or np.isclose(found.place, 30 / 58).any()
    np.testing.assert_allclose(found.from_root[:, -1], 0.58)
    # plane sections: half the difference of the surfaces is half the thickness times the bend
    np.testing.assert_allclose(
        0.5 * (found.back - found.belly), 0.5 * found.thickness[:, None] * found.curvature, rtol=1e-12, atol=1e-18
    )
    assert (found.curvature[:, 1] >= found.curvature[:, 0] - 0.2).all()  # drawn, it is bent further
    assert found.curvature[:, :, -1] == pytest.approx(0.0, abs=1e-12)


def test_it_is_what_the_largest_is_looked_for_in() -> None:
    found = along()
    launch = FittedBow.of(
        measured("club-outdoor").with_si(**TABLES, **{"limbs.natural_curvature": (0.0,) * 3}), "coarse"
    )
    full, statics = filled(launch.setup), launch.statics
    for m, state in enumerate((statics.braced, statics.drawn)):
        for k, one in enumerate(limb_strains(full, statics.braced, state)):
            assert one is not None
            at = np.interp(found.from_root[k], one.at, one.back)
            np.testing.assert_allclose(at, found.back[k, m], rtol=1e-2, atol=1e-5)
    for k, most in enumerate(found.strain):
        assert most.largest == pytest.approx(np.abs([found.back[k], found.belly[k]]).max(), rel=1e-3)


def test_of_a_launch_and_of_a_curve_it_is_the_same() -> None:
    bow = FittedBow.of(measured("club-outdoor").with_si(**TABLES), "coarse")
    one = strain_along(bow)
    for other in (strain_along(bow.launch()), strain_along(bow.draw_curve(5))):
        np.testing.assert_array_equal(other.curvature, one.curvature)
        np.testing.assert_array_equal(other.back, one.back)


def test_a_material_s_usual_strain_is_a_limit() -> None:
    bow = FittedBow.of(measured("club-outdoor").with_si(**TABLES), "coarse")
    assert {one.usual_for for one in strain_along(bow).strain} == {"glass on wood core"}
    thick = {"limbs.thickness": ("16 mm", "14 mm", "10 mm")}  # of that stiffness: strained twice as much
    found = strain_along(measured("club-outdoor").with_si(**{**TABLES, **thick}), "coarse")
    assert "upper_limb.strain_limit" in found.limits_passed
    assert "over the 1.50 % usual for glass on wood core; single pieces may bear less" in found.warnings[0]
    own = strain_along(measured("club-outdoor").with_si(**{**TABLES, **thick, "limbs.strain_limit": 0.04}), "coarse")
    assert own.limits_passed == ()
    assert own.strain[0].limit == 0.04


def test_without_a_table_no_strain_is_told_but_how_it_bends() -> None:
    found = strain_along(measured("club-outdoor"), "coarse")
    assert np.isnan(found.back).all()
    assert np.isnan(found.thickness).all()
    assert np.isfinite(found.curvature).all()
    assert {one.unchecked for one in found.strain} == {"no width, thickness and modulus given"}


def test_as_a_table_with_units() -> None:
    data = along().to_xarray()
    assert data.back.dims == ("limb", "moment", "place")
    assert list(data.limb.values) == ["upper", "lower"]
    assert list(data.moment.values) == ["brace", "full draw"]
    assert data.curvature.attrs["units"] == "m-1"
    assert float(data.curvature.sel(limb="upper", moment="full draw").max()) == along().curvature[0, 1].max()
    assert archerysim.strain_along is strain_along
