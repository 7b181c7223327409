"""The engine's own statics: places at which its accelerations vanish, by Newton with differences for slopes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import mujoco
import numpy as np

from tests.outside.engine.build import Model, build
from tests.outside.engine.touch import Touch
from tests.outside.engine.touch_across import TouchAcross

GRAVITY = 9.81
TRADE = 1.75 * 0.0254  # draw length less the throat's distance from the pivot [m]
SMALL = 1e-7  # step of the differences [m], [rad]
SMALL_FORCE = 1e-3  # and of the finger force [N]
CLOSE = 1e-6  # residual force [N] and moment [N m]
MOST = 60


@dataclass(frozen=True)
class Places:
    """Where a bow stands, told without reference to either program's arrays: the first guess.

    Attributes
    ----------
    upper, lower : (k, 2) arrays
        Nodes of the limbs from the root on [m].
    string, at : (k, 2), (k,) arrays
        Points of the string and their unloaded places above its middle, rising [m].
    arrow : (k, 2) array
        Nodes of the shaft from the throat on [m].
    force : (2,) array
        Finger force [N].
    """

    upper: np.ndarray
    lower: np.ndarray
    string: np.ndarray
    at: np.ndarray
    arrow: np.ndarray
    force: np.ndarray


def turns(nodes: np.ndarray, count: int, before: float) -> np.ndarray:
    """Angles of ``count`` links along a line, each against the one before, the first against ``before``."""
    along = np.linspace(0.0, 1.0, count + 1)
    given = np.linspace(0.0, 1.0, len(nodes))
    x, y = (np.interp(along, given, nodes[:, k]) for k in (0, 1))
    angles = np.unwrap(np.arctan2(np.diff(y), np.diff(x)))
    first = (angles[0] - before + np.pi) % (2.0 * np.pi) - np.pi
    return np.concatenate(([first], np.diff(angles)))


def place(model: Model, setup: Any, data: mujoco.MjData, guess: Places) -> None:
    """Write the guess into the engine's coordinates."""
    q = data.qpos
    q[:] = 0.0
    for name, dofs, nodes, up in (
        ("upper", model.upper_dofs, guess.upper, 1.0),
        ("lower", model.lower_dofs, guess.lower, -1.0),
    ):
        limb = getattr(setup, f"{name}_limb")
        lean = limb.pocket_angle + limb.bolt_turns * limb.lean_per_turn
        q[dofs] = turns(nodes, dofs.size, up * (0.5 * np.pi - lean))
    for k in (0, 1):
        q[model.string_dofs[:, k]] = np.interp(model.string.place[1:-1], guess.at, guess.string[:, k])
    if model.shaft is not None:
        q[model.nock_dofs] = guess.arrow[0]
        angles = turns(guess.arrow, model.arrow_dofs.size - 1, 0.0)
        q[model.arrow_dofs] = np.concatenate(([angles[0], 0.0], angles[1:]))


def solve(q: np.ndarray, residual: Callable[[np.ndarray], np.ndarray], small: np.ndarray) -> tuple[np.ndarray, float]:
    """Newton; a step that makes the residual much larger is halved. Returns the unknowns and the residual."""
    now = residual(q)
    for _ in range(MOST):
        size = float(np.abs(now).max())
        if size < CLOSE:
            return q, size
        slope = np.empty((now.size, q.size))
        for k in range(q.size):
            moved = q.copy()
            moved[k] += small[k]
            slope[:, k] = (residual(moved) - now) / small[k]
        step = np.linalg.solve(slope, -now)
        share = 1.0
        while share > 1e-3:
            then = residual(q + share * step)
            if float(np.linalg.norm(then)) < 1.5 * float(np.linalg.norm(now)):
                break
            share *= 0.5
        q, now = q + share * step, then
    raise RuntimeError(f"no equilibrium: {np.abs(now).max():.1e} N left")


def still(model: Model, data: mujoco.MjData, touch: Touch | None) -> np.ndarray:
    """Forces on all joints at rest [N], [N m]."""
    data.qvel[:] = 0.0
    mujoco.mj_fwdPosition(model.engine, data)
    mujoco.mj_fwdVelocity(model.engine, data)
    if touch is not None:
        touch.apply()
    mujoco.mj_fwdActuation(model.engine, data)
    mujoco.mj_fwdAcceleration(model.engine, data)
    return data.qfrc_smooth.copy()


@dataclass(frozen=True)
class BareBow:
    """The engine's braced bow without an arrow: brace height, string's span and the square's foot on it [m]."""

    brace_height: float
    span: float
    foot: float
    residual: float


def limb_tips(data: mujoco.MjData) -> np.ndarray:
    """Places of the lower and the upper tip (2, 2) [m]."""
    return np.array([data.site(f"{name}_tip").xpos[:2] for name in ("lower", "upper")])


def brace(setup: Any, cells: int, guess: Places) -> BareBow:
    """Brace the bow with its string."""
    model = build(setup, None, cells, 1e-6)
    data = mujoco.MjData(model.engine)
    place(model, setup, data, guess)
    model.engine.opt.gravity[:] = (0.0, -GRAVITY, 0.0)
    free = model.in_plane()

    def residual(q: np.ndarray) -> np.ndarray:
        data.qpos[free] = q
        return still(model, data, None)[free]

    _, left = solve(data.qpos[free].copy(), residual, np.full(free.size, SMALL))
    low, high = limb_tips(data)
    span = float(np.hypot(*(high - low)))
    along = (high - low) / span
    rest = np.array([setup.rest.forward, setup.rest.height])
    points = np.vstack((low, data.qpos[model.string_dofs], high))
    k = int(np.searchsorted(points[:, 1], 0.0))
    a, b = points[k - 1], points[k]
    cell = b - a
    height = (a[1] * cell[0] - a[0] * cell[1]) / np.hypot(*cell)
    return BareBow(float(height), span, float((rest - low) @ along), left)


