"""Uncertainty of the result from that of the inputs: linear, by quasi-Monte Carlo, and whose share it is."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from archerysim.equipment import Setup, SetupError, filled
from archerysim.errors import ShotError
from archerysim.fields.result import result
from archerysim.shot.arrays.mesh import Mesh
from archerysim.study.run.progress import watched
from archerysim.study.uncertainty.inputs import Input, inputs_from, moved_together, quasi_normal, usual_inputs
from archerysim.study.uncertainty.sensitivity import ANSWERS, answers, slope_over_spread

NAMES = tuple(name for name, _, _ in ANSWERS)


@result("names", "units", "value", "mean", "spread", "sample", "failed")
@dataclass(frozen=True)
class Uncertainty:
    """How sure the answers are.

    Attributes
    ----------
    names, units : tuple of str
        Of the answers: together reading (bare and fletched together at 18 m), nil reading, pitch, pitch rate, angle
        of attack, vertical velocity, speed (at clear).
    inputs : tuple of Input
    value : (7,) array
        With every input at its value; nan for a reading that this bow does not have.
    linear : (7,) array
        Standard deviation by linear propagation.
    slopes : (k, 7) array
        Change for one standard deviation of each input.
    sample : (n, 7) array
        Answers of the quasi-random draws; nan where a draw has none.
    mean, spread : (7,) arrays
        Of the draws that have an answer.
    low, high : (7,) arrays
        Their 5 % and 95 % points.
    failed : int
        Draws without an answer of some kind.
    total : (k, 7) array or None
        Total-order Sobol indices.
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


def uncertainty(
    setup: Setup,
    uncertainty: Mapping[str, Any] | None = None,
    *,
    draws: int = 128,
    indices: bool = False,
    seed: int = 0,
    mesh: str | Mesh = "default",
    progress: bool | Callable[[int, int], None] | None = None,
) -> Uncertainty:
    """Propagate the inputs' standard deviations to the answers.

    Parameters
    ----------
    uncertainty : dict of dotted path to standard deviation, optional
        As for `sensitivity`. Inputs are independent and normal, kept within their allowed ranges.
    draws : int
        Quasi-random draws, a power of two (Sobol sequence, scrambled with ``seed``).
    indices : bool
        Total-order Sobol indices too (Saltelli's estimator in SciPy): about draws x (inputs + 2) shots more.
    seed : int
    mesh, progress
        As for `sweep`.

    Raises
    ------
    SetupError, ShotError
    """
    full = filled(setup)
    inputs = inputs_from(setup, uncertainty) if uncertainty else usual_inputs(setup)
    normal = quasi_normal(len(inputs), draws, seed)
    base = answers(setup, mesh)
    first = base.first()
    slopes = np.array([slope_over_spread(setup, full, one, mesh, first)[0] for one in inputs])
    sample = np.full((draws, len(NAMES)), np.nan)
    for k, row in watched(enumerate(normal), draws, progress):
        sample[k] = _answers_at(setup, inputs, row, mesh, first)
    mean, spread, low, high = _statistics(sample)
    total = None
    if indices:
        total = _total_indices(setup, inputs, draws, seed, mesh, first)
    return Uncertainty(
        NAMES, tuple(unit for _, unit, _ in ANSWERS), inputs, base.values, np.sqrt((slopes**2).sum(axis=0)), slopes,
        sample, mean, spread, low, high, int((~np.isfinite(sample)).any(axis=1).sum()), total,
    )  # fmt: skip


def _statistics(sample: np.ndarray) -> np.ndarray:
    """Mean, standard deviation, 5 % and 95 % point of each answer over the draws that have it (4, answers)."""
    out = np.full((4, sample.shape[1]), np.nan)
    for k, column in enumerate(sample.T):
        good = column[np.isfinite(column)]
        if good.size > 1:
            out[:, k] = good.mean(), good.std(ddof=1), np.quantile(good, 0.05), np.quantile(good, 0.95)
    return out


def _answers_at(
    setup: Setup, inputs: tuple[Input, ...], normal: np.ndarray, mesh: str | Mesh, first: tuple[float, float]
) -> np.ndarray:
    """Answers with every input moved by so many standard deviations; nan where there are none."""
    try:
        return answers(setup.replace(moved_together(setup, inputs, normal)), mesh, first).values
    except (SetupError, ShotError):
        return np.full(len(NAMES), np.nan)


def _total_indices(
    setup: Setup, inputs: tuple[Input, ...], draws: int, seed: int, mesh: str | Mesh,
    first: tuple[float, float],
) -> np.ndarray:  # fmt: skip
    from scipy.stats import norm, sobol_indices

    def model(x: np.ndarray) -> np.ndarray:
        rows = np.array([_answers_at(setup, inputs, row, mesh, first) for row in x.T])
        for column in rows.T:  # a draw without an answer counts as the mean
            good = np.isfinite(column)
            column[~good] = column[good].mean() if good.any() else np.nan
        return rows.T

    result = sobol_indices(func=model, n=draws, dists=[norm()] * len(inputs), rng=np.random.default_rng(seed))
    return np.asarray(result.total_order).T
