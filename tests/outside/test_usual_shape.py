"""The usual recurve beside what is measured on recurves."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from archerysim.equipment import Setup
from archerysim.shot.draw_curve import DrawCurve
from archerysim.shot.fitted_bow import FittedBow
from tests.support.equipment.random_setups import random_setup
from tests.support.shot.example_bows import NAMES, measured

INCH = 0.0254
BOWS = 12


@cache
def curve(name: str, shape: str | None = None) -> DrawCurve:
    changes = {} if shape is None else {"limbs.shape": shape}
    return FittedBow.of(measured(name).replace(**changes), "default").draw_curve()


def stored(drawn: DrawCurve) -> float:
    """Stored energy over draw force times stroke."""
    return float(drawn.energy[-1] / (drawn.force[-1] * (drawn.draw_length[-1] - drawn.draw_length[0])))


@pytest.mark.parametrize("name", NAMES)
def test_it_stores_what_measured_recurves_store(name: str) -> None:
    """0.581, 0.581, 0.582 and 0.595: C. Tuijn and B. W. Kooi, European J. Physics 13 (1992) 127-134."""
    assert 0.58 < stored(curve(name)) < 0.60
    assert 0.52 < stored(curve(name, "straight")) < 0.54


@pytest.mark.parametrize("name", NAMES)
def test_its_string_is_some_inches_shorter_than_the_bow(name: str) -> None:
    """3 to 4 in: common practice."""
    drawn = curve(name)
    shorter = (measured(name).bow.length - drawn.braced.string_length) / INCH
    assert 3.0 < shorter < 4.05


@pytest.mark.parametrize("name", NAMES)
def test_it_stands_as_firmly_as_a_straight_one(name: str) -> None:
    """Against the limbs tipping opposite ways: far from doing so at brace and at full draw."""
    recurve, straight = curve(name), curve(name, "straight")
    assert recurve.braced.string_stiffness > straight.braced.string_stiffness
    assert recurve.stiffness_across > 0.8 * straight.stiffness_across


def usual(seed: int) -> Setup:
    """A random bow of its category with nothing told of its limbs' shape, and any split."""
    rng = np.random.default_rng([12, seed])
    category = str(rng.choice(["junior", "club", "elite", "barebow"]))
    setup = random_setup(rng, category).replace(**{"limbs.shape": None, "bow.pocket_angle": None})
    return setup.with_si(**{"bow.lower_tiller": setup.bow.upper_tiller - float(rng.uniform(-3e-3, 8e-3))})  # type: ignore[operator]


@pytest.mark.parametrize("seed", range(BOWS))
def test_bows_of_the_trades_measures_stand_and_a_bolt_turned_in_shortens_its_tiller(seed: int) -> None:
    bow = FittedBow.of(usual(seed), "coarse")
    drawn = bow.draw_curve(2)
    assert 0.54 < stored(bow.draw_curve(25)) < 0.63
    assert bow.braced.string_stiffness > 200.0
    assert drawn.stiffness_across > 100.0
    turned = bow.with_changes({"upper_limb.bolt_turns": "0.5 turn"}).braced
    split = turned.upper_tiller - turned.lower_tiller - bow.braced.upper_tiller + bow.braced.lower_tiller
    assert -4e-3 < split < -1e-3
