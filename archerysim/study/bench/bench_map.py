"""A map of the launch over tiller split and reading, finger share or crawl, with the line of the best reading."""

from __future__ import annotations

import os
from concurrent.futures import Executor
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any

import numpy as np

from archerysim.equipment import NO_CHANGES, Setup
from archerysim.equipment.cautions import BOLTS, SCRAPING
from archerysim.errors import SetupError, ShotError
from archerysim.fields.reported import Reported
from archerysim.fields.result import result
from archerysim.fields.to_xarray import Variables, dataset
from archerysim.fields.udunits import udunits
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.fitted_bow import Changes, FittedBow
from archerysim.shot.flight.bare_shaft import Leaving, gap_at, leaving_at_sight
from archerysim.shot.flight.fly import check_distance
from archerysim.shot.hold import Hold, hold_words
from archerysim.shot.launch import Launch
from archerysim.study.bench.map_points import MOST, Across, across, splits_of
from archerysim.study.bench.opposite_bolts import HELD, OppositeBolts, opposite_bolts
from archerysim.study.notes.group_means import SCATTER
from archerysim.study.run.how_to_run import HowToRun, Progress
from archerysim.study.run.row import Change, Row
from archerysim.study.run.run import run_in_order

if TYPE_CHECKING:
    import xarray

# name, unit, meaning; the first places in a map's values
QUANTITIES: tuple[tuple[str, str, str], ...] = (
    ("pitch", "deg", "pitch at clear, nose up positive"),
    ("pitch_rate", "rad/s", "pitch rate at clear, nose up positive"),
    ("angle_of_attack", "deg", "angle of attack at clear, nose up positive"),
    ("bare_above", "mm", "bare shaft above the fletched one on the target, the difference of drag alone taken off"),
)
NAMES = tuple(name for name, _, _ in QUANTITIES)


@dataclass(frozen=True)
class MapRow:
    """Asks for the launch numbers along one split; see `archerysim.study.run.row.Question`."""

    across: Across
    distance: float
    up: float  #: direction of leaving, with which bare and fletched shafts are compared [deg]
    aside: float
    plain: float  #: their difference by drag alone [m]

    @property
    def shots(self) -> int:
        return len(self.across.values)

    def __call__(self, bow: FittedBow, change: Change) -> Row:
        turned = bow.with_changes(change, HELD if self.across.kind == "reading" else ("reading", *HELD))
        found, told = [], []
        for value in self.across.values:
            try:
                launch = turned.launch(self.across.change(turned, value))
                found.append(_numbers(launch, self.distance, Leaving(self.up, self.aside), self.plain))
                told.append("")
            except (SetupError, ShotError) as error:
                found.append([float("nan")] * len(QUANTITIES))
                told.append(str(error))
        braced = turned.braced
        return {"split": braced.upper_tiller - braced.lower_tiller, "found": found, "told": told}


def _numbers(launch: Launch, distance: float, leaving: Leaving, plain: float) -> list[float]:
    """The quantities of a launch, in their units."""
    gap = gap_at(launch, distance, leaving).height - plain
    clear = launch.clear
    return [clear.pitch, clear.pitch_rate, clear.angle_of_attack, 1e3 * gap]


