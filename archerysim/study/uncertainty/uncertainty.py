"""Uncertainty of the result from that of the inputs: linear, by quasi-Monte Carlo, and whose share it is."""

from __future__ import annotations

import os
from collections.abc import Mapping
from concurrent.futures import Executor
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.equipment import NO_CHANGES, Setup, SetupError, field_info, filled
from archerysim.fields.result import result
from archerysim.fields.to_xarray import Variables, dataset, words
from archerysim.fields.udunits import udunits
from archerysim.fields.units import from_si
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.fitted_bow import Changes, FittedBow
from archerysim.shot.hold import Hold
from archerysim.study.run.how_to_run import HowToRun, Progress
from archerysim.study.run.run import run_in_order
from archerysim.study.uncertainty.inputs import (
    Input,
    draws_of,
    inputs_from,
    moved_together,
    quasi_normal,
    with_reading_given,
)
from archerysim.study.uncertainty.sensitivity import (
    ANSWERS,
    SIDEWAYS,
    AnswersMoved,
    answers,
    answers_in,
    both_sides,
    slopes_over_spread,
    values_of,
)

if TYPE_CHECKING:
    import xarray


@result("names", "units", "value", "mean", "spread", "sample", "failed")
@dataclass(frozen=True)
class Uncertainty:
    """How sure the answers are.

    Attributes
    ----------
    names, units : tuple of str
        Of the answers: together reading (bare and fletched together at 18 m), reading of zero attack, pitch, pitch
        rate, angle of attack, vertical velocity, speed (at clear); and in both planes the side angle of attack.
    inputs : tuple of Input
    value : (a,) array
        With every input at its value; nan for a reading that this bow does not have.
    linear : (a,) array
        Standard deviation by linear propagation; nan where an input has no slope.
    slopes : (k, a) array
        Change for one standard deviation of each input; nan where a bow moved to one side has no answer.
    sample : (n, a) array
        Answers of the quasi-random draws; nan where a draw has none.
    mean, spread : (a,) arrays
        Of the draws that have an answer.
    low, high : (a,) arrays
        Their 5 % and 95 % points.
    failed : int
        Draws without an answer of some kind.
    total : (k, a) array or None
        Total-order Sobol indices.
    reasons : tuple of str
        Why an input has no slope, or not all; empty where it has.
    setup : Setup
        As given.
    warnings, limits_passed : tuple of str
        Of a shot of the bow as given, with the cautions for bare shafts; which limits the first of them are about.
    drawn : (n, k) array
        The inputs of every draw, each in its field's unit (``input_units``); nan where a draw could not be made. A
        reading is by the setup's convention.
    seed : int
        Of the draws.
    touches : bool
        Whether the shaft of the bow as given touches rest or side support on its way out: the slopes then hold on this
        side of the contact only.

    Examples
    --------
    >>> import archerysim
    >>> slips = {"nock.locators.reading": "0.5 mm", "bow.upper_tiller": "1 mm"}
    >>> found = archerysim.uncertainty(archerysim.load("examples/club-outdoor.toml"), slips, draws=4, mesh="coarse")
    >>> found.sample.shape == (4, len(found.names)), found.slopes.shape == (2, len(found.names))
    (True, True)
    """

    names: tuple[str, ...]
    units: tuple[str, ...]
    inputs: tuple[Input, ...]
    value: np.ndarray
    linear: np.ndarray
    slopes: np.ndarray
    sample: np.ndarray
    mean: np.ndarray
    spread: np.ndarray
    low: np.ndarray
    high: np.ndarray
    failed: int
    total: np.ndarray | None
    reasons: tuple[str, ...]
    setup: Setup
    warnings: tuple[str, ...]
    limits_passed: tuple[str, ...]
    drawn: np.ndarray
    seed: int
    touches: bool

    @property
    def input_units(self) -> tuple[str, ...]:
        """Units of the inputs' fields.

        Examples
        --------
        >>> import archerysim
        >>> slips = {"nock.locators.reading": "0.5 mm", "bow.draw_weight": "0.25 lbf"}
        >>> found = archerysim.uncertainty(archerysim.load("examples/club-outdoor.toml"), slips, draws=4, mesh="coarse")
        >>> found.input_units, found.drawn.shape
        (('mm', 'lbf'), (4, 2))
        """
        return tuple(field_info(one.path).unit for one in self.inputs)

    @property
    def shares(self) -> np.ndarray:
        """Share of each input in the variance of each answer by linear propagation (k, a).

        Examples
        --------
        >>> import archerysim
        >>> slips = {"nock.locators.reading": "0.5 mm", "bow.upper_tiller": "1 mm"}
        >>> found = archerysim.uncertainty(archerysim.load("examples/club-outdoor.toml"), slips, draws=4, mesh="coarse")
        >>> attack = found.names.index("angle_of_attack")
        >>> round(float(found.shares[:, attack].sum()), 6), [one.path for one in found.inputs]
        (1.0, ['nock.locators.reading', 'bow.upper_tiller'])
        """
        with np.errstate(invalid="ignore"):
            return np.asarray(self.slopes**2 / self.linear**2)

    def to_xarray(self) -> xarray.Dataset:
        """The answers as a table with units, along "input" and "draw".

        Of each answer X: ``X``, its ``X_linear``, ``X_mean``, ``X_spread``, ``X_low``, ``X_high``, and ``X_slope``,
        ``X_sample``, ``X_total``, as the attributes of this class.

        Examples
        --------
        >>> import archerysim
        >>> slips = {"nock.locators.reading": "0.5 mm", "bow.upper_tiller": "1 mm"}
        >>> setup = archerysim.load("examples/club-outdoor.toml")
        >>> table = archerysim.uncertainty(setup, slips, draws=4, mesh="coarse").to_xarray()
        >>> dict(table.sizes)
        {'input': 2, 'draw': 4}
        """
        texts = {name: text for name, _, text in (*ANSWERS, SIDEWAYS)}
        variables: Variables = {
            "input": words([one.path for one in self.inputs], "input", "what was taken as uncertain"),
            "input_unit": words([one or "1" for one in self.input_units], "input", "unit of the input's field"),
            "drawn": (
                ("draw", "input"),
                self.drawn,
                {
                    "long_name": "inputs of every draw",
                    "comment": "each in its input_unit",
                },
            ),
        }
        for k, (name, unit) in enumerate(zip(self.names, self.units, strict=True)):
            for ending, axes, values, what in (
                ("", (), self.value, ""),
                ("_linear", (), self.linear, "standard deviation by linear propagation"),
                ("_mean", (), self.mean, "mean of the draws"),
                ("_spread", (), self.spread, "standard deviation of the draws"),
                ("_low", (), self.low, "5 % point of the draws"),
                ("_high", (), self.high, "95 % point of the draws"),
                ("_slope", ("input",), self.slopes, "change for one standard deviation of the input"),
                ("_sample", ("draw",), self.sample, "of every draw"),
                ("_total", ("input",), self.total, "total-order Sobol index"),
            ):
                if values is not None:
                    long_name = f"{texts[name]}: {what}" if what else texts[name]
                    about = {"units": udunits("" if ending == "_total" else unit), "long_name": long_name}
                    variables[name + ending] = (axes, values[..., k], about)
        return dataset(variables, "how sure the answers are")


