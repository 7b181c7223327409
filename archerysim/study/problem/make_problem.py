"""A problem made of a bow: what is varied, what is told, what was measured."""

from __future__ import annotations

import os
import pickle
from collections.abc import Mapping
from concurrent.futures import Executor
from dataclasses import replace
from typing import Any

from archerysim.equipment import NO_CHANGES, Setup, SetupError
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.columns import BY_PASSAGE, OF_ONE_SHOT
from archerysim.shot.fitted_bow import Changes, FittedBow
from archerysim.shot.flight.bare_shaft import leaving_at_sight
from archerysim.shot.flight.fly import check_distance
from archerysim.shot.flight.sight import sight_of
from archerysim.shot.hold import Hold, hold_words
from archerysim.study.measured.data import OwnData
from archerysim.study.problem.measured_values import measured_on, values_of
from archerysim.study.problem.observables import NAMED, Observable, Sight, observables, told
from archerysim.study.problem.problem import Problem
from archerysim.study.problem.unknowns import unknowns_of
from archerysim.study.run.how_to_run import HowToRun, Progress

SIDEWAYS = {*OF_ONE_SHOT, *BY_PASSAGE, "side_aim_angle", "bare_aside"}  # nan in a shot in one plane


def problem(
    bow: Setup | FittedBow,
    inputs: Mapping[str, Any],
    outputs: Any = ("pitch", "pitch_rate", "angle_of_attack", "vertical_velocity", "speed"),
    *,
    measured: Mapping[str, Any] | None = None,
    data: OwnData | None = None,
    errors: Mapping[str, Any] | None = None,
    distance: Any = "18 m",
    changes: Changes = NO_CHANGES,
    hold: Hold = None,
    mesh: str | Mesh = "default",
    planes: int | None = None,
    workers: int | None = None,
    executor: Executor | None = None,
    store: str | os.PathLike[str] | None = None,
    progress: Progress = False,
) -> Problem:
    """Make a bow a function of a vector, as samplers, optimisers and designs of other libraries take one.

    Parameters
    ----------
    bow : Setup or FittedBow
    inputs : mapping of dotted path to what is known
        A standard deviation about today's value ("0.5 mm", "20 %"), two ends of a flat prior ("4 mm to 12 mm"), or a
        frozen distribution of SciPy with the field's unit, ``(norm(8.0, 0.5), "mm")``. Bounds enclose all but
        6e-7 of it, within the field's allowed range. Inputs that are measured on the bow have it fitted anew, as
        in a sweep. "track.time_offset", "track.shift_x" and "track.shift_y" move a film against the model.
    outputs : names, observables, or mapping of name to function
        Quantities of a sweep at clear ("pitch"), at separation ("separation.pitch"), "bare_above" and "bare_aside" [mm]
        at the distance, or `Observable` with a function of a `Launch` or `Flight`.
    measured : mapping of name to (value, error), optional
        What was measured of any of these: ``{"pitch": ("0.3 deg", "0.1 deg"), "bare_above": ("-4 cm", "1 cm")}``. Bare
        beside fletched shafts have the difference taken off that drag alone makes, as everywhere.
    data, errors
        Draw force, speeds and a film as for `compare_data`, and what one of their values may be off.
    distance : str or another number with its unit
        Of the target.
    changes, hold, mesh, planes, workers, executor, store, progress
        As for `sweep`; a point is a vector. One call for many vectors is spread over the workers;
        one for a single vector is computed here, and does not look into the store.

    Returns
    -------
    Problem

    Raises
    ------
    SetupError, ShotError
        Where an argument is wrong, or the bow as it is cannot be shot.

    Examples
    --------
    >>> import archerysim
    >>> from scipy.optimize import least_squares
    >>> setup = archerysim.load("examples/club-outdoor.toml")
    >>> known = {"nock.locators.reading": "2 mm to 14 mm"}
    >>> asked = archerysim.problem(setup, known, ("pitch",), measured={"pitch": ("0.2 deg", "0.05 deg")})
    >>> found = least_squares(asked.residuals, asked.today, bounds=asked.bounds.T, diff_step=0.02)
    >>> bool(found.x[0] < 8.0)  # nose up: lower locators
    True
    """
    how, far = HowToRun(workers, executor, store, progress), check_distance(distance)
    words = hold_words(hold)
    first = FittedBow.of(bow, mesh, changes, words, planes)
    wanted = observables(outputs)
    compared = values_of(measured, NAMED | {one.name: one for one in wanted})
    asked = (*wanted, *(one for one, _, _ in compared))
    for one in asked:
        if first.planes == 1 and one.own is None and one.name.removeprefix("separation.") in SIDEWAYS:
            raise SetupError("outputs", f"{one.name} is of a shot in both planes", "Leave it out, or give planes=2")
    launch = first.launch()
    aim = sight_of(launch, far) if {one.of for one in asked} & {"bare", "flight"} else None
    sight = None if aim is None else Sight(far, aim, leaving_at_sight(launch, far))
    told(launch, asked, sight)  # a function of one's own that fails does so here
    told_by = measured_on(first, compared, data, errors)
    return Problem(
        first, unknowns_of(first, inputs, words, data), wanted, told_by, sight, words, _sent(how, asked),
        told_by.log_scale(first),
    )  # fmt: skip


def _sent(how: HowToRun, asked: tuple[Observable, ...]) -> HowToRun:
    """How to run where functions of one's own cannot be sent to other processes: in this one."""
    for one in asked:
        try:
            pickle.dumps(one.own)
        except (pickle.PicklingError, AttributeError, TypeError):
            if how.executor is not None or how.workers not in (None, 1):
                raise SetupError(
                    "outputs", f"{one.name}: its function cannot be sent to other processes",
                    "Use a function of a module, or workers=1",
                ) from None  # fmt: skip
            return replace(how, workers=1)
    return how
