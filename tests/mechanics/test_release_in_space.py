"""The release in both planes: it begins in equilibrium sideways, is of second order in the step, finds its events."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from archerysim.equipment import filled
from archerysim.mechanics.arrays import Arm
from archerysim.mechanics.release.forces import Acting, evaluate
from archerysim.mechanics.rigid_body import rigid_motion
from archerysim.shot.arrays.build import make_throat
from archerysim.shot.arrays.mesh import mesh_of
from archerysim.shot.arrays.sideways import held_out
from archerysim.shot.release.release import begin_sideways, model_of, weight
from archerysim.shot.release.room import make_held, make_nodes, make_riser, make_side
from archerysim.shot.statics.brace import brace_with_string
from archerysim.shot.statics.draw import Drawing, draw_to, full_draw_x
from archerysim.shot.statics.drawn import Drawn
from archerysim.status import TIME_CAP
from tests.support.mechanics.release_of_arrays import End, Start, model_of_arrays, run, run_steps, start_of
from tests.support.shot.example_bows import built
from tests.support.shot.reference_case import Shot, line_angle
from tests.support.shot.reference_in_space import results_in_space, shot_in_space, sideways


def at_full_draw(start: Start) -> tuple[np.ndarray, np.ndarray, Acting]:
    """Forces (3, n) on all nodes that are free to move, with their weight, the riser's accelerations, what acts."""
    nodes, riser = make_nodes(start.x.copy(), start.y.copy()), make_riser(start.frame)
    assert start.sideways is not None
    side = make_side(start.sideways, start.z)
    held = make_held(start.force, start.hand, start.gravity, start.pinch)
    acting = evaluate(
        model_of_arrays(start), held, nodes, riser, 0.0, 0.0, True, 0.0, 1.0, start.marks.tail, side
    )  # fmt: skip
    mass = start.chain.mass
    forces = np.array([nodes.fx + mass * start.gravity[0], nodes.fy + mass * start.gravity[1], side.motion.fz])
    forces[:2, start.chain.inverse_mass == 0.0] = 0.0
    forces[2, start.sideways.inverse_mass == 0.0] = 0.0
    return forces, riser.gain, acting


def reach_of_shaft(done: Shot) -> float:
    """How far the point stands further out than the tail at full draw [m]."""
    z = sideways(done).begin.start.z
    return float(z[-1] - z[done.braced.marks.tail])


@pytest.mark.parametrize("changes", [
    {}, {"side__preload": 0.0, "side__stiffness": 2e5}, {"side__offset": 0.0}, {"side__offset": -0.01},
    {"side__offset": 0.01, "side__forward": 0.03}, {"rest__kind": "shelf"},
])  # fmt: skip
def test_it_begins_in_equilibrium(changes: dict[str, Any]) -> None:
    """The shaft just touches the side support, which does not push yet.

    What is left sideways, a hundred-thousandth of a newton, comes from the rest: it pushes along the riser's y, so that
    it squeezes the shaft in front of it, and of that the slope sideways makes a part along z.
    """
    done = shot_in_space(**changes)
    forces, gain, acting = at_full_draw(start_of(done))
    assert acting.side_press == pytest.approx(0.0, abs=1e-15)
    assert acting.support == pytest.approx(0.0, abs=1e-9)
    assert acting.groove == 0.0
    squeezed = acting.rest * abs(np.sin(line_angle(done))) * abs(reach_of_shaft(done)) / done.setup.arrow.length
    assert np.abs(forces[2]).max() == pytest.approx(squeezed, rel=0.01, abs=1e-9)
    assert np.abs(forces[:2]).max() < 1e-3
    assert np.abs(gain).max() < 1e-4


def test_it_begins_in_equilibrium_as_it_is_drawn() -> None:
    """Nothing along z above a hundred-thousandth of a newton."""
    assert np.abs(at_full_draw(start_of(shot_in_space()))[0][2]).max() < 1e-5


