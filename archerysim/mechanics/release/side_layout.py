"""What the release in both planes works in and writes besides; see `archerysim.mechanics.release.layout`."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from archerysim.mechanics.arrays import Sideways

AT_Z, SPEED_Z = 0, 1  # rows of a state sideways
SIDE_STATE = 2
UP, AWAY, FOLDED = 0, 1, 2  # the arm: it supports; the shaft is beyond its reach; it was struck and folds away

# a row of the trace, at the looks of the other
SIDE_TRACE = np.dtype(
    [
        (name, np.float64)
        for name in (
            "support",  # size of the side support's force [N]
            "groove",  # force of the string on the nock along z [N]
            "tail_z",
            "centre_z",
            "velocity_z",
            "yaw",
            "yaw_rate",
            "tip_u_z",
            "tip_l_z",
        )
    ]
)
# how the shaft goes past rest and side support, at every look
PASSING = np.dtype(
    [
        (name, np.float64)
        for name in (
            "time",
            "at_arm",  # place on the shaft over the rest, in cells from the tail; nan where it does not reach
            "above",  # of its axis over the rest's top [m]
            "arm_z",  # its axis there [m]
            "at_side",  # place on the shaft beside the side support, alike
            "side_z",  # its axis there [m]
        )
    ]
)
SIDE_NOTES = np.dtype(
    [
        ("arm", np.int64),  # UP, AWAY or FOLDED
        ("rows", np.int64),  # of the passing
        # the arm
        ("arm_left_time", np.float64),  # the shaft went beyond its reach for the first time [s]; nan if it did not
        ("arm_left_travel", np.float64),  # of the throat by then [m]
        ("arm_strikes", np.int64),  # times it was struck from the side
        ("arm_strike_time", np.float64),  # the last of them [s]
        ("arm_strike_place", np.float64),  # on the shaft, in cells from the tail
        ("arm_strike_depth", np.float64),  # how far under the arm's top the shaft was, at most [m]
        ("arm_strike_lasted", np.float64),  # all of them together [s]
        # the side support
        ("beside", np.bool_),  # the shaft touches it
        ("touches", np.int64),  # times it came to touch it
        ("side_left_time", np.float64),  # the shaft last left it [s]; nan if it did not
        ("side_left_travel", np.float64),  # of the throat by then [m]
        ("side_first_left", np.float64),  # it left it for the first time [s]
        # its rear half, which has come back to it
        ("tail_time", np.float64),  # first [s]; nan if it does not touch
        ("tail_place", np.float64),  # on the shaft then, in cells from the tail
        ("tail_force", np.float64),  # greatest [N]
        ("tail_lasted", np.float64),  # [s]
        ("greatest_support", np.float64),  # force of all [N]
        ("support_time", np.float64),  # and when [s]
        ("largest_side", np.float64),  # place z of the shaft's axis beside it [m]
        # the nock
        ("nock_most", np.float64),  # place z of the throat's middle, furthest out [m]
        ("nock_most_time", np.float64),
    ],
    align=True,
)


class SideMotion(NamedTuple):
    """All nodes at one instant, sideways: arrays (n,); the last four hold what `chain_forces` works out."""

    z: np.ndarray  #: [m]
    vz: np.ndarray  #: carried half a step ahead [m/s]
    fz: np.ndarray  #: with their weight [N]
    velocity: np.ndarray  #: at the last half step [m/s]
    now: np.ndarray  #: scratch for velocities at a whole step [m/s]
    along: np.ndarray  #: direction of a cell
    pull: np.ndarray  #: force of a cell on its first node [N]
    firm: np.ndarray  #: of a bend in space, 4 B / (1 + cosine)^2 [N m]
    cosine: np.ndarray  #: of the angle between a node's cells


class SideKept(NamedTuple):
    """What is written down of it."""

    notes: np.record  #: of `SIDE_NOTES`
    states: np.ndarray  #: (2, SIDE_STATE, n) at separation and at clear
    trace: np.recarray  #: (rows,) of `SIDE_TRACE`; none: (0,)
    passing: np.recarray  #: (looks,) of `PASSING`
    frames: np.ndarray  #: (frames, SIDE_STATE, n); none: (0, SIDE_STATE, n)


class Side(NamedTuple):
    """The shot sideways. In the shot in one plane kernels get None in its place."""

    model: Sideways
    motion: SideMotion
    kept: SideKept