@result("bow.setup.name", "across.kind", "splits", "distance", "best", "error")
@dataclass(frozen=True)
class BenchMap:
    """The launch over tiller split and something else, brace height held.

    Attributes
    ----------
    bow : FittedBow
        As it stands.
    by : str
        What changes the split: "bolts", or "stiffness of the limbs" of a bow of one piece.
    splits : (s,) array
        Tiller splits, as read on each bow [mm].
    across : Across
        The other axis; its ``shown`` are the values (v,).
    distance : float
        Of the target of bare and fletched shafts [m].
    values : (q, s, v) array
        Pitch, pitch rate, angle of attack, bare above fletched, in the order and the units of `quantities`; nan where a
        point gave no shot.
    best : (s,) array
        Where along the other axis bare and fletched shafts come together at each split, in its unit; nan where nowhere.
    window : (s, 2) array
        About ``best``, within which they stay as near as a club archer's arrows scatter: 3 cm at 18 m, one standard
        deviation; nan where the map ends first.
    tolerance : float
        That size on the target [mm].
    error : float
        How far ``best`` lies from where fresh shots put it at the most, at three splits, in the axis' unit; nan where
        there is no such line.
    today : Launch
    reasons : dict of (int, int) to str
        Why points gave no shot, by their places in split and other axis.

    Examples
    --------
    >>> import archerysim
    >>> bow = archerysim.load("examples/club-outdoor.toml")
    >>> how = {"splits": "2 mm:8 mm:3 mm", "values": "3 mm:9 mm:2 mm", "mesh": "coarse", "planes": 1}
    >>> found = archerysim.bench_map(bow, **how)
    >>> found.values.shape, found.best.shape
    ((4, 3, 4), (3,))
    """

    bow: FittedBow
    by: str
    splits: Annotated[np.ndarray, Reported("mm", "tiller split", ("split",))]
    across: Across
    distance: Annotated[float, Reported("m", "distance of the target")]
    values: np.ndarray
    best: np.ndarray
    window: np.ndarray
    tolerance: Annotated[float, Reported("mm", "on the target, of the window")]
    error: float
    today: Launch
    reasons: dict[tuple[int, int], str]

    @property
    def quantities(self) -> tuple[tuple[str, str, str], ...]:
        """Name, unit and meaning of each quantity."""
        return QUANTITIES

    @property
    def today_at(self) -> tuple[float, float]:
        """Where the bow stands: the other axis' value in its unit, the tiller split [mm]."""
        return self.across.today(self.bow), self.today.upper_tiller - self.today.lower_tiller

    @property
    def twice(self) -> int:
        """At how many splits they come together more than once; ``best`` has the first."""
        signs = [np.sign(row[np.isfinite(row) & (row != 0.0)]) for row in self.of("bare_above")]
        return sum(int((row[1:] != row[:-1]).sum() > 1) for row in signs)

    @property
    def slope(self) -> float:
        """How much the best value moves for 1 mm of split, by a straight line through all [unit/mm].

        nan where there is none, or where they come together more than once at some split: that is no line.
        """
        known = np.isfinite(self.best)
        if known.sum() < 2 or self.twice:
            return float("nan")
        return float(np.polyfit(self.splits[known], self.best[known], 1)[0])

    @property
    def warnings(self) -> tuple[str, ...]:
        """Of the bow as it stands, and of what is done to it."""
        return tuple(dict.fromkeys((*self.today.warnings, BOLTS if self.by == "bolts" else SCRAPING)))

    @property
    def limits_passed(self) -> tuple[str, ...]:
        """Which limits the first of the warnings speak of."""
        return self.today.limits_passed

    def of(self, name: str) -> np.ndarray:
        """One quantity over the map, (s, v).

        Parameters
        ----------
        name : {"pitch", "pitch_rate", "angle_of_attack", "bare_above"}

        Examples
        --------
        >>> import archerysim
        >>> bow = archerysim.load("examples/club-outdoor.toml")
        >>> how = {"splits": "2 mm:8 mm:3 mm", "values": "3 mm:9 mm:2 mm", "mesh": "coarse", "planes": 1}
        >>> archerysim.bench_map(bow, **how).of("pitch").shape
        (3, 4)
        """
        return np.asarray(self.values[NAMES.index(name)])

    def to_xarray(self) -> xarray.Dataset:
        """All of it along split and the other axis.

        Examples
        --------
        >>> import archerysim
        >>> bow = archerysim.load("examples/club-outdoor.toml")
        >>> how = {"splits": "2 mm:8 mm:3 mm", "values": "3 mm:9 mm:2 mm", "mesh": "coarse", "planes": 1}
        >>> dict(archerysim.bench_map(bow, **how).to_xarray().sizes)
        {'split': 3, 'reading': 4}
        """
        other = self.across.kind.replace(" ", "_")
        table: Variables = {
            name: (("split", other), self.of(name), {"units": udunits(unit), "long_name": text})
            for name, unit, text in QUANTITIES
        }
        unit = udunits(self.across.unit)
        table["split"] = (("split",), self.splits, {"units": "mm", "long_name": "tiller split"})
        table[other] = ((other,), self.across.shown, {"units": unit, "long_name": self.across.name})
        together = "bare and fletched together"
        table["best"] = (("split",), self.best, {"units": unit, "long_name": f"{self.across.name}: {together}"})
        for name, column in (("window_low", 0), ("window_high", 1)):
            about = {"units": unit, "long_name": f"{name.replace('_', ' ')}: {together} within {self.tolerance:.3g} mm"}
            table[name] = (("split",), self.window[:, column], about)
        words = np.full(self.values.shape[1:], "", dtype=object)
        for place, why in self.reasons.items():
            words[place] = why
        table["reason"] = (("split", other), words, {"long_name": "why a point gave no shot"})
        about = {"setup_as_built": self.bow.setup.to_toml(), "turned": self.by, "held": " and ".join(HELD)}
        return dataset(table, f"{self.bow.setup.name}: launch by split and {self.across.kind}", **about)


