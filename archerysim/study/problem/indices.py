"""Whose share of an output's variance it is: Sobol indices with intervals, regression and rank coefficients."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.equipment import SetupError
from archerysim.fields.given import whole_number
from archerysim.fields.result import result
from archerysim.fields.to_xarray import Variables, dataset
from archerysim.fields.udunits import udunits
from archerysim.study.problem.design import shares

if TYPE_CHECKING:
    import xarray

    from archerysim.study.problem.problem import Problem

SURE = 0.9  # within which the intervals hold
RESAMPLED = 999  # times, for the intervals
LEAST = 0.5  # of the base vectors must have given a shot


@result("inputs", "outputs", "first", "total", "explained", "failed")
@dataclass(frozen=True)
class Indices:
    """Shares of the inputs in the variance of the outputs, inputs independent.

    Attributes
    ----------
    inputs, outputs : tuple of str
    input_units, output_units : tuple of str
    first, total : (k, m) arrays
        First-order and total Sobol indices: the share of an input alone, and with all that it does together with others
        (estimators of A. Saltelli et al., Computer Physics Communications 181 (2010) 259 [memory], as SciPy has them).
    first_range, total_range : (k, m, 2) arrays
        Within which they lie with 90 %, by drawing the base vectors anew (bootstrap).
    regression : (k, m) array
        Standardised coefficients of a linear regression: standard deviations of the output for one of the input.
    rank : (k, m) array
        The same of the ranks.
    explained : (m,) array
        Share of the variance that the linear regression explains; where it is small its coefficients mean little.
    x : (n, k) array
        Base vectors whose outputs, and those of all that belongs to them, are known; the regressions rest on them.
    values : (n, m) array
        Outputs there: their distribution.
    failed : int
        Base vectors left out because a bow that belongs to them gave no shot.
    shots : int
        In all.

    Examples
    --------
    >>> import archerysim
    >>> setup = archerysim.load("examples/club-outdoor.toml")
    >>> known = {"nock.locators.reading": "0.5 mm", "arrow.point_mass": "2 gr"}
    >>> found = archerysim.problem(setup, known, ("pitch", "speed"), mesh="coarse", planes=1).indices(16)
    >>> found.first.argmax(axis=0).tolist(), found.shots  # pitch by the reading, speed by the mass
    ([0, 1], 64)
    """

    inputs: tuple[str, ...]
    outputs: tuple[str, ...]
    input_units: tuple[str, ...]
    output_units: tuple[str, ...]
    first: np.ndarray
    total: np.ndarray
    first_range: np.ndarray
    total_range: np.ndarray
    regression: np.ndarray
    rank: np.ndarray
    explained: np.ndarray
    x: np.ndarray
    values: np.ndarray
    failed: int
    shots: int

    def to_xarray(self) -> xarray.Dataset:
        """Indices along "input" and "output", with the design and its outputs along "point".

        Examples
        --------
        >>> import archerysim
        >>> setup = archerysim.load("examples/club-outdoor.toml")
        >>> known = {"nock.locators.reading": "0.5 mm", "arrow.point_mass": "2 gr"}
        >>> found = archerysim.problem(setup, known, ("pitch", "speed"), mesh="coarse", planes=1).indices(16)
        >>> sorted(found.to_xarray()[["first", "total"]].sizes)
        ['input', 'output']
        """
        both, ends = ("input", "output"), ("input", "output", "end")
        sure = f"within which it lies with {100 * SURE:.0f} %"
        table: Variables = {
            "first": (both, self.first, {"units": "1", "long_name": "first-order Sobol index"}),
            "total": (both, self.total, {"units": "1", "long_name": "total Sobol index"}),
            "first_range": (ends, self.first_range, {"units": "1", "long_name": f"first-order Sobol index: {sure}"}),
            "total_range": (ends, self.total_range, {"units": "1", "long_name": f"total Sobol index: {sure}"}),
            "regression": (both, self.regression, {"units": "1", "long_name": "standardised regression coefficient"}),
            "rank": (both, self.rank, {"units": "1", "long_name": "standardised regression coefficient of the ranks"}),
            "explained": (
                ("output",),
                self.explained,
                {"units": "1", "long_name": "share that it explains"},
            ),
        }
        for k, (path, unit) in enumerate(zip(self.inputs, self.input_units, strict=True)):
            table[path.replace(".", "_")] = (("point",), self.x[:, k], {"units": udunits(unit), "long_name": path})
        for m, (name, unit) in enumerate(zip(self.outputs, self.output_units, strict=True)):
            about = {"units": udunits(unit), "long_name": f"{name.replace('_', ' ')} of every base vector"}
            table[f"{name.replace('.', '_')}_sample"] = (("point",), self.values[:, m], about)
        about = {"failed": str(self.failed), "shots": str(self.shots)}
        named = dataset(table, "shares in the variance", **about)
        return named.assign_coords(input=list(self.inputs), output=list(self.outputs), end=["low", "high"])


def indices(asked: Problem, count: int, seed: int) -> Indices:
    """Indices of a problem's outputs; see `Problem.indices`."""
    from scipy.stats import sobol_indices

    whole_number("count", count, "a number of base vectors", 4)
    k = len(asked.unknowns)
    both = shares(count, 2 * k, "sobol", seed)
    base, other = both[:, :k], both[:, k:]
    mixed = np.repeat(base[None], k, axis=0)
    for one in range(k):
        mixed[one, :, one] = other[:, one]
    points = asked.from_unit_cube(np.concatenate([base, other, mixed.reshape(-1, k)]))
    found = asked.evaluate(points).values.reshape(2 + k, count, -1)
    good = np.isfinite(found).all(axis=(0, 2))
    if good.sum() < max(4, LEAST * count):
        raise SetupError(
            "inputs", f"only {int(good.sum())} of {count} base vectors give a shot in all that belongs to them",
            "Narrow the priors, or look at evaluate(...).reasons",
        )  # fmt: skip
    a, b, ab = found[0][good].T, found[1][good].T, np.moveaxis(found[2:][:, good], -1, 1)
    constant = np.ptp(np.concatenate([a, b], axis=1), axis=1) <= 0.0
    if constant.any():
        names = ", ".join(name for name, one in zip(asked.output_names, constant, strict=True) if one)
        raise SetupError("outputs", f"{names}: the same at every vector, so that there is no variance", "Leave it out")
    middle = np.concatenate([a, b], axis=1).mean(axis=1)[:, None]  # the estimators are steadier about zero
    told = sobol_indices(func={"f_A": a - middle, "f_B": b - middle, "f_AB": ab - middle}, n=int(good.sum()))
    ranges = told.bootstrap(confidence_level=SURE, n_resamples=RESAMPLED)
    x, values = points[:count][good], a.T
    slopes, explained = _regression(x, values)
    rank, _ = _regression(_ranks(x), _ranks(values))
    first, total = _matrix(told.first_order, k), _matrix(told.total_order, k)
    first_range, total_range = (_ends(one.confidence_interval, k) for one in (ranges.first_order, ranges.total_order))
    return Indices(
        asked.names, asked.output_names, asked.units, asked.output_units, first, total, first_range, total_range,
        slopes, rank, explained, x, values, int(count - good.sum()), len(points),
    )  # fmt: skip


def _matrix(told: np.ndarray, inputs: int) -> np.ndarray:
    """Indices (k, m) of what SciPy tells as (m, k), or (k,) of one output."""
    return np.asarray(told).reshape(-1, inputs).T


def _ends(interval: Any, inputs: int) -> np.ndarray:
    """An interval's ends (k, m, 2)."""
    return np.stack([_matrix(interval.low, inputs), _matrix(interval.high, inputs)], axis=-1)


def _ranks(columns: np.ndarray) -> np.ndarray:
    from scipy.stats import rankdata

    return np.asarray(rankdata(columns, axis=0))


def _regression(x: np.ndarray, values: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Standardised coefficients (k, m), and the share of each variance that they explain (m,)."""
    from_middle, off = x - x.mean(axis=0), values - values.mean(axis=0)
    coefficients, *_ = np.linalg.lstsq(from_middle, off, rcond=None)
    left = off - from_middle @ coefficients
    explained = 1.0 - (left**2).sum(axis=0) / (off**2).sum(axis=0)
    return coefficients * x.std(axis=0)[:, None] / values.std(axis=0)[None, :], explained
