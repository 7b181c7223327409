"""Whose share of an output's variance it is: Sobol indices with intervals, regression and rank coefficients."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

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
ENDS = (0.5 - 0.5 * SURE, 0.5 + 0.5 * SURE)
LEAST = 0.5  # of the base vectors must have given a shot
SAME = 1e-9  # of an output's size: what varies less does not vary


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
        (estimators of A. Saltelli et al., Computer Physics Communications 181 (2010) 259 [memory], and for the total of
        M. Jansen there).
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
    whole_number("count", count, "a number of base vectors", 4)
    k = len(asked.unknowns)
    both = shares(count, 2 * k, "sobol", seed)
    base, other = both[:, :k], both[:, k:]
    mixed = np.repeat(base[None], k, axis=0)
    for one in range(k):
        mixed[one, :, one] = other[:, one]
    points = asked.from_unit_cube(np.concatenate([base, other, mixed.reshape(-1, k)]))
    evaluated = asked.evaluate(points)
    found = evaluated.values.reshape(2 + k, count, -1)
    shot = (evaluated.status == 0).reshape(2 + k, count).all(axis=0)
    if shot.sum() < max(4, LEAST * count):
        raise SetupError(
            "inputs", f"only {int(shot.sum())} of {count} base vectors give a shot in all that belongs to them",
            "Narrow the priors, or look at evaluate(...).reasons",
        )  # fmt: skip
    found = found[:, shot]
    for m, name in enumerate(asked.output_names):
        column = found[..., m]
        if not np.isfinite(column).all():
            lost = int((~np.isfinite(column)).sum())
            raise SetupError("outputs", f"{name} has no value in {lost} of {column.size} shots", "Leave it out")
        if np.ptp(column) <= SAME * max(abs(column).max(), 1e-300):
            raise SetupError("outputs", f"{name} is the same at every vector: there is no variance", "Leave it out")
    a, b, ab = found[0], found[1], found[2:]
    middle = 0.5 * (a.mean(axis=0) + b.mean(axis=0))  # the estimators are steadier about zero
    parts = _Parts(a - middle, b - middle, ab - middle)
    first, total = parts.indices(np.full((1, len(a)), 1.0 / len(a)))
    drawn = np.random.default_rng([seed, count]).multinomial(len(a), np.full(len(a), 1.0 / len(a)), RESAMPLED)
    ranges = [np.moveaxis(np.quantile(one, ENDS, axis=0), 0, -1) for one in parts.indices(drawn / len(a))]
    x = points[:count][shot]
    slopes, explained = _regression(x, a)
    rank, _ = _regression(_ranks(x), _ranks(a))
    return Indices(
        asked.names, asked.output_names, asked.units, asked.output_units, first[0], total[0], ranges[0], ranges[1],
        slopes, rank, explained, x, a, int(count - shot.sum()), len(points),
    )  # fmt: skip


class _Parts:
    """What the estimators average over base vectors: products for the first-order, squares for the total indices."""

    def __init__(self, a: np.ndarray, b: np.ndarray, ab: np.ndarray) -> None:
        self.products, self.squares = b * (ab - a), 0.5 * (a - ab) ** 2  # (k, n, m)
        self.mean, self.square = 0.5 * (a + b), 0.5 * (a * a + b * b)  # (n, m)

    def indices(self, weights: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """First-order and total indices (r, k, m) with the base vectors weighted (r, n)."""
        variance = (weights @ self.square - (weights @ self.mean) ** 2)[:, None, :]
        first, total = (np.einsum("rn,knm->rkm", weights, one) for one in (self.products, self.squares))
        with np.errstate(invalid="ignore", divide="ignore"):
            return first / variance, total / variance


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