def bench_map(
    bow: Setup | FittedBow,
    against: str = "reading",
    *,
    splits: Any = None,
    values: Any = None,
    distance: Any = "18 m",
    within: Any = None,
    changes: Changes = NO_CHANGES,
    hold: Hold = None,
    mesh: str | Mesh = "default",
    planes: int | None = None,
    workers: int | None = None,
    executor: Executor | None = None,
    store: str | os.PathLike[str] | None = None,
    progress: Progress = None,
) -> BenchMap:
    """Shoot a bow at many tiller splits and readings, finger shares or crawls.

    The split is changed as `timed_tiller` does: both bolts opposite ways on the bow as built, the brace height held;
    of a bow of one piece a weaker upper limb and a stiffer lower one. Against finger share or crawl the reading is
    held too.
    Every point is shot; nothing is filled in between.

    Parameters
    ----------
    bow : Setup or FittedBow
    against : {"reading", "finger share", "crawl"}
        The other axis. The finger share is the index finger's; the middle finger keeps its own, the ring finger bears
        what is left.
    splits : str or values with units, optional
        Tiller splits, upper less lower: "-2 mm:10 mm:0.5 mm". Default: 41 within 8 mm of today's.
    values : str or values with units, optional
        Of the other axis; readings by the file's convention. Default: 21 values, readings within 6 mm of today's.
    distance : str or another number with its unit
        Of the target of bare and fletched shafts.
    within : str or number with its unit, optional
        Most turns of each bolt, as for `timed_tiller`.
    changes, hold
        Made first, as for `archerysim.shoot`.
    mesh, planes
        As for `archerysim.shoot`.
    workers, executor, store, progress
        As for `archerysim.sweep`; a point of the store is a whole split.

    Returns
    -------
    BenchMap
        Points that give no shot are nan, with their reasons.

    Raises
    ------
    SetupError, ShotError
        Where an argument is wrong, a split is out of reach, or the bow as it stands cannot be shot.

    Examples
    --------
    >>> import archerysim
    >>> bow = archerysim.load("examples/club-outdoor.toml")
    >>> how = {"splits": "2 mm:8 mm:3 mm", "values": "3 mm:9 mm:2 mm", "mesh": "coarse", "planes": 1}
    >>> found = archerysim.bench_map(bow, **how)
    >>> bool((found.of("pitch")[:, -1] < found.of("pitch")[:, 0]).all())  # locators up, nose down
    True
    """
    how, far = HowToRun(workers, executor, store, progress), check_distance(distance)
    first = FittedBow.of(bow, mesh, changes, hold_words(hold), planes)
    today = first.launch()
    bolts = opposite_bolts(first, within)
    axis, asked = across(first, against, values), splits_of(bolts, splits)
    if len(asked) * len(axis.values) > MOST:
        raise SetupError(
            "splits", f"{len(asked)} times {len(axis.values)} points are more than {MOST:,}", "Widen the steps"
        )
    leaving = leaving_at_sight(today, far)
    plain = gap_at(today, far, leaving, lift=False).height
    question = MapRow(axis, far, leaving.up, leaving.aside, plain)
    turns = [bolts.turns_for(one) for one in asked]
    rows = run_in_order(first, [bolts.changes(one) for one in turns], question, how)
    shown, size = np.array(asked) * 1e3, (len(asked), len(axis.values))
    found = np.full((len(QUANTITIES), *size), np.nan)
    reasons: dict[tuple[int, int], str] = {}
    for i, row in enumerate(rows):
        if row["status"] != 0:
            reasons |= {(i, j): str(row["reason"]) for j in range(size[1])}
            continue
        shown[i] = 1e3 * row["split"]
        found[:, i] = np.array(row["found"], dtype=float).T
        reasons |= {(i, j): why for j, why in enumerate(row["told"]) if why}
    gaps, tolerance = found[NAMES.index("bare_above")], 1e3 * SCATTER * far
    best = np.array([crossed(axis.shown, row) for row in gaps])
    window = np.array([window_of(axis.shown, row, tolerance) for row in gaps])
    error = _error(bolts, turns, axis, best, gaps, question)
    return BenchMap(first, bolts.by, shown, axis, far, found, best, window, tolerance, error, today, reasons)


