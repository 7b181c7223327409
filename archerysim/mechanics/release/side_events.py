"""What happens sideways: the shaft leaves the arm by itself and may strike it, and leaves the side support."""

from __future__ import annotations

import numpy as np

from archerysim.mechanics.compiling import inlined
from archerysim.mechanics.release.events import lie_on_rest
from archerysim.mechanics.release.side_layout import AWAY, FOLDED, UP


@inlined
def begin_side_notes(notes):
    """The notes of a shot in which nothing has happened yet."""
    notes.arm = UP
    notes.rows = 0
    notes.arm_left_time = np.nan
    notes.arm_left_travel = np.nan
    notes.arm_strikes = 0
    notes.arm_strike_time = np.nan
    notes.arm_strike_place = np.nan
    notes.arm_strike_depth = 0.0
    notes.arm_strike_lasted = 0.0
    notes.beside = False
    notes.touches = 0
    notes.side_left_time = np.nan
    notes.side_left_travel = np.nan
    notes.side_first_left = np.nan
    notes.tail_time = np.nan
    notes.tail_place = np.nan
    notes.tail_force = 0.0
    notes.tail_lasted = 0.0
    notes.greatest_support = 0.0
    notes.support_time = np.nan
    notes.largest_side = -np.inf
    notes.nock_most = -np.inf
    notes.nock_most_time = 0.0


@inlined
def at_the_arm(side, su, acting, travel, time, dt, notes, works):
    """Note how the shaft leaves the arm, upwards or sideways, comes down on it again, or strikes it from the side."""
    own = side.kept.notes
    press = acting.press
    over = acting.arm_z - side.model.arm.outer
    if own.arm == UP:
        lie_on_rest(acting, acting.supported, travel, time, notes)
        if acting.supported == 0.0:
            own.arm = AWAY
            if np.isnan(own.arm_left_time):
                own.arm_left_time = time
                own.arm_left_travel = travel
            if notes.touching:
                notes.touching = False
                notes.rest_left_time = time
                notes.rest_left_travel = travel
            if press > 0.0:
                left = 0.5 * su.stiffness * press * press
                notes.energy_left += left
                works.support_end += left
    elif acting.cell < 0:
        own.arm = AWAY
    elif own.arm == AWAY:
        if over <= 0.0:
            own.arm = UP
            if press > 0.0:
                own.arm = FOLDED
                own.arm_strikes += 1
                own.arm_strike_time = time
                own.arm_strike_place = acting.at_arm
    else:
        own.arm_strike_depth = max(own.arm_strike_depth, press)
        own.arm_strike_lasted += dt
        if press <= 0.0:
            own.arm = UP
        elif over > 0.0:
            own.arm = AWAY


@inlined
def at_the_side(side, acting, tail_z, travel, time, dt):
    """Note how the shaft leaves the side support and touches it again, and how far sideways shaft and nock go."""
    own = side.kept.notes
    half = 0.5 * (side.motion.z.shape[0] - 1 - side.model.tail)  # of the shaft, in cells
    if tail_z > own.nock_most:
        own.nock_most = tail_z
        own.nock_most_time = time
    if acting.side_cell >= 0:
        own.largest_side = max(own.largest_side, side.model.support.offset - acting.side_press)
    if acting.support > 0.0:
        if not own.beside:
            own.beside = True
            own.touches += 1
        if acting.at_side < half:
            if np.isnan(own.tail_time):
                own.tail_time = time
                own.tail_place = acting.at_side
            own.tail_force = max(own.tail_force, acting.support)
            own.tail_lasted += dt
        if acting.support > own.greatest_support:
            own.greatest_support = acting.support
            own.support_time = time
    elif own.beside and (acting.side_press < 0.0 or acting.side_cell < 0):
        own.beside = False
        own.side_left_time = time
        own.side_left_travel = travel
        if np.isnan(own.side_first_left):
            own.side_first_left = time


@inlined
def look_at_passing(side, su, acting, time):
    """At a look: how the shaft goes past rest and side support."""
    own = side.kept.notes
    if own.rows < side.kept.passing.shape[0]:
        row = side.kept.passing[own.rows]
        row.time = time
        row.at_arm = acting.at_arm
        row.above = su.half_diameter - acting.press
        row.arm_z = acting.arm_z
        row.at_side = acting.at_side
        row.side_z = side.model.support.offset - acting.side_press
        own.rows += 1
