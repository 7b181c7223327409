"""A problem made of a bow: what is varied, what is told, what was measured."""

from __future__ import annotations

import os
from collections.abc import Mapping
from concurrent.futures import Executor
from typing import Any

from archerysim.equipment import NO_CHANGES, Setup
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.fitted_bow import Changes, FittedBow
from archerysim.shot.flight.bare_shaft import gap_at, leaving_at_sight
from archerysim.shot.flight.fly import check_distance
from archerysim.shot.hold import Hold, hold_words
from archerysim.study.measured.data import OwnData
from archerysim.study.measured.search import errors_of
from archerysim.study.problem.measured_values import Measured, late_rows, values_of
from archerysim.study.problem.observables import NAMED, Sight, observables
from archerysim.study.problem.problem import Problem
from archerysim.study.problem.unknowns import unknowns_of
from archerysim.study.run.how_to_run import HowToRun, Progress


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
        frozen distribution of `scipy.stats` with the field's unit, ``(norm(8.0, 0.5), "mm")``. Bounds are where all but
        6e-7 of it ends, within the field's allowed range. Inputs that are measured on the bow have it fitted anew, as
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
        As for `sweep`; a point is a vector. With workers, one call for many vectors is spread over them.

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
    first = FittedBow.of(bow, mesh, changes, None, planes)
    unknowns, wanted = unknowns_of(first, inputs, words), observables(outputs)
    known = NAMED | {one.name: one for one in wanted}
    compared = values_of(measured, known)
    flying = {one.of for one in (*wanted, *(one for one, _, _ in compared))} & {"bare", "flight"}
    told_by = Measured(compared, data, errors_of(errors), late_rows(first, data))
    sight = _sight(first, far) if flying else None
    return Problem(first, unknowns, wanted, told_by, sight, words, how, told_by.log_scale(first))


def _sight(bow: FittedBow, distance: float) -> Sight:
    launch = bow.launch()
    leaving = leaving_at_sight(launch, distance)
    plain = gap_at(launch, distance, leaving, lift=False).height
    return Sight(distance, leaving.up, leaving.aside, plain)
