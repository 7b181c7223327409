"""The quick ways of the statics against the long ones: the fit from trial to trial, the curve from draw to draw."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest

from archerysim.equipment import Setup, filled
from archerysim.mechanics.arrays import Chain
from archerysim.shot.arrays.mesh import mesh_of
from archerysim.shot.shoot import draw
from archerysim.shot.statics import brace as brace_module
from archerysim.shot.statics import fit as fit_module
from archerysim.shot.statics.brace import Braced, brace_with_string
from archerysim.shot.statics.curve import curve_along, curve_anew
from archerysim.shot.statics.draw import TRADE, Drawing, draw_to
from archerysim.shot.statics.drawn import Drawn
from archerysim.shot.statics.fit import Fit, fit
from tests.support.equipment.random_setups import random_setup
from tests.support.shot.example_bows import NAMES, fitted, measured

SAME = 1e-9  # of a length of 1 m, of a force or an energy of its own size
CHANGES: list[dict[str, Any]] = [
    {"nock.locators.upper_present": False},
    {"nock.locators.lower_present": False},
    {"nock.locators.gap": "1 mm"},
    {"archer.grip_torque": "0.5 N m"},
    {"archer.pressure_point": "-20 mm"},
    {"archer.crawl": "20 mm"},
    {"archer.pad_width": "15 mm"},
    {"archer.elevation": "20 deg"},
    {"bow.draw_weight_at": "26 in"},
    {"bow.stiffness_ratio": 1.05, "bow.pocket_angle": "9 deg"},
]


def setups() -> Iterator[tuple[str, Setup]]:
    """The examples, each with changes, and random bows."""
    for name in NAMES:
        yield name, measured(name)
    for i, change in enumerate(CHANGES):
        name = NAMES[i % len(NAMES)]
        yield f"{name} {next(iter(change))}", measured(name).replace(**change)
    rng = np.random.default_rng([68, 8])
    for i in range(20):
        yield f"random {i}", random_setup(rng)


SETUPS = dict(setups())


def from_scratch(found: Fit, setup: Setup, mesh: str = "default") -> tuple[Braced, Drawing, Drawn]:
    """The fitted bow braced and drawn to where its weight was measured."""
    full = filled(found.setup)
    braced = brace_with_string(full, full.number("string.length"), mesh_of(mesh))
    return braced, *draw_to(full, braced, TRADE - filled(setup).number("bow.draw_weight_at"))


def same_shape(one: Braced | Drawn, other: Braced | Drawn) -> None:
    np.testing.assert_allclose((one.x, one.y), (other.x, other.y), rtol=0.0, atol=SAME)


def flat(chain: Chain) -> list[Any]:
    """A chain's arrays, those of the string at both limbs, and those of their hysteresis."""
    *arrays, above, below, loop = chain
    return [*arrays, *above, *below, *loop]


@pytest.mark.parametrize("name", SETUPS)
@pytest.mark.parametrize("mesh", ["coarse", "default"])
def test_the_fit_s_bow_is_the_one_from_scratch(name: str, mesh: str) -> None:
    setup = SETUPS[name]
    found = fit(setup, mesh)
    assert found.drawing is not None
    assert found.drawn is not None
    mine, drawn = found.drawing.braced, found.drawn
    braced, drawing, again = from_scratch(found, setup, mesh)
    same_shape(mine, braced)
    same_shape(drawn, again)
    assert mine.marks == braced.marks
    assert mine.string_length == braced.string_length
    for field in ("brace_height", "upper_tiller", "lower_tiller", "leans", "throat", "reading"):
        assert getattr(mine, field) == pytest.approx(getattr(braced, field), abs=SAME)
    for field in ("tension", "energy"):
        assert getattr(mine, field) == pytest.approx(getattr(braced, field), rel=SAME)
    for part, other in zip(flat(mine.chain), flat(braced.chain), strict=True):
        np.testing.assert_allclose(part, other, rtol=1e-8)
    np.testing.assert_allclose(drawn.force, again.force, rtol=0.0, atol=SAME * again.weight)
    assert drawn.energy == pytest.approx(again.energy, rel=SAME)
    assert drawn.rest_force == pytest.approx(again.rest_force, abs=SAME * again.weight)
    assert drawn.level == pytest.approx(again.level, abs=SAME)
    for part, other in zip(found.drawing.fingers, drawing.fingers, strict=True):
        np.testing.assert_allclose(part, other, atol=1e-8)


def same_values(one: Any, other: Any, path: str = "") -> None:
    """Every field of two records, numbers to rounding."""
    for name in one.__struct_fields__:
        a, b = getattr(one, name), getattr(other, name)
        if hasattr(a, "__struct_fields__"):
            same_values(a, b, f"{path}.{name}")
        elif isinstance(a, float) or (isinstance(a, tuple) and a and isinstance(a[0], float)):
            assert a == pytest.approx(b, rel=1e-12), f"{path}.{name}"
        else:
            assert a == b, f"{path}.{name}"


