"""The same bow in a multibody engine, at the largest step with which it still tells the same shot."""

from __future__ import annotations

import sys
import time
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from problem import PLAIN, SETUP, STRAIGHT, PeerError

import archerysim
from archerysim.shot.shoot import shoot
from archerysim.shot.statics.fit import fit

CELLS = 24  # of each limb, the shaft and either side of the string, as in the default mesh
STEPS = tuple(1e-6 * s for s in (4.0, 3.5, 3.0, 2.5, 2.0, 1.5, 1.0))  # tried in this order [s]
ROUNDS = 3


@dataclass(frozen=True)
class EngineRun:
    """What the engine needs and finds.

    Attributes
    ----------
    step : float
        The largest of those tried that is stable and tells the pitch within the second opinion's tolerance [s].
    steps : int
    seconds : float
        On the core, for a release with the contacts, which are Python.
    alone : float
        The same number of steps of the engine with no contacts at all [s].
    pitch : float
        Of the arrow at clear, against ours [0.001 deg].
    """

    step: float
    steps: int
    seconds: float
    alone: float
    pitch: float


def engine_run(pitch: float) -> EngineRun:
    """Shoot in the engine.

    Parameters
    ----------
    pitch : float
        The right one on our mesh [deg].

    Raises
    ------
    PeerError
    """
    try:
        import mujoco
    except ImportError:
        raise PeerError("mujoco is not installed") from None
    sys.path.insert(0, str(Path(__file__).parents[1]))
    from tests.outside.engine.compare import MOST_PITCH, places
    from tests.outside.engine.release import release
    from tests.outside.engine.statics import full_draw

    built = fit(archerysim.load(SETUP).replace(STRAIGHT)).setup.replace(PLAIN)
    ours = shoot(built, "default", trace=False)
    guess = places(ours, ours.drawn.x, ours.drawn.y, ours.drawn.force)
    drawn = full_draw(archerysim.filled(built), ours.braced.throat, CELLS, STEPS[0], guess)
    data, engine = drawn.data, drawn.model.engine
    start = data.qpos.copy()
    engine.opt.disableflags |= int(mujoco.mjtDisableBit.mjDSBL_AUTORESET)  # an unstable run ends, it is not begun anew
    mujoco.set_mju_user_warning(lambda _: None)

    def once() -> tuple[float, float]:
        data.qpos[:] = start
        begin = time.thread_time()
        with np.errstate(all="ignore"):
            told = release(drawn).clear.pitch
        return time.thread_time() - begin, told

    for step in STEPS:
        engine.opt.timestep = step
        try:
            seconds, told = once()
        except (RuntimeError, AssertionError):
            continue
        if not np.isfinite(told) or abs(told - pitch) > MOST_PITCH:
            continue
        count = round(float(data.time) / step)
        seconds = min([seconds, *(once()[0] for _ in range(ROUNDS - 1))])
        data.qpos[:], data.qvel[:] = start, 0.0
        begin = time.thread_time()
        for _ in range(count):
            mujoco.mj_step1(engine, data)
            mujoco.mj_step2(engine, data)
        return EngineRun(step, count, seconds, time.thread_time() - begin, 1e3 * abs(told - pitch))
    raise PeerError("no step tried is small enough")
