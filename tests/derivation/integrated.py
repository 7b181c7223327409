"""The derived equations of a whole bow integrated by SciPy, and where the shot's events lie."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from scipy.integrate import solve_ivp

from archerysim.shot.release.release import CLEAR_AT
from tests.derivation.whole_bow import WholeBow

FINE = {"method": "DOP853", "rtol": 1e-12, "atol": 1e-13}
FOLLOWS = 5e-6  # [s] in which the place where a slipping string sticks follows it


class Instant(NamedTuple):
    """A time [s], and coordinates and rates then."""

    time: float
    state: np.ndarray


class Events(NamedTuple):
    """What happens in a shot."""

    separation: Instant
    clear: Instant
    support_end: Instant | None  #: none where the rest supports to the end


def kinks(whole: WholeBow, end: float) -> list[float]:
    """Times at which a finger begins or ends to let go, and the end [s]."""
    fi = whole.bow.fingers
    return sorted({t for t in (*fi.delay, *(fi.delay + fi.time), end) if 0.0 < t <= end})


def rates(whole: WholeBow, inside: bool, supported: bool) -> Callable[[float, np.ndarray], np.ndarray]:
    """Right-hand side."""
    half, throat = len(whole.coordinates), whole.bow.throat

    def function(time: float, state: np.ndarray) -> np.ndarray:
        if not throat.friction > 0.0:
            return np.concatenate((state[half:], whole.at_state(time, state, inside, supported)[0]))
        gains, told = whole.at_state(time, state[:-1], inside, supported, state[-1])
        pushes, offset = throat.stiffness * told[:2] + throat.loss * told[2:4], told[4]
        most = throat.friction * np.maximum(pushes, 0.0).sum() / throat.friction_stiffness
        spring = np.clip(offset - state[-1], -most, most)
        return np.concatenate((state[half : 2 * half], gains, [(offset - spring - state[-1]) / FOLLOWS]))

    return function


def closed_run(whole: WholeBow, end: float) -> np.ndarray:
    """State at a time of a bow whose contacts are held closed."""
    time, state = 0.0, whole.start()
    for stop in kinks(whole, end):
        run = solve_ivp(rates(whole, True, True), (time, stop), state, **FINE)
        time, state = stop, run.y[:, -1]
    return state


def whole_shot(whole: WholeBow, cap: float = 0.05) -> Events:
    """The shot from full draw until the arrow is clear.

    The string leaves for good when both its points are further behind the floor than the throat is deep; separation is
    the last time before that at which one of them comes back less than the snap travel behind it. The rest supports
    until it ends, see `WholeBow.past_support`.
    """
    bow = whole.bow
    tail = 2 * int(np.flatnonzero(whole.free == bow.marks.tail)[0])
    inside = supported = True
    separation = support_end = None

    half = len(whole.coordinates)

    def advances(time: float, state: np.ndarray) -> np.ndarray:
        return whole.at_state(time, state[: 2 * half])[1][:2]

    def let_go(time: float, state: np.ndarray) -> float:
        return float(advances(time, state).max()) + bow.throat.snap

    def out(time: float, state: np.ndarray) -> float:
        return float(advances(time, state).max()) + bow.throat.depth

    def unsupported(_: float, state: np.ndarray) -> float:
        return whole.past_support(state)

    def clear(_: float, state: np.ndarray) -> float:
        return float(state[tail] - CLEAR_AT)

    out.terminal = unsupported.terminal = clear.terminal = True  # type: ignore[attr-defined]
    let_go.direction = -1.0  # type: ignore[attr-defined]
    time, state = 0.0, whole.start()
    if bow.throat.friction > 0.0:  # where the string sticks is a part of the state
        state = np.append(state, whole.at_state(time, state)[1][4])
    for stop in kinks(whole, cap):
        while time < stop:
            watched = ([let_go, out] if inside else [clear]) + ([unsupported] if supported else [])
            run = solve_ivp(rates(whole, inside, supported), (time, stop), state, events=watched, **FINE)
            time, state = float(run.t[-1]), run.y[:, -1]
            for event, times, states in zip(watched, run.t_events, run.y_events, strict=True):
                if not times.size:
                    continue
                if event is let_go:
                    separation = Instant(float(times[-1]), states[-1])
                elif event is out:
                    inside = False
                elif event is unsupported:
                    supported, support_end = False, Instant(time, state)
                elif separation is not None:
                    return Events(separation, Instant(time, state), support_end)
    raise AssertionError("the arrow is not clear in time")
