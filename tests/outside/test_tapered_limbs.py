"""Limbs that grow narrower, thinner, or are glued of laminations, clamped at the root: closed forms.

Tip deflection under a small load P, the root's stiffness E I0: y = P L^3/(E I0) times the integral over s, from 0 to 1,
of (1 - s)^2 I0/I(s) (unit load theorem, textbook). For the width going to a point it is 1/2, the old formula of leaf
springs: y = P L^3/(2 E I0).

Frequencies of the wedge, width even, thickness falling evenly: (x^3 y'')'' = k^4 x y, x from where the wedge would end;
solved by x^(-1/2) times the Bessel functions J1, Y1, I1 and K1 of 2 k sqrt(x) (Kirchhoff 1879). A whole wedge has
5.315 as its first, in place of the even beam's 3.516 (handbooks [memory]).

A laminated beam: the transformed section by hand (S. P. Timoshenko, Strength of Materials, part I, beams of two
materials [memory]), the numbers written out below.
"""

from __future__ import annotations

from functools import cache
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.special import iv, jv, kv, yv

from archerysim.equipment import filled
from tests.support.mechanics.beams_and_strings import (
    across,
    assert_order_2,
    clamped_limb,
    frequencies,
    richardson,
)
from tests.support.shot.example_bows import measured

LENGTH, WIDTH, THICK, MODULUS, DENSITY = 0.6, 0.04, 0.008, 12e9, 700.0
STIFF, HEAVY = MODULUS * WIDTH * THICK**3 / 12.0, DENSITY * WIDTH * THICK  # at the root
CELLS = (24, 48, 96)
TABLE = 2e-4  # stiffness runs in straight lines between 65 places of the cube of a thickness: 6/8 of (1/64)^2 at most


def limb(narrower: float, thinner: float) -> Any:
    """A straight limb whose width and thickness fall by so much of the root's, in straight lines to the tip."""
    return SimpleNamespace(
        length=LENGTH, at=(0.0, 1.0),
        width=(WIDTH, (1.0 - narrower) * WIDTH), thickness=(THICK, (1.0 - thinner) * THICK),
        laminations=(), modulus=MODULUS, density=DENSITY, natural_curvature=(0.0, 0.0), curvature_at=(),
        axial_stiffness=3e6, tip_mass=0.0, loss_time=0.0,
    )  # fmt: skip


@cache
def sunk(narrower: float, thinner: float, cells: int) -> float:
    """Tip deflection under one newton, over L^3/(E I0)."""
    return tip(limb(narrower, thinner), cells) * STIFF / LENGTH**3


def tip(one: Any, cells: int) -> float:
    """Tip deflection under one newton across the limb [m]."""
    matrix = across(*clamped_limb(one, cells))
    load = np.zeros(len(matrix))
    load[-1] = 1.0
    return float(np.linalg.solve(matrix, load)[-1])


def narrowed(a: float) -> float:
    """The integral of (1 - s)^2/(1 - a s)."""
    b = 1.0 - a
    return (0.5 * (1.0 - b * b) - 2.0 * b * a - b * b * np.log(b)) / a**3


def thinned(a: float) -> float:
    """The integral of (1 - s)^2/(1 - a s)^3."""
    b = 1.0 - a
    return float(-np.log(b) - 2.0 * a + 0.5 * (1.0 - b * b)) / a**3


def test_the_leaf_spring_s_formula_is_the_limit() -> None:
    assert narrowed(1.0 - 1e-9) == pytest.approx(0.5, abs=1e-8)
    assert narrowed(1e-3) == pytest.approx(1.0 / 3.0, rel=1e-3)  # an even beam
    assert thinned(1e-3) == pytest.approx(1.0 / 3.0, rel=1e-2)


@pytest.mark.parametrize("narrower", [0.3, 0.7])
def test_a_limb_that_grows_narrower(narrower: float) -> None:
    found = [sunk(narrower, 0.0, cells) for cells in CELLS]
    assert richardson(found[1], found[2]) == pytest.approx(narrowed(narrower), rel=1e-5)
    assert_order_2(found, narrowed(narrower))


def test_a_limb_that_ends_in_a_point() -> None:
    """y = P L^3/(2 E I0); its last cells bend without end and fall more slowly than the others."""
    found = [sunk(1.0 - 1e-6, 0.0, cells) for cells in CELLS]
    assert found[-1] == pytest.approx(0.5, rel=1e-3)
    assert np.abs(np.diff(found))[1] < 0.5 * np.abs(np.diff(found))[0]


@pytest.mark.parametrize("thinner", [0.2, 0.5])
def test_a_limb_that_grows_thinner(thinner: float) -> None:
    found = [sunk(0.0, thinner, cells) for cells in CELLS]
    limit = richardson(found[1], found[2])
    assert limit == pytest.approx(thinned(thinner), rel=TABLE)
    assert_order_2(found, limit)


# frequencies