def crossed(at: np.ndarray, values: np.ndarray) -> float:
    """Where values fall or rise through zero first, on a straight line between two of them; nan where they do not."""
    for k in range(at.size - 1):
        if values[k] * values[k + 1] <= 0.0 and values[k] != values[k + 1]:
            return float(at[k] + values[k] / (values[k] - values[k + 1]) * (at[k + 1] - at[k]))
    return float("nan")


def window_of(at: np.ndarray, values: np.ndarray, size: float) -> tuple[float, float]:
    """Between what values stay within a size about where they cross zero first; nan where they do not, or stay on."""
    best = crossed(at, values)
    if not np.isfinite(best):
        return float("nan"), float("nan")
    k = int(np.searchsorted(at, best, side="left"))
    ends = []
    for places, seen in ((at[:k][::-1], values[:k][::-1]), (at[k:], values[k:])):
        x, y = np.array([best, *places]), abs(np.array([0.0, *seen]))
        out = np.flatnonzero(~(y <= size))
        if not out.size or not np.isfinite(y[out[0]]):
            ends.append(float("nan"))
            continue
        j = int(out[0])
        ends.append(float(x[j - 1] + (size - y[j - 1]) / (y[j] - y[j - 1]) * (x[j] - x[j - 1])))
    return ends[0], ends[1]


def _error(
    bolts: OppositeBolts, turns: list[float], axis: Across, best: np.ndarray, gaps: np.ndarray, question: MapRow
) -> float:
    """How far the line lies from fresh shots at its first, middle and last split, at the most [the axis' unit]."""
    known = np.flatnonzero(np.isfinite(best))
    if not known.size:
        return float("nan")
    worst = 0.0
    leaving = Leaving(question.up, question.aside)
    for i in (known[0], known[known.size // 2], known[-1]):
        turned = bolts.turned(turns[i], HELD if axis.kind == "reading" else ("reading", *HELD))
        try:
            launch = turned.launch(axis.change(turned, float(best[i]) * axis.size))
            left = _numbers(launch, question.distance, leaving, question.plain)[-1]
        except (SetupError, ShotError):
            return float("nan")
        k = int(np.clip(np.searchsorted(axis.shown, best[i]) - 1, 0, axis.shown.size - 2))
        slope = (gaps[i, k + 1] - gaps[i, k]) / (axis.shown[k + 1] - axis.shown[k])
        worst = max(worst, abs(left / slope))
    return worst