def uncertainty(
    bow: Setup | FittedBow,
    uncertainty: Mapping[str, Any] | None = None,
    *,
    draws: int = 128,
    indices: bool = False,
    seed: int = 0,
    mesh: str | Mesh = "default",
    planes: int | None = None,
    workers: int | None = None,
    executor: Executor | None = None,
    store: str | os.PathLike[str] | None = None,
    progress: Progress = None,
    changes: Changes = NO_CHANGES,
    hold: Hold = None,
) -> Uncertainty:
    """Propagate the inputs' standard deviations to the answers.

    Parameters
    ----------
    bow : Setup or FittedBow
        A measured one is fitted anew for every draw.
    uncertainty : mapping of dotted path to standard deviation, optional
        As for `sensitivity`. Inputs are independent and normal, kept within their allowed ranges.
    draws : int
        Quasi-random draws, a power of two (Sobol sequence, scrambled with ``seed``).
    indices : bool
        Total-order Sobol indices too (Saltelli's estimator in SciPy): about draws x (inputs + 2) shots more.
    seed : int
    mesh, planes, workers, executor, store, progress, changes, hold
        As for `sweep`; a point is a draw, or an input moved to one side.

    Raises
    ------
    SetupError, ShotError
        Where the setup itself fails, or an input is one that a sweep refuses.

    Examples
    --------
    >>> import archerysim
    >>> slips = {"nock.locators.reading": "0.5 mm", "bow.upper_tiller": "1 mm"}
    >>> found = archerysim.uncertainty(archerysim.load("examples/club-outdoor.toml"), slips, draws=4, mesh="coarse")
    >>> speed = found.names.index("speed")
    >>> found.units[speed], bool(found.low[speed] < found.value[speed] < found.high[speed])
    ('m/s', True)
    """
    how = HowToRun(workers, executor, store, progress)
    bow = with_reading_given(FittedBow.of(bow, mesh, changes, hold, planes))
    inputs = inputs_from(bow.given, uncertainty, bow.planes)
    normal = quasi_normal(len(inputs), draws, seed)
    base = answers(bow)
    question = AnswersMoved(inputs, base.first())
    sides = both_sides(inputs)
    rows = run_in_order(bow, [*sides, *draws_of(inputs, normal)], question, how)
    slopes, reasons = slopes_over_spread(bow, inputs, rows[: len(sides)])
    sample = values_of(rows[len(sides) :], bow.planes)
    mean, spread, low, high = _statistics(sample)
    total = _total_indices(bow, question, draws, seed, how) if indices else None
    names, units, _ = zip(*answers_in(bow.planes), strict=True)
    return Uncertainty(
        names, units, inputs, base.values, np.sqrt((slopes**2).sum(axis=0)), slopes, sample, mean, spread, low, high,
        int((~np.isfinite(sample)).any(axis=1).sum()), total, reasons, bow.given, base.warnings,
        base.launch.limits_passed, _drawn(bow.given, inputs, normal), seed, base.touches,
    )  # fmt: skip


