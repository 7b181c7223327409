"""A long rod that bends, in the shot."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from archerysim.equipment import filled
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.launch import Launch
from archerysim.shot.release.scipy_check import check
from tests.support.shot.example_bows import fitted, measured

NAME = "club-outdoor"
# limbs as that of the independent calculation: all of them moves, and no string on their bellies
STRAIGHT: dict[str, Any] = {"limbs.shape": "straight", "limbs.butt": "0 mm"}
BENDS: dict[str, Any] = {"riser.rods.0.rigid": False}
RIGID: dict[str, Any] = {"riser.rods.0.rigid": True}


def shot(changes: dict[str, Any], name: str = NAME) -> Launch:
    return fitted(name).launch(changes)


def test_default_frequency_of_a_long_rod() -> None:
    """18 to 25 Hz for 700 mm with 130 g and 120 g at its end [judgement]: a cantilever's stiffness, Rayleigh's mass."""
    setup = fitted(NAME).setup.replace({"riser.rods": [{"length": "700 mm", "rod_mass": "130 g", "end_mass": "120 g"}]})
    found = filled(setup).riser.rods[0].frequency
    assert 18.0 < found < 25.0
    assert found == pytest.approx(
        np.sqrt(3.0 * 300.0 / 0.7**3 / (0.12 + 33.0 / 140.0 * 0.13)) / (2.0 * np.pi), rel=1e-12
    )


@pytest.mark.parametrize(
    ("rod", "bends"),
    [
        ({"length": "700 mm", "end_mass": "100 g"}, True),
        ({"length": "0 mm", "end_mass": "100 g"}, False),
        ({"length": "700 mm", "end_mass": "0 g"}, False),
        ({"length": "700 mm", "end_mass": "0 g", "rod_mass": "100 g"}, True),
        ({"length": "100 mm", "end_mass": "100 g"}, True),
        ({"length": "15 mm", "end_mass": "400 g"}, False),
        ({"length": "15 mm", "end_mass": "400 g", "frequency": "900 Hz"}, True),
        ({"length": "700 mm", "end_mass": "100 g", "rigid": True}, False),
        ({"length": "700 mm", "end_mass": "100 g", "rigid": True, "frequency": "20 Hz"}, False),
    ],
)
def test_which_rods_bend(rod: dict[str, Any], bends: bool) -> None:
    bow = fitted(NAME).with_changes({"riser.rods": [{"rigid": False, **rod}]})
    assert filled(bow.setup).riser.rods[0].bends == bends
    assert bow.braced.frame.rods.mass.size == bends
    assert filled(bow.setup).riser.rods[0].frequency <= 1000.0


def test_the_weight_at_its_end_shifts_the_attack() -> None:
    """By +0.07 to +0.10 deg for a rod of 18 to 25 Hz, of which the end's weight alone swings.

    So found by an independent calculation of such a bow. With the rod's own mass swinging too it is a third more.
    """
    bow = FittedBow.of(measured(NAME).replace(STRAIGHT))
    place = {"start_x": "30 mm", "length": "28 in", "damping": 0.0}
    weight, tube = {**place, "end_mass": "120 g"}, {**place, "end_mass": "0 g", "rod_mass": "130 g", "rigid": True}

    def attack(weight: dict[str, Any]) -> float:
        return bow.launch({"riser.rods": [weight, tube]}).clear.angle_of_attack

    rigid = attack({**weight, "rigid": True})
    soft, stiff = (attack({**weight, "rigid": False, "frequency": f}) - rigid for f in ("18 Hz", "25 Hz"))
    assert 0.07 < stiff < soft < 0.10
    whole = {**place, "end_mass": "120 g", "rod_mass": "130 g", "rigid": False, "frequency": "18 Hz"}
    more = bow.launch({"riser.rods": [whole]}).clear.angle_of_attack - rigid
    assert more == pytest.approx(soft * (0.12 + 0.375 * 0.13) / 0.12, rel=0.1)


def test_the_account_closes_with_the_rods_in_it() -> None:
    done, rigid = shot(BENDS), shot(RIGID)
    for moment in (done.separation, done.clear):
        assert abs(moment.energy.residual) < 0.0001 * done.stored_energy
        assert moment.energy.lost_rods > 0.0
        assert moment.energy.rods != 0.0
    assert rigid.clear.energy.rods == rigid.clear.energy.lost_rods == 0.0
    assert done.draw_force == rigid.draw_force
    assert done.aim_angle == rigid.aim_angle


def test_a_stiff_rod_is_a_rigid_one() -> None:
    """Within 0.001 deg at 1000 Hz, where the same rod at 21 Hz is off by 0.02 deg."""
    rigid = shot(RIGID)
    stiff = shot({**BENDS, "riser.rods.0.frequency": "1000 Hz"})
    assert stiff.clear.angle_of_attack == pytest.approx(rigid.clear.angle_of_attack, abs=1e-3)
    assert stiff.clear.speed == pytest.approx(rigid.clear.speed, rel=1e-5)
    assert abs(shot(BENDS).clear.angle_of_attack - rigid.clear.angle_of_attack) > 0.015


def test_the_same_through_scipy() -> None:
    """Release and general integrator agree on a bow whose rod bends and whose limbs have hysteresis."""
    bow: FittedBow = FittedBow.of(fitted(NAME).setup, "coarse", {**BENDS, "limbs.hysteresis": 0.02})
    done = bow.launch()
    exact = check(done.drawing, done.drawn, rtol=1e-6, atol=1e-8, planes=done.planes)
    arrow = slice(done.braced.marks.tail, None)
    mass = done.braced.chain.mass[arrow]
    speed = float(mass @ exact.clear[2, arrow] / mass.sum())
    out = float(mass @ exact.clear[5, arrow] / mass.sum())
    told = np.linalg.norm((done.clear.speed, done.clear.vertical_velocity, done.clear.sideways_velocity))
    up = float(mass @ exact.clear[3, arrow] / mass.sum())
    assert np.linalg.norm((speed, up, out)) == pytest.approx(told, rel=2e-6)
    assert exact.clear_time == pytest.approx(done.clear.time, rel=2e-6)
    angle = np.degrees(np.arctan2(up, speed)) - done.aim_angle
    assert angle == pytest.approx(np.degrees(np.arctan2(done.clear.vertical_velocity, done.clear.speed)), abs=5e-4)
