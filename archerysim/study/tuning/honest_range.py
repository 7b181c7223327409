"""The honest range of the best reading: everything taken together that nobody measured or that is measured roughly."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from concurrent.futures import Executor
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any

import numpy as np

from archerysim.equipment import NO_CHANGES, Setup, SetupError, filled
from archerysim.equipment.readings import BY_UNDERSIDE, READING, ReadBy, read_by
from archerysim.fields.reported import Reported
from archerysim.fields.result import result
from archerysim.fields.to_xarray import Variables, dataset, variables_of, words
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.fitted_bow import Changes, FittedBow
from archerysim.shot.flight.bare_shaft import leaving_at_sight
from archerysim.shot.flight.fly import check_distance
from archerysim.shot.hold import Hold
from archerysim.study.notes.posterior import FLIGHT
from archerysim.study.run.how_to_run import SIMPLY, HowToRun, Progress
from archerysim.study.run.row import Row
from archerysim.study.run.run import run_in_order
from archerysim.study.tuning.aims import DEFAULT_AIM, Aim, aim_of
from archerysim.study.tuning.deciding import Decides, deciding
from archerysim.study.tuning.drawn_reading import Asked, Drawn, DrawnReadings
from archerysim.study.tuning.limits import allowed_range
from archerysim.study.tuning.search import Best, NoShot, Response, best, slope_at
from archerysim.study.uncertainty.even_draws import even_normal
from archerysim.study.uncertainty.inputs import Input, draws_of, inputs_from, with_reading_given

if TYPE_CHECKING:
    import xarray

LOW, HIGH = 0.05, 0.95  # ends of a range of 90 %
DRAWS = 64
ENOUGH = 0.5  # of the draws must have an answer, or there is no range [judgement]


@result("aim", "distance", "best", "low", "high", "failed", "touching", "seed")
@dataclass(frozen=True)
class HonestRange:
    """Where the reading that meets an aim lies, with 90 % probability.

    Attributes
    ----------
    aim : str
    distance : float
        Of the target [m].
    best : float
        Of the bow as given [mm], by the underside, as all readings here; the middle of the draws where it has none.
    low, high : float
        5 % and 95 % points of the draws [mm]; nan where too few of them have an answer.
    sample : (n,) array
        The best reading of every draw, the flight's model included [mm]; nan where it has none.
    deciding : tuple of Decides
        Which kinds of input decide, the weightiest first.
    failed : int
        Draws without an answer.
    reasons : dict of str to int
        Why, and how many of them.
    touching : int
        Draws whose shaft, at their answer, meets rest or riser on its way out by more than a graze.
    inputs : tuple of Input
        What was taken as uncertain, besides the flight's model.
    seed : int
    by : ReadBy
        How the setup gives its readings.

    Examples
    --------
    >>> import archerysim
    >>> found = archerysim.honest_range(archerysim.load("examples/club-outdoor.toml"), draws=4, mesh="coarse")
    >>> found.known, found.sample.shape
    (True, (4,))
    >>> found.deciding[0].share >= found.deciding[-1].share
    True
    """

    aim: str
    distance: Annotated[float, Reported("m", "distance of the target")]
    best: Annotated[float, Reported("mm", "reading of the bow as given, by the underside")]
    low: Annotated[float, Reported("mm", "5 % point of the draws, by the underside")]
    high: Annotated[float, Reported("mm", "95 % point of the draws, by the underside")]
    sample: Annotated[np.ndarray, Reported("mm", "reading of every draw, by the underside", ("draw",))]
    deciding: tuple[Decides, ...]
    failed: int
    reasons: dict[str, int]
    touching: int
    inputs: tuple[Input, ...]
    seed: int
    by: ReadBy = BY_UNDERSIDE

    @property
    def draws(self) -> int:
        """How many bows were drawn."""
        return len(self.sample)

    @property
    def known(self) -> bool:
        """Whether enough of the draws have an answer for a range."""
        return bool(np.isfinite(self.low))

    def sure_of(self, reading: float) -> float:
        """Share of the draws with an answer that want the locators lower than a reading by the underside [mm].

        Examples
        --------
        >>> import archerysim
        >>> found = archerysim.honest_range(archerysim.load("examples/club-outdoor.toml"), draws=4, mesh="coarse")
        >>> found.sure_of(20.0), found.sure_of(-20.0)  # nobody wants 20 mm, nor 20 mm below square
        (1.0, 0.0)
        """
        good = self.sample[np.isfinite(self.sample)]
        return float((good < reading).mean()) if good.size else float("nan")

    def to_xarray(self) -> xarray.Dataset:
        """Range and draws as a table with units, along "draw"; what decides along "kind".

        Examples
        --------
        >>> import archerysim
        >>> found = archerysim.honest_range(archerysim.load("examples/club-outdoor.toml"), draws=4, mesh="coarse")
        >>> table = found.to_xarray()
        >>> table.sizes["draw"], bool(table["low"] < table["high"])
        (4, True)
        """
        return dataset({**self.variables(), **variables_of(self)}, f"honest range of the reading for {self.aim}")

    def variables(self) -> Variables:
        """What decides, as variables of a table.

        Examples
        --------
        >>> import archerysim
        >>> found = archerysim.honest_range(archerysim.load("examples/club-outdoor.toml"), draws=4, mesh="coarse")
        >>> sorted(found.variables())
        ['failed', 'kind', 'share', 'touching']
        """
        shares = np.array([one.share for one in self.deciding])
        return {
            "kind": words([one.words for one in self.deciding], "kind", "what was taken as uncertain"),
            "share": (("kind",), shares, {"units": "1", "long_name": "share in the variance of the draws"}),
            "failed": ((), np.asarray(self.failed), {"units": "1", "long_name": "draws without an answer"}),
            "touching": ((), np.asarray(self.touching), {"units": "1", "long_name": "draws whose shaft touches"}),
        }


def honest_range(
    bow: Setup | FittedBow,
    aim: str = DEFAULT_AIM,
    *,
    distance: Any = "18 m",
    draws: int = DRAWS,
    uncertainty: Mapping[str, Any] | None = None,
    seed: int = 0,
    taped: bool = True,
    mesh: str | Mesh = "default",
    planes: int | None = None,
    workers: int | None = None,
    executor: Executor | None = None,
    progress: Progress = None,
    changes: Changes = NO_CHANGES,
    hold: Hold = None,
) -> HonestRange:
    """Find the range in which the best reading lies with 90 % probability, everything uncertain taken together.

    Every draw is a bow that fits what was measured, with all that is uncertain moved at once: what was measured, by how
    well it is measured; what nobody measures (fingers, release, bow hand, losses), by what is usual. It is fitted anew,
    and its own best reading is found with two or three shots. `archerysim.tune` with ``sure=True`` and
    `archerysim.bare_against_fletched` have the same range for the same bow, distance and seed.

    Parameters
    ----------
    bow : Setup or FittedBow
        A setup is measured or built.
    aim : str
        As for `archerysim.tune`; not "least swing", which no single reading meets.
    distance : str or another number with its unit
        Of the target.
    draws : int
    uncertainty : mapping of dotted path to standard deviation, optional
        As for `archerysim.sensitivity`.
    seed : int
        The same seed draws the same bows.
    taped : bool
        Whether the bare shaft carries tape of the fletching's mass.
    mesh, planes, workers, executor, progress, changes, hold
        As for `sweep`.

    Returns
    -------
    HonestRange
        A draw without an answer is counted, with its reason, and left out.

    Raises
    ------
    SetupError, ShotError
        Where the setup itself fails, or an argument is wrong.

    Examples
    --------
    >>> import archerysim
    >>> found = archerysim.honest_range(archerysim.load("examples/club-outdoor.toml"), draws=4, mesh="coarse")
    >>> found.low < found.best < found.high  # [mm]
    True
    >>> found.draws, found.failed
    (4, 0)
    """
    goal, far = aim_of(aim), check_distance(distance)
    fitted = FittedBow.of(bow, mesh, changes, hold, planes)
    question = asked_of(fitted, goal, far, taped)
    normal, inputs, by_reading = drawn_inputs(fitted, uncertainty, draws, seed)
    how = HowToRun(workers, executor, progress=progress)
    return range_of(by_reading, question, inputs, normal, seed, drawn_rows(by_reading, question, inputs, normal, how))


def asked_of(bow: FittedBow, goal: Aim, distance: float, taped: bool = True, found: Best | None = None) -> Asked:
    """What every draw is asked: the bow's own answer is where it begins to look.

    Parameters
    ----------
    found : Best, optional
        That answer, a reading by the setup's convention, where it is known already.

    Raises
    ------
    SetupError
        Where no reading can be said to meet the aim, or no reading can be shot.
    """
    if goal.least:
        raise SetupError("aim", f"{goal.name!r} has no range of its own", f"Use {DEFAULT_AIM!r}")
    response = Response(bow, READING, distance, ())
    low, high = allowed_range(bow, READING, None)
    try:
        found = found or best(response, goal, low, high, max)
    except NoShot as none:
        raise none.first from None
    slope = slope_at(response, goal, found.value, low, high)
    start = float(read_by(bow.setup).underside(found.value))
    leaving = leaving_at_sight(bow.at_reading((start, "m")), distance)
    return Asked(goal.name, distance, taped, leaving, start, slope, found.met)


def drawn_inputs(
    bow: FittedBow, uncertainty: Mapping[str, Any] | None, draws: int, seed: int
) -> tuple[np.ndarray, tuple[Input, ...], FittedBow]:
    """Draws in standard deviations, the last column the flight's model; the inputs; the bow that draws begin from.

    Raises
    ------
    SetupError
    """
    by_reading = with_reading_given(bow)
    inputs = inputs_from(by_reading.given, uncertainty, by_reading.planes)
    return even_normal(len(inputs) + 1, draws, seed), inputs, by_reading


def drawn_rows(
    bow: FittedBow, question: Asked, inputs: tuple[Input, ...], normal: np.ndarray, how: HowToRun = SIMPLY
) -> list[Drawn]:
    """What every draw answers."""
    rows = run_in_order(bow, draws_of(inputs, normal[:, :-1]), DrawnReadings(inputs, (question,)), how)
    return drawn_of(rows, 0)


def drawn_of(rows: list[Row], which: int) -> list[Drawn]:
    """The answers to one of the questions, from the rows of all draws."""
    return [Drawn(*row["drawn"][which]) if row["status"] == 0 else Drawn(np.nan, reason=row["reason"]) for row in rows]


def range_of(
    bow: FittedBow, question: Asked, inputs: tuple[Input, ...], normal: np.ndarray, seed: int, drawn: list[Drawn]
) -> HonestRange:
    """The range from what every draw answers.

    Notes
    -----
    The model of the flight is one more uncertain number. Where bare and fletched come together, what the angle of
    attack does to the bare shaft and what the pitch rate does to it cancel: a common error of both would change
    nothing, so that the one's against the other's is taken, `FLIGHT` of the pitch rate's part.
    """
    sample = 1e3 * np.array(
        [one.reading + FLIGHT * z * one.by_rate for one, z in zip(drawn, normal[:, -1], strict=True)]
    )
    good = sample[np.isfinite(sample)]
    low, middle, high = np.quantile(good, (LOW, 0.5, HIGH)) if good.size else (np.nan,) * 3
    if good.size < max(2.0, ENOUGH * len(drawn)):
        low = high = np.nan
    return HonestRange(
        aim=question.aim, distance=question.distance, best=1e3 * question.start if question.met else float(middle),
        low=float(low), high=float(high), sample=sample,
        deciding=deciding(inputs, normal, sample, filled(bow.given).bow.kind),
        failed=len(drawn) - good.size, reasons=dict(Counter(one.reason for one in drawn if one.reason).most_common()),
        touching=sum(one.touches for one in drawn), inputs=inputs, seed=seed, by=read_by(bow.setup),
    )  # fmt: skip
