"""The tiller splits at which both limbs work alike, are home together, and send the nock level."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, NamedTuple

import numpy as np

from archerysim.equipment import NO_CHANGES, Setup
from archerysim.equipment.cautions import BOLTS, SCRAPING
from archerysim.errors import SetupError, ShotError
from archerysim.fields.reported import Reported
from archerysim.fields.result import result
from archerysim.fields.to_xarray import Variables, dataset, variables_of, words
from archerysim.fields.udunits import udunits
from archerysim.fields.zero import zero_between
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.fitted_bow import Changes, FittedBow
from archerysim.shot.hold import Hold, hold_words
from archerysim.shot.launch import Launch
from archerysim.shot.limbs_compared import limbs_compared
from archerysim.shot.nock_way import end_slope, nock_way, slow_rise
from archerysim.study.bench.opposite_bolts import opposite_bolts

if TYPE_CHECKING:
    import xarray

HELD = ("reading", "brace height")
LOOKS = 9  # splits looked at between both ends of the travel
CLOSE = 1e-3  # [turn]
JUMP = 0.2  # of the step between two looks: more left at a change of sign is a jump, no zero


class Aim(NamedTuple):
    """What a split is asked to do."""

    name: str
    moment: str  #: "at rest" or "in the shot"
    words: str
    unit: str
    text: str  #: the measure that is zero there


AIMS = (
    Aim("same_work", "at rest", "both limbs take up the same work", "%",
        "the upper limb's share of the work of drawing, less one half"),
    Aim("home_together", "in the shot", "both tips come home together", "ms",
        "by how much the lower tip is home before the upper one"),
    Aim("level_slowly", "at rest", "let down slowly, the nock ends on the arrow's line", "mm",
        "rise of the nock from full draw to brace, let down slowly, square to the arrow's line at full draw"),
    Aim("level_shot", "in the shot", "shot, the nock leaves the string on the arrow's line", "mm",
        "rise of the nock from full draw to separation, square to the arrow's line at full draw"),
    Aim("level_end", "in the shot", "the nock moves level as the string lets go of it", "deg",
        "direction of the nock's motion at separation, to the arrow's line at full draw, up positive"),
)  # fmt: skip
NAMES = tuple(aim.name for aim in AIMS)


@result("aim", "split", "turns", "reason")
@dataclass(frozen=True)
class SplitFound:
    """The split that does what is asked for.

    Attributes
    ----------
    aim : str
        Its name, of `timed_tiller`.
    split : float
        Upper tiller less lower tiller [mm]; nan where there is none within the travel.
    turns : float
        Of the lower bolt in and the upper one out, from where they stand; nan where there is none.
    launch : Launch or None
        The shot there, with its trace.
    reason : str
        Why there is none; "" where there is.
    """

    aim: str
    split: Annotated[float, Reported("mm", "tiller split that does it")]
    turns: Annotated[float, Reported("turn", "of the lower bolt in and the upper one out")]
    launch: Launch | None
    reason: str


@result("bow.setup.name", "by", "splits", "today", "answers")
@dataclass(frozen=True)
class TimedTiller:
    """At which tiller splits a bow's limbs work alike and keep time, its reading and its brace height held.

    Attributes
    ----------
    bow : FittedBow
    by : str
        What is turned: "bolts", or "stiffness of the limbs" of a bow of one piece.
    travel : (float, float)
        Turns from where the bolts stand, that were looked over.
    splits : (s,) array
        Tiller splits looked at, within the travel [mm].
    measures : (a, s) array
        What is asked to be zero, in the order and the units of the aims (`aims`); nan where there was none.
    today : Launch
        The bow as it stands, with its trace.
    today_measures : (a,) array
    answers : tuple of SplitFound
        For each aim.
    reasons : dict of float to str
        Why a split that was looked at could not be shot, by its turns.

    Examples
    --------
    >>> import archerysim
    >>> bow = archerysim.load("examples/junior.toml")
    >>> found = archerysim.timed_tiller(bow, mesh="coarse", planes=1)
    >>> found.by, found.measures.shape
    ('bolts', (5, 9))
    """

    bow: FittedBow
    by: str
    travel: tuple[float, float]
    splits: Annotated[np.ndarray, Reported("mm", "tiller split", ("split",))]
    measures: np.ndarray
    today: Launch
    today_measures: np.ndarray
    answers: tuple[SplitFound, ...]
    reasons: dict[float, str]

    @property
    def aims(self) -> tuple[Aim, ...]:
        """What was asked for."""
        return AIMS

    @property
    def warnings(self) -> tuple[str, ...]:
        """Of the bow as it stands, and of what is done to it."""
        return tuple(dict.fromkeys((*self.today.warnings, BOLTS if self.by == "bolts" else SCRAPING)))

    @property
    def limits_passed(self) -> tuple[str, ...]:
        """Which limits the first of the warnings speak of."""
        return self.today.limits_passed

    @property
    def split_today(self) -> float:
        """Upper tiller less lower tiller as the bow stands [mm]."""
        return self.today.upper_tiller - self.today.lower_tiller

    def answer(self, name: str) -> SplitFound:
        """The split for one aim.

        Parameters
        ----------
        name : {"same_work", "home_together", "level_slowly", "level_shot", "level_end"}

        Examples
        --------
        >>> import archerysim
        >>> found = archerysim.timed_tiller(archerysim.load("examples/club-outdoor.toml"), mesh="coarse", planes=1)
        >>> found.answer("home_together").reason
        ''
        """
        return self.answers[NAMES.index(name)]

    @property
    def limbs_apart(self) -> float:
        """By how much the split of limbs home together is above that of the same work [mm]; nan where one is not."""
        return self.answer("home_together").split - self.answer("same_work").split

    @property
    def nock_apart(self) -> float:
        """By how much the nock's split in the shot is above that of a slow let-down [mm]; nan where one is not."""
        return self.answer("level_shot").split - self.answer("level_slowly").split

    def to_xarray(self) -> xarray.Dataset:
        """Every measure along the splits that were looked at, and the split found for each aim.

        Examples
        --------
        >>> import archerysim
        >>> bow = archerysim.load("examples/junior.toml")
        >>> table = archerysim.timed_tiller(bow, mesh="coarse", planes=1).to_xarray()
        >>> table["home_together"].attrs["units"]
        'ms'
        """
        table: Variables = {
            aim.name: (("split",), values, {"units": udunits(aim.unit), "long_name": aim.text})
            for aim, values in zip(AIMS, self.measures, strict=True)
        }
        about = {"units": "mm", "long_name": "tiller split that does it"}
        found = np.array([one.split for one in self.answers])
        named: Variables = {"aim": words(NAMES, "aim", "what the split does"), "split_found": (("aim",), found, about)}
        data = variables_of(self) | {"split": (("split",), self.splits, {"units": "mm", "long_name": "tiller split"})}
        data.pop("splits")
        setup = {"setup_as_built": self.bow.setup.to_toml(), "turned": self.by}
        return dataset({**table, **named, **data}, f"limbs in time of {self.bow.setup.name}", **setup)


