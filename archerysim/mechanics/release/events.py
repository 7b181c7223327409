"""What happens on the way: the shaft leaves the rest, its support ends, the string leaves the nock, the arrow is clear.

All of it is written into the notes as it happens, so that the timeline of a shot needs no trace.
"""

from __future__ import annotations

import numpy as np

from archerysim.mechanics.compiling import inlined
from archerysim.mechanics.forces.contact import share_after
from archerysim.mechanics.forces.rods import FIRST
from archerysim.mechanics.release.layout import AFTER, BEFORE


@inlined
def begin_notes(notes):
    """The notes of a shot in which nothing has happened yet."""
    notes.steps = 0
    notes.rows = 0
    notes.frames = 0
    notes.strikes = 0
    notes.inside = True
    notes.stuck = 0.0
    notes.separated = False
    notes.touching = True
    notes.holding = True
    notes.straight = False
    notes.held_upper = 0.0
    notes.held_lower = 0.0
    notes.rest_left_time = np.nan
    notes.rest_left_travel = np.nan
    notes.strike_time = np.nan
    notes.strike_travel = np.nan
    notes.strike_depth = np.nan
    notes.push_time = 0.0
    notes.greatest_push = -np.inf
    notes.least_gap = np.inf
    notes.suppressed_strike = 0.0
    notes.energy_left = 0.0
    notes.largest_edge = 0.0
    notes.largest_swing = 0.0


@inlined
def share_supported(su, travel, stride):
    """Share of the step about now in which the rest supports, the throat ``travel`` on its way [m]."""
    return 1.0 - share_after(travel - su.travel, stride)


@inlined
def lie_on_rest(acting, supported, travel, time, notes):
    """Note how the shaft leaves a rest that supports, comes down on it again, and how deep it then presses."""
    if acting.rest > 0.0:
        if not notes.touching:
            if notes.strikes == 0:
                notes.strike_depth = 0.0
            notes.strikes += 1
            notes.strike_time = time
            notes.strike_travel = travel
        notes.touching = True
        if notes.strikes > 0:
            notes.strike_depth = max(notes.strike_depth, acting.press)
    elif notes.touching and supported > 0.0:
        notes.touching = False
        notes.rest_left_time = time
        notes.rest_left_travel = travel


@inlined
def at_the_rest(su, acting, supported, travel, time, notes, works):
    """Note how the shaft leaves the rest and comes down on it again, and what is left when the support ends."""
    press = acting.press
    if supported > 0.0:
        lie_on_rest(acting, supported, travel, time, notes)
    else:
        if notes.holding:
            notes.holding = False
            notes.touching = False
            if press > 0.0:
                notes.energy_left = 0.5 * su.stiffness * press * press
                works.support_end += notes.energy_left
        if acting.cell >= 0:
            notes.least_gap = min(notes.least_gap, -press)
            notes.suppressed_strike = max(notes.suppressed_strike, press)


@inlined
def share_let_go(th, acting, notes):
    """Share of the step that has just ended since the last edge let go of the string in it; negative where none did."""
    share = -1.0
    if notes.inside or not notes.separated:
        upper = acting.advance_upper + th.snap if th.grip > 0.0 else acting.push_upper
        lower = acting.advance_lower + th.snap if th.grip > 0.0 else acting.push_lower
        if not notes.inside:
            upper = -1.0
            lower = -1.0
        held_upper = notes.held_upper
        held_lower = notes.held_lower
        if upper <= 0.0 and lower <= 0.0 and (held_upper > 0.0 or held_lower > 0.0):
            share = 1.0
            if held_upper > 0.0:
                share = min(share, 1.0 - held_upper / (held_upper - upper))
            if held_lower > 0.0:
                share = min(share, 1.0 - held_lower / (held_lower - lower))
        notes.held_upper = upper
        notes.held_lower = lower
    return share


@inlined
def is_clear(acting, tail_x, clear_at, notes):
    """Whether the arrow is clear: let go, far enough, touching nothing."""
    free = acting.rest == 0.0 and acting.support == 0.0
    return not notes.inside and notes.separated and tail_x >= clear_at and free


@inlined
def share_clear(tail_x, tail_vx, clear_at, dt, step):
    """Share of the step that has just ended since the arrow was far enough."""
    if step > 0 and tail_vx > 0.0:
        return min((tail_x - clear_at) / (dt * tail_vx), 1.0)
    return 0.0


@inlined
def look_at_throat(model, nodes, acting, travel, time, notes, support_end):
    """At a look: the greatest push, and where the throat is before and after the rest's support ends."""
    a = model.marks.tail
    push = acting.edge_upper + acting.edge_lower
    if push > notes.greatest_push:
        notes.greatest_push = push
        notes.push_time = time
    if not support_end[AFTER].time >= 0.0:
        seen = support_end[BEFORE] if travel < model.support.travel else support_end[AFTER]
        seen.time = time
        seen.x = nodes.x[a]
        seen.y = nodes.y[a]


@inlined
def look_at_rods(pose, notes):
    """At a look: how far the rods' ends swing."""
    for k in range(FIRST, pose.shape[0]):
        notes.largest_swing = max(notes.largest_swing, abs(pose[k]))


@inlined
def look_at_string(marks, nodes, time, notes, straight):
    """At a look: the string's line before and after its points at the nock pass the line between the tips.

    Where the string may lie on a limb, its first node off it stands for the tip.
    """
    if notes.straight:
        return
    x, y = nodes.x, nodes.y
    upper, lower = marks.tip_u + min(marks.reach_u, 1), marks.tip_l - min(marks.reach_l, 1)
    along_x = x[upper] - x[lower]
    along_y = y[upper] - y[lower]
    way_x = 0.5 * (x[marks.edge_u] + x[marks.edge_l]) - x[lower]
    way_y = 0.5 * (y[marks.edge_u] + y[marks.edge_l]) - y[lower]
    notes.straight = along_y * way_x - along_x * way_y >= 0.0
    seen = straight[AFTER] if notes.straight else straight[BEFORE]
    seen.time = time
    seen.tip_u_x = x[upper]
    seen.tip_u_y = y[upper]
    seen.tip_l_x = x[lower]
    seen.tip_l_y = y[lower]
    seen.edge_u_x = x[marks.edge_u]
    seen.edge_u_y = y[marks.edge_u]
    seen.edge_l_x = x[marks.edge_l]
    seen.edge_l_y = y[marks.edge_l]
