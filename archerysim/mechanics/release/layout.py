"""What the release works in and what it writes: arrays in named tuples, and records with named fields.

All of it is made before the release and handed in (`archerysim.shot.release.room`), so that a kernel asks for no
memory. A record's fields are read and written by name, in the kernels (``notes.steps``) as in Python; an array of
records is a `numpy.recarray`, a column of it ``trace["time"]``.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from archerysim.mechanics.arrays import Cells

SEPARATION, CLEAR = 0, 1  # rows of states and moments
AT_X, AT_Y, SPEED_X, SPEED_Y = range(4)  # rows of a state: places [m] and velocities [m/s] of all nodes
STATE = 4
BEFORE, AFTER = 0, 1  # rows of what is seen about something that happens between two looks


def _numbers(*names: str) -> np.dtype[np.void]:
    return np.dtype([(name, np.float64) for name in names])


# a row of the trace
TRACE = _numbers(
    "time",
    "edge_upper",
    "edge_lower",
    "locator",
    "rest",
    "tension_upper",
    "tension_lower",
    "tail_x",
    "tail_y",
    "centre_x",
    "centre_y",
    "velocity_x",
    "velocity_y",
    "pitch",
    "pitch_rate",
    "riser_x",
    "riser_y",
    "riser_pitch",
    "advance_upper",
    "advance_lower",
    "offset",
)
# energies gone to (or come from) each part since the release began [J]
WORK = (
    "string", "limbs", "arrow", "nock", "locators", "friction", "rest", "hand", "rods", "fingers", "support_end",
    "side_support", "groove", "tips", "folding",
)  # fmt: skip
WORKS = _numbers(*WORK)
# what is known of a moment besides the nodes: time, the riser's pose and its rates, what its rods hold, the works
MOMENT = _numbers("time", "riser_x", "riser_y", "riser_turn", "rate_x", "rate_y", "rate_turn", "swinging", *WORK)
# the throat's middle at one look
TAIL = _numbers("time", "x", "y")
# the string's points at the nock and the limbs' tips at one look
LINE = _numbers(
    "time", "tip_u_x", "tip_u_y", "tip_l_x", "tip_l_y", "edge_u_x", "edge_u_y", "edge_l_x", "edge_l_y"
)  # fmt: skip
# how the string comes down on one limb: as it is seen at the looks
SLAP = _numbers(
    "seen",  # the last look [s]
    "off",  # the end cell's angle off the belly at the tip then, negative where it lies there; nan: no look yet [rad]
    "time",  # the look at which it had first come down; nan if it has not [s]
    "rate",  # at which the angle closed from the look before [rad/s]
    "lying",  # the greatest length that has lain on the limb since [m]
    "press",  # and the greatest force on it [N]
)
NOTES = np.dtype(
    [
        ("steps", np.int64),
        ("rows", np.int64),  # of the trace
        ("frames", np.int64),
        ("strikes", np.int64),  # times the shaft came down on the supporting rest again
        # the state of things, while it runs
        ("inside", np.bool_),  # the string is in the throat
        ("stuck", np.float64),  # offset at which it sticks to the throat's floor [m]
        ("separated", np.bool_),  # no edge of the throat's floor carries force, for all that is known yet
        ("touching", np.bool_),  # the shaft lies on the supporting rest
        ("holding", np.bool_),  # the rest supports
        ("straight", np.bool_),  # the string's points at the nock have passed the line between the tips
        ("held_upper", np.float64),  # how firmly each edge held a step ago; zero or less where it did not
        ("held_lower", np.float64),
        # the timeline
        ("rest_left_time", np.float64),  # the shaft last left the supporting rest; nan if not [s]
        ("rest_left_travel", np.float64),  # of the throat by then [m]
        ("strike_time", np.float64),  # the shaft last came down on the supporting rest again; nan if not [s]
        ("strike_travel", np.float64),  # of the throat by then [m]
        ("strike_depth", np.float64),  # how deep it pressed from the first such strike on; nan without one [m]
        ("push_time", np.float64),  # of the greatest push, of all looks [s]
        ("greatest_push", np.float64),  # of both edges together [N]
        # and what warnings go by
        ("least_gap", np.float64),  # to the rest after its support ended; infinite where that did not [m]
        ("suppressed_strike", np.float64),  # deepest after that; zero where there was none [m]
        ("energy_left", np.float64),  # in the rest when its support ended [J]
        ("largest_edge", np.float64),  # force of an edge [N]
        ("largest_swing", np.float64),  # of a rod's end, of all looks [m]
    ],
    align=True,
)


class Nodes(NamedTuple):
    """All nodes at one instant, and the forces on them: arrays (n,)."""

    x: np.ndarray  #: [m]
    y: np.ndarray
    vx: np.ndarray  #: [m/s]
    vy: np.ndarray
    fx: np.ndarray  #: without their weight [N]
    fy: np.ndarray
    cells: Cells


class Riser(NamedTuple):
    """The riser at one instant, arrays (3 + k,): its mass centre, its turn, the swings of its rods."""

    pose: np.ndarray  #: [m], [rad], [m] each of the k rods that bend
    rate: np.ndarray  #: [m/s], [rad/s]
    gain: np.ndarray  #: accelerations [m/s2], [rad/s2]


class Motion(NamedTuple):
    """The bow on its way: what leapfrog holds.

    Places stand at whole steps, velocities at half steps. The forces see velocities carried half a step ahead: those
    of `nodes` and `riser`.
    """

    nodes: Nodes
    riser: Riser
    vx: np.ndarray  #: (n,) velocities at the last half step [m/s]
    vy: np.ndarray
    rate: np.ndarray  #: (3 + k,) and the riser's
    last_gain: np.ndarray  #: (3 + k,) the riser's accelerations a step ago
    now_x: np.ndarray  #: (n,) scratch for velocities at a whole step [m/s]
    now_y: np.ndarray


class Pace(NamedTuple):
    """How time goes, and how often one looks."""

    step: float  #: [s]
    cap: float  #: longest time [s]
    clear_at: float  #: x of the throat at which the arrow may be clear [m]
    account: bool  #: add up the energy that each part of the chain loses
    every: int  #: steps from one look at the shot to the next, a row of the trace each
    frame_every: int  #: and from one look at the line of the string to the next, a frame each


class Kept(NamedTuple):
    """What the release writes down."""

    notes: np.record  #: of `NOTES`
    works: np.record  #: of `WORKS`, up to now
    states: np.ndarray  #: (2, STATE, n) all nodes at separation and at clear
    moments: np.recarray  #: (2,) of `MOMENT`, at the same
    support_end: np.recarray  #: (2,) of `TAIL`, at the looks before and after the rest's support ended; nan if not
    straight: np.recarray  #: (2,) of `LINE`, before and after the string is straight; nan if it is not
    trace: np.recarray  #: (rows,) of `TRACE`; none: (0,)
    slaps: np.recarray  #: (2,) of `SLAP`, of the upper and the lower limb
    frames: np.ndarray  #: (frames, STATE, n); none: (0, STATE, n)
    frame_moments: np.recarray  #: (frames,) of `MOMENT`
