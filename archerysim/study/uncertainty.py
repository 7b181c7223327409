"""Uncertainty of the result from that of the inputs: linear, by quasi-Monte Carlo, and whose share it is."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from archerysim.equipment import Setup, SetupError, filled
from archerysim.shot.errors import ShotError
from archerysim.shot.mesh import Mesh
from archerysim.study.inputs import Input, inputs_from, moved_together, quasi_normal, usual_inputs
from archerysim.study.progress import watched
from archerysim.study.sensitivity import ANSWERS, answers, slope_over_spread

NAMES = tuple(name for name, _, _ in ANSWERS)


@dataclass(frozen=True)
class Uncertainty:
    """How sure the answers are.

    Attributes
    ----------
    names, units : tuple of str
        Of the answers: nil reading, pitch, pitch rate, angle of attack, vertical velocity, speed (at clear).
    inputs : tuple of Input
    value : (6,) array
        With every input at its value.
    linear : (6,) array
        Standard deviation by linear propagation.
    slopes : (k, 6) array
        Change for one standard deviation of each input.
    sample : (n, 6) array
        Answers of the quasi-random draws; rows of nan where a draw failed.
    mean, spread : (6,) arrays
        Of the sample.
    low, high : (6,) arrays
        5 % and 95 % points of the sample.
    failed : int
        Draws without an answer.
    total : (k, 6) array or None
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
    uncertainty: dict[str, Any] | None = None,
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
    value = answers(setup, mesh)
    first = (value[0] * 1e-3 - 0.001, value[0] * 1e-3 + 0.001)
    slopes = np.array([slope_over_spread(setup, full, one, mesh, first) for one in inputs])
    sample = np.full((draws, len(NAMES)), np.nan)
    for k, row in watched(enumerate(normal), draws, progress):
        sample[k] = _answers_at(setup, inputs, row, mesh, first)
    good = sample[np.isfinite(sample[:, 0])]
    total = None
    if indices:
        total = _total_indices(setup, inputs, draws, seed, mesh, first)
    return Uncertainty(
        NAMES, tuple(unit for _, unit, _ in ANSWERS), inputs, value, np.sqrt((slopes**2).sum(axis=0)), slopes, sample,
        good.mean(axis=0), good.std(axis=0, ddof=1), np.quantile(good, 0.05, axis=0), np.quantile(good, 0.95, axis=0),
        draws - len(good), total,
    )  # fmt: skip


def _answers_at(
    setup: Setup, inputs: tuple[Input, ...], normal: np.ndarray, mesh: str | Mesh, first: tuple[float, float]
) -> np.ndarray:
    """Answers with every input moved by so many standard deviations; nan where there are none."""
    try:
        return answers(setup.replace(**moved_together(setup, inputs, normal)), mesh, first)
    except (SetupError, ShotError):
        return np.full(len(NAMES), np.nan)


def _total_indices(
    setup: Setup, inputs: tuple[Input, ...], draws: int, seed: int, mesh: str | Mesh,
    first: tuple[float, float],
) -> np.ndarray:  # fmt: skip
    from scipy.stats import norm, sobol_indices

    def model(x: np.ndarray) -> np.ndarray:
        rows = np.array([_answers_at(setup, inputs, row, mesh, first) for row in x.T])
        bad = ~np.isfinite(rows[:, 0])
        rows[bad] = np.nanmean(rows, axis=0)
        return rows.T

    result = sobol_indices(func=model, n=draws, dists=[norm()] * len(inputs), rng=np.random.default_rng(seed))
    return np.asarray(result.total_order).T
