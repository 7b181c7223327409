"""Masses of limbs: butt, balance point and taper against sums over many short pieces."""

from __future__ import annotations

import re
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from archerysim.equipment import Setup, SetupError, filled, loads, sources
from archerysim.equipment.limbs.limb_mass import EVEN, LIGHTEST, MASS_AT_TIP, taper_of
from tests.support.equipment.setup_texts import BUILT, MEASURED

BUTT, LENGTH = 0.09, 0.58
WIDTH, THICKNESS = (0.045, 0.040, 0.016), (0.0090, 0.0065, 0.0045)
SHAPED = {"limbs.at": (0.0, 0.4, 1.0), "limbs.width": WIDTH, "limbs.thickness": THICKNESS, "limbs.modulus": 30e9}


def limb_of(text: str = MEASURED, **changes: Any) -> tuple[Setup, Any]:
    """A setup whose limbs have these values, and its upper limb filled in."""
    setup = loads(text).with_si(**{"limbs.length": LENGTH, "limbs.mass_per_length": None})
    setup = setup.with_si(**{path if "." in path else f"limbs.{path}": value for path, value in changes.items()})
    return setup, filled(setup).upper_limb


def balanced(limb: Any) -> tuple[float, float]:
    """Mass without the tip's [kg] and balance point from the butt's end [m], summed over short pieces."""
    edges = np.linspace(0.0, 1.0, 20001)
    at = 0.5 * (edges[1:] + edges[:-1])
    pieces = np.interp(at, limb.at, limb.mass_per_length) * limb.length / at.size
    places = limb.butt + at * limb.length
    mass = pieces.sum() + limb.butt_mass
    moment = pieces @ places + limb.butt_mass * 0.5 * limb.butt + limb.tip_mass * (limb.butt + limb.length)
    return mass, moment / (mass + limb.tip_mass)


def test_a_limb_without_a_butt_moves_all_over() -> None:
    """All of the mass is spread from root to tip, as the taper has it."""
    _, limb = limb_of(mass=0.165, butt=0.0)
    assert limb.butt_mass == 0.0
    assert limb.mass_per_length[0] == pytest.approx(0.165 / (LENGTH * (1.0 + MASS_AT_TIP) / 2.0), rel=1e-15)
    assert balanced(limb)[0] == pytest.approx(0.165, rel=1e-12)


@pytest.mark.parametrize("text", [MEASURED, BUILT])
def test_unless_told_a_butt_weighs_per_length_what_the_root_does(text: str) -> None:
    setup, limb = limb_of(text, mass=0.165, butt=BUTT)
    assert limb.butt_mass / BUTT == pytest.approx(limb.mass_per_length[0], rel=1e-14)
    mass, balance = balanced(limb)
    assert mass == pytest.approx(0.165, rel=1e-9)
    assert filled(setup).number("limbs.balance") == pytest.approx(balance, rel=1e-7)
    assert sources(setup)["upper_limb.butt_mass"].kind == "derived"


@given(st.floats(LIGHTEST, EVEN), st.floats(0.0, 0.2), st.floats(0.3, 0.9), st.floats(0.0, 0.01), st.floats(0.06, 0.4))
def test_the_taper_comes_back_from_the_balance_point(
    taper: float, butt: float, length: float, tip: float, mass: float
) -> None:
    """A limb of known taper, its balance point in closed form by hand; both ends of the possible range too."""
    size = mass / (butt + 0.5 * length * (1.0 + taper))
    moment = size * (butt**2 / 2 + butt * length * (1.0 + taper) / 2 + length**2 * (1.0 + 2.0 * taper) / 6)
    assert taper_of(moment / mass, butt, length) == pytest.approx(taper, abs=1e-9)
    balance = (moment + tip * (butt + length)) / (mass + tip)
    _, limb = limb_of(mass=mass, butt=butt, length=length, tip_mass=tip, balance=balance)
    assert limb.mass_per_length[-1] / limb.mass_per_length[0] == pytest.approx(taper, abs=1e-6)
    assert limb.butt_mass == pytest.approx(size * butt, abs=1e-6)


