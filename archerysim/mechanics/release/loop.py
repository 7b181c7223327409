"""The shot: fixed-step leapfrog from full draw until the arrow is clear.

Positions stand at whole steps, velocities at half steps. Losses see the velocity carried half a step
forward with the last acceleration, which keeps the scheme of second order. One oscillator of frequency w
and damping ratio z is stable for steps under (2 / w) (sqrt(1 + 4 z^2) - 2 z); the whole bow, see `stable_step`.

A step is forces, account, events and advance; what it writes down is in `record`.
"""

from __future__ import annotations

from archerysim.mechanics.compiling import kernel
from archerysim.mechanics.forces.throat import throat_state
from archerysim.mechanics.release.advance import advance_all, look_ahead
from archerysim.mechanics.release.energy_account import SAMPLE, add_up
from archerysim.mechanics.release.events import (
    at_the_rest,
    begin_notes,
    is_clear,
    look_at_rods,
    look_at_string,
    look_at_throat,
    share_clear,
    share_let_go,
    share_supported,
)
from archerysim.mechanics.release.floor_inertia import share_floor
from archerysim.mechanics.release.forces import evaluate
from archerysim.mechanics.release.layout import CLEAR, SEPARATION
from archerysim.mechanics.release.record import keep_moment, keep_side, side_row, trace_row
from archerysim.mechanics.release.side_events import at_the_arm, at_the_side, begin_side_notes, look_at_passing
from archerysim.mechanics.release.slap import look_at_limbs
from archerysim.status import LIES_TOO_FAR, NOT_FINITE, OK, TIME_CAP

LOOK = 256  # steps from one look to the next at whether the numbers still are numbers
FAR = 1e6  # [m]


@kernel
def release(model, held, motion, pace, kept, side=None):
    """Run the shot from rest at full draw.

    Parameters
    ----------
    model, held : Model, Held
    motion : Motion
        Places at full draw, everything else zero; changed in place.
    pace : Pace
    kept : Kept
        Written.
    side : Side or None
        The shot sideways: places at the start, everything else zero; changed in place. None: the shot in one plane.

    Returns
    -------
    status : int
    """
    marks, th, su = model.marks, model.throat, model.support
    nodes, riser = motion.nodes, motion.riser
    x = nodes.x
    notes, works = kept.notes, kept.works
    dt = pace.step
    half = 0.5 * dt
    a = marks.tail
    begin = x[a]
    cell = a
    time = 0.0
    begin_notes(notes)
    if side is not None:
        begin_side_notes(side.kept.notes)
    notes.stuck = throat_state(th, x, nodes.y, nodes.vx, nodes.vy, marks.edge_u, a)[2]  # friction starts from none
    for step in range(int(pace.cap / dt) + 1):
        gain = half if step == 0 else dt
        lead = 0.0 if step == 0 else half
        travel = x[a] - begin
        supported = share_supported(su, travel, dt * motion.vx[a])
        look_ahead(riser, motion.rate, motion.last_gain, half)
        acting = evaluate(model, held, nodes, riser, time, dt, notes.inside, notes.stuck, supported, cell, side)
        cell = acting.cell
        notes.stuck = acting.stuck
        share_floor(model.chain, marks.edge_u, model.floor_inertia, nodes.cells, nodes.fx, nodes.fy, side)

        add_up(model, nodes, acting, dt, pace.account and step % SAMPLE == 0, works, side)

        if acting.out == 1.0:
            notes.inside = False
        notes.largest_edge = max(notes.largest_edge, max(acting.edge_upper, acting.edge_lower))
        if side is None:
            at_the_rest(su, acting, supported, travel, time, notes, works)
        else:
            at_the_arm(side, su, acting, travel, time, dt, notes, works)
            at_the_side(side, acting, side.motion.z[a], travel, time, dt)
        share = share_let_go(th, acting, notes)
        if share >= 0.0:
            keep_moment(
                model, held, motion, share, dt, lead, time, works, kept.states[SEPARATION], kept.moments[SEPARATION]
            )
            if side is not None:
                keep_side(side, share, dt, lead, side.kept.states[SEPARATION])
            notes.separated = True
        clear = is_clear(acting, x[a], pace.clear_at, notes)
        if clear:
            share = share_clear(x[a], motion.vx[a], pace.clear_at, dt, step)
            keep_moment(model, held, motion, share, dt, lead, time, works, kept.states[CLEAR], kept.moments[CLEAR])
            if side is not None:
                keep_side(side, share, dt, lead, side.kept.states[CLEAR])
        if step % pace.every == 0:
            look_at_throat(model, nodes, acting, travel, time, notes, kept.support_end)
            look_at_rods(riser.pose, notes)
            if side is not None:
                look_at_passing(side, su, acting, time)
            if notes.rows < kept.trace.shape[0]:
                trace_row(model, held, motion, acting, lead, time, kept.trace[notes.rows], side)
                if side is not None:
                    side_row(model, motion, side, acting, lead, side.kept.trace[notes.rows])
                notes.rows += 1
        if step % pace.frame_every == 0:
            look_at_string(marks, nodes, time, notes, kept.straight)
            if look_at_limbs(model.chain, nodes, time, kept.slaps):
                return LIES_TOO_FAR
            if notes.frames < kept.frames.shape[0]:
                k = notes.frames
                keep_moment(model, held, motion, 0.0, dt, lead, time, works, kept.frames[k], kept.frame_moments[k])
                if side is not None:
                    keep_side(side, 0.0, dt, lead, side.kept.frames[k])
                notes.frames += 1
        notes.steps = step
        if clear:
            return OK
        if step % LOOK == 0 and not (abs(x[a]) < FAR and abs(x[marks.tip_u]) < FAR):
            return NOT_FINITE
        advance_all(model, held, motion, gain, dt, side)
        time += dt
    return TIME_CAP
