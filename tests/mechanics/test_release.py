"""The release: what holds still stays, energy is accounted for, events do not depend on the step."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from archerysim.mechanics.forces.chain import chain_energy
from archerysim.mechanics.forces.riser import carried_node, carry, point_of
from archerysim.mechanics.release.forces import finger_fade
from archerysim.mechanics.release.layout import CLEAR, MOMENT, SEPARATION, WORK
from archerysim.mechanics.rigid_body import rigid_motion
from archerysim.shot.arrays.build import make_throat
from archerysim.shot.release.release import CLEAR_AT
from archerysim.shot.release.room import records
from archerysim.status import NOT_FINITE, OK, TIME_CAP
from tests.support.mechanics.release_of_arrays import Start, run, run_steps, start_of
from tests.support.shot.reference_case import shot


def energy(start: Start, state: np.ndarray, moment: np.record) -> float:
    """Kinetic, elastic and weight energy of all bodies, and of the hand's push and springs [J]."""
    c, fr, a = start.chain, start.frame, start.marks.tail
    x, y, vx, vy = (np.ascontiguousarray(line) for line in state)
    pose = np.array([moment.riser_x, moment.riser_y, moment.riser_turn])
    rate = np.array([moment.rate_x, moment.rate_y, moment.rate_turn])
    moving = 0.5 * c.mass @ (vx**2 + vy**2) + 0.5 * fr.mass * (rate[:2] @ rate[:2]) + 0.5 * fr.inertia * rate[2] ** 2
    elastic = sum(chain_energy(c, x, y, 0, a - 1)) + sum(chain_energy(c, x, y, a, x.size - 1))
    gx, gy = start.gravity
    high = -(c.mass @ (gx * x + gy * y)) - fr.mass * (gx * pose[0] + gy * pose[1])
    px, py, _, _ = point_of(fr, pose, rate, 0.0, 0.0)
    hand = 0.5 * fr.hand_stiffness * (px**2 + py**2) + 0.5 * fr.hand_turn_stiffness * pose[2] ** 2
    hand -= start.hand @ (px, py, pose[2])
    return float(moving + elastic + high + hand)


def _pose_at_rest(start: Start) -> np.record:
    moment: np.record = records(1, MOMENT)[0]
    moment.riser_x, moment.riser_y = start.frame.cx, start.frame.cy
    return moment


def works_of(moment: np.record) -> dict[str, float]:
    return {name: float(moment[name]) for name in WORK}


@pytest.mark.parametrize("cells", [12, 24, 48])
@pytest.mark.parametrize("reading", [0.005, 0.013])
def test_energy_is_accounted_for(cells: int, reading: float) -> None:
    """Energy gone from all bodies is what the works say, to 0.1 % of the energy stored by the draw."""
    done = shot(reading, cells)
    start = start_of(done)
    stored = done.drawn.energy - done.braced.energy
    assert 35.0 < stored < 45.0
    begin = np.array([start.x, start.y, 0.0 * start.x, 0.0 * start.y])
    before = energy(start, begin, _pose_at_rest(start))
    for k in (0, 1):
        works = works_of(done.loosed.moments[k])
        gone = sum(works[name] for name in ("string", "limbs", "arrow", "nock", "locators", "rest", "hand"))
        after = energy(start, done.loosed.states[k], done.loosed.moments[k])
        assert abs(before + works["fingers"] - gone - after) < 1e-3 * stored
        assert works["string"] > 0.0
        assert works["hand"] > 0.0
        assert works["fingers"] < 0.0  # the string runs away from fingers that still pull
        assert works["limbs"] == works["arrow"] == 0.0  # no internal damping in the reference


