"""A flight integrated to the target plane: Dormand and Prince's pair of orders 5 and 4, its step by the error.

Coefficients: Dormand and Prince, J. Computational and Applied Mathematics 6 (1980) 19; the curve within a step:
Shampine, Mathematics of Computation 46 (1986) 135. They are those of `scipy.integrate.RK45`, which the tests compare.
"""

from __future__ import annotations

import math

import numpy as np

from archerysim.mechanics.compiling import kernel
from archerysim.mechanics.flight import (
    AT_X,
    AT_Y,
    PITCH,
    STATE,
    YAW,
    flight_rates,
    path_rates,
)

REACHED, ON_GROUND, TIME_OVER, TOO_MANY_STEPS = range(4)  # how a flight ended
STAGES, POWERS = 7, 4
WITHIN = np.array(
    [
        [0.0, 0.0, 0.0, 0.0, 0.0, 0.0],
        [1 / 5, 0.0, 0.0, 0.0, 0.0, 0.0],
        [3 / 40, 9 / 40, 0.0, 0.0, 0.0, 0.0],
        [44 / 45, -56 / 15, 32 / 9, 0.0, 0.0, 0.0],
        [19372 / 6561, -25360 / 2187, 64448 / 6561, -212 / 729, 0.0, 0.0],
        [9017 / 3168, -355 / 33, 46732 / 5247, 49 / 176, -5103 / 18656, 0.0],
        [35 / 384, 0.0, 500 / 1113, 125 / 192, -2187 / 6784, 11 / 84],  # the step of order 5
    ]
)
ERROR = np.array([-71 / 57600, 0.0, 71 / 16695, -71 / 1920, 17253 / 339200, -22 / 525, 1 / 40])
CURVE = np.array(
    [
        [1.0, -8048581381 / 2820520608, 8663915743 / 2820520608, -12715105075 / 11282082432],
        [0.0, 0.0, 0.0, 0.0],
        [0.0, 131558114200 / 32700410799, -68118460800 / 10900136933, 87487479700 / 32700410799],
        [0.0, -1754552775 / 470086768, 14199869525 / 1410260304, -10690763975 / 1880347072],
        [0.0, 127303824393 / 49829197408, -318862633887 / 49829197408, 701980252875 / 199316789632],
        [0.0, -282668133 / 205662961, 2019193451 / 616988883, -1453857185 / 822651844],
        [0.0, 40617522 / 29380423, -110615467 / 29380423, 69997945 / 29380423],
    ]
)
FIRST = 1e-3  # [s] the step tried first
HALVINGS = 60


@kernel
def rates_of(state, b, lifted, out):
    """Rates of a flight, or of an arrow that keeps to its path."""
    if lifted:
        flight_rates(state, b, out)
    else:
        path_rates(state, b, out)


@kernel
def take_step(state, step, b, lifted, k, trial):
    """Write the state after a step to ``trial``; ``k`` (7, 10) holds the rates, its first row those at the start."""
    for stage in range(1, STAGES):
        for j in range(STATE):
            change = 0.0
            for i in range(stage):
                change += WITHIN[stage, i] * k[i, j]
            trial[j] = state[j] + step * change
        rates_of(trial, b, lifted, k[stage])


@kernel
def beyond(state, nose, distance):
    """How far the point is beyond the target plane [m]."""
    return state[AT_X] + nose * math.cos(state[YAW]) * math.cos(state[PITCH]) - distance


@kernel
def above(state, nose, ground):
    """How far the point is above the ground [m]."""
    return state[AT_Y] + nose * math.cos(state[YAW]) * math.sin(state[PITCH]) - ground


@kernel
def on_curve(state, curve, step, part, out):
    """Write the state at a part, 0 to 1, of a step."""
    for j in range(STATE):
        change = 0.0
        for p in range(POWERS - 1, -1, -1):
            change = (change + curve[j, p]) * part
        out[j] = state[j] + step * change


@kernel
def shape_curve(k, curve):
    """Write the curve within a step (10, 4) from its rates."""
    for j in range(STATE):
        for p in range(POWERS):
            part = 0.0
            for i in range(STAGES):
                part += k[i, j] * CURVE[i, p]
            curve[j, p] = part


@kernel
def part_of_step(here, step, nose, distance, ground, k, curve, work):
    """The part of a step, 0 to 1, after which the point is in the target plane or on the ground; by halving."""
    shape_curve(k, curve)
    low, high = 0.0, 1.0
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        on_curve(here, curve, step, middle, work)
        if beyond(work, nose, distance) >= 0.0 or above(work, nose, ground) <= 0.0:
            high = middle
        else:
            low = middle
    return high


@kernel
def fly_course(start, b, nose, distance, ground, longest, lifted, relative, absolute, times, states, curves, k, trial):
    """Fly until the point is in the target plane or on the ground, or the time is over.

    Parameters
    ----------
    start : (10,) array
    b : Flyer
    nose : float
        Place of the point's tip before the mass centre [m].
    distance, ground : float
        Of the target plane; height of the ground, minus infinity for none [m].
    longest : float
        Time after which the flight ends in any case [s].
    lifted : bool
        False: the arrow keeps to its path.
    relative, absolute : float
        Error allowed in a step, as `scipy.integrate.RK45` counts it.
    times, states, curves : (n,), (n, 10), (n, 10, 4) arrays
        Written: instants and states at the ends of the steps, the start among them; the curve within each step.
    k, trial : (7, 10), (10,) arrays
        To work in.

    Returns
    -------
    status, count : int
        How it ended, and how many instants were written.
    """
    room = times.shape[0]
    for j in range(STATE):
        states[0, j] = start[j]
    times[0] = 0.0
    rates_of(states[0], b, lifted, k[0])
    step, count = FIRST, 0
    while count + 1 < room:
        here, there = states[count], states[count + 1]
        left = longest - times[count]
        if left <= 0.0:
            return TIME_OVER, count + 1
        step = min(step, left)
        take_step(here, step, b, lifted, k, trial)
        worst = 0.0
        for j in range(STATE):
            error = 0.0
            for i in range(STAGES):
                error += ERROR[i] * k[i, j]
            scale = absolute + relative * max(abs(here[j]), abs(trial[j]))
            worst += (step * error / scale) ** 2
        worst = math.sqrt(worst / STATE)
        if not worst <= 1.0:
            step *= max(0.2, 0.9 * worst**-0.2) if worst < math.inf else 0.2
            if step < 1e-12:
                return TOO_MANY_STEPS, count + 1
            continue
        hit = beyond(trial, nose, distance) >= 0.0 or above(trial, nose, ground) <= 0.0
        if hit:
            step *= part_of_step(here, step, nose, distance, ground, k, curves[count], there)
            take_step(here, step, b, lifted, k, trial)
        shape_curve(k, curves[count])
        for j in range(STATE):
            there[j] = trial[j]
            k[0, j] = k[STAGES - 1, j]
        times[count + 1] = times[count] + step
        count += 1
        if hit:
            fell = above(trial, nose, ground) <= abs(beyond(trial, nose, distance))
            return (ON_GROUND if fell else REACHED), count + 1
        step *= min(5.0, 0.9 * worst**-0.2) if worst > 0.0 else 5.0
    return TOO_MANY_STEPS, count + 1
