"""The compiled shot of a small bow against its Lagrangian, derived by SymPy and integrated by SciPy."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from archerysim.mechanics.arrays import Model
from archerysim.mechanics.release.forces import Acting, evaluate
from archerysim.mechanics.release.layout import Riser
from archerysim.mechanics.rigid_body import rigid_motion
from archerysim.shot.release.room import make_held, make_nodes
from tests.derivation.integrated import Events, closed_run, whole_shot
from tests.derivation.small_bow import closed_start, switching_start
from tests.derivation.whole_bow import WholeBow
from tests.support.mechanics.release_of_arrays import run

GAPS = (0.0, 2e-4)
RUBBING = (2e-4, 0.1, 3.0)  # gap [m], coefficient of friction, pinch [N]
END = 8e-3  # of the run with the contacts held closed [s]


@cache
def closed() -> WholeBow:
    return WholeBow(closed_start(), closed=True)


@cache
def switching(gap: float, friction: float = 0.0, pinch: float = 0.0) -> WholeBow:
    return WholeBow(switching_start(gap, friction, pinch), closed=False)


@cache
def derived_shot(*which: float) -> Events:
    return whole_shot(switching(*which))


def everywhere() -> list[WholeBow]:
    return [closed(), *(switching(gap) for gap in GAPS), switching(*RUBBING)]


def inertia(whole: WholeBow) -> np.ndarray:
    """Mass that belongs to each coordinate [kg], [kg m2]."""
    fr = whole.bow.frame
    return np.append(np.repeat(whole.bow.chain.mass[whole.free], 2), (fr.mass, fr.mass, fr.inertia))


def test_it_is_as_small_as_said() -> None:
    marks, n = switching(0.0).bow.marks, switching(0.0).bow.x.size
    limbs = marks.tip_u - marks.root_u, marks.root_l - marks.tip_l
    assert (*limbs, marks.tip_l - marks.tip_u, n - 1 - marks.tail) == (2, 2, 4, 2)
    assert len(switching(0.0).coordinates) == 23


def test_full_draw_is_an_equilibrium_of_the_lagrangian() -> None:
    for whole in everywhere():
        offset = whole.at_state(0.0, whole.start())[1][4]
        accelerations, _ = whole.at_state(0.0, whole.start(), stuck=offset)  # the archer has settled the nock
        assert np.abs(accelerations * inertia(whole)).max() < 1e-6


def compiled_forces(
    whole: WholeBow, time: float, state: np.ndarray, inside: bool, supported: bool, stuck: float
) -> tuple[np.ndarray, Acting]:
    """Mass times acceleration of every coordinate by the library, and what acts."""
    b = whole.bow
    n, half = b.x.size, len(whole.coordinates)
    nodes = make_nodes(*np.zeros((2, n)))
    x, y, vx, vy, fx, fy, _ = nodes
    x[whole.free], y[whole.free] = state[: half - 3].reshape(-1, 2).T
    vx[whole.free], vy[whole.free] = state[half:-3].reshape(-1, 2).T
    riser = Riser(state[half - 3 : half].copy(), state[-3:].copy(), np.zeros(3))
    model = Model(b.chain, b.marks, b.throat, b.support, b.frame, b.fingers, 0.0)
    held = make_held(b.force, b.hand, b.gravity, b.pinch)
    acting: Acting = evaluate(model, held, nodes, riser, time, 0.0, inside, stuck, float(supported), b.marks.tail)
    forces = np.column_stack((fx, fy)) + b.chain.mass[:, None] * b.gravity
    return np.append(forces[whole.free].ravel(), riser.gain * inertia(whole)[-3:]), acting


def thrown(whole: WholeBow, rng: np.random.Generator) -> np.ndarray:
    """A state of the drawn bow shaken, all of it moving.

    Nodes stand up to half a millimetre from their places, the riser further; less where contacts are to stay closed.
    """
    state = whole.start()
    half = state.size // 2
    far = 4e-5 if whole.closed else 5e-4
    state[: half - 3] += rng.uniform(-far, far, half - 3)
    state[half - 3 : half] += rng.uniform(-4.0 * far, 4.0 * far, 3)
    state[half:-3] = rng.uniform(-30.0, 30.0, half - 3)
    state[-3:] = rng.uniform(-1.0, 1.0, 3)
    # the nodes of the throat do not come or go so fast that the edges' loss hides all else
    for node in (whole.bow.marks.edge_u, whole.bow.marks.edge_l, *range(whole.bow.marks.tail, whole.bow.x.size)):
        k = half + 2 * int(np.flatnonzero(whole.free == node)[0])
        state[k : k + 2] = rng.uniform(-2.0, 2.0, 2)
    return state


@pytest.mark.parametrize("which", [0, 1, 2, 3], ids=["closed", "no gap", "gap", "friction and pinch"])
def test_forces_of_all_parts_together(which: int) -> None:
    rng = np.random.default_rng(which)
    whole = everywhere()[which]
    seen = set()
    for _ in range(200):
        state, time = thrown(whole, rng), rng.uniform(0.0, 6e-3)
        inside, supported = (True, True) if whole.closed else (rng.random() < 0.8, rng.random() < 0.8)
        stuck = 0.0
        if whole.bow.throat.friction > 0.0:
            away = 10.0 ** rng.uniform(-7.0, -3.0) * rng.choice((-1.0, 1.0))
            stuck = float(whole.at_state(time, state)[1][4] + away)
        expected = whole.at_state(time, state, inside, supported, stuck)
        expected_forces = expected[0] * inertia(whole)
        got, acting = compiled_forces(whole, time, state, inside, supported, stuck)
        assert not whole.closed or stays_closed(whole, state, acting)
        assert np.abs(got - expected_forces).max() <= 1e-10 * np.abs(expected_forces).max()
        if inside:
            np.testing.assert_allclose(
                (acting.advance_upper, acting.advance_lower), expected[1][:2], rtol=1e-9, atol=1e-15
            )
            rubbing = whole.bow.throat.friction > 0.0 and acting.friction != 0.0
            seen |= {("slips", float(acting.stuck != stuck))} if rubbing else set()
        names = ("edge_upper", "edge_lower", "locator", "rest")
        seen |= {(name, float(np.sign(getattr(acting, name)))) for name in names}
    assert {(name, sign) for name in names[:3] for sign in (1.0, -1.0)} | {("rest", 1.0)} <= seen
    assert which < 3 or {("slips", 0.0), ("slips", 1.0)} <= seen


def stays_closed(whole: WholeBow, state: np.ndarray, acting: Acting) -> bool:
    """Whether no string cell is slack, no edge beyond half the snap travel, the rest pressed."""
    b = whole.bow
    string = np.arange(b.marks.tip_u, b.marks.tip_l + 1)
    places = state[: len(whole.coordinates) - 3].reshape(-1, 2)[np.searchsorted(whole.free, string)]
    taut = np.hypot(*np.diff(places, axis=0).T) > b.chain.rest_length[string[:-1]]
    return bool(
        taut.all() and min(acting.advance_upper, acting.advance_lower) > -0.5 * b.throat.snap and acting.rest > 0.0
    )


def test_order_two_with_the_contacts_held_closed() -> None:
    """Every halving of the step divides the error of places and velocities, nodes' and riser's, by four."""
    whole = closed()
    half = len(whole.coordinates)
    exact = closed_run(whole, END)
    errors = []
    for steps in (1000, 2000, 4000, 8000):
        end = run(whole.bow, END / steps, END * (1.0 + 0.5 / steps), every=1, frame_every=steps)
        assert end.frame_moments[1].time == pytest.approx(END, rel=1e-12)
        rows = end.trace[: end.notes.rows]
        # edges, rest and string stay in the branch of their laws that the derived bow has
        assert min(rows.advance_upper.min(), rows.advance_lower.min()) > -0.25 * whole.bow.throat.snap
        assert min(rows.rest.min(), rows.tension_upper.min(), rows.tension_lower.min()) > 0.0
        off = np.abs(whole.state_of(end.frames[1], end.frame_moments[1]) - exact)
        errors.append([part.max() for part in (off[: half - 3], off[half - 3 : half], off[half:-3], off[-3:])])
    slopes = np.log2(np.array(errors[:-1]) / np.array(errors[1:]))
    assert slopes == pytest.approx(np.full_like(slopes, 2.0), abs=0.02)
    # [m], [m and rad], [m/s], [m/s and rad/s]
    assert np.all(np.array(errors[-1]) < [1e-9, 1e-10, 1e-5, 1e-8])


def arrow_of(whole: WholeBow, state: np.ndarray) -> np.ndarray:
    """Mass centre's place and velocity, pitch and pitch rate."""
    half, a = len(whole.coordinates), whole.bow.marks.tail
    arrow = 2 * int(np.flatnonzero(whole.free == a)[0])
    parts = [np.ascontiguousarray(p) for k in (0, half) for p in state[k + arrow : k + half - 3].reshape(-1, 2).T]
    return np.array(rigid_motion(whole.bow.chain.mass[a:].copy(), *parts))


