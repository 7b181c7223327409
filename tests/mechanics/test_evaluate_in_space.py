"""One instant of the shot in both planes: momentum along z, moment about y, powers; the limbs do not know of z.

A row of nodes in a random state, string and shaft out of the bow's plane, with everything that acts sideways.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest

from archerysim.mechanics.arrays import Arm, Chain, Fingers, Marks, Model, SideSupport, Sideways
from archerysim.mechanics.forces.riser import point_of
from archerysim.mechanics.forces.throat import add_throat_forces, edge_force, locator_force, throat_state
from archerysim.mechanics.release.forces import Acting, evaluate
from archerysim.mechanics.release.layout import Nodes, Riser
from archerysim.mechanics.release.side_layout import FOLDED, UP, Side
from archerysim.shot.release.room import make_held, make_nodes, make_side
from tests.support.mechanics.random_rows import Row, random_row, seen_from_riser

SEEDS = range(12)
FORCE, PINCH = np.array([-170.0, 21.0]), np.array([0.4, 3.0])
TIME = 1.3e-3  # fingers are on their way off [s]
ROLL, HOLD, FOLD = 24.0, 1.5, 0.3  # [N]


@dataclass
class Instant:
    """A state, what is in it, and what `evaluate` finds."""

    row: Row
    model: Model
    side: Side
    nodes: Nodes
    riser: Riser
    acting: Acting

    @property
    def rolling(self) -> tuple[slice, np.ndarray, np.ndarray]:
        """Nodes that the fingers touch, and their forces on them along x and z [N]."""
        fi = self.model.fingers
        made = np.clip((TIME - fi.delay) / fi.time, 0.0, 1.0)
        fade = 0.5 * (1.0 + np.cos(np.pi * made))
        out = fade * (self.side.model.hold + self.side.model.roll * made)
        return slice(fi.first, fi.first + 4), fade @ fi.weight * FORCE[0], out @ fi.weight


def sideways_of(row: Row, rng: np.random.Generator, x: float, y: float) -> Sideways:
    """Numbers for the row's shot sideways, the side support in the riser's axes at (x, y) against the shaft."""
    n, m = row.x.size, row.marks
    mass, span = np.zeros(n), np.zeros(n - 1)
    for first, last in ((m.tip_u, m.tip_l + 1), (m.tail, n)):
        mass[first:last] = rng.uniform(1e-4, 2e-3, last - first)
        span[first : last - 1] = 1.0
    inverse = np.divide(1.0, mass, out=np.zeros(n), where=mass > 0.0)
    support = SideSupport(x, y, 0.05, 2000.0, 2.0, 0.045, 1e5, 3.0)
    return Sideways(
        m.tail, m.tip_u, m.tip_l, span, inverse, 1.7 * mass, np.array([900.0, 1100.0]), np.array([0.5, 0.7]), 1e5, 5.0,
        support, Arm(np.inf, FOLD), ROLL, HOLD,
    )  # fmt: skip


def without_limbs(chain: Chain, marks: Marks) -> Chain:
    """String and shaft alone: the limbs' cells do nothing."""
    limbs = np.ones(chain.stretch.size, bool)
    limbs[marks.tip_u : marks.tip_l] = limbs[marks.tail :] = False
    off = {name: np.where(limbs, 0.0, getattr(chain, name)) for name in ("stretch", "loss", "axial_loss")}
    shaft = np.arange(chain.bend.size) >= marks.tail
    return chain._replace(**off, **{name: np.where(shaft, getattr(chain, name), 0.0) for name in ("bend", "bend_loss")})