def test_a_balance_point_of_a_tapered_limb() -> None:
    """Nearer to the butt: more of the mass stands still, and what moves is lighter towards the tip."""
    middle = filled(limb_of(mass=0.165, butt=BUTT)[0]).number("limbs.balance")
    _, near = limb_of(mass=0.165, butt=BUTT, balance=middle - 0.01)
    _, same = limb_of(mass=0.165, butt=BUTT, balance=middle)
    assert same.mass_per_length[-1] / same.mass_per_length[0] == pytest.approx(MASS_AT_TIP, rel=1e-9)
    assert near.butt_mass > same.butt_mass
    assert near.mass_per_length[-1] / near.mass_per_length[0] < MASS_AT_TIP
    assert balanced(near) == (pytest.approx(0.165, rel=1e-9), pytest.approx(middle - 0.01, rel=1e-7))


@pytest.mark.parametrize("name", ["mass", "density"])
def test_where_the_shape_is_known_the_balance_point_gives_the_butt(name: str) -> None:
    value = {"mass": 0.165, "density": 1100.0}[name]
    usual, _ = limb_of(**SHAPED, **{name: value}, butt=BUTT)
    centre = filled(usual).number("limbs.balance") - 0.012
    _, limb = limb_of(**SHAPED, **{name: value}, butt=BUTT, balance=centre)
    mass, balance = balanced(limb)
    assert (mass, balance) == (pytest.approx(limb.mass, rel=1e-8), pytest.approx(centre, rel=1e-7))
    section = np.multiply(WIDTH, THICKNESS)
    np.testing.assert_allclose(np.divide(limb.mass_per_length, limb.mass_per_length[0]), section / section[0])
    if name == "density":
        assert limb.mass_per_length[0] == pytest.approx(1100.0 * section[0], rel=1e-15)


def test_a_butt_that_was_weighed() -> None:
    _, limb = limb_of(mass=0.165, butt=BUTT, butt_mass=0.041)
    assert balanced(limb)[0] == pytest.approx(0.165, rel=1e-9)
    _, table = limb_of(BUILT, mass_per_length=(0.2, 0.1), butt=BUTT, butt_mass=0.041)
    assert table.mass == pytest.approx(LENGTH * 0.15 + 0.041, rel=1e-15)
    assert table.mass_per_length == (0.2, 0.1)


def ends(text: str) -> list[float]:
    """The balance points that a refusal names [m]."""
    found = re.search(r"only at ([\d.]+) mm to ([\d.]+) mm", text)
    assert found
    return [1e-3 * float(one) for one in found.groups()]


@pytest.mark.parametrize("known", [{}, SHAPED], ids=["taper", "shape"])
def test_no_limb_balances_there(known: dict[str, Any]) -> None:
    """What is refused is told with the places that are possible: within them it is taken, beyond them not."""
    for centre in (0.05, 0.60):
        with pytest.raises(SetupError, match=r"upper_limb.balance: no limb like this balances") as caught:
            limb_of(**known, mass=0.165, butt=BUTT, balance=centre)
        least, most = ends(str(caught.value))
        for place, step in ((least, 2e-4), (most, -2e-4)):
            limb_of(**known, mass=0.165, butt=BUTT, balance=place + step)
            with pytest.raises(SetupError, match="no limb like this balances"):
                limb_of(**known, mass=0.165, butt=BUTT, balance=place - step)


def test_a_table_that_cannot_balance_there() -> None:
    with pytest.raises(SetupError, match=r"no limb like this balances 500 mm from its butt's end, only at 45 mm to"):
        limb_of(BUILT, mass_per_length=(0.2, 0.1), butt=BUTT, balance=0.5)
    setup, _ = limb_of(BUILT, mass_per_length=(0.2, 0.1), butt=0.0)
    _, limb = limb_of(BUILT, mass_per_length=(0.2, 0.1), butt=0.0, balance=filled(setup).number("limbs.balance"))
    assert limb.butt_mass == pytest.approx(0.0, abs=1e-12)


def test_two_ways_to_say_the_butt() -> None:
    with pytest.raises(SetupError, match=r"upper_limb.balance: given together with upper_limb.butt_mass"):
        loads(MEASURED.replace('mass = "165 g"', 'mass = "165 g"\nbutt_mass = "30 g"\nbalance = "280 mm"'))
    setup, _ = limb_of(mass=0.165, butt=BUTT, butt_mass=0.03)
    assert setup.with_si(**{"limbs.balance": 0.28}).upper_limb.butt_mass is None


def test_a_butt_as_heavy_as_the_limb() -> None:
    with pytest.raises(SetupError, match=r"upper_limb.butt_mass: 160 g of a limb of 165 g leaves nothing that moves"):
        limb_of(mass=0.165, butt=BUTT, butt_mass=0.160)
