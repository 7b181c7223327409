"""The unstrung limb's shape: what is told of it is what it has, by integrating it back another way."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import cumulative_trapezoid, solve_ivp
from scipy.optimize import brentq

from archerysim.equipment import Limb, Setup, SetupError, filled, loads, sources
from archerysim.equipment.limbs import natural_shape
from archerysim.equipment.limbs.derived_shape import shape_of
from archerysim.equipment.limbs.natural_shape import (
    NaturalShape,
    angle_at,
    braced_length,
    limb_line,
    shape_to,
    tip_of,
    turned_forward,
    usual_shape,
)
from archerysim.fields.quantity import Form
from archerysim.shot.arrays.build import limb_cells

LENGTH = 0.58  # [m]
RECURVE = usual_shape("recurve")


def marched(shape: NaturalShape, at: float = 1.0, lean: float = 0.0, length: float = 1.0) -> np.ndarray:
    """Forward, along and angle at a place, by a general-purpose integrator."""
    knots = [place for place in shape.at if place < at] + [at]

    def along(place: float, state: np.ndarray) -> list[float]:
        angle = state[2]
        return [length * np.sin(angle), length * np.cos(angle), float(np.interp(place, shape.at, shape.bent))]

    state = np.array([0.0, 0.0, lean])
    for low, high in pairwise(knots):
        state = solve_ivp(along, (low, high), state, rtol=1e-11, atol=1e-13).y[:, -1]
    return state


@settings(deadline=None, max_examples=20)
@given(st.floats(0.05, 2.5))
def test_an_even_curve_is_a_circle(turn: float) -> None:
    forward, along = tip_of(NaturalShape((0.0, 1.0), (turn, turn)))
    assert forward == pytest.approx((1.0 - np.cos(turn)) / turn, rel=1e-12)
    assert along == pytest.approx(np.sin(turn) / turn, rel=1e-12, abs=1e-12)


@settings(deadline=None, max_examples=25)
@given(st.floats(-0.25, 0.25), st.floats(0.2, 1.6), st.floats(0.52, 0.88))
def test_a_limb_has_the_tip_and_the_angles_that_were_told(middle: float, turn: float, begin: float) -> None:
    """A tip that such a limb can have: of one whose curve begins somewhere further in or out than a recurve's."""
    forward = LENGTH * tip_of(natural_shape._curved(middle, turn, begin))[0]
    told = Limb(middle_angle=middle, tip_angle=middle + turn, tip_forward=forward)
    shape = shape_to(told, "upper_limb", LENGTH, None)
    tip = marched(shape)
    assert tip[0] * LENGTH == pytest.approx(forward, abs=1e-9)
    assert tip[2] == pytest.approx(middle + turn, abs=1e-10)
    assert marched(shape, 0.5)[2] == pytest.approx(middle, abs=1e-10)
    assert (np.diff(shape.at) > 0.0).all()


@settings(deadline=None, max_examples=25)
@given(st.floats(-0.05, 0.09), st.sampled_from([None, -0.1, 0.15]))
def test_a_tip_alone_has_a_recurves_proportions(forward: float, middle: float | None) -> None:
    shape = shape_to(Limb(tip_forward=forward, middle_angle=middle), "upper_limb", LENGTH, RECURVE)
    assert marched(shape)[0] * LENGTH == pytest.approx(forward, abs=1e-9)
    assert RECURVE is not None
    assert shape.at[-3:] == pytest.approx(RECURVE.at[-3:])


def test_the_angle_at_half_length_alone_leaves_the_usual_tip_beyond() -> None:
    for usual, turn in ((None, 0.0), (RECURVE, turned_forward(RECURVE))):
        shape = shape_to(Limb(middle_angle=-0.05), "upper_limb", LENGTH, usual)
        assert marched(shape)[2] == pytest.approx(-0.05 + turn, abs=1e-10)


@pytest.mark.parametrize("form", ["measured", "built"])
def test_what_is_not_told_of_a_tip_is_usual_in_the_category(form: Form) -> None:
    for category, turn in (("club", turned_forward(RECURVE)), ("traditional", 0.0)):
        found = shape_of(Limb(middle_angle=0.05), "upper_limb", LENGTH, form, category)  # type: ignore[arg-type]
        assert found is not None
        assert marched(found[0])[2] == pytest.approx(0.05 + turn, abs=1e-10)


def test_a_tip_that_no_such_limb_has_is_refused_with_what_it_can_have() -> None:
    with pytest.raises(
        SetupError, match=r"upper_limb.tip_forward: 250 mm: the tip of such a limb with its tip at 60 deg"
    ):
        shape_to(Limb(tip_forward=0.25, tip_angle=np.radians(60.0)), "upper_limb", LENGTH, None)
    with pytest.raises(SetupError, match=r"is from -152 mm to 152 mm forward"):
        shape_to(Limb(tip_forward=0.35), "upper_limb", LENGTH, None)


@pytest.mark.parametrize("shape", [NaturalShape((0.0, 1.0), (0.0, 0.0)), RECURVE], ids=["straight", "recurve"])
@pytest.mark.parametrize("lean", [0.0, 0.035, 0.2])
def test_a_limb_is_as_long_as_reaches_the_string_that_lies_on_it(shape: NaturalShape, lean: float) -> None:
    """Bent most at its root it comes no further back than the string; what is left of it and the string make up the
    height.
    """
    up, back = 0.52, 0.19
    length = braced_length(shape, up, back, lean)
    assert length is not None
    place = np.linspace(0.0, 1.0, 20001)
    share = (1.0 - place) / (1.0 - 0.765 * place)

    def stands(bend: float) -> tuple[float, float]:
        angle = lean + angle_at(shape, place) - cumulative_trapezoid(bend * share, place, initial=0.0)
        x, y = (length * cumulative_trapezoid(f(angle), place, initial=0.0) for f in (np.sin, np.cos))
        k = int(x.argmin())
        return float(-x[k]), float(y[k] + length * (1.0 - place[k]))

    bend = brentq(lambda one: stands(one)[0] - back, 0.0, 3.0)
    assert stands(bend)[1] == pytest.approx(up, abs=1e-4)


