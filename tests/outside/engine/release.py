"""The shot in the engine, and what it says of the arrow."""

from __future__ import annotations

from dataclasses import dataclass

import mujoco
import numpy as np

from tests.outside.engine.along import Along, Watch
from tests.outside.engine.statics import FullDraw

CAP = 0.1  # [s]
CLEAR_AT = 0.05  # place of the throat in front of the pivot [m]


@dataclass(frozen=True)
class Flight:
    """The arrow at one moment in the aim frame, its words those of `archerysim.Moment`.

    time [s]; speed, vertical_velocity, sideways_velocity [m/s]; pitch, angle_of_attack, yaw, side_angle_of_attack
    [deg]; pitch_rate, yaw_rate [rad/s].
    """

    time: float
    speed: float
    vertical_velocity: float
    pitch: float
    pitch_rate: float
    angle_of_attack: float
    sideways_velocity: float
    yaw: float
    yaw_rate: float
    side_angle_of_attack: float


@dataclass(frozen=True)
class Shot:
    """Both moments, the largest acceleration with which the shot began [m/s2], [rad/s2], and what happened sideways."""

    separation: Flight
    clear: Flight
    first_acceleration: float
    along: Along | None


def aim_frame(drawn: FullDraw) -> np.ndarray:
    """Rows: along the arrow's line at full draw, square to it and up, away from the window (turned by the cant)."""
    cosine, sine = np.cos(drawn.line), np.sin(drawn.line)
    along = np.array([np.cos(drawn.lean) * cosine, np.cos(drawn.lean) * sine, np.sin(drawn.lean)])
    up = np.array([-sine, cosine, 0.0])
    out = np.cross(along, up)
    cosine, sine = np.cos(drawn.cant), np.sin(drawn.cant)
    return np.array([along, cosine * up + sine * out, cosine * out - sine * up])


def flight(drawn: FullDraw, time: float, q: np.ndarray, v: np.ndarray) -> Flight:
    """Motion of the rigid shaft with the same mass-weighted line, by the engine's sums over the arrow."""
    model, engine = drawn.model, drawn.model.engine
    data = mujoco.MjData(engine)
    data.qpos[:], data.qvel[:] = q, v
    mujoco.mj_fwdPosition(engine, data)
    mujoco.mj_fwdVelocity(engine, data)
    mujoco.mj_subtreeVel(engine, data)
    bodies = np.concatenate(([model.nock], model.arrow))
    mass = engine.body_mass[bodies]
    frame = aim_frame(drawn)
    x, y, z = frame @ (data.xipos[bodies] - data.subtree_com[model.nock]).T
    along, up, out = frame @ data.subtree_linvel[model.nock]
    _, right, spin = frame @ data.subtree_angmom[model.nock]
    pitch = 0.5 * np.arctan2(2.0 * mass @ (x * y), mass @ (x * x - y * y))
    yaw = 0.5 * np.arctan2(2.0 * mass @ (x * z), mass @ (x * x - z * z))
    return Flight(
        time, float(along), float(up),
        float(np.degrees(pitch)),
        float(spin / (mass @ (x * x + y * y))),
        float(np.degrees(pitch - np.arctan2(up, along))),
        float(out),
        float(np.degrees(yaw)),
        float(-right / (mass @ (x * x + z * z))),
        float(np.degrees(yaw - np.arctan2(out, along))),
    )  # fmt: skip


def release(drawn: FullDraw) -> Shot:
    """Let go, and go on until the arrow is clear."""
    model, data, touch = drawn.model, drawn.data, drawn.touch
    engine = model.engine
    data.qvel[:] = 0.0
    data.time = 0.0
    touch.fade, touch.inside = True, True
    touch.begin = touch.tail_x()
    step = engine.opt.timestep
    snap, grip = touch.edge[3], touch.edge[2]
    held = [0.0, 0.0]
    before = data.qpos.copy()
    separation: Flight | None = None
    first = -1.0
    watch = None if touch.across is None else Watch(touch, touch.across)
    for _ in range(int(CAP / step)):  # not by its time: an unstable engine sets that back
        mujoco.mj_step1(engine, data)
        touch.apply()
        if watch is not None:
            watch.look()
        holds = [d + snap for d in touch.advance] if grip > 0.0 else list(touch.edges)
        if not touch.inside:
            holds = [-1.0, -1.0]
        if max(holds) <= 0.0 < max(held):
            part = min(1.0 - h / (h - n) for h, n in zip(held, holds, strict=True) if h > 0.0)
            separation = flight(
                drawn, data.time - part * step, data.qpos + part * (before - data.qpos), data.qvel.copy()
            )
        held = holds
        x = touch.tail_x()
        if not touch.inside and x >= CLEAR_AT and not touch.touching():
            part = (x - CLEAR_AT) / (x - before[model.nock_dofs[0]])
            clear = flight(drawn, data.time - part * step, data.qpos + part * (before - data.qpos), data.qvel)
            assert separation is not None
            return Shot(separation, clear, first, None if watch is None else watch.told())
        before[:] = data.qpos
        mujoco.mj_step2(engine, data)
        if first < 0.0:
            first = float(np.abs(data.qacc).max())
    raise RuntimeError(f"the arrow is not clear after {1e3 * CAP:.0f} ms")