def test_internal_damping_of_limbs_and_shaft_is_accounted_for() -> None:
    done = shot(0.009, 12)
    start = start_of(done)
    start.chain = start.chain._replace(bend_loss=2e-6 * start.chain.bend)
    end = run(start, 0.5 * done.loosed.dt)
    assert end.status == OK
    before = energy(start, np.array([start.x, start.y, 0.0 * start.x, 0.0 * start.y]), _pose_at_rest(start))
    works = works_of(end.moments[CLEAR])
    assert works["limbs"] > 1e-5
    assert works["arrow"] > 1e-5
    gone = sum(works[name] for name in ("string", "limbs", "arrow", "nock", "locators", "rest", "hand"))
    after = energy(start, end.states[1], end.moments[1])
    stored = done.drawn.energy - done.braced.energy
    assert abs(before + works["fingers"] - gone - after) < 1e-3 * stored


def test_held_at_full_draw_nothing_moves() -> None:
    """Fingers that do not let go: every node, the riser and the hand stand still."""
    done = shot(0.009, 12)
    start = start_of(done)
    start.fingers = start.fingers._replace(delay=np.full(3, 1.0))
    end = run(start, done.loosed.dt, 5e-3, every=10)
    assert end.status == TIME_CAP
    assert np.abs(end.x - start.x).max() < 1e-9
    assert np.abs(end.y - start.y).max() < 1e-9
    assert not np.array(end.moments.tolist()).any()
    rows = end.trace[: end.notes.rows]
    assert np.abs(rows.riser_pitch).max() < 1e-10
    assert rows.rest == pytest.approx(done.drawn.rest_force, rel=1e-4)


def test_order_2_in_step_with_the_contacts_held_closed() -> None:
    """Positions after 2 ms with a grip that never opens and no rest, from steps small enough to follow the
    fastest waves that the release sends out."""
    done = shot(0.009, 12)
    start = start_of(done)
    start.throat = make_throat(done.setup.nock, closed=True)._replace(snap=1.0)
    start.support = start.support._replace(travel=-1.0)
    steps = int(np.ceil(2e-3 / 0.25e-6))
    ends = [run_steps(start, 2e-3 / (k * steps), k * steps) for k in (1, 2, 4)]
    places = [np.array([end.x, end.y]) for end in ends]
    assert all(end.status == TIME_CAP for end in ends)
    coarse, fine = (np.sqrt(np.mean((p - q) ** 2)) for p, q in pairwise(places))
    assert np.abs(places[0] - places[2]).max() > 1e-8  # well above rounding
    assert np.log2(coarse / fine) == pytest.approx(2.0, abs=0.03)


def test_events_do_not_depend_on_the_step() -> None:
    """Separation and clear are found to a small part of a step, and with them what is reported."""
    shots = [shot(0.009, 24, step_factor=factor) for factor in (1.0, 0.93, 0.81, 0.67, 0.5)]
    for k in (0, 1):
        times = [done.loosed.moments[k].time for done in shots]
        assert np.ptp(times) < 0.02 * shots[0].loosed.dt
        pitches = []
        for done in shots:
            a = done.braced.marks.tail
            state = done.loosed.states[k][:, a:].copy()
            pitches.append(rigid_motion(done.braced.chain.mass[a:].copy(), *state)[4])
        assert np.degrees(np.ptp(pitches)) < 0.0005


def test_clear_is_where_it_says_and_after_separation() -> None:
    done = shot(0.009, 24)
    a = done.braced.marks.tail
    assert done.loosed.states[1, 0, a] == pytest.approx(CLEAR_AT, abs=1e-10)
    assert done.loosed.moments[CLEAR].time > done.loosed.moments[SEPARATION].time > 0.0
    # at separation the string is at the end of the snap travel at the last edge to go
    start = start_of(done)
    row = done.loosed.trace
    before = np.searchsorted(row.time, done.loosed.moments[SEPARATION].time)
    edges = np.column_stack((row.edge_upper, row.edge_lower))
    held, gone = edges[:before], edges[before:]
    assert np.all(held.any(axis=1))
    assert not gone.any()
    assert np.all(held >= -start.throat.grip)


