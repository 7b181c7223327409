"""Friction in the throat: a spring that slips, against closed forms; and in the shot."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from archerysim.mechanics.arrays import Throat
from archerysim.mechanics.forces.friction import friction_force
from archerysim.mechanics.release.layout import CLEAR, SEPARATION
from archerysim.shot.arrays.build import FRICTION_STIFFNESS, make_throat
from archerysim.status import OK
from tests.support.mechanics.release_of_arrays import End, run, start_of
from tests.support.shot.reference_case import reference, shot

STIFF, COEFFICIENT = 2e5, 0.2


def slider() -> Throat:
    return make_throat(reference().nock)._replace(friction=COEFFICIENT, friction_stiffness=STIFF)


def test_it_sticks_until_it_slips() -> None:
    th, push = slider(), 50.0
    most = COEFFICIENT * push
    for sign in (1.0, -1.0):
        assert friction_force(th, sign * 0.4e-4, 0.0, push) == (pytest.approx(sign * 8.0), 0.0)
        force, stuck = friction_force(th, sign * 0.7e-4, 0.0, push)
        assert force == sign * most
        assert sign * stuck == pytest.approx(0.7e-4 - most / STIFF)
    assert friction_force(th, 1e-4, 0.0, 0.0) == (0.0, 1e-4)  # nothing pushes: it is taken along


def test_a_cycle_takes_four_times_the_force_by_the_way_slipped() -> None:
    """Closed form of the loop, from end to end of an amplitude under an even push."""
    th, push, amplitude, steps = slider(), 40.0, 3e-4, 20000
    places = amplitude * np.sin(np.linspace(0.0, 6.0 * np.pi, 3 * steps + 1))
    stuck, forces = 0.0, []
    for place in places:
        force, stuck = friction_force(th, float(place), stuck, push)
        forces.append(force)
    means = 0.5 * (np.array(forces[1:]) + np.array(forces[:-1]))
    work = float(means[-steps:] @ np.diff(places)[-steps:])  # of the last cycle
    most = COEFFICIENT * push
    assert work == pytest.approx(4.0 * most * (amplitude - most / STIFF), rel=1e-6)


@given(st.lists(st.tuples(st.floats(-3e-4, 3e-4), st.floats(0.0, 300.0)), min_size=2, max_size=40))
def test_slipping_takes_and_never_gives(way: list[tuple[float, float]]) -> None:
    """However place and push change: the force times the slip is never negative, and never more than friction holds."""
    th, stuck = slider(), way[0][0]
    for place, push in way:
        force, then = friction_force(th, place, stuck, push)
        assert force * (then - stuck) >= 0.0
        assert abs(force) <= COEFFICIENT * push
        assert force == pytest.approx(STIFF * (place - then), abs=1e-9)
        stuck = then


def sliding(steps: int, end: float, spring: float, begin: float) -> tuple[float, float]:
    """A mass on a spring beside the slider, by leapfrog from rest: its place at the end, and what friction took."""
    th, mass, push, dt = slider(), 0.01, 40.0, end / steps
    place, speed, stuck, taken = begin, 0.0, begin, 0.0
    for k in range(steps):
        force, then = friction_force(th, place, stuck, push)
        taken += force * (then - stuck)
        stuck = then
        speed -= (0.5 if k == 0 else 1.0) * dt * (spring * place + force) / mass
        place += dt * speed
    return place, taken


def test_order_two_in_the_step() -> None:
    """Through sticking and slipping both ways."""
    ends = [sliding(steps, 0.02, 2e4, 5e-3)[0] for steps in (4000, 8000, 16000, 32000)]
    errors = [abs(one - other) for one, other in pairwise(ends)]
    assert np.log2(errors[0] / errors[2]) / 2.0 == pytest.approx(2.0, abs=0.3)


def test_a_swing_loses_what_its_closed_form_says() -> None:
    """Half a swing against even friction R on a spring K gets shorter by 2 R / K (textbook); the slider's own spring, a
    tenth of a millimetre, moves that by as much."""
    spring, begin, mass, most = 2e4, 5e-3, 0.01, 8.0
    half = np.pi * np.sqrt(mass / spring)
    place, taken = sliding(20000, half, spring, begin)
    assert place == pytest.approx(-(begin - 2.0 * most / spring), abs=most / STIFF)
    assert taken == pytest.approx(most * (begin - place), rel=0.01)


def rubbed(coefficient: float, factor: float = 1.0, half_gap: float = 1e-3) -> End:
    """The reference shot with play between the locators."""
    done = shot(0.009, 12)
    start = start_of(done)
    start.throat = start.throat._replace(
        friction=coefficient, friction_stiffness=FRICTION_STIFFNESS if coefficient else 0.0, half_gap=half_gap
    )
    return run(start, factor * done.loosed.dt, every=20, frame_every=40)


def test_with_play_friction_keeps_the_nock_where_it_was_settled() -> None:
    free, held = rubbed(0.0), rubbed(0.1)
    assert free.status == held.status == OK
    ends = []
    for end in (free, held):
        rows = end.trace[: end.notes.rows]
        pressed = rows.edge_upper + rows.edge_lower > 20.0
        ends.append(np.ptp(rows.offset[pressed]))
    assert ends[0] > 5e-4
    assert ends[1] < 1e-4


@pytest.mark.parametrize("coefficient", [0.005, 0.1])
def test_what_friction_takes_in_the_shot_is_accounted_for(coefficient: float) -> None:
    """Its work less what its spring holds only grows; a shot in half the steps says the same."""
    end, half = rubbed(coefficient), rubbed(coefficient, 0.5)
    assert end.status == half.status == OK
    work = end.frame_moments.friction[: end.notes.frames]
    held = (coefficient * end.notes.largest_edge * 2.0) ** 2 / (2.0 * FRICTION_STIFFNESS)  # by its spring, at most
    assert np.diff(np.maximum.accumulate(work) - work).max() <= held
    assert end.moments[SEPARATION].friction > 0.0
    assert half.moments[CLEAR].friction == pytest.approx(end.moments[CLEAR].friction, rel=0.05)


def test_without_friction_nothing_is_asked() -> None:
    assert make_throat(reference().nock).friction_stiffness == 0.0
    assert rubbed(0.0).moments[CLEAR].friction == 0.0