def timed_tiller(
    bow: Setup | FittedBow,
    *,
    within: Any = None,
    changes: Changes = NO_CHANGES,
    hold: Hold = None,
    mesh: str | Mesh = "default",
    planes: int | None = None,
) -> TimedTiller:
    """Find the tiller splits at which both limbs work alike and keep time, at rest and in the shot.

    Both bolts are turned opposite ways on the bow as built, its reading and its brace height held; a bow of one
    piece gets a weaker upper limb and a stiffer lower one instead, as wood taken off would make it. Fingers and
    pressure point stay. Five things are asked for, each by a measure that is to be zero:

    - ``same_work``, at rest: both limbs take up half of the work of drawing each.
    - ``home_together``, in the shot: both tips are back where they stood at brace, each seen from its own root, at the
      same time.
    - ``level_slowly``, at rest: let down slowly by the fingers, from full draw to brace, the nock ends on the line on
      which the arrow lay at full draw.
    - ``level_shot``, in the shot: the nock is on that line when the string lets go of it.
    - ``level_end``, in the shot: the nock moves along that line at that instant.

    The trade says static tiller for the split read at brace, and dynamic tiller for limbs that keep time in the shot
    [memory]; bow-makers mean one or the other of these by a bow in balance, so each is told by its own name.

    Parameters
    ----------
    bow : Setup or FittedBow
    within : str or number with its unit, optional
        Most turns of each bolt from where they stand (default 2), and no more than ``limits.most_bolt_turns`` leaves.
    changes, hold
        Made first, as for `archerysim.shoot`.
    mesh, planes
        As for `archerysim.shoot`.

    Returns
    -------
    TimedTiller
        Where no split within the travel does what is asked for, its reason is a sentence.

    Raises
    ------
    SetupError, ShotError
        Where the bow as it stands cannot be shot.

    Examples
    --------
    >>> import archerysim
    >>> found = archerysim.timed_tiller(archerysim.load("examples/junior.toml"), mesh="coarse", planes=1)
    >>> found.answer("same_work").split < found.answer("home_together").split  # [mm]
    True
    """
    first = FittedBow.of(bow, mesh, changes, hold_words(hold), planes)
    today = first.launch(trace=True)
    bolts = opposite_bolts(first, within)
    seen: dict[float, tuple[Launch, np.ndarray]] = {}

    def at(turns: float) -> tuple[Launch, np.ndarray]:
        if turns not in seen:
            launch = bolts.turned(turns, HELD).launch(trace=True)
            seen[turns] = launch, measures_of(launch)
        return seen[turns]

    looks = np.linspace(*bolts.travel, LOOKS)
    values, splits, reasons = np.full((len(AIMS), LOOKS), np.nan), np.full(LOOKS, np.nan), {}
    for k, turns in enumerate(looks):
        try:
            launch, values[:, k] = at(float(turns))
            splits[k] = launch.upper_tiller - launch.lower_tiller
        except (SetupError, ShotError) as error:
            reasons[float(turns)] = str(error)
    answers = tuple(_found(k, looks, splits, values[k], at, bolts.by) for k in range(len(AIMS)))
    splits = np.where(np.isfinite(splits), splits, 1e3 * np.interp(looks, bolts.knots, bolts.at_knots))
    return TimedTiller(first, bolts.by, bolts.travel, splits, values, today, measures_of(today), answers, reasons)