@pytest.mark.parametrize("hold", [0.002, -0.01, 0.02])
def test_held_out_it_begins_in_equilibrium_but_for_the_string_s_lengthening(hold: float) -> None:
    """What that leaves grows as the square of the hold in the bow's plane, and as its cube sideways."""
    start = start_of(shot_in_space(archer__side_hold=hold))
    forces, _, acting = at_full_draw(start)
    share = abs(hold) / 0.01
    assert abs(acting.groove) < 1e-9
    assert abs(acting.support) < 1e-9
    assert np.abs(forces[2]).max() == pytest.approx(0.072 * share**3, rel=0.01)
    assert np.abs(forces[:2]).max() == pytest.approx(5.5 * share**2, rel=0.02)
    assert forces[2].sum() == pytest.approx(0.0, abs=1e-9)
    u = start.marks.edge_u
    assert start.z[u : u + 2].mean() == pytest.approx(hold, rel=1e-12)
    assert start.z[start.marks.tail] == pytest.approx(hold, rel=1e-12)


def held_by_newton(drawing: Drawing, drawn: Drawn, hold: float) -> tuple[np.ndarray, float]:
    """Places z of all nodes and the fingers' force, from the forces of the release itself.

    Their derivatives by differences from the flat bow, a dense matrix of all nodes that move sideways, the fingers'
    force and the wanted place beside it.
    """
    begun = begin_sideways(drawing, drawn)
    model = model_of(drawing, drawn, 2)
    marks, fingers, n = model.marks, model.fingers, drawn.x.size
    moving = np.flatnonzero(begun.model.inverse_mass > 0.0)
    moving = moving[moving < marks.tail]
    held = make_held(drawn.force, np.zeros(3), weight(drawn))

    def forces(z: np.ndarray) -> np.ndarray:
        side = make_side(begun.model._replace(hold=0.0, groove_stiffness=0.0), z)
        evaluate(
            model, held, make_nodes(drawn.x.copy(), drawn.y.copy()), make_riser(model.frame), 0.0, 0.0, True, 0.0, 1.0,
            marks.tail, side,
        )  # fmt: skip
        return side.motion.fz[moving].copy()

    step, size = 1e-6, moving.size
    matrix = np.zeros((size + 1, size + 1))
    for k, i in enumerate(moving):
        z = np.zeros(n)
        z[i] = step
        matrix[:size, k] = (forces(z) - forces(-z)) / (2.0 * step)
    load = np.zeros(n)
    load[fingers.first : fingers.first + fingers.weight.shape[1]] = fingers.weight.sum(axis=0)
    matrix[:size, size] = load[moving]
    matrix[size, np.searchsorted(moving, [marks.edge_u, marks.edge_l])] = 0.5
    found = np.linalg.solve(matrix, np.concatenate((np.zeros(size), [hold])))
    place = np.zeros(n)
    place[moving] = found[:size]
    return place, float(found[size])


@pytest.mark.parametrize("name", ["reference", "club-outdoor"])
def test_the_hold_is_what_the_release_s_own_forces_say(name: str) -> None:
    """With straight limbs, and with recurved ones, whose string ends in a cell of its own."""
    hold = 0.004
    if name == "reference":
        done = shot_in_space(archer__side_hold=hold)
        drawing, drawn = done.drawing, done.drawn
    else:
        full = filled(built(name, "coarse").with_si(**{"archer.side_hold": hold}))
        braced = brace_with_string(full, full.number("string.length"), mesh_of("coarse"))
        drawing, drawn = draw_to(full, braced, full_draw_x(full))
        assert braced.chain.above.reach > 0
    b = drawing.braced
    place, force = held_out(drawing.setup, b.chain, b.marks, drawing.fingers, drawn.x, drawn.y)
    expected, holding = held_by_newton(drawing, drawn, hold)
    assert force == pytest.approx(holding, rel=1e-6)
    np.testing.assert_allclose(place, expected, atol=1e-6 * hold)
    assert begin_sideways(drawing, drawn).model.hold == force