def test_shapes_in_a_setup(measured: Setup) -> None:
    recurve = filled(measured.replace(**{"limbs.shape": "recurve"}))
    limb = recurve.upper_limb
    assert (limb.curvature_at, limb.at) == ((0.0, 0.6, 0.68, 1.0), (0.0, 1.0))
    line = limb_line(limb)
    assert line.angle[-1] == pytest.approx(turned_forward(RECURVE))
    assert line.forward[-1] == pytest.approx(marched(RECURVE)[0] * limb.length, abs=1e-5)  # type: ignore[arg-type]
    assert np.degrees(recurve.bow.pocket_angle) == pytest.approx(2.0)  # type: ignore[attr-defined]
    short = filled(measured.replace(**{"limbs.shape": "recurve", "limbs.length": "400 mm"})).upper_limb
    assert limb_line(short).angle[-1] == pytest.approx(line.angle[-1])
    straight = filled(measured.replace(**{"limbs.shape": "straight"}))
    assert straight.upper_limb.natural_curvature == (0.0, 0.0)
    assert np.degrees(straight.bow.pocket_angle) == pytest.approx(12.0)  # type: ignore[attr-defined]
    reflexed = filled(measured.replace(**{"limbs.shape": "reflexed"})).upper_limb
    assert 0.02 < limb_line(reflexed).forward[-1] < 0.06
    mixed = filled(measured.replace(**{"upper_limb.shape": "recurve", "lower_limb.shape": "straight"}))
    assert np.degrees(mixed.bow.pocket_angle) == pytest.approx(7.0)  # type: ignore[attr-defined]


def test_a_tip_in_a_setup_is_met_by_the_limb_whose_length_follows_from_it(measured: Setup) -> None:
    setup = measured.replace(**{"limbs.tip_forward": "95 mm", "limbs.tip_angle": "58 deg"})
    line = limb_line(filled(setup).upper_limb)
    assert line.forward[-1] == pytest.approx(0.095, abs=1e-5)
    assert np.degrees(line.angle[-1]) == pytest.approx(58.0)
    assert sources(setup)["upper_limb.natural_curvature"].how == "from upper_limb tip_forward, tip_angle"
    assert loads(setup.to_toml()) == setup


def test_one_way_to_tell_a_shape_drops_the_others(measured: Setup) -> None:
    ways: list[dict[str, Any]] = [
        {"limbs.shape": "recurve"},
        {"limbs.natural_curvature": ("0 1/m", "3 1/m", "3 1/m"), "limbs.curvature_at": (0, 0.5, 1)},
        {"limbs.tip_forward": "90 mm"},
    ]
    for one in ways:
        for other in ways:
            if one is not other:
                names = {path.rpartition(".")[2] for path in one}
                changed = measured.replace(**one).replace(**other)
                assert all(getattr(changed.upper_limb, name) is None for name in names)
    with pytest.raises(SetupError, match="says the same thing in another way"):
        Setup(**{**{n: getattr(measured, n) for n in measured.__struct_fields__},
                 "upper_limb": Limb(shape="recurve", tip_forward=0.1)})  # fmt: skip


def test_curvature_at_its_own_places_is_the_same_table(measured: Setup) -> None:
    at, curve = (0.0, 0.6, 0.68, 1.0), (0.0, 0.0, 6.0, 6.0)
    stiffness = tuple(1.0 - 0.765 * place for place in at)
    together = measured.with_si(**{"limbs.at": at, "limbs.bending_stiffness": stiffness,
                                   "limbs.natural_curvature": curve})  # fmt: skip
    apart = measured.with_si(**{"limbs.natural_curvature": curve, "limbs.curvature_at": at})
    one, other = (limb_cells(filled(setup).upper_limb, 24) for setup in (together, apart))
    for name in ("bend", "natural", "mass"):
        np.testing.assert_allclose(one[name], other[name], rtol=1e-12)


def test_a_new_table_without_places_of_its_own_stands_at_those_of_the_others(measured: Setup) -> None:
    own = measured.with_si(**{"limbs.curvature_at": (0.0, 0.5, 1.0), "limbs.natural_curvature": (0.0, 1.0, 2.0)})
    assert own.upper_limb.curvature_at == (0.0, 0.5, 1.0)
    assert own.with_si(**{"limbs.natural_curvature.1": 1.5}).upper_limb.curvature_at == (0.0, 0.5, 1.0)
    again = own.with_si(**{"limbs.natural_curvature": (0.0, 3.0)}).upper_limb
    assert (again.natural_curvature, again.curvature_at) == ((0.0, 3.0), None)


def test_the_places_of_the_curvature_are_checked(measured: Setup) -> None:
    with pytest.raises(SetupError, match=r"upper_limb.curvature_at: .* does not increase from 0 to 1"):
        measured.with_si(**{"limbs.natural_curvature": (0.0, 1.0), "limbs.curvature_at": (0.0, 0.9)})
    with pytest.raises(SetupError, match="a table of 2 for 3 places"):
        measured.with_si(**{"limbs.natural_curvature": (0.0, 1.0), "limbs.curvature_at": (0.0, 0.9, 1.0)})
    with pytest.raises(SetupError, match="means nothing without it"):
        measured.with_si(**{"limbs.curvature_at": (0.0, 1.0)})
