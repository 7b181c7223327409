"""Data of one's own beside the model, and the inputs it determines."""

from __future__ import annotations

from collections.abc import Mapping
from concurrent.futures import Executor
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from archerysim.equipment import Setup, SetupError
from archerysim.fields.result import result
from archerysim.fields.to_xarray import Variable, dataset, words
from archerysim.fields.units import from_si
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.fitted_bow import FittedBow
from archerysim.study.measured.compare import DataCompared
from archerysim.study.measured.data import OwnData
from archerysim.study.measured.search import Model, errors_of, free_inputs, inverse, least
from archerysim.study.run.how_to_run import HowToRun

if TYPE_CHECKING:
    import xarray

Determined = Literal["determined", "partly", "not at all"]
DETERMINED, PARTLY = 0.3, 0.8  # what is left of the prior width [judgement]


@dataclass(frozen=True)
class Estimate:
    """One input found from data.

    Attributes
    ----------
    path, unit : str
        And the unit of the numbers below.
    start, prior : float
        Value in the setup, and how well it was known before (standard deviation).
    value, error : float
        Value found, that of the setup found, with its standard error; infinite where the data (without priors)
        leave it open.
    share : float
        What the data leave of the prior width, 0 to 1, all other free inputs unknown within theirs.
    alone : float
        The same, were all others known.
    determined : {"determined", "partly", "not at all"}
        Share under 0.3, under 0.8, or above.
    at_bound : bool
        Whether the value stands at the end of its range.
    """

    path: str
    unit: str
    start: float
    prior: float
    value: float
    error: float
    share: float
    alone: float
    determined: Determined
    at_bound: bool

    @property
    def moved(self) -> float:
        """Step from the setup's value, in prior widths."""
        return (self.value - self.start) / self.prior

    @property
    def pulled(self) -> bool:
        """Whether the data pulled it to the end of its range, farther than it was unsure: not to be used."""
        return self.at_bound and abs(self.moved) > 1.0


@result(
    "setup.name", "estimates", "before.misfit", "after.misfit", "priors", "widened", "converged", "trials", "failed",
)  # fmt: skip
@dataclass(frozen=True)
class OwnFit:
    """Inputs found from data.

    Attributes
    ----------
    estimates : tuple of Estimate
        The free inputs in the order given, then those of the film's alignment.
    correlation : (k, k) array
        Of the estimates.
    singular_values : (k,) array
        Of the Jacobian in prior widths over errors, the largest first: above 1 the data say more than the prior did in
        that direction, far below 1 nothing.
    directions : (k, k) array
        Rows: the directions that belong to them, in prior widths.
    before, after : DataCompared
    setup : Setup
        With the values found, in the form of the one given.
    priors : bool
        Whether what was known before counted as data.
    widened : float
        Factor by which the stated errors were widened before standard errors and shares were taken, 1 or more.
    converged : bool
    trials, failed : int
        Setups tried, and how many had no shot.

    Examples
    --------
    >>> import archerysim
    >>> speeds = archerysim.Speeds(arrow_mass=([19, 25], "g"), speed=([54.5, 49.2], "m/s"))
    >>> setup = archerysim.load("examples/club-outdoor.toml")
    >>> found = archerysim.fit_data(setup, archerysim.OwnData(speeds=speeds), ("limbs.mass",), mesh="coarse")
    >>> mass = found.estimates[0]
    >>> bool(mass.value > mass.start)  # slower arrows than computed: heavier limbs
    True
    """

    estimates: tuple[Estimate, ...]
    correlation: np.ndarray
    singular_values: np.ndarray
    directions: np.ndarray
    before: DataCompared
    after: DataCompared
    setup: Setup
    priors: bool
    widened: float
    converged: bool
    trials: int
    failed: int

    def to_xarray(self) -> xarray.Dataset:
        """The inputs found, as a table along "input"; each in its own ``unit``.

        ``correlation`` runs along "input" and "other" (the same inputs), ``directions`` along "direction" and "input",
        ``singular_values`` along "direction"; the others as the attributes of ``Estimate``.

        Examples
        --------
        >>> import archerysim
        >>> speeds = archerysim.Speeds(arrow_mass=([19, 25], "g"), speed=([54.5, 49.2], "m/s"))
        >>> setup = archerysim.load("examples/club-outdoor.toml")
        >>> found = archerysim.fit_data(setup, archerysim.OwnData(speeds=speeds), ("limbs.mass",), mesh="coarse")
        >>> found.to_xarray()["input"].values.tolist()
        ['limbs.mass']
        """
        found = self.estimates

        def each(name: str, long_name: str, about: dict[str, str]) -> Variable:
            return ("input",), np.array([getattr(one, name) for one in found]), {"long_name": long_name, **about}

        own, plain = {"comment": "in the unit of the input"}, {"units": "1"}
        paths = [one.path for one in found]
        return dataset(
            {
                "input": words(paths, "input", "what was to be found"),
                "other": words(paths, "other", "what was to be found"),
                "unit": words([one.unit for one in found], "input", "unit of the input"),
                "start": each("start", "value in the setup", own),
                "prior": each("prior", "standard deviation before", own),
                "value": each("value", "value found", own),
                "error": each("error", "standard error of the value found", own),
                "share": each("share", "what is left of the prior width, all others unknown", plain),
                "alone": each("alone", "what is left of the prior width, all others known", plain),
                "determined": words([one.determined for one in found], "input", "whether the data determine it"),
                "correlation": (("input", "other"), self.correlation, {"long_name": "correlation", **plain}),
                "singular_values": (("direction",), self.singular_values, {"long_name": "singular values", **plain}),
                "directions": (("direction", "input"), self.directions, {"long_name": "directions", **plain}),
            },
            "inputs found from data",
        )