def instant(seed: int, state: int = UP, inside: bool = True, limbs: bool = True, **changes: object) -> Instant:
    """``changes`` replace numbers of its `Sideways`."""
    rng = np.random.default_rng(seed)
    row = random_row(rng, slope=0.05)
    fingers = Fingers(
        row.marks.edge_u - 1, rng.uniform(0.0, 0.2, (3, 4)), np.array([4e-3, 2e-3, 1e-3]), np.array([0.0, 1e-3, 2e-3])
    )
    pose, rate = rng.uniform(-0.1, 0.1, 3), rng.uniform(-2.0, 2.0, 3)
    at = seen_from_riser(row, pose)
    own = sideways_of(row, rng, *at)._replace(**changes)  # type: ignore[arg-type]
    chain = row.chain if limbs else without_limbs(row.chain, row.marks)
    model = Model(
        chain, row.marks, row.throat, row.support._replace(x=at[0], y=at[1]), row.frame, fingers, 0.0
    )  # fmt: skip
    n = row.x.size
    side = make_side(own, rng.uniform(-0.01, 0.04, n))
    side.motion.vz[:] = rng.uniform(-3.0, 3.0, n)
    side.kept.notes.arm = state
    tail, u = row.marks.tail, row.marks.edge_u  # string and nock together to some tenths of a millimetre
    side.motion.z[tail] = side.motion.z[u : u + 2].mean() + rng.uniform(-3e-4, 3e-4)
    nodes = make_nodes(row.x, row.y)._replace(vx=row.vx.copy(), vy=row.vy.copy())
    riser = Riser(pose, rate, np.zeros(3))
    held = make_held(FORCE, np.zeros(3), np.zeros(2), PINCH)
    acting = evaluate(model, held, nodes, riser, TIME, 0.0, inside, 0.0, 1.0, tail, side)
    return Instant(row, model, side, nodes, riser, acting)


def moving(now: Instant) -> np.ndarray:
    return now.side.model.inverse_mass > 0.0


@pytest.mark.parametrize("state", [UP, FOLDED])
@pytest.mark.parametrize("seed", SEEDS)
def test_momentum_along_z_changes_by_what_is_outside_alone(seed: int, state: int) -> None:
    """Side support, fingers, the tips' springs, weight and a folding arm; string, shaft, throat and groove not."""
    now = instant(seed, state)
    own, motion = now.side.model, now.side.motion
    tips = [own.tip_u, own.tip_l]
    expected = now.acting.support + now.rolling[2].sum() + own.weight.sum() + (FOLD if state == FOLDED else 0.0)
    expected -= own.tip_stiffness @ motion.z[tips] + own.tip_loss @ motion.vz[tips]
    assert now.acting.support > 1.0
    assert abs(now.acting.groove) > 1.0
    assert motion.fz[moving(now)].sum() == pytest.approx(expected, abs=1e-11 * np.abs(now.nodes.fx).max())


def couple_in_the_throat(now: Instant) -> float:
    """Moment about y of what string and nock do to each other: their forces, each on its own node's place z [N m]."""
    x, y, vx, vy, z = now.row.x, now.row.y, now.nodes.vx, now.nodes.vy, now.side.motion.z
    th, u, a = now.model.throat, now.row.marks.edge_u, now.row.marks.tail
    du, dl, s, ru, rl, rs, nx, ny = throat_state(th, x, y, vx, vy, u, a)
    fx, fy = np.zeros((2, x.size))
    forces = edge_force(th, du, ru)[0], edge_force(th, dl, rl)[0], locator_force(th, s, rs, 0.0)[0]
    add_throat_forces(x, y, u, a, nx, ny, *forces, fx, fy)
    return float(z @ fx - now.acting.groove * (x[a] - 0.5 * (x[u] + x[u + 1])))


@pytest.mark.parametrize("inside", [True, False])
@pytest.mark.parametrize("seed", SEEDS)
def test_moment_about_y_too(seed: int, inside: bool) -> None:
    """With the limbs, which stay in their plane, taken away; with the groove's other side, the string."""
    now = instant(seed, limbs=False, inside=inside)
    own, motion, x = now.side.model, now.side.motion, now.row.x
    z = np.where(moving(now), motion.z, 0.0)
    found = np.sum((z * now.nodes.fx - x * motion.fz)[moving(now)])
    touched, pull, roll = now.rolling
    expected = np.sum(z[touched] * pull - x[touched] * roll) - x @ own.weight
    share = pull.sum() / FORCE[0]
    expected += z[own.tail] * share * PINCH[0]
    for k, tip in enumerate((own.tip_u, own.tip_l)):
        expected += x[tip] * (own.tip_stiffness[k] * z[tip] + own.tip_loss[k] * motion.vz[tip])
    expected += couple_in_the_throat(now) if inside else 0.0
    at_x = point_of(now.model.frame, now.riser.pose, now.riser.rate, own.support.x, own.support.y)[0]
    j = now.acting.side_cell
    slope = (z[j + 1] - z[j]) / (x[j + 1] - x[j])
    beside = z[j] + slope * (at_x - x[j])
    expected -= now.acting.support * (beside * slope + at_x)
    # the loss on whole differences of velocity resists turning cells
    spanned = own.span > 0.0
    turning = np.diff(z) * np.diff(now.nodes.vx) - np.diff(x) * np.diff(motion.vz)
    expected -= now.model.chain.loss[spanned] @ turning[spanned]
    assert found == pytest.approx(expected, abs=1e-10 * np.abs(now.nodes.fx).max())


