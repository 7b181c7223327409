"""The limbs' moving mass, found from one measured speed of the arrow.

What of a limb moves with the string's ends is known badly: a scale weighs its butt too. The faster an arrow leaves a
bow of known draw weight and shape, the less of the limbs moved. One factor on the mass of both limbs in front of their
roots meets the speed; the bow is fitted to brace height, tillers and draw weight anew for each trial. As
v^2 = 2 W/(m + m_v), W the stored energy, m the arrow's mass and m_v the virtual mass, which grows about evenly with the
limbs' mass, 1/v^2 is nearly a straight line over the factor, so that a few shots do.
"""

from __future__ import annotations

from dataclasses import replace

from archerysim.equipment import Setup, SetupError, filled_as_built
from archerysim.equipment.filled_setup import MeasuredSetup, filled_as_measured
from archerysim.errors import ShotError
from archerysim.fields.units import show
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.from_full_draw import shoot_drawn
from archerysim.shot.launch import Launch
from archerysim.shot.statics.brace import brace_with_string
from archerysim.shot.statics.draw import draw_to, full_draw_x
from archerysim.shot.statics.fit import Fit, Met
from archerysim.shot.statics.fit_shape import fit_to_forces
from archerysim.status import NO_CONVERGENCE

SPEED = "bow.arrow_speed"
LEAST, MOST = 0.3, 2.0  # of the factor [judgement]
FOUND = 1e-8  # relative miss of the speed
SHOTS = 12
OF_LIMBS = 0.6  # about the limbs' share of a virtual mass, for the second trial only


def fit_to_speed(setup: Setup, mesh: Mesh, planes: int) -> Fit:
    """The bow as built, as of `fit`, and whose arrow leaves with the measured speed, where one is given.

    The speed is that at clear, at the archer's own draw, with the bolts as they stood when the bow was measured, in so
    many planes.

    Raises
    ------
    SetupError
        Where no moving mass gives that speed, or more is said of the limbs' masses than it leaves open.
    ShotError
        Where there is no such bow, or it cannot be shot.
    """
    wanted = setup.bow.arrow_speed if isinstance(setup, Setup) and setup.form == "measured" else None
    if wanted is None:
        return fit_to_forces(setup, mesh)
    ends = LEAST, _most(filled_as_measured(setup))
    tried: list[tuple[float, float]] = []  # factor, 1/v^2 less the wanted one
    factor = min(1.0, ends[1])
    for _ in range(SHOTS):
        done, launch = _shot(setup, mesh, factor, planes)
        speed = launch.clear.speed
        if abs(speed / wanted - 1.0) < FOUND:
            return replace(done, met=(*done.met, Met(SPEED, wanted, speed)), moving_factor=factor)
        tried.append((factor, speed**-2 - wanted**-2))
        _refuse_beyond(setup, mesh, planes, wanted, ends, tried)
        factor = min(max(_next(tried, launch), ends[0]), ends[1])
    raise ShotError(
        "fit", NO_CONVERGENCE, f"the arrow's speed is matched only to {abs(speed / wanted - 1.0):.1e} of its value"
    )


def _most(full: MeasuredSetup) -> float:
    """Largest factor: no more of a limb can move than all of one that was weighed.

    Raises
    ------
    SetupError
    """
    most = MOST
    for name, limb, given in (
        ("upper_limb", full.upper_limb, full.given.upper_limb), ("lower_limb", full.lower_limb, full.given.lower_limb)
    ):  # fmt: skip
        if given.balance is not None:
            _one_too_many(f"{name}.balance")
        if given.mass is not None:
            if given.butt_mass is not None:
                _one_too_many(f"{name}.butt_mass")
            most = min(most, limb.mass / (limb.mass - limb.butt_mass))
    return most


def _one_too_many(path: str) -> None:
    raise SetupError(
        path, f"is one number too many beside {SPEED}, which already gives the limbs' moving mass",
        f"Remove it or {SPEED}",
    )  # fmt: skip


def _shot(setup: Setup, mesh: Mesh, factor: float, planes: int) -> tuple[Fit, Launch]:
    """The bow fitted with that factor, and its shot with the bolts as they stood when it was measured."""
    done = fit_to_forces(setup, mesh, factor)
    built = done.setup.with_si(**{"limbs.bolt_turns": 0.0})
    full = filled_as_built(built)
    far = full_draw_x(full)
    if done.drawing is not None and done.drawn is not None and done.drawn.throat_x == far:
        drawing, drawn = done.drawing, done.drawn
    else:
        drawing, drawn = draw_to(full, brace_with_string(full, full.string.length, mesh), far)
    return done, shoot_drawn(built, drawing, drawn, trace=False, step_factor=1.0, before=None, edits=(), planes=planes)


def _next(tried: list[tuple[float, float]], launch: Launch) -> float:
    """The factor where 1/v^2 is the wanted one, by a straight line through the last two trials."""
    factor, miss = tried[-1]
    if len(tried) == 1:
        energy = launch.stored_energy
        slope = OF_LIMBS * 1e-3 * launch.virtual_mass / (2.0 * energy * factor)
    else:
        slope = (miss - tried[-2][1]) / (factor - tried[-2][0])
    return factor - miss / slope


def _refuse_beyond(
    setup: Setup, mesh: Mesh, planes: int, wanted: float, ends: tuple[float, float], tried: list[tuple[float, float]]
) -> None:
    """Refuse a speed that lies beyond an end that has been tried.

    Raises
    ------
    SetupError
        It tells the speeds that can be reached.
    """
    least, most = ends
    factor, miss = tried[-1]
    if not (factor == least and miss > 0.0) and not (factor == most and miss < 0.0):
        return
    slow, fast = (_shot(setup, mesh, end, planes)[1].clear.speed for end in (most, least))
    weighed = "all of the weighed limbs moving" if most < MOST else f"{most:g} times the usual"
    raise SetupError(
        SPEED,
        f"this bow cannot shoot this arrow with {show(wanted, 'm/s')}: its limbs' moving mass leaves "
        f"{show(slow, 'm/s')} ({weighed}) to {show(fast, 'm/s')} ({least:g} times the usual)",
        "Check the speed, the arrow's mass, draw weight and draw length, the limbs' shape and mass; or remove it",
    )
