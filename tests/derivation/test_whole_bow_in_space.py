"""The compiled shot in both planes of a small bow against its Lagrangian, derived by SymPy and integrated by SciPy."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from archerysim.mechanics.release.forces import Acting, evaluate
from archerysim.mechanics.release.layout import Riser
from archerysim.mechanics.release.side_layout import AWAY, FOLDED, UP
from archerysim.mechanics.rigid_body import rigid_motion
from archerysim.shot.release.room import make_held, make_nodes, make_side
from archerysim.status import OK
from tests.derivation.integrated import Events, closed_run, whole_shot
from tests.derivation.small_bow import closed_in_space, switching_in_space
from tests.derivation.whole_bow_in_space import FOLDING, WholeBowInSpace
from tests.support.mechanics.release_of_arrays import model_of_arrays, run

END = 8e-3  # of the run with the contacts held closed [s]
WHICH = {"no gap": (0.0,), "gap": (2e-4,), "friction and pinch": (2e-4, 0.1, 3.0), "held in": (0.0, 0.0, 0.0, -4e-3)}


@cache
def closed() -> WholeBowInSpace:
    return WholeBowInSpace(closed_in_space(), closed=True)


@cache
def switching(*which: float) -> WholeBowInSpace:
    return WholeBowInSpace(switching_in_space(*which), closed=False)


@cache
def derived_shot(*which: float) -> Events:
    whole = switching(*which)
    whole.values[FOLDING] = 0.0
    return whole_shot(whole)


def inertia(whole: WholeBowInSpace) -> np.ndarray:
    """Mass that belongs to each coordinate [kg], [kg m2]."""
    fr = whole.bow.frame
    flat, aside = np.repeat(whole.bow.chain.mass[whole.free], 2), 1.0 / whole.side.inverse_mass[whole.moving]
    return np.concatenate((flat, aside, (fr.mass, fr.mass, fr.inertia)))


def parts(whole: WholeBowInSpace, numbers: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Of coordinates or rates: x and y of the free nodes, z, and the riser's three."""
    flat = 2 * whole.free.size
    return numbers[:flat].reshape(-1, 2), numbers[flat:-3], numbers[-3:]


def test_what_moves_sideways() -> None:
    """String with both tips, and shaft."""
    marks, n = switching(0.0).bow.marks, switching(0.0).bow.x.size
    assert list(switching(0.0).moving) == [*range(marks.tip_u, marks.tip_l + 1), *range(marks.tail, n)]


def compiled_forces(
    whole: WholeBowInSpace, time: float, state: np.ndarray, inside: bool, arm: int, stuck: float
) -> tuple[np.ndarray, Acting]:
    """Mass times acceleration of every coordinate by the library, and what acts."""
    b = whole.bow
    n, half = b.x.size, len(whole.coordinates)
    (place, aside, pose), (rate, aside_rate, pose_rate) = (parts(whole, k) for k in (state[:half], state[half:]))
    nodes = make_nodes(*np.zeros((2, n)))
    nodes.x[whole.free], nodes.y[whole.free] = place.T
    nodes.vx[whole.free], nodes.vy[whole.free] = rate.T
    side = make_side(whole.side, np.zeros(n))
    side.motion.z[whole.moving], side.motion.vz[whole.moving] = aside, aside_rate
    side.kept.notes.arm = arm
    riser = Riser(pose.copy(), pose_rate.copy(), np.zeros(3))
    held = make_held(b.force, b.hand, b.gravity, b.pinch)
    acting: Acting = evaluate(model_of_arrays(b), held, nodes, riser, time, 0.0, inside, stuck, 1.0, b.marks.tail, side)
    flat = np.column_stack((nodes.fx, nodes.fy)) + b.chain.mass[:, None] * b.gravity
    push = side.motion.fz[whole.moving]
    return np.concatenate((flat[whole.free].ravel(), push, riser.gain * inertia(whole)[-3:])), acting