def power_of(now: Instant, then: Instant) -> float:
    """What the forces of one instant give string, shaft and riser more than those of another in the same state [W]."""
    free = now.model.chain.inverse_mass > 0.0
    given = now.nodes.vx @ np.where(free, now.nodes.fx - then.nodes.fx, 0.0)
    given += now.nodes.vy @ np.where(free, now.nodes.fy - then.nodes.fy, 0.0)
    given += now.side.motion.vz @ np.where(moving(now), now.side.motion.fz - then.side.motion.fz, 0.0)
    gain, frame = now.riser.gain - then.riser.gain, now.model.frame
    return float(given + now.riser.rate @ (np.array([frame.mass, frame.mass, frame.inertia]) * gain))


@pytest.mark.parametrize("seed", SEEDS)
def test_powers_are_what_parts_take(seed: int) -> None:
    """Each part taken away: what string, shaft and riser then have more is what its power says."""
    now = instant(seed)
    size = 1e-12 * np.abs(now.nodes.fx).max()
    own = now.side.model
    away = instant(seed, support=own.support._replace(offset=-1.0))
    assert away.acting.support == 0.0
    assert power_of(now, away) == pytest.approx(-now.acting.support_power, rel=1e-9, abs=size)
    loose = instant(seed, groove_stiffness=0.0, groove_loss=0.0)
    assert power_of(now, loose) == pytest.approx(-now.acting.groove_power, rel=1e-9, abs=size)
    undamped = instant(seed, tip_loss=np.zeros(2))
    assert power_of(now, undamped) == pytest.approx(-now.acting.tips_power, rel=1e-9, abs=size)
    folded, slack = instant(seed, FOLDED), instant(seed, FOLDED, arm=Arm(np.inf, 0.0))
    assert folded.acting.rest == 0.0
    assert power_of(folded, slack) == pytest.approx(-folded.acting.fold_power, rel=1e-9, abs=size)
    straight = instant(seed, roll=0.0, hold=0.0)
    taken = now.acting.finger_power - straight.acting.finger_power
    assert power_of(now, straight) == pytest.approx(-taken, rel=1e-9, abs=size)


@pytest.mark.parametrize("seed", SEEDS)
def test_limbs_ignore_z(seed: int) -> None:
    """Their nodes' z is not looked at; the tips' z changes no force on them, so that their thrust throws no tip out."""
    now = instant(seed)
    own, motion, held = now.side.model, now.side.motion, make_held(FORCE, np.zeros(3), np.zeros(2), PINCH)
    tips = [own.tip_u, own.tip_l]
    limbs = np.zeros(motion.z.size, bool)
    limbs[: own.tip_u] = limbs[own.tip_l + 1 : own.tail] = True
    fx, fy, fz = now.nodes.fx.copy(), now.nodes.fy.copy(), motion.fz.copy()
    motion.z[limbs] += 0.3
    motion.vz[limbs] -= 5.0
    evaluate(now.model, held, now.nodes, now.riser, TIME, 0.0, True, 0.0, 1.0, own.tail, now.side)
    for new, old in ((now.nodes.fx, fx), (now.nodes.fy, fy), (motion.fz, fz)):
        np.testing.assert_array_equal(new, old)
    assert not own.inverse_mass[limbs].any()
    motion.z[tips] += 0.05
    evaluate(now.model, held, now.nodes, now.riser, TIME, 0.0, True, 0.0, 1.0, own.tail, now.side)
    for new, old in ((now.nodes.fx, fx), (now.nodes.fy, fy)):
        np.testing.assert_array_equal(new[limbs], old[limbs])
    assert np.abs(motion.fz - fz)[tips].min() > 1.0