def _drawn(setup: Setup, inputs: tuple[Input, ...], normal: np.ndarray) -> np.ndarray:
    """The inputs' values in every draw, in their fields' units (n, k); nan where a draw contradicts itself."""
    out = np.full(normal.shape, np.nan)
    for row, amounts in zip(out, draws_of(inputs, normal), strict=True):
        try:
            moved = filled(moved_together(setup, inputs, amounts))
        except SetupError:
            continue
        row[:] = [from_si(one.value(moved), field_info(one.path).unit) for one in inputs]
    return out


def _statistics(sample: np.ndarray) -> np.ndarray:
    """Mean, standard deviation, 5 % and 95 % point of each answer over the draws that have it (4, answers)."""
    out = np.full((4, sample.shape[1]), np.nan)
    for k, column in enumerate(sample.T):
        good = column[np.isfinite(column)]
        if good.size > 1:
            out[:, k] = good.mean(), good.std(ddof=1), np.quantile(good, 0.05), np.quantile(good, 0.95)
    return out


def _total_indices(bow: FittedBow, question: AnswersMoved, draws: int, seed: int, how: HowToRun) -> np.ndarray:
    from scipy.stats import norm, sobol_indices

    def model(x: np.ndarray) -> np.ndarray:
        rows = values_of(run_in_order(bow, draws_of(question.inputs, x.T), question, how), bow.planes)
        for column in rows.T:  # a draw without an answer counts as the mean
            good = np.isfinite(column)
            column[~good] = column[good].mean() if good.any() else np.nan
        return rows.T

    dists = [norm()] * len(question.inputs)
    result = sobol_indices(func=model, n=draws, dists=dists, rng=np.random.default_rng(seed))
    return np.asarray(result.total_order).T