def thrown(whole: WholeBowInSpace, rng: np.random.Generator) -> np.ndarray:
    """A state of the drawn bow shaken, all of it moving; the shaft moved sideways as a whole too.

    Nodes stand up to half a millimetre from their places, the riser further; less where contacts are to stay closed.
    """
    state = whole.start()
    half = len(whole.coordinates)
    far = 1e-5 if whole.closed else 5e-4
    place, aside, pose = parts(whole, state[:half])
    place += rng.uniform(-far, far, place.shape)
    aside += rng.uniform(-far, far, aside.shape)
    pose += rng.uniform(-4.0 * far, 4.0 * far, 3)
    marks = whole.bow.marks
    shaft = np.searchsorted(whole.moving, marks.tail)
    aside[shaft:] += rng.uniform(-6e-3, 6e-3)
    rate, aside_rate, pose_rate = parts(whole, state[half:])
    rate += rng.uniform(-30.0, 30.0, rate.shape)
    aside_rate += rng.uniform(-5.0, 5.0, aside_rate.shape)
    pose_rate += rng.uniform(-1.0, 1.0, 3)
    # the nodes of the throat do not come or go so fast that the edges' loss hides all else
    slow = np.isin(whole.free, (marks.edge_u, marks.edge_l, *range(marks.tail, whole.bow.x.size)))
    rate[slow] = rng.uniform(-2.0, 2.0, (slow.sum(), 2))
    return state


@pytest.mark.parametrize("which", ["closed", *WHICH])
def test_forces_of_all_parts_together(which: str) -> None:
    rng = np.random.default_rng(len(which))
    whole = closed() if which == "closed" else switching(*WHICH[which])
    seen = set()
    for _ in range(200):
        state, time = thrown(whole, rng), rng.uniform(0.0, 6e-3)
        inside, arm = (True, UP) if whole.closed else (rng.random() < 0.8, int(rng.choice((UP, AWAY, FOLDED))))
        stuck = 0.0
        if whole.bow.throat.friction > 0.0:
            away = 10.0 ** rng.uniform(-7.0, -3.0) * rng.choice((-1.0, 1.0))
            stuck = float(whole.at_state(time, state)[1][4] + away)
        if FOLDING in whole.values:
            whole.values[FOLDING] = float(arm == FOLDED)
        expected = whole.at_state(time, state, inside, arm == UP, stuck)[0] * inertia(whole)
        got, acting = compiled_forces(whole, time, state, inside, arm, stuck)
        for ours, theirs in zip(parts(whole, got), parts(whole, expected), strict=True):
            assert np.abs(ours - theirs).max() <= 1e-10 * max(np.abs(theirs).max(), 1e-3 * np.abs(expected).max())
        seen |= {
            ("support", acting.support > 0.0),
            ("rest", acting.rest > 0.0),
            ("beyond", acting.arm_z > whole.side.arm.outer),
        }
        seen |= {("folds", acting.fold_power != 0.0), ("held", acting.groove != 0.0)}
    names = ("support", "rest", "beyond", "folds", "held")
    assert whole.closed or {(name, happened) for name in names for happened in (True, False)} <= seen
    assert {("support", True), ("rest", True), ("held", True)} <= seen


def test_order_two_with_the_contacts_held_closed() -> None:
    """Every halving of the step divides the error of places and velocities, of x and y, z, and the riser, by four."""
    whole = closed()
    half = len(whole.coordinates)
    exact = closed_run(whole, END)
    errors = []
    for steps in (1000, 2000, 4000, 8000):
        end = run(whole.bow, END / steps, END * (1.0 + 0.5 / steps), frame_every=steps)
        assert end.frame_moments[1].time == pytest.approx(END, rel=1e-12)
        off = np.abs(whole.state_of_both(end.frames[1], end.side.kept.frames[1], end.frame_moments[1]) - exact)
        errors.append([part.max() for k in (off[:half], off[half:]) for part in parts(whole, k)])
    slopes = np.log2(np.array(errors[:-1]) / np.array(errors[1:]))
    assert slopes == pytest.approx(np.full_like(slopes, 2.0), abs=0.02)
    # [m], [m], [m and rad], [m/s], [m/s], [m/s and rad/s]
    assert np.all(np.array(errors[-1]) < [1e-9, 1e-9, 1e-10, 1e-5, 1e-5, 1e-8])


