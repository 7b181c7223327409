"""One shot from full draw: let go, report."""

from __future__ import annotations

from archerysim.equipment import Setup
from archerysim.equipment.filled_setup import FilledSetup
from archerysim.errors import ShotError
from archerysim.shot import warnings
from archerysim.shot.bow_before import Before
from archerysim.shot.edit import Edit
from archerysim.shot.launch import Launch, make_launch
from archerysim.shot.release.release import FRAMES, ROWS, loose
from archerysim.shot.statics.draw import Drawing
from archerysim.shot.statics.drawn import Drawn
from archerysim.shot.statics.strain import strained
from archerysim.status import LIES_TOO_FAR, NOT_FINITE, UNSTEADY

STEADY = 1e-3  # share of the stored energy that may be missing; else the step was too long for what came on the way
HALVINGS = 4  # of the step, before the shot is given up
MORE_TRIALS = {NOT_FINITE: HALVINGS, LIES_TOO_FAR: 1}  # with half the step, where one that was too long may end so


def shoot_drawn(
    built: Setup, drawing: Drawing, drawn: Drawn, *, trace: bool, step_factor: float, before: Before | None,
    edits: tuple[Edit, ...], planes: int,
) -> Launch:  # fmt: skip
    """The shot of a bow as built, drawn as far as the archer draws it; ``step_factor`` shortens the time step.

    Raises
    ------
    ShotError
    """
    full = drawing.setup
    for halved in range(HALVINGS + 1):
        try:
            launch = _loosed(built, full, drawing, drawn, trace, step_factor * 0.5**halved, before, edits, planes)
        except ShotError as error:
            if halved >= MORE_TRIALS.get(error.status, 0):
                raise
            continue
        energy = launch.clear.energy
        if abs(energy.residual) < STEADY * energy.stored:
            return launch
    raise ShotError("release", UNSTEADY)


def _loosed(
    built: Setup, full: FilledSetup, drawing: Drawing, drawn: Drawn, trace: bool, step_factor: float,
    before: Before | None, edits: tuple[Edit, ...], planes: int,
) -> Launch:  # fmt: skip
    rows, frames = (ROWS, FRAMES) if trace else (0, 0)
    loosed = loose(drawing, drawn, rows=rows, frames=frames, step_factor=step_factor, planes=planes)
    braced = drawing.braced
    strain = strained(full, braced, drawn)
    passed = warnings.of_limits(full, braced, drawn, strain)
    others = [
        *warnings.of_strain(strain), *warnings.of_changes(full, drawn.weight, before), *warnings.of_bow(full, braced),
        *warnings.of_release(drawing, loosed), *warnings.of_passing(full, loosed),
    ]  # fmt: skip
    sentences = warnings.all_warnings(passed, others)
    return make_launch(built, full, drawing, drawn, loosed, sentences, tuple(passed), strain, trace, edits)