def compare_data(
    bow: Setup | FittedBow, data: OwnData, *, errors: Mapping[str, Any] | None = None, align: bool = True,
    mesh: str | Mesh = "default", planes: int | None = None,
) -> DataCompared:  # fmt: skip
    """Compare measured data with what the model says.

    Parameters
    ----------
    bow : Setup or FittedBow
        Measured (then fitted first) or built.
    data : OwnData
    errors : mapping, optional
        Standard deviation of one measured value by kind: "draw_force", "speeds", "track", with its unit, or what
        `with_si` returns. Default: 0.25 lbf, 0.5 m/s, 1 mm.
    align : bool
        Find the film's time offset and shift of origin; False takes them as zero.
    mesh : str or Mesh
    planes : int, optional
        As for `archerysim.shoot`.

    Returns
    -------
    DataCompared

    Raises
    ------
    SetupError, ShotError

    Examples
    --------
    >>> import archerysim
    >>> scale = archerysim.DrawForce(draw_length=([24, 26, 28], "in"), force=([25.5, 29.5, 34], "lb"))
    >>> setup = archerysim.load("examples/club-outdoor.toml")
    >>> found = archerysim.compare_data(setup, archerysim.OwnData(draw_force=scale), errors={"draw_force": "0.5 lb"})
    >>> found.table("draw force").difference.shape, bool(found.misfit < 10.0)
    ((3,), True)
    """
    model = Model(FittedBow.of(bow, mesh, planes=planes), data, (), errors_of(errors), align)
    return model.comparison(least(model, True).x)