def arrow_of(whole: WholeBowInSpace, state: np.ndarray) -> np.ndarray:
    """In the plane of x and y, then of x and z: mass centre's place and velocity, angle and its rate."""
    half, a = len(whole.coordinates), whole.bow.marks.tail
    (place, aside, _), (rate, aside_rate, _) = (parts(whole, k) for k in (state[:half], state[half:]))
    (x, y), (vx, vy) = (k[np.searchsorted(whole.free, a) :].T.copy() for k in (place, rate))
    z, vz = (k[np.searchsorted(whole.moving, a) :].copy() for k in (aside, aside_rate))
    mass = whole.bow.chain.mass[a:].copy()
    return np.array([rigid_motion(mass, x, y, vx, vy), rigid_motion(mass, x, z, vx, vz)])


@pytest.mark.parametrize("which", [name for name in WHICH if name != "gap"])
def test_with_switching(which: str) -> None:
    """All contacts switch: the release from full draw until the arrow is clear, off the arm by itself.

    The same gap is there with friction and pinch.
    """
    whole = switching(*WHICH[which])
    half = len(whole.coordinates)
    shot = derived_shot(*WHICH[which])
    runs = {dt: run(whole.bow, dt) for dt in (2e-6, 5e-8)}
    for moment, (time, exact) in enumerate((shot.separation, shot.clear)):
        exact = exact[: 2 * half]
        for end in runs.values():
            assert end.status == OK
            assert end.moments[moment].time == pytest.approx(time, rel=1e-4)
            got = whole.state_of_both(end.states[moment], end.side.kept.states[moment], end.moments[moment])
            for k in (slice(0, half), slice(half, None)):
                for part, size in zip(parts(whole, got[k] - exact[k]), parts(whole, exact[k]), strict=True):
                    assert np.abs(part).max() <= 1e-5 * np.abs(size).max()
            # each number that a shot reports is right to 1e-4 of itself
            assert arrow_of(whole, got) == pytest.approx(arrow_of(whole, exact), rel=1e-4)
    assert shot.support_end is not None
    time, state = shot.support_end
    stiff, (_, press) = whole.bow.support.stiffness, whole.at_the_arm(state)
    assert press > 0.0
    for dt, end in runs.items():
        notes = end.side.kept.notes
        assert (notes.arm, notes.arm_strikes) == (AWAY, 0)
        assert notes.arm_left_time == pytest.approx(time, abs=2.0 * dt)
        # what the arm's spring holds then is what the end of its support takes, noticed within two steps
        later = state[:half] + 2.0 * dt * state[half : 2 * half]
        least, most = sorted(0.5 * stiff * far**2 for far in (press, whole.at_the_arm(later)[1]))
        assert least * (1.0 - 1e-6) <= end.notes.energy_left <= most * (1.0 + 1e-6)


def test_order_two_off_the_arm() -> None:
    """Vertical velocity and pitch rate at separation and at clear, after the shaft has left the arm that it pressed."""
    whole = switching(0.0)
    half = len(whole.coordinates)
    shot = derived_shot(0.0)
    exact = np.array([arrow_of(whole, at.state[: 2 * half])[0, [3, 5]] for at in (shot.separation, shot.clear)])
    steps, errors = np.array([4e-6, 2e-6, 1e-6, 5e-7]), []
    for dt in steps:
        end = run(whole.bow, dt)
        states = zip(end.states, end.side.kept.states, end.moments, strict=True)
        found = [arrow_of(whole, whole.state_of_both(*state))[0, [3, 5]] for state in states]
        errors.append(np.linalg.norm(found - exact))
    order, _ = np.polyfit(np.log(steps), np.log(errors), 1)
    assert order == pytest.approx(2.0, abs=0.1)