SHAPED = {
    "limbs.at": (0.0, 0.5, 1.0), "limbs.width": ("42 mm", "36 mm", "16 mm"),
    "limbs.thickness": ("8 mm", "6.5 mm", "5 mm"), "limbs.modulus": "20 GPa", "limbs.density": "1700 kg/m3",
    "limbs.mass": None,
}  # fmt: skip


@pytest.mark.parametrize("changes", [{}, {"bow.stiffness_ratio": 1.05}, SHAPED])
@pytest.mark.parametrize("name", NAMES)
def test_the_fit_s_own_setup_is_its_built_one_filled(name: str, changes: dict[str, Any]) -> None:
    found = fit(measured(name).replace(**changes))
    assert found.drawing is not None
    same_values(found.drawing.setup, filled(found.setup))


@pytest.mark.parametrize("name", SETUPS)
def test_the_fit_is_the_one_with_every_trial_from_scratch(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    quick = fit(SETUPS[name])
    monkeypatch.setattr(fit_module, "matched", lambda *_: None)
    monkeypatch.setattr(fit_module, "CLOSE", 1e-10)  # it stops short of rounding
    monkeypatch.setattr(brace_module, "SAME_STRING", 1e-11)
    long = fit(SETUPS[name])
    assert quick.stiffness_factor == pytest.approx(long.stiffness_factor, rel=SAME)
    for path in ("string.length", "upper_limb.pocket_angle", "lower_limb.pocket_angle", "nock.locators.place"):
        assert quick.setup.get(path) == pytest.approx(long.setup.get(path), abs=SAME)
    assert long.drawing is not None
    same_shape(quick.drawing.braced, long.drawing.braced)  # type: ignore[union-attr]


@pytest.mark.parametrize("points", [4, 9, 25])
@pytest.mark.parametrize("name", SETUPS)
def test_the_curve_is_the_one_drawn_anew_at_each_point(name: str, points: int) -> None:
    found = fit(SETUPS[name])
    _, drawing, last = from_scratch(found, SETUPS[name])
    places = np.linspace(drawing.begin, last.throat_x, points)[:-1]
    quick = curve_along(drawing, places, last.level)
    long = curve_anew(drawing, places[1:], last.level)
    assert quick or name not in NAMES or points < 25
    for one, other in zip(quick, long, strict=bool(quick)):
        assert one.throat_x == other.throat_x
        np.testing.assert_allclose(one.x, other.x, rtol=0.0, atol=5 * SAME)  # each is found to 2e-7 N
        np.testing.assert_allclose(one.y, other.y, rtol=0.0, atol=5 * SAME)
        np.testing.assert_allclose(one.force, other.force, rtol=0.0, atol=SAME * last.weight)
        assert one.energy == pytest.approx(other.energy, abs=SAME * last.energy)
        assert one.rest_force == pytest.approx(other.rest_force, abs=2e-9 * last.weight)


@pytest.mark.parametrize("changes", [{"nock.locators.gap": "5 mm"}, {"nock.grip": "12 N", "bow.draw_weight": "14 lb"}])
def test_the_curve_does_not_depend_on_the_number_of_points(changes: dict[str, Any]) -> None:
    """Where the nock may lie in two places, between which it jumps somewhere."""
    setup = measured("junior").replace(**changes)
    few, many = draw(setup, 4), draw(setup, 37)
    np.testing.assert_allclose(few.draw_length, many.draw_length[::12], rtol=1e-12)
    for one, other in zip(few.drawn, many.drawn[11::12], strict=True):
        np.testing.assert_allclose(one.y, other.y, rtol=0.0, atol=1e-8)
        assert one.energy == pytest.approx(other.energy, rel=1e-8)


def test_a_string_that_jumps_off_the_nock_s_edge_is_looked_for_at_each_point() -> None:
    """A tight nock on a slack string holds it on the edge long after it could be off."""
    setup = measured("junior").replace(**{"nock.grip": "12 N"})
    done = draw(setup)
    drawing = fit(setup).drawing
    assert drawing is not None
    assert curve_along(drawing, -done.draw_length[:-1] + TRADE, done.drawn[-1].level) == []
    assert np.all(np.diff(done.force) > 0.0)


@pytest.mark.parametrize("name", NAMES)
def test_nothing_is_left_over_from_an_earlier_fit(name: str) -> None:
    before = fitted(name)
    draw(measured(name))
    again = fit(measured(name))
    assert again.setup == before.setup
    assert again.drawn is not None
    np.testing.assert_array_equal(again.drawn.x, before.statics.drawn.x)