@pytest.mark.parametrize(("hold", "moved", "aside"), [(0.0, 1e-8, 1e-7), (0.002, 5e-6, 1e-7)])
def test_held_at_full_draw_nothing_moves(hold: float, moved: float, aside: float) -> None:
    """Fingers that do not let go: only what the start leaves moves string and shaft [m]."""
    done = shot_in_space(cells=12, archer__side_hold=hold)
    start = start_of(done)
    start.fingers = start.fingers._replace(delay=np.full(3, 1.0))
    end = run(start, done.loosed.dt, 5e-3)
    assert end.status == TIME_CAP
    assert end.side is not None
    assert np.abs(end.x - start.x).max() < moved
    assert np.abs(end.y - start.y).max() < moved
    assert np.abs(end.side.motion.z - start.z).max() < aside


def places(end: End) -> np.ndarray:
    assert end.side is not None
    return np.array([end.x, end.y, end.side.motion.z])


@pytest.mark.parametrize("beside", [False, True])
def test_order_2_in_step_with_the_contacts_held_closed(beside: bool) -> None:
    """All three coordinates after 2 ms with a grip that never opens and no rest, with and without the side support."""
    done = shot_in_space(cells=12)
    start = start_of(done)
    assert start.sideways is not None
    start.throat = make_throat(done.setup.nock, closed=True)._replace(snap=1.0)
    support = start.sideways.support if beside else start.sideways.support._replace(offset=-1.0)
    start.sideways = start.sideways._replace(arm=Arm(-np.inf, 0.0), support=support)
    steps = int(np.ceil(2e-3 / 0.25e-6))
    ends = [run_steps(start, 2e-3 / (k * steps), k * steps) for k in (1, 2, 4)]
    assert all(end.status == TIME_CAP for end in ends)
    coarse, fine = (np.sqrt(np.mean((places(p) - places(q)) ** 2, axis=1)) for p, q in pairwise(ends))
    assert np.all(np.abs(places(ends[0]) - places(ends[2])).max(axis=1) > 5e-10)  # well above rounding
    np.testing.assert_allclose(np.log2(coarse / fine), 2.0, atol=0.03)


# how far results may move with the step; times of contacts are told at whole steps
SPREAD = {"off the arm": 5e-3, "travel off the arm": 0.2, "last touch": 1e-3}


def test_results_do_not_depend_on_the_step() -> None:
    shots = [shot_in_space(step_factor=factor) for factor in (1.0, 0.93, 0.81, 0.67, 0.5, 0.25)]
    found = [results_in_space(done) for done in shots]
    for name in found[0]:
        assert np.ptp([one[name] for one in found]) < SPREAD.get(name, 1e-4)


def test_the_trace_agrees_with_the_states_kept() -> None:
    done = shot_in_space(rows=1500)
    a, own, time = done.braced.marks.tail, sideways(done), done.loosed.trace.time
    assert own.trace.size == time.size
    assert own.trace[0].tail_z == own.begin.start.z[a]
    tips = [done.braced.marks.tip_u, done.braced.marks.tip_l]
    mass = done.braced.chain.mass[a:].copy()
    for k in (0, 1):
        x, _, vx, _ = (np.ascontiguousarray(part) for part in done.loosed.states[k][:, a:])
        z, vz = (np.ascontiguousarray(part) for part in own.states[k][:, a:])
        _, cz, _, uz, yaw, rate = rigid_motion(mass, x, z, vx, vz)
        last = int(np.searchsorted(time, done.loosed.moments[k].time)) - 1
        row, late = own.trace[last], done.loosed.moments[k].time - time[last]
        assert row.centre_z + late * row.velocity_z == pytest.approx(cz, abs=1e-7)
        assert row.yaw + late * row.yaw_rate == pytest.approx(yaw, abs=1e-5)
        assert row.velocity_z == pytest.approx(uz, abs=2e-3)
        assert row.yaw_rate == pytest.approx(rate, abs=0.02)
        assert row.tail_z == pytest.approx(z[0], abs=1e-4)
        assert (row.tip_u_z, row.tip_l_z) == pytest.approx(tuple(own.states[k][0, tips]), abs=1e-4)
    assert own.trace.support.max() == pytest.approx(own.notes.greatest_support, rel=1e-3)
    assert own.trace.tail_z.max() == pytest.approx(own.notes.nock_most, abs=1e-6)