def throat_of(setup: Any, bare: BareBow, reading: float) -> float:
    """Unloaded place of the throat's middle for a reading by the underside [m]."""
    return ((bare.foot + reading + 0.5 * setup.nock.height) / bare.span - 0.5) * setup.string.length


@dataclass
class FullDraw:
    """The bow at full draw in the engine.

    Attributes
    ----------
    model, data, touch : Model, MjData, Touch
        At rest, the fingers holding.
    force : (2,) array
        Finger force [N].
    tips : (2, 2) array
        Lower and upper limb tip [m].
    line : float
        Angle of the arrow's line against the riser's x, in the plane [rad].
    lean : float
        And out of it, positive point towards +z [rad].
    cant : float
        Tilt of the bow, positive with the top limb towards -z; only the shot in both planes knows it [rad].
    residual : float
        [N], [N m]
    rest_force : float
        Of the rest on the shaft [N].
    """

    model: Model
    data: mujoco.MjData
    touch: Touch
    force: np.ndarray
    tips: np.ndarray
    line: float
    lean: float
    cant: float
    residual: float
    rest_force: float


def arrow_line(model: Model, data: mujoco.MjData) -> float:
    """Angle of the line from the throat's middle to the point [rad]."""
    x, y = data.site("arrow_tip").xpos[:2] - data.xpos[model.nock, :2]
    return float(np.arctan2(y, x))


def lean_on_side(model: Model, data: mujoco.MjData, touch: Touch, across: TouchAcross) -> None:
    """Turn the shaft sideways about the throat's middle until it just touches the side support.

    The fingers have brought the string to where they hold the nock; the shaft is out of the support's way meanwhile.
    """
    dofs = across.dofs
    hinge, moved = dofs.yaw[0], np.concatenate((dofs.string, dofs.tips))
    edges = dofs.string[[touch.low, touch.low + 1]]
    data.qpos[hinge], data.qpos[dofs.nock] = 0.1, across.wanted

    def residual(q: np.ndarray) -> np.ndarray:
        data.qpos[moved], across.hold = q[:-1], float(q[-1])
        forces = still(model, data, touch)[moved]
        return np.append(forces, 1e4 * (data.qpos[edges].mean() - across.wanted))

    small = np.append(np.full(moved.size, SMALL), SMALL_FORCE)
    if across.wanted != 0.0:
        residual(solve(np.zeros(small.size), residual, small)[0])

    def beside(yaw: float) -> float:
        data.qpos[hinge] = yaw
        still(model, data, touch)
        return across.beside

    yaw, slope = 0.0, (beside(0.01) - beside(0.0)) / 0.01
    for _ in range(3):
        yaw += (across.offset - beside(yaw)) / slope
    across.reached, across.folded = True, False
    beside(yaw)


def tilt(gravity: np.ndarray, cant: float) -> None:
    """Turn gravity as a canted bow has it."""
    gravity[1:] = gravity[1] * np.cos(cant), gravity[1] * np.sin(cant)


def full_draw(setup: Any, throat: float, cells: int, step: float, guess: Places, planes: int = 1) -> FullDraw:
    """Equilibrium with the throat at the draw length and the hand's torque as given.

    In both planes the shaft then leans against the side support.
    """
    if setup.archer.pressure_point:
        raise ValueError("a pressure point is not built here, grip_torque is")
    model = build(setup, throat, cells, step, planes)
    data = mujoco.MjData(model.engine)
    touch = Touch(setup, model, data)
    place(model, setup, data, guess)
    free = model.in_plane()
    target = -(setup.archer.draw_length - TRADE)
    edges = model.string_dofs[[touch.low, touch.low + 1], 0]
    shares = touch.shares.sum(axis=0)

    def residual(q: np.ndarray) -> np.ndarray:
        data.qpos[free] = q[:-2]
        touch.force = q[-2:]
        touch.begin = touch.tail_x()
        mujoco.mj_kinematics(model.engine, data)
        level = arrow_line(model, data) - setup.archer.elevation
        model.engine.opt.gravity[:] = (GRAVITY * np.sin(level), -GRAVITY * np.cos(level), 0.0)
        forces = still(model, data, touch)[free]
        x, y = data.qpos[touch.held_dofs].T
        moment = shares @ (x * q[-1] - y * q[-2])
        return np.concatenate((forces, [1e4 * (data.qpos[edges].mean() - target), moment + setup.archer.grip_torque]))

    small = np.full(free.size + 2, SMALL)
    small[-2:] = SMALL_FORCE
    begin = np.concatenate((data.qpos[free], guess.force))
    found, left = solve(begin, residual, small)
    residual(found)
    cant = 0.0
    if touch.across is not None:
        cant = setup.archer.cant
        lean_on_side(model, data, touch, touch.across)
        tilt(model.engine.opt.gravity, cant)
    touch.hand = -still(model, data, touch)[:3]
    x, y, z = data.site("arrow_tip").xpos - data.xpos[model.nock]
    return FullDraw(
        model, data, touch, found[-2:], limb_tips(data), float(np.arctan2(y, x)), float(np.arctan2(z, np.hypot(x, y))),
        cant, left, touch.rest,
    )  # fmt: skip