def wedge(thinner: float, guess: float) -> float:
    """omega L^2 sqrt(m0/(E I0)) of a wedge cut off at a share of its root's thickness, clamped at the root.

    With z = 2 k sqrt(x), C one of the four: deflection C1/z, slope C2/z^2, moment z^3 C3, shear z^2 C2, each with the
    sign that comes with it. What is free at the cut has neither moment nor shear.
    """
    signs = {jv: (-1.0, 1.0, 1.0), yv: (-1.0, 1.0, 1.0), iv: (1.0, 1.0, 1.0), kv: (-1.0, 1.0, -1.0)}

    def determinant(number: float) -> float:
        # k^2 in terms of the number: the wedge of full length L/thinner has its root at x = L/thinner
        root = 2.0 * np.sqrt(number) / thinner
        cut = root * np.sqrt(1.0 - thinner)
        rows = []
        for one, (slope, moment, shear) in signs.items():
            at_root, at_cut = [one(n, root) for n in (1, 2)], [one(n, cut) for n in (2, 3)]
            rows.append([at_root[0], slope * at_root[1], moment * at_cut[1], shear * at_cut[0]])
        size = np.abs(np.array(rows)).max(axis=1, keepdims=True)
        return float(np.linalg.det(np.array(rows) / size))

    return float(brentq(determinant, 0.99 * guess, 1.01 * guess, xtol=1e-12))


def test_frequencies_of_a_wedge() -> None:
    """Half as thick at the tip: 3.824, 18.32, 47.26 (tables of tapered beams [memory])."""
    thinner, guesses = 0.5, (3.824, 18.32, 47.26)
    assert wedge(1.0 - 1e-7, 5.315) == pytest.approx(5.315, abs=1e-3)
    exact = np.array([wedge(thinner, guess) for guess in guesses])
    scale = LENGTH**2 * np.sqrt(HEAVY / STIFF)
    found = [scale * frequencies(*clamped_limb(limb(0.0, thinner), cells), len(guesses)) for cells in CELLS]
    limit = richardson(found[1], found[2])
    assert limit == pytest.approx(exact, rel=TABLE)
    assert_order_2(found, limit, within=0.15)


# laminations


def test_two_laminations_by_hand() -> None:
    """1 mm of a stiff strip (40 GPa, 1900 kg/m3) behind 6 mm of wood (10 GPa, 700 kg/m3), 40 mm wide, 500 mm long.

    The wood counts a quarter. Area of the transformed section, per mm of width: 1 + 6/4 = 2.5 mm. Its middle, from the
    back: (1 * 0.5 + 6/4 * 4)/2.5 = 2.6 mm. Second moment: 1/12 + 1 * 2.1^2 = 4.49333; the wood's
    (6^3/12 + 6 * 1.4^2)/4 = 7.44; together 11.93333 mm3. E I = 40 GPa * 40 mm * 11.93333 mm3 = 19.09333 N m2.
    One newton at the tip: 0.5^3/(3 * 19.09333) m = 2.18226 mm. It weighs 40 mm * (1 mm * 1900 + 6 mm * 700) = 0.244
    kg/m. First frequency: 3.516015/(2 pi 0.5^2) * sqrt(19.09333/0.244) = 19.80 Hz.
    """
    strips = [
        {"thickness": "1 mm", "modulus": "40 GPa", "density": "1900 kg/m^3"},
        {"thickness": "6 mm", "modulus": "10 GPa", "density": "700 kg/m^3"},
    ]
    setup = measured("club-outdoor").replace({
        "limbs.mass": None, "limbs.shape": "straight", "limbs.tip_mass": "0 g", "limbs.stations": ["0 cm", "50 cm"],
        "limbs.width": ["40 mm", "40 mm"], "limbs.laminations": strips,
    })  # fmt: skip
    one = filled(setup).upper_limb
    assert one.bending_stiffness == pytest.approx((19.09333, 19.09333), rel=1e-6)
    assert one.mass_per_length == pytest.approx((0.244, 0.244), rel=1e-12)
    sinks = [tip(one, cells) for cells in CELLS]
    assert richardson(sinks[1], sinks[2]) == pytest.approx(2.18226e-3, rel=1e-5)
    rings = [frequencies(*clamped_limb(one, cells), 1)[0] / (2.0 * np.pi) for cells in CELLS]
    assert richardson(rings[1], rings[2]) == pytest.approx(19.80, abs=5e-3)
    assert_order_2(rings, 3.516015 / (2.0 * np.pi * 0.25) * np.sqrt(19.093333 / 0.244))
    other_way = filled(setup.replace({"limbs.laminations": strips[::-1]})).upper_limb
    assert other_way.bending_stiffness == pytest.approx(one.bending_stiffness, rel=1e-12)  # back and belly alike


def test_the_training_bow_by_hand() -> None:
    """Glass of 0.7 mm, maple of 4.2 mm, glass: (5.6^3 - 4.2^3)/12 = 8.46067 mm3 of 40 GPa, 6.174 of 12.6 GPa.

    The training bow's root, 42 mm wide: 42 mm * (40 * 8.46067 + 12.6 * 6.174) GPa mm3 = 17.481 N m2. Its lower core,
    4.27 mm: (5.67^3 - 4.27^3)/12 = 8.70248 and 6.48787 mm3, 18.0536 N m2: 3.3 % more.
    """
    setup = measured("training-bow")
    for limb_of, stiffness in ((filled(setup).upper_limb, 17.4812), (filled(setup).lower_limb, 18.0536)):
        assert limb_of.bending_stiffness[0] == pytest.approx(stiffness, rel=1e-4)