def measures_of(launch: Launch) -> np.ndarray:
    """The measure of each aim, of a shot with its trace: (a,) in the aims' units."""
    limbs = limbs_compared(launch)
    row = {
        "same_work": 100.0 * (limbs.upper_share - 0.5), "home_together": 1e3 * limbs.lower_ahead,
        "level_slowly": 1e3 * slow_rise(launch), "level_shot": 1e3 * float(nock_way(launch).rise[-1]),
        "level_end": float(np.degrees(end_slope(launch))),
    }  # fmt: skip
    return np.array([row[name] for name in NAMES])


def _found(
    k: int, looks: np.ndarray, splits: np.ndarray, values: np.ndarray,
    at: Callable[[float], tuple[Launch, np.ndarray]], by: str,
) -> SplitFound:  # fmt: skip
    """The split nearest to where the bolts stand at which one measure is zero."""
    aim = AIMS[k]
    changes = [j for j in range(len(looks) - 1) if values[j] * values[j + 1] <= 0.0]
    for j in sorted(changes, key=lambda j: abs(looks[j] + looks[j + 1])):
        low, high = float(looks[j]), float(looks[j + 1])
        try:
            turns = zero_between(lambda turns: float(at(turns)[1][k]), low, high, CLOSE)
            launch, measured = at(turns)
        except (SetupError, ShotError, ValueError):
            continue  # a gap between two looks
        if abs(measured[k]) <= JUMP * (abs(values[j]) + abs(values[j + 1])):
            return SplitFound(aim.name, launch.upper_tiller - launch.lower_tiller, turns, launch, "")
    return SplitFound(aim.name, float("nan"), float("nan"), None, _none(aim, splits, values, by))


def _none(aim: Aim, splits: np.ndarray, values: np.ndarray, by: str) -> str:
    """Why no split does it, in a sentence."""
    known = np.flatnonzero(np.isfinite(values))
    if not known.size:
        return f"None of the splits that the {by} can make gives a shot in which it can be told."
    ends = [f"{values[j]:+.2g} {aim.unit} at {splits[j]:.1f} mm" for j in (known[0], known[-1])]
    return f"Nothing that the {by} can do brings it about: {aim.text}, is {ends[0]}, {ends[1]}."
