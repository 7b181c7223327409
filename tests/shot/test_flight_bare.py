"""Bare shafts beside fletched ones."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from archerysim.mechanics.flight import shaft_drag
from archerysim.shot.flight.bare_shaft import bare_difference
from archerysim.shot.flight.fly import Flight, fly
from archerysim.shot.shoot import shoot
from tests.support.shot.example_bows import NAMES, built, shot

CLUB = "club-outdoor"
MM = 1e-3


@pytest.mark.parametrize("name", NAMES)
def test_direction_of_the_trade(name: str) -> None:
    """Taped, at 18 m: high of the fletched ones with the locator too low, low with it too high (common practice)."""
    low, high = (shot(name, reading).clear.angle_of_attack for reading in (6.0, 10.0))
    zero = 6.0 + 4.0 * low / (low - high)
    heights = [bare_difference(shot(name, round(zero + by, 2)), "18 m").height for by in (-4.0, 4.0)]
    assert heights[0] > 10.0 * MM
    assert heights[1] < -10.0 * MM


@pytest.mark.parametrize("name", NAMES)
def test_higher_readings_bring_the_bare_shaft_down(name: str) -> None:
    heights = [bare_difference(shot(name, reading), "18 m").height for reading in (4.0, 6.0, 8.0, 10.0, 12.0)]
    assert (np.diff(heights) < 0.0).all()


@pytest.mark.parametrize(
    ("distance", "taped", "low", "high"),
    [(18.0, True, 1.0, 4.0), (18.0, False, 8.0, 24.0), (30.0, True, 6.0, 20.0), (30.0, False, 30.0, 75.0)],
)
@pytest.mark.parametrize("name", [CLUB, "barebow"])
def test_drag_and_mass_alone(name: str, distance: float, taped: bool, low: float, high: float) -> None:
    """By the trade's calculation 2 mm taped and 16 mm untaped at 18 m, 11 and 47 mm at 30 m: ours of that size."""
    both = bare_difference(shot(name), (distance, "m"), taped=taped)
    assert low * MM < both.drag_and_mass < high * MM
    assert both.height == pytest.approx(both.drag_and_mass + both.swing, abs=1e-12)
    assert both.elevation == both.fletched.elevation == pytest.approx(both.bare.elevation)


def test_drag_alone_against_its_closed_form() -> None:
    """Flat, fast flight: drop g (exp(2 k D) - 1 - 2 k D) / (4 k^2 v^2), k = rho CD pi d^2 / (8 m)."""
    launch = shot(CLUB)
    both = bare_difference(launch, "18 m", boundary_layer="turbulent")
    way, speed = 18.0 - both.fletched.x[0], launch.clear.speed

    def drop(flight: Flight) -> float:
        b = flight.body
        k = b.density * (b.area * shaft_drag(0.97 * speed, b) + b.fin_drag) / (2.0 * b.mass)
        return float(9.81 * (np.exp(2.0 * k * way) - 1.0 - 2.0 * k * way) / (4.0 * k**2 * speed**2))

    assert both.drag_and_mass == pytest.approx(drop(both.fletched) - drop(both.bare), rel=0.01)


def test_untaped_by_the_rule_and_by_a_shot_of_its_own() -> None:
    """The virtual mass's speed against the speed of a shot without the fletching's mass."""
    launch = shot(CLUB)
    own = shoot(built(CLUB).replace(**{"arrow.fletching_mass": "0 g"}), "default", trace=False)
    by_rule = fly(launch, distance="18 m", fletched=False, taped=False)
    by_shot = fly(own, distance="18 m", fletched=False, taped=False, elevation=(by_rule.elevation, "deg"))
    assert by_rule.speed[0] > launch.clear.speed
    gain = by_shot.speed[0] / launch.clear.speed - 1.0
    assert by_rule.speed[0] / launch.clear.speed - 1.0 == pytest.approx(gain, rel=0.25)
    assert by_rule.mass == pytest.approx(by_shot.mass)
    rule = bare_difference(launch, "18 m", taped=False)
    direct = bare_difference(launch, "18 m", taped=False, bare_launch=own)
    assert direct.drag_and_mass == pytest.approx(rule.drag_and_mass, rel=0.3)


def test_without_fletching_nothing_holds_the_nose_down() -> None:
    """A bare shaft keeps its pitch while its path bends down: a perfect launch lands high, more so further out."""
    near, far = (bare_difference(shot(CLUB), distance, perfect=True) for distance in ("18 m", "30 m"))
    assert 0.0 < near.height < far.height
    assert near.bare.angle_of_attack[-1] > near.fletched.angle_of_attack[-1]
    assert np.abs(near.fletched.angle_of_attack).max() < 0.5 * np.abs(near.bare.angle_of_attack).max()


def test_a_fletching_without_lift_and_drag_is_none() -> None:
    launch = shot(CLUB)
    zero = {"arrow.fletching_lift_slope": 0.0, "arrow.fletching_drag": 0.0}
    smooth = dataclasses.replace(launch, setup=launch.setup.replace(**zero))
    assert bare_difference(smooth, "18 m").height == pytest.approx(0.0, abs=1e-9)