def test_the_trace_agrees_with_the_states_kept() -> None:
    done = shot(0.009, 24)
    rows, a = done.loosed.trace, done.braced.marks.tail
    assert np.all(np.diff(rows.time) > 0.0)
    assert rows[0].tail_x == done.drawn.x[a]
    c, tip = done.braced.chain, done.braced.marks.tip_u
    length = np.hypot(np.diff(done.drawn.x), np.diff(done.drawn.y))[tip]
    assert rows[0].tension_upper == pytest.approx(c.stretch[tip] * (length - c.rest_length[tip]))
    for k in (0, 1):
        state = done.loosed.states[k][:, a:].copy()
        time = done.loosed.moments[k].time
        cx, cy, ux, uy, pitch, rate = rigid_motion(done.braced.chain.mass[a:].copy(), *state)
        last = rows[rows.time <= time][-1]
        late = time - last.time
        assert last.pitch + late * last.pitch_rate == pytest.approx(pitch, abs=1e-5)
        assert last.centre_x + late * last.velocity_x == pytest.approx(cx, abs=1e-6)
        assert last.centre_y + late * last.velocity_y == pytest.approx(cy, abs=1e-6)
        assert (last.velocity_x, last.velocity_y) == pytest.approx((ux, uy), abs=0.02)
        assert last.pitch_rate == pytest.approx(rate, abs=0.1)


def test_frames_show_the_shot_from_its_start() -> None:
    """Positions and speeds of all nodes, and the energy account at each of them."""
    done = shot(0.009, 12)
    start = start_of(done)
    end = run(start, done.loosed.dt, frame_every=100)
    assert end.status == OK
    count = end.notes.frames
    assert count == end.notes.steps // 100 + 1
    states, moments = end.frames[:count], end.frame_moments[:count]
    np.testing.assert_allclose(states[0, :2], [start.x, start.y], atol=1e-15)
    np.testing.assert_allclose(np.diff(moments.time), 100 * done.loosed.dt, rtol=1e-10)
    tail = states[:, 0, start.marks.tail]
    assert np.all(np.diff(tail) > -1e-6)
    # speeds are those of the places: central differences over 200 steps, checked where the arrow flies freely
    middle = (tail[2:] - tail[:-2]) / (200 * done.loosed.dt)
    late = slice(-10, None)
    np.testing.assert_allclose(states[1:-1, 2, start.marks.tail][late], middle[late], rtol=0.01)
    stored = done.drawn.energy - done.braced.energy
    before = energy(start, np.array([start.x, start.y, 0.0 * start.x, 0.0 * start.y]), _pose_at_rest(start))
    for state, moment in zip(states, moments, strict=True):
        works = works_of(moment)
        gone = sum(works[name] for name in ("string", "limbs", "arrow", "nock", "locators", "rest", "hand"))
        assert abs(before + works["fingers"] - gone - energy(start, state, moment)) < 1e-3 * stored


def test_accounting_changes_nothing() -> None:
    done = shot(0.009, 12)
    plain = run(start_of(done), done.loosed.dt, account=False)
    np.testing.assert_array_equal(plain.states, done.loosed.states)
    for name in MOMENT.names[: -len(WORK)]:  # all but the works
        np.testing.assert_array_equal(plain.moments[name], done.loosed.moments[name])


def test_a_cap_on_time_has_its_own_status_and_keeps_nothing() -> None:
    done = shot(0.009, 12)
    end = run(start_of(done), done.loosed.dt, 5e-3)
    assert end.status == TIME_CAP
    assert not end.states.any()


def test_a_step_beyond_the_stable_one_is_told() -> None:
    done = shot(0.009, 12)
    assert run(start_of(done), 3.0 * done.loosed.dt).status == NOT_FINITE