def fit_data(
    bow: Setup | FittedBow,
    data: OwnData,
    free: tuple[str, ...] | list[str],
    *,
    prior: Mapping[str, Any] | None = None,
    errors: Mapping[str, Any] | None = None,
    priors: bool = True,
    align: bool = True,
    mesh: str | Mesh = "default",
    planes: int | None = None,
    workers: int | None = None,
    executor: Executor | None = None,
) -> OwnFit:
    """Find inputs from measured data by bounded least squares.

    A measured setup is fitted anew at every trial to its brace height, tillers and draw weight: to free the
    limbs' stiffness, free ``bow.draw_weight``. For a built one ``limbs.stiffness_factor`` stands for a factor
    on both limbs' bending stiffness.

    Parameters
    ----------
    bow : Setup or FittedBow
    data : OwnData
    free : sequence of str
        Dotted paths of the inputs to be found.
    prior : mapping of path to standard deviation, optional
        How well each is known before, with units: "1 mm", "20 %"; or what `with_si` returns. Default: the usual, as for
        `archerysim.sensitivity`. It scales the search, limits it to five of them either way, and is the width
        with which the data are compared.
    errors : mapping, optional
        As for `compare_data`.
    priors : bool
        Whether what was known before counts as data; False goes by the data alone.
    align : bool
        Also find the film's time offset (prior 1 ms) and shift of origin (5 mm).
    mesh : str or Mesh
    planes : int, optional
        As for `archerysim.shoot`.
    workers, executor
        As for `sweep`: trials that belong together, one for each free input, are fitted and shot at the same time.

    Returns
    -------
    OwnFit

    Raises
    ------
    SetupError
        If an input cannot be free, there are no more rows than free inputs (without priors), or no trial near the
        setup has a shot.
    ShotError
        If the setup itself has none.

    Notes
    -----
    Minimises the sum of squares of differences over errors, and with priors of steps over prior widths (SciPy's trust
    region reflective method). Standard errors are those of the linear problem at the end. If the sum of squares S is
    larger than the stated errors would suggest, these are widened by sqrt(S / (n - k)), n rows and k free inputs (the
    film's alignment among them); with priors these k more rows count too, sqrt(S / n).

    Of finger shares one or two may be free: of one, the other two give up what it takes, in proportion; of two, the
    third finger does.

    Examples
    --------
    >>> import archerysim
    >>> speeds = archerysim.Speeds(arrow_mass=([19, 25], "g"), speed=([54.5, 49.2], "m/s"))
    >>> setup = archerysim.load("examples/club-outdoor.toml")
    >>> found = archerysim.fit_data(setup, archerysim.OwnData(speeds=speeds), ("limbs.mass",), mesh="coarse")
    >>> found.converged, bool(found.after.misfit < found.before.misfit)
    (True, True)
    """
    if not free:
        raise SetupError("free", "there is no input to find", 'Name one, for example "string.construction_factor"')
    how = HowToRun(workers, executor, progress=False)
    bow = FittedBow.of(bow, mesh, planes=planes)
    inputs = free_inputs(bow.given, tuple(free), prior or {}, bow.planes)
    at_rest = Model(bow, data, (), errors_of(errors), align)
    model = Model(bow, data, inputs, at_rest.errors, align, at_rest.kept[()], how)
    aligned = least(at_rest, True).x
    before = at_rest.comparison(aligned)
    rows, count = sum(one.scaled.size for one in before.tables), len(model.all)
    if not priors and rows <= count:
        raise SetupError(
            "data", f"{rows} rows cannot tell {count} free inputs and how far the rows are off",
            "Measure more, free fewer, or count what was known before (priors=True)",
        )  # fmt: skip
    found = least(model, priors, np.concatenate([np.zeros(len(inputs)), aligned]))
    after = model.comparison(found.x)
    jacobian = model.jacobian(found.x)
    squares = len(jacobian) * after.misfit**2 + (float(found.x @ found.x) if priors else 0.0)
    widened = max(1.0, float(np.sqrt(squares / (len(jacobian) - (0 if priors else count)))))
    weighted = jacobian / widened
    information = weighted.T @ weighted
    with_prior = np.linalg.inv(information + np.eye(count))
    covariance = with_prior if priors else inverse(information)
    share = np.sqrt(np.diag(with_prior))
    spread = np.sqrt(np.diag(covariance))
    alone = 1.0 / np.sqrt(1.0 + np.diag(information))
    _, singular, directions = np.linalg.svd(weighted, full_matrices=True)
    singular = np.concatenate([singular, np.zeros(count - singular.size)])
    estimates = []
    values, (low, high) = model.values(found.x), model.bounds()
    for i, one in enumerate(model.all):
        start, unit = model.start(one), model.unit(one)
        width = model.width(one)
        word: Determined = "determined" if share[i] < DETERMINED else "partly" if share[i] < PARTLY else "not at all"
        edge = bool(min(found.x[i] - low[i], high[i] - found.x[i]) < 1e-3)
        error = from_si(float(spread[i] * width), unit) if np.isfinite(spread[i]) else float("inf")
        estimates.append(
            Estimate(
                one.path, unit, from_si(start, unit), from_si(width, unit),
                from_si(float(values[i]), unit), error, float(share[i]), float(alone[i]), word, edge,
            )
        )  # fmt: skip
    with np.errstate(invalid="ignore"):
        correlation = covariance / np.outer(spread, spread)
    return OwnFit(
        tuple(estimates), correlation, singular, directions, before, after, model.setup_at(found.x), priors, widened,
        bool(found.success), model.trials, model.failed,
    )  # fmt: skip
