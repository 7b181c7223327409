"""A bow as a problem: a vector in, named outputs out, with units, bounds, priors, residuals and a likelihood."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from archerysim.equipment import SetupError
from archerysim.fields.result import result
from archerysim.shot.fitted_bow import FittedBow
from archerysim.study.measured.search import FAILED
from archerysim.study.problem.derivatives import Derivatives, derivatives
from archerysim.study.problem.design import drawn
from archerysim.study.problem.evaluation import Evaluated, Evaluation
from archerysim.study.problem.indices import Indices, indices
from archerysim.study.problem.measured_values import Measured
from archerysim.study.problem.observables import Observable, Sight
from archerysim.study.problem.unknowns import Place, Unknown
from archerysim.study.run.how_to_run import HowToRun
from archerysim.study.run.row import Row, row_of
from archerysim.study.run.run import run_in_order


@result("names", "units", "output_names", "output_units", "today")
@dataclass(frozen=True)
class Problem:
    """What `problem` makes: a function of a vector, for samplers, optimisers and designs.

    Attributes
    ----------
    bow : FittedBow
    unknowns : tuple of Unknown
        The inputs, in the vector's order.
    outputs : tuple of Observable
    measured : Measured
    sight : Sight or None
    hold : tuple of str
    how : HowToRun
    log_scale : float
        What the errors alone take from the logarithm of the likelihood.

    Examples
    --------
    >>> import archerysim
    >>> setup = archerysim.load("examples/club-outdoor.toml")
    >>> asked = archerysim.problem(setup, {"nock.locators.reading": "4 mm to 12 mm"}, ("pitch", "speed"))
    >>> asked.names, asked.units, asked.bounds.tolist()
    (('nock.locators.reading',), ('mm',), [[4.0, 12.0]])
    >>> pitch, speed = asked([8.0])
    >>> round(float(speed), 1)  # [m/s]
    55.8
    >>> asked([[6.0], [8.0], [10.0]]).shape
    (3, 2)
    """

    bow: FittedBow
    unknowns: tuple[Unknown, ...]
    outputs: tuple[Observable, ...]
    measured: Measured
    sight: Sight | None
    hold: tuple[str, ...]
    how: HowToRun
    log_scale: float

    @property
    def names(self) -> tuple[str, ...]:
        """Paths of the inputs."""
        return tuple(one.path for one in self.unknowns)

    @property
    def units(self) -> tuple[str, ...]:
        """Units of the inputs."""
        return tuple(one.unit for one in self.unknowns)

    @property
    def output_names(self) -> tuple[str, ...]:
        """Names of the outputs."""
        return tuple(one.name for one in self.outputs)

    @property
    def output_units(self) -> tuple[str, ...]:
        """Units of the outputs."""
        return tuple(one.unit for one in self.outputs)

    @property
    def bounds(self) -> np.ndarray:
        """Lowest and highest value of each input (k, 2)."""
        return np.array([(one.low, one.high) for one in self.unknowns])

    @property
    def today(self) -> np.ndarray:
        """The vector of the bow as it is (k,)."""
        return np.array([one.today for one in self.unknowns])

    def __call__(self, x: Any) -> np.ndarray:
        """The outputs at a vector (k,), as (m,), or at many (n, k), as (n, m).

        Raises
        ------
        SetupError, ShotError
            For one vector, where the bow gives no shot; of many, such rows are nan, and `evaluate` has the reasons.
        """
        points, single = self._points(x)
        if not single:
            return self.evaluate(points).values
        return np.array(self._question()(self.bow, {"x": tuple(points[0].tolist())})["values"])

    def evaluate(self, x: Any) -> Evaluated:
        """Outputs and residuals at many vectors, failed ones with their reasons.

        Parameters
        ----------
        x : (n, k) array
            In the inputs' units.

        Raises
        ------
        SetupError
            Where the array is of another shape.

        Examples
        --------
        >>> import archerysim
        >>> setup = archerysim.load("examples/club-outdoor.toml")
        >>> asked = archerysim.problem(setup, {"arrow.point_mass": "10 gr"}, ("speed",))
        >>> found = asked.evaluate([[90.0], [120.0]])
        >>> found.failed, bool(found.values[1, 0] < found.values[0, 0])
        (0, True)
        """
        points, _ = self._points(x)
        rows = self._rows(points)
        none, size = (np.nan,) * len(self.outputs), max((len(row.get("residuals", ())) for row in rows), default=0)
        return Evaluated(
            self.names, self.output_names, self.units, self.output_units, points,
            np.array([row.get("values", none) for row in rows]).reshape(len(points), -1),
            np.array([row.get("residuals", (np.nan,) * size) for row in rows]).reshape(len(points), size),
            np.array([row["status"] for row in rows]), tuple(row["reason"] for row in rows),
            tuple(tuple(row.get("contacts", ())) for row in rows),
        )  # fmt: skip

    def log_prior(self, x: Any) -> Any:
        """Logarithm of the prior density at a vector, or at many (n,); minus infinity outside the bounds.

        Examples
        --------
        >>> import archerysim
        >>> setup = archerysim.load("examples/club-outdoor.toml")
        >>> asked = archerysim.problem(setup, {"nock.locators.reading": "4 mm to 12 mm"}, ("pitch",))
        >>> asked.log_prior([[8.0], [13.0]]).round(3).tolist()  # -log(8), and outside
        [-2.079, -inf]
        """
        points, single = self._points(x)
        out = np.sum([one.log_density(points[:, k]) for k, one in enumerate(self.unknowns)], axis=0)
        return float(out[0]) if single else out

    def from_unit_cube(self, shares: Any) -> np.ndarray:
        """Vectors from the shares of the priors that lie below them: one (k,), or many (n, k).

        So quasi-random sequences and nested samplers draw from the priors.

        Examples
        --------
        >>> import archerysim
        >>> setup = archerysim.load("examples/club-outdoor.toml")
        >>> asked = archerysim.problem(setup, {"nock.locators.reading": "4 mm to 12 mm"}, ("pitch",))
        >>> asked.from_unit_cube([[0.5], [1.0]]).tolist()
        [[8.0], [12.0]]
        """
        given, single = self._points(shares, "shares")
        if ((given < 0.0) | (given > 1.0)).any():
            raise SetupError("shares", "are not all between 0 and 1", "Give shares, not per cents")
        out = np.column_stack([one.at(given[:, k]) for k, one in enumerate(self.unknowns)])
        return np.asarray(out[0] if single else out)

    def residuals(self, x: Any) -> np.ndarray:
        """Computed less measured over the error (r,), or (n, r); 1000 each where the bow gives no shot.

        So least squares of SciPy walk away from there.

        Raises
        ------
        SetupError
            Where nothing was measured.

        Examples
        --------
        >>> import archerysim
        >>> setup = archerysim.load("examples/club-outdoor.toml")
        >>> seen = {"pitch": ("0.1 deg", "0.05 deg")}
        >>> asked = archerysim.problem(setup, {"nock.locators.reading": "4 mm to 12 mm"}, "pitch", measured=seen)
        >>> bool(asked.residuals([6.0])[0] > 0.0 > asked.residuals([10.0])[0])  # lower locators, nose up
        True
        """
        points, single = self._points(x)
        self._check_measured()
        rows = self._rows(points)
        size = max((len(row.get("residuals", ())) for row in rows), default=0) or self._size()
        out = np.array([row.get("residuals", (FAILED,) * size) for row in rows])
        return out[0] if single else out

    def log_likelihood(self, x: Any) -> Any:
        """Logarithm of the likelihood of what was measured, of errors that are normal and independent.

        Minus infinity where the bow gives no shot.

        Raises
        ------
        SetupError
            Where nothing was measured.

        Examples
        --------
        >>> import archerysim
        >>> setup = archerysim.load("examples/club-outdoor.toml")
        >>> seen = {"pitch": ("0.1 deg", "0.05 deg")}
        >>> asked = archerysim.problem(setup, {"nock.locators.reading": "4 mm to 12 mm"}, "pitch", measured=seen)
        >>> asked.log_likelihood([7.0]) > asked.log_likelihood([10.0])
        True
        """
        points, single = self._points(x)
        self._check_measured()
        found = [row.get("residuals") for row in self._rows(points)]
        out = np.array([
            -np.inf if one is None else -0.5 * float(np.dot(one, one)) - self.log_scale for one in found
        ])  # fmt: skip
        return float(out[0]) if single else out

    def log_posterior(self, x: Any) -> Any:
        """`log_prior` and `log_likelihood` together; no bow is shot outside the bounds.

        Examples
        --------
        >>> import archerysim
        >>> setup = archerysim.load("examples/club-outdoor.toml")
        >>> seen = {"pitch": ("0.1 deg", "0.05 deg")}
        >>> asked = archerysim.problem(setup, {"nock.locators.reading": "4 mm to 12 mm"}, "pitch", measured=seen)
        >>> asked.log_posterior([7.0]) == asked.log_prior([7.0]) + asked.log_likelihood([7.0])
        True
        >>> asked.log_posterior([13.0])
        -inf
        """
        points, single = self._points(x)
        out = np.array(self.log_prior(points), dtype=float)
        inside = np.isfinite(out)
        if inside.any():
            out[inside] += self.log_likelihood(points[inside])
        return float(out[0]) if single else out

    def derivatives(self, x: Any = None, steps: Any = None) -> Derivatives:
        """Derivatives of the outputs at a vector, by central differences over a step and over half of it.

        Parameters
        ----------
        x : (k,) array, optional
            Default: the bow as it is.
        steps : float or (k,) array, optional
            Either way, in the inputs' units. Default: a hundredth of the way between the bounds, which is a tenth of
            the standard deviation of a normal prior.

        Returns
        -------
        Derivatives
            With how far both differences lie apart. Where a contact switches within a step there is no derivative: it
            is told instead.

        Raises
        ------
        SetupError
            Where the bow gives no shot at the vector itself.

        Examples
        --------
        >>> import archerysim
        >>> setup = archerysim.load("examples/club-outdoor.toml")
        >>> asked = archerysim.problem(setup, {"arrow.point_mass": "10 gr"}, ("speed",))
        >>> bool(asked.derivatives().values[0, 0] < 0.0)  # heavier, slower
        True
        """
        return derivatives(self, x, steps)

    def draw(self, count: int, *, way: str = "sobol", seed: int = 0, correlation: Any = None) -> np.ndarray:
        """Vectors from the priors (count, k).

        Parameters
        ----------
        count : int
        way : {"sobol", "latin", "chance"}
            A scrambled Sobol sequence (``count`` a power of two), a Latin hypercube, or random numbers.
        seed : int
        correlation : (k, k) array, optional
            Rank correlation (Spearman's) of each pair of inputs; default: independent.

        Raises
        ------
        SetupError

        Examples
        --------
        >>> import archerysim
        >>> import numpy as np
        >>> setup = archerysim.load("examples/club-outdoor.toml")
        >>> known = {"arrow.point_mass": "10 gr", "arrow.spine": "0.02 in"}
        >>> x = archerysim.problem(setup, known, "speed").draw(256, correlation=[[1.0, 0.8], [0.8, 1.0]])
        >>> x.shape, bool(abs(np.corrcoef(x.T)[0, 1] - 0.8) < 0.1)
        ((256, 2), True)
        """
        return drawn(self, count, way, seed, correlation)

    def indices(self, count: int = 256, *, seed: int = 0) -> Indices:
        """Whose share of the outputs' variance it is, the inputs independent: count (k + 2) shots.

        Parameters
        ----------
        count : int
            Base vectors, a power of two.
        seed : int

        Raises
        ------
        SetupError
            Where half of them or more give no shot, or an output is the same everywhere.

        Examples
        --------
        >>> import archerysim
        >>> setup = archerysim.load("examples/club-outdoor.toml")
        >>> known = {"nock.locators.reading": "0.5 mm", "arrow.point_mass": "2 gr"}
        >>> found = archerysim.problem(setup, known, ("pitch",), mesh="coarse", planes=1).indices(16)
        >>> bool(found.total[0, 0] > 0.9 > found.total[1, 0])
        True
        """
        return indices(self, count, seed)

    def _question(self) -> Evaluation:
        places = tuple(Place(one.path, one.unit) for one in self.unknowns)
        return Evaluation(places, self.outputs, self.measured, self.sight, self.hold)

    def _rows(self, points: np.ndarray) -> list[Row]:
        places = [{"x": tuple(point)} for point in points.tolist()]
        if len(places) == 1 and self.how.store is None and self.how.executor is None:
            return [row_of(self._question(), self.bow, places[0])]
        return run_in_order(self.bow, places, self._question(), self.how)

    def _size(self) -> int:
        """How many residuals there are, by the bow as it is."""
        return len(self._question()(self.bow, {"x": tuple(self.today.tolist())})["residuals"])

    def _check_measured(self) -> None:
        if not self.measured.values and self.measured.data is None:
            raise SetupError("measured", "nothing was measured", "Give the problem measured= or data=")

    def _points(self, x: Any, name: str = "x") -> tuple[np.ndarray, bool]:
        """Vectors as rows, and whether it is a single one."""
        k = len(self.unknowns)
        remedy = f"Give ({k},) or (n, {k}) numbers, for {', '.join(self.names)}"
        try:
            given = np.asarray(x, dtype=float)
        except (TypeError, ValueError):
            raise SetupError(name, f"{x!r} holds no numbers", remedy) from None
        if given.ndim not in (1, 2) or given.shape[-1] != k or not given.size or not np.isfinite(given).all():
            raise SetupError(name, f"is of shape {given.shape}, or not all finite", remedy)
        return np.atleast_2d(given), given.ndim == 1