@pytest.mark.parametrize("which", [(0.0,), RUBBING])
def test_with_switching(which: tuple[float, ...]) -> None:
    """All contacts switch: the release from full draw until the arrow is clear; with friction there is a gap too."""
    whole = switching(*which)
    half = len(whole.coordinates)
    coarse, fine = run(whole.bow, 2e-6), run(whole.bow, 5e-8)
    for moment, (time, exact) in enumerate(derived_shot(*which)[:2]):
        exact = exact[: 2 * half]
        speed = np.abs(exact[half:-3]).max()
        for end in (coarse, fine):
            assert end.status == 0
            assert end.moments[moment].time == pytest.approx(time, rel=1e-4)
            off = np.abs(whole.state_of(end.states[moment], end.moments[moment]) - exact)
            assert off[: half - 3].max() <= 1e-4 * np.ptp(whole.bow.x)
            assert off[half - 3 : half].max() <= 1e-4 * np.abs(exact - whole.start())[half - 3 : half].max()
            assert off[half:-3].max() <= 1e-4 * speed
            assert off[-3:].max() <= 1e-4 * np.abs(exact[-3:]).max()
        # finely stepped, each number that a shot reports is right to 1e-4 of itself
        got = arrow_of(whole, whole.state_of(fine.states[moment], fine.moments[moment]))
        assert got == pytest.approx(arrow_of(whole, exact), rel=1e-4)
