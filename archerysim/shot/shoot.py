"""One shot from a setup: brace, draw, let go, report."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from archerysim.equipment import Setup, filled
from archerysim.errors import ShotError
from archerysim.fields.quantity import whole_number
from archerysim.fields.result import result
from archerysim.shot import warnings
from archerysim.shot.arrays.mesh import Mesh, mesh_of
from archerysim.shot.before import Before, before_of
from archerysim.shot.launch import Launch, make_launch
from archerysim.shot.release.release import FRAMES, ROWS, loose
from archerysim.shot.statics.brace import Braced, brace_with_string
from archerysim.shot.statics.draw import TRADE, Drawing, draw_to, full_draw_x
from archerysim.shot.statics.drawn import Drawn
from archerysim.shot.statics.fit import Fit, fit
from archerysim.shot.statics.strain import Strained, strained
from archerysim.status import NOT_FINITE, UNSTEADY

MOST_POINTS = 2000  # of a draw-force curve
STEADY = 1e-3  # share of the stored energy that may be missing; else the step was too long for what came on the way
HALVINGS = 4  # of the step, before the shot is given up


def brace(setup: Setup, mesh: str | Mesh = "default") -> Braced:
    """The braced bow with the arrow on its string.

    Parameters
    ----------
    setup : Setup
        Measured (then fitted first) or built.
    mesh : str or Mesh
        "coarse", "default", "fine" or a `Mesh`.

    Returns
    -------
    Braced

    Raises
    ------
    SetupError, ShotError
    """
    done = fit(setup, mesh)
    if done.drawing is not None:
        return done.drawing.braced
    full = filled(done.setup)
    return brace_with_string(full, float(full.string.length), mesh_of(mesh))  # type: ignore[arg-type]


@result("setup.name", "draw_length [m]", "force [N]", "energy [J]", "warnings")
@dataclass(frozen=True)
class DrawCurve:
    """The draw-force curve.

    Attributes
    ----------
    draw_length : (k,) array
        By the trade: throat to pivot along the riser's x, and 1.75 in [m].
    force : (k,) array
        Size of the finger force [N].
    energy : (k,) array
        Stored since brace [J], work of the finger force along the draw.
    drawn : tuple of Drawn
        The equilibria, from brace (force nil) to full draw.
    braced : Braced
    setup : Setup
        As built.
    warnings : tuple of str
    limits_passed : tuple of str
        Which limits the first of the warnings speak of.
    strain : (Strained, Strained)
        Largest strain of the upper and the lower limb beside the file's `strain_limit`, or why it was not compared.
    """

    draw_length: np.ndarray
    force: np.ndarray
    energy: np.ndarray
    drawn: tuple[Drawn, ...]
    braced: Braced
    setup: Setup
    warnings: tuple[str, ...]
    limits_passed: tuple[str, ...]
    strain: tuple[Strained, Strained]


def draw(
    setup: Setup, points: int = 25, mesh: str | Mesh = "default", *, before: Setup | Before | None = None
) -> DrawCurve:
    """The draw-force curve from brace to the archer's full draw.

    Parameters
    ----------
    setup : Setup
    points : int
        Equilibria, brace and full draw included.
    mesh : str or Mesh
    before : Setup, optional
        As for `shoot`.

    Raises
    ------
    SetupError, ShotError
    """
    whole_number("points", points, "a number of points", 2, MOST_POINTS)
    done = fit(setup, mesh)
    return curve_of(done.setup, *_at_full_draw(done, mesh), points, before_of(before, mesh, setup))


def curve_of(built: Setup, drawing: Drawing, last: Drawn, points: int, before: Before | None) -> DrawCurve:
    """`draw` for a bow as built, drawn as far as the archer draws it.

    Raises
    ------
    SetupError, ShotError
    """
    whole_number("points", points, "a number of points", 2, MOST_POINTS)
    full, braced = drawing.setup, drawing.braced
    steps = drawing.curve(last, points)
    length = np.array([TRADE - drawing.begin] + [TRADE - d.throat_x for d in steps])
    force = np.array([0.0] + [d.weight for d in steps])
    begin_energy = drawing.bow_energy(braced.x, braced.y, last.level)
    energy = np.array([0.0] + [d.energy - begin_energy for d in steps])
    strain = strained(full, braced, last)
    passed = warnings.of_limits(full, braced, last, strain)
    others = [
        *warnings.of_changes(full, last.weight, before), *warnings.of_bow(full, braced),
    ]  # fmt: skip
    told = warnings.all_told(passed, others)
    return DrawCurve(length, force, energy, tuple(steps), braced, built, told, tuple(passed), strain)


def shoot(
    setup: Setup, mesh: str | Mesh = "default", *, trace: bool = True, before: Setup | Before | None = None
) -> Launch:
    """Loose one arrow.

    Parameters
    ----------
    setup : Setup
        Measured (then fitted first) or built.
    mesh : str or Mesh
        "coarse", "default", "fine" or a `Mesh`.
    trace : bool
        Keep the traces over time and the pictures of all nodes.
    before : Setup, optional
        The bow before it was changed to ``setup``: more draw weight than it has, and limbs of another width or
        thickness, carry their cautions. Default: where bolts have been turned since the bow was measured, the bow
        as measured; else nothing is compared.

    Returns
    -------
    Launch

    Raises
    ------
    SetupError
        Where the setup contradicts itself.
    ShotError
        Where a stage has no answer; the message says what to do.
    """
    done = fit(setup, mesh)
    return shoot_drawn(done.setup, *_at_full_draw(done, mesh), trace=trace, before=before_of(before, mesh, setup))


def shoot_built(
    built: Setup, mesh: str | Mesh, *, trace: bool, step_factor: float = 1.0, before: Before | None = None
) -> Launch:
    """`shoot` for a setup of form "built"; ``step_factor`` shortens the time step."""
    drawing, drawn = _at_full_draw(Fit(built, (), 1.0, 0), mesh)
    return shoot_drawn(built, drawing, drawn, trace=trace, step_factor=step_factor, before=before)


def _at_full_draw(done: Fit, mesh: str | Mesh) -> tuple[Drawing, Drawn]:
    """The bow as built, braced and drawn as far as the archer draws it; where the fit has done that, its own."""
    if done.drawing is not None and done.drawn is not None and done.drawn.throat_x == full_draw_x(done.drawing.setup):
        return done.drawing, done.drawn
    full = filled(done.setup)
    braced = brace_with_string(full, float(full.string.length), mesh_of(mesh))  # type: ignore[arg-type]
    return draw_to(full, braced, full_draw_x(full))


def shoot_drawn(
    built: Setup, drawing: Drawing, drawn: Drawn, *, trace: bool, step_factor: float = 1.0, before: Before | None
) -> Launch:  # fmt: skip
    """`shoot_built` for a bow drawn already, as far as the archer draws it."""
    full = drawing.setup
    for halved in range(HALVINGS + 1):
        try:
            launch = _loosed(built, full, drawing, drawn, trace, step_factor * 0.5**halved, before)
        except ShotError as error:
            if error.status != NOT_FINITE or halved == HALVINGS:
                raise
            continue
        energy = launch.clear.energy
        if abs(energy.residual) < STEADY * energy.stored:
            return launch
    raise ShotError("release", UNSTEADY)


def _loosed(
    built: Setup, full: Any, drawing: Drawing, drawn: Drawn, trace: bool, step_factor: float, before: Before | None
) -> Launch:
    loosed = loose(drawing, drawn, rows=ROWS if trace else 0, frames=FRAMES if trace else 0, step_factor=step_factor)
    braced = drawing.braced
    strain = strained(full, braced, drawn)
    passed = warnings.of_limits(full, braced, drawn, strain)
    others = [
        *warnings.of_changes(full, drawn.weight, before), *warnings.of_bow(full, braced),
        *warnings.of_release(drawing, loosed),
    ]  # fmt: skip
    told = warnings.all_told(passed, others)
    return make_launch(built, full, drawing, drawn, loosed, told, tuple(passed), strain, trace)