def test_fingers_let_go_by_a_half_cosine_after_their_delay() -> None:
    fingers = shot(0.009, 12).drawing.fingers._replace(
        time=np.array([4e-3, 2e-3, 0.0]), delay=np.array([0.0, 1e-3, 1e-3])
    )
    for k in range(3):
        for time in np.linspace(0.0, 6e-3, 61):
            since = time - fingers.delay[k]
            share = min(max(since / fingers.time[k], 0.0), 1.0) if fingers.time[k] else float(since > 0.0)
            expected = 0.5 * (1.0 + np.cos(np.pi * share))
            if abs(since) > 1e-12:
                assert finger_fade(fingers, k, time) == pytest.approx(expected, abs=1e-12)


def test_carried_nodes_move_with_the_riser() -> None:
    """Places turn about the mass centre; speeds are what the places do in a short time."""
    start = start_of(shot(0.009, 12))
    fr, marks = start.frame, start.marks
    nodes = [carried_node(marks, k) for k in range(4)]
    assert nodes == [marks.root_u - 1, marks.root_u, marks.root_l, marks.root_l + 1]
    rate, step = np.array([0.7, -0.4, 3.0]), 1e-6
    pose = np.array([fr.cx + 0.01, fr.cy - 0.02, 0.3])
    kept = []
    for move in (-step, step, 0.0):
        x, y, vx, vy = np.zeros((4, start.x.size))
        carry(fr, marks, pose + move * rate, rate, x, y, vx, vy)
        kept.append((x, y, vx, vy))
        untouched = np.delete(np.array([x, y, vx, vy]), nodes, axis=1)
        assert not untouched.any()
    (x0, y0, _, _), (x1, y1, _, _), (x, y, vx, vy) = kept
    # central difference: error step^2 / 6 times the third derivative, below 1e-11
    np.testing.assert_allclose((x1 - x0)[nodes] / (2.0 * step), vx[nodes], atol=1e-9)
    np.testing.assert_allclose((y1 - y0)[nodes] / (2.0 * step), vy[nodes], atol=1e-9)
    for k, i in enumerate(nodes):
        got = point_of(fr, pose, rate, *fr.carried[k])
        assert got == pytest.approx((x[i], y[i], vx[i], vy[i]), abs=1e-14)
    apart = np.hypot(x[nodes] - pose[0], y[nodes] - pose[1])
    np.testing.assert_allclose(apart, np.hypot(fr.carried[:, 0] - fr.cx, fr.carried[:, 1] - fr.cy), rtol=1e-13)


def test_at_rest_the_riser_stands_in_its_own_axes() -> None:
    start = start_of(shot(0.009, 12))
    x, y, vx, vy = np.zeros((4, start.x.size))
    carry(start.frame, start.marks, np.array([start.frame.cx, start.frame.cy, 0.0]), np.zeros(3), x, y, vx, vy)
    nodes = [carried_node(start.marks, k) for k in range(4)]
    np.testing.assert_allclose(x[nodes], start.x[nodes], atol=1e-15)
    np.testing.assert_allclose(y[nodes], start.y[nodes], atol=1e-15)


def test_separation_without_grip_is_found_within_the_step() -> None:
    """As the throat's last push ends, not on whole steps.

    Without grip the edges chatter, and when each push begins and ends is known to about a step: the last one's
    end scatters by a part of the step, and settles as the step shrinks.
    """
    start = start_of(shot(0.009, 24))
    start.throat = start.throat._replace(grip=0.0)
    dt = shot(0.009, 24).loosed.dt

    def separation(factor: float) -> float:
        return float(run(start, factor * dt).moments[SEPARATION].time)

    last = separation(1.0 / 32.0)
    for factor in (1.0, 0.93, 0.81, 0.67, 0.5, 0.0625, 0.05):
        time = separation(factor)
        part = time / (factor * dt) % 1.0
        assert min(part, 1.0 - part) > 1e-6
        assert abs(time - last) < (0.5 if factor > 0.1 else 0.05) * dt
