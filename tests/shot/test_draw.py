"""The draw-force curve: force, stored energy and the fingers' work tell the same story."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from scipy.interpolate import CubicSpline

from archerysim.equipment import SetupError, filled
from archerysim.shot.arrays.build import make_fingers
from archerysim.shot.shoot import DrawCurve, draw
from archerysim.shot.statics.draw import full_draw_x
from tests.support.shot.example_bows import NAMES, built, measured, shot
from tests.support.shot.residual_forces import CONVERGED, drawn_residual, least_tension, turning_moment

POINTS = 25


@cache
def curve(name: str) -> DrawCurve:
    return draw(built(name), POINTS)


def fingers(name: str) -> tuple[np.ndarray, np.ndarray]:
    """Force on the fingers and place of its point of attack, from brace on: (k, 2) [N], (k, 2) [m]."""
    found = curve(name)
    braced = found.braced
    made = make_fingers(filled(built(name)).archer, braced.string_place, braced.throat, braced.marks.tip_u)
    share = made.weight.sum(axis=0)
    touched = slice(made.first, made.first + share.size)
    force = np.array([(0.0, 0.0), *(d.force for d in found.drawn)])
    place = np.array([share @ np.column_stack((b.x, b.y))[touched] for b in (braced, *found.drawn)])
    return force, place


@pytest.mark.parametrize("name", NAMES)
def test_from_brace_to_full_draw(name: str) -> None:
    found, archer = curve(name), measured(name).archer
    assert found.draw_length.shape == found.force.shape == found.energy.shape == (POINTS,)
    assert len(found.drawn) == POINTS - 1
    assert found.force[0] == found.energy[0] == 0.0
    assert found.draw_length[-1] == pytest.approx(archer.draw_length, abs=1e-12)
    assert found.drawn[-1].throat_x == full_draw_x(filled(built(name)))
    assert found.draw_length[0] == pytest.approx(found.braced.brace_height + 1.75 * 0.0254, abs=0.004)
    np.testing.assert_allclose(np.diff(found.draw_length), np.diff(found.draw_length)[0], rtol=1e-9)
    assert (np.diff(found.force) > 0.0).all()
    assert (np.diff(found.energy) > 0.0).all()


@pytest.mark.parametrize("name", NAMES)
def test_draw_weight_is_the_measured_one(name: str) -> None:
    assert curve(name).force[-1] == pytest.approx(measured(name).bow.draw_weight, rel=1e-6)
    assert curve(name).force[-1] == pytest.approx(shot(name).draw_force, rel=1e-9)


def test_stiffness_of_a_force_that_is_known() -> None:
    """Exact where the force rises by a square law, whatever the steps; at two points the mean rise."""
    x = np.array([0.25, 0.3, 0.42, 0.5, 0.7])
    made = replace(curve(NAMES[0]), draw_length=x, force=40.0 + 100.0 * x + 90.0 * x**2)
    np.testing.assert_allclose(made.stiffness, 100.0 + 180.0 * x, rtol=1e-12)
    two = replace(made, draw_length=x[[0, -1]], force=made.force[[0, -1]])
    np.testing.assert_allclose(two.stiffness, np.ptp(two.force) / np.ptp(two.draw_length), rtol=1e-12)


@pytest.mark.parametrize("name", NAMES)
def test_the_bow_stacks_by_its_stiffness(name: str) -> None:
    """What it gains from brace on is the force, by the trapezoids of its rise."""
    found = curve(name)
    assert (found.stiffness > 0.0).all()
    assert np.trapezoid(found.stiffness, found.draw_length) == pytest.approx(found.force[-1], rel=0.005)


@pytest.mark.parametrize("name", NAMES)
def test_energy_is_the_fingers_work(name: str) -> None:
    """Work of the fingers' force on the way of its points of attack; the arrow takes up some 0.01 % of it."""
    found = curve(name)
    force, place = fingers(name)
    power = (force * CubicSpline(found.draw_length, place)(found.draw_length, 1)).sum(axis=1)
    work = CubicSpline(found.draw_length, power).antiderivative()(found.draw_length)
    np.testing.assert_allclose(found.energy, work, atol=5e-4 * work[-1])
    slope = CubicSpline(found.draw_length[1:], found.energy[1:])(found.draw_length[1:], 1)
    np.testing.assert_allclose(slope[2:-2], power[3:-2], rtol=2e-3)


@pytest.mark.parametrize("name", NAMES)
def test_work_grows_as_the_area_under_the_curve(name: str) -> None:
    """What an archer adds up from a scale: nearly all of the work, since the fingers pull nearly level."""
    found = curve(name)
    area = np.trapezoid(found.force, found.draw_length)
    assert area == pytest.approx(found.energy[-1], rel=0.03)


@pytest.mark.parametrize("name", NAMES)
def test_every_point_is_in_balance(name: str) -> None:
    full, found = filled(built(name)), curve(name)
    for drawn in found.drawn:
        assert drawn_residual(full, found.braced, drawn) < CONVERGED
        assert least_tension(found.braced, drawn.x, drawn.y) > 0.0
        assert turning_moment(full, found.braced, drawn) == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("torque", [-1.5, 2.0])
def test_grip_torque_is_the_moment_of_the_fingers(torque: float) -> None:
    setup = built("club-outdoor").with_si(**{"archer.grip_torque": torque})
    found = draw(setup, 3)
    full = filled(setup)
    assert turning_moment(full, found.braced, found.drawn[-1]) == pytest.approx(-torque, abs=1e-6)
    assert drawn_residual(full, found.braced, found.drawn[-1]) < CONVERGED


def test_pressure_point_is_where_the_push_meets_the_grip() -> None:
    """The fingers' force, carried on along its line, passes the pivot's vertical at the pressure point."""
    setup = built("club-outdoor").replace(**{"archer.pressure_point": "10 mm"})
    found = draw(setup, 3)
    drawn = found.drawn[-1]
    moment = turning_moment(filled(setup), found.braced, drawn)
    assert -moment / drawn.force[0] == pytest.approx(0.010, abs=1e-6)


@pytest.mark.parametrize("name", NAMES)
def test_the_arrow_stands_at_the_elevation(name: str) -> None:
    for elevation in (0.0, np.radians(15.0)):
        found = draw(built(name).with_si(**{"archer.elevation": elevation}), 3)
        drawn, tail = found.drawn[-1], found.braced.marks.tail
        line = np.arctan2(drawn.y[-1] - drawn.y[tail], drawn.x[-1] - drawn.x[tail])
        assert line - drawn.level == pytest.approx(elevation, abs=1e-4)


def test_more_points_do_not_change_the_curve() -> None:
    fine = draw(built("junior"), 2 * POINTS - 1)
    np.testing.assert_allclose(fine.force[::2], curve("junior").force, rtol=1e-7)
    np.testing.assert_allclose(fine.energy[::2], curve("junior").energy, rtol=1e-7)


@pytest.mark.parametrize("points", [-3, 0, 1, 10**9])
def test_a_curve_of_no_points_is_refused(points: int) -> None:
    with pytest.raises(SetupError, match="not a number of points"):
        draw(built("club-outdoor"), points)
