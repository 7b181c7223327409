"""A group: many shots of one bow by a hand that is not always the same."""

from __future__ import annotations

import math
import os
from collections.abc import Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Annotated, Any, ClassVar

import numpy as np

from archerysim.equipment import NO_CHANGES, Setup, SetupError, field_info, filled
from archerysim.fields.given import whole_number
from archerysim.fields.reported import Reported, columns_of
from archerysim.fields.result import result
from archerysim.fields.to_xarray import dataset, variables_of, words
from archerysim.fields.udunits import udunits
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.fitted_bow import Changes, FittedBow
from archerysim.shot.flight.bare_shaft import fly_both
from archerysim.shot.flight.fly import check_distance
from archerysim.shot.flight.range_cautions import range_cautions
from archerysim.shot.flight.sight import sight_of
from archerysim.shot.hold import Hold
from archerysim.shot.launch import Launch
from archerysim.shot.warnings import NONE, kind_of, ranged, with_more
from archerysim.study.groups.scatter import Scatter, shots
from archerysim.study.groups.spread import Spread, spread_of
from archerysim.study.run.how_to_run import HowToRun, Progress
from archerysim.study.run.row import Change, Row, numbers
from archerysim.study.run.run import run_in_order

if TYPE_CHECKING:
    import xarray


MOST = 100_000
CM = 1e-2  # [m]
AT_CLEAR = ("pitch", "pitch_rate", "angle_of_attack", "speed")


@result(
    "setup.name", "distance", "elevation", "fletched", "bare", "speed", "seed", "warnings",
)  # fmt: skip
@dataclass(frozen=True)
class Group:
    """Shots with one sight setting, each with its own hand.

    Attributes
    ----------
    setup : Setup
        As built, without scatter.
    scatter : Scatter
    seed : int
    distance : float
        Of the target plane [m].
    elevation, windage : float
        Of the aim line for every shot [deg]: those with which the fletched arrow of the shot without scatter hits
        the centre.
    nominal : Launch
        The shot without scatter.
    drawn : dict of path to (n,) or (n, 3) array
        What each shot was shot with, in SI.
    fletched, bare : (n,) arrays
        Height of the fletched arrow, and of the bare shaft taped to the same mass, above the centre [cm].
    pitch, angle_of_attack : (n,) arrays
        At clear, positive nose up [deg].
    pitch_rate : (n,) array
        At clear [rad/s].
    speed : (n,) array
        At clear [m/s].
    bare_nominal : float
        Height of the bare shaft without scatter [cm].
    reasons : tuple of str
        Why a shot has no result; empty where it has. Its numbers are nan.
    warnings : tuple of str
        Those of the shot without scatter, then those of other shots, and the cautions for bare shafts.

    Examples
    --------
    >>> import archerysim
    >>> found = archerysim.group(archerysim.load("examples/club-outdoor.toml"), 6, mesh="coarse")
    >>> sorted(found.drawn)
    ['archer.draw_length', 'archer.finger_shares', 'archer.grip_torque', 'archer.release_time', 'nock.grip']
    >>> found.count, round(float(found.speed.mean()))  # [m/s]
    (6, 56)
    """

    setup: Setup
    scatter: Scatter
    seed: int
    distance: Annotated[float, Reported("m", "distance of the target")]
    elevation: Annotated[float, Reported("deg", "angle of the aim line above the horizontal, for every shot")]
    windage: Annotated[float, Reported("deg", "turn of the aim line about the vertical, for every shot")]
    nominal: Launch
    drawn: dict[str, np.ndarray]
    fletched: Annotated[np.ndarray, Reported("cm", "height of the fletched arrow above the centre", ("shot",))]
    bare: Annotated[np.ndarray, Reported("cm", "height of the bare shaft above the centre", ("shot",))]
    pitch: Annotated[np.ndarray, Reported("deg", "angle of the shaft to the aim line, positive nose up", ("shot",))]
    pitch_rate: Annotated[np.ndarray, Reported("rad/s", "rate of the pitch, positive nose up", ("shot",))]
    angle_of_attack: Annotated[
        np.ndarray, Reported("deg", "pitch minus the direction of the mass centre's velocity", ("shot",))
    ]
    speed: Annotated[np.ndarray, Reported("m/s", "speed of the arrow's mass centre along the aim line", ("shot",))]
    bare_nominal: Annotated[float, Reported("cm", "height of the bare shaft without scatter")]
    reasons: tuple[str, ...]
    warnings: tuple[str, ...]

    @property
    def count(self) -> int:
        """Shots, failed ones too."""
        return len(self.reasons)

    @property
    def failed(self) -> int:
        """Shots without a result."""
        return sum(bool(reason) for reason in self.reasons)

    def to_xarray(self) -> xarray.Dataset:
        """The group as a table with units, along "shot": what came of each, and what it was shot with, in SI.

        Examples
        --------
        >>> import archerysim
        >>> table = archerysim.group(archerysim.load("examples/club-outdoor.toml"), 6, mesh="coarse").to_xarray()
        >>> table.sizes["shot"], table["fletched"].attrs["units"]
        (6, 'cm')
        """
        variables = {**variables_of(self), "reason": words(self.reasons, "shot", "why a shot has no result")}
        for path, values in self.drawn.items():
            info = field_info(path)
            axes = ("shot", "finger")[: values.ndim]
            about = {"units": udunits(info.si_unit), "long_name": info.text, "path": path}
            variables[path.replace(".", "_")] = (axes, values, about)
        about = {"setup_as_built": self.setup.to_toml(), "warnings": "\n".join(self.warnings)}
        return dataset(variables, f"group of {self.setup.name}", **about)

    def spread(self, name: str) -> Spread:
        """Scatter of "fletched", "bare" [cm], "pitch", "angle_of_attack" [deg], "pitch_rate" or "speed".

        Examples
        --------
        >>> import archerysim
        >>> found = archerysim.group(archerysim.load("examples/club-outdoor.toml"), 12, mesh="coarse")
        >>> spread = found.spread("fletched")
        >>> spread.count, spread.low < spread.deviation < spread.high  # [cm], with its 95 % interval
        (12, True)
        """
        return spread_of(getattr(self, name))


UNITS = {one.name: one.unit for one in columns_of(Group) if one.along}


@dataclass(frozen=True)
class Hands:
    """The hands that shoot a group, and how far: the same hands in every bow.

    Attributes
    ----------
    n : int
        Shots.
    scatter : Scatter
    distance : float
        Of the target plane [m].
    seed : int
    """

    n: int
    scatter: Scatter
    distance: float
    seed: int

    @classmethod
    def of(cls, n: int, scatter: Scatter | None, distance: Any, seed: int) -> Hands:
        """From what an archer gives.

        Raises
        ------
        SetupError
            Where a number of shots, a seed or a distance makes no sense.
        """
        whole_number("n", n, "a number of shots", 2, MOST)
        whole_number("seed", seed, "a seed", 0)
        return cls(n, scatter or Scatter(), check_distance(distance), seed)


@dataclass(frozen=True)
class ShotFlown:
    """Asks for a launch, and how high its arrow meets the target with and without fletching."""

    distance: float
    elevation: float
    windage: float
    shots: ClassVar[int] = 2

    def __call__(self, bow: FittedBow, change: Change) -> Row:
        launch = bow.launch(change)
        return {**numbers(launch), **self.flown(launch)}

    def flown(self, launch: Launch) -> Row:
        """The heights [cm], or the reason why there are none."""
        try:
            both = fly_both(launch, distance=self.distance, elevation=self.elevation, windage=self.windage)
        except SetupError as error:
            return {"reason": str(error)}
        return {"fletched": both.fletched.impact_height / CM, "bare": both.bare.impact_height / CM}


def group(
    bow: Setup | FittedBow,
    n: int = 30,
    *,
    scatter: Scatter | None = None,
    distance: Any = "18 m",
    seed: int = 0,
    workers: int | None = None,
    executor: Executor | None = None,
    store: str | os.PathLike[str] | None = None,
    mesh: str | Mesh = "default",
    planes: int | None = None,
    progress: Progress = None,
    changes: Changes = NO_CHANGES,
    hold: Hold = None,
) -> Group:
    """Shoot n arrows, each with its own draw length, finger shares, release time, hand torque and nock fit.

    The bow is fitted once and stays as built; the sight is set once, for the arrow shot without scatter.

    Parameters
    ----------
    bow : Setup or FittedBow
    n : int
        Shots.
    scatter : Scatter, optional
        Standard deviations; by default those of a steady club archer.
    distance : str or another number with its unit
        Of the target plane.
    seed : int
        The same seed draws the same hands, in every setup and with any number of workers.
    workers, executor, store, mesh, planes, progress, changes, hold
        As for `sweep`.

    Returns
    -------
    Group
        A shot that fails is kept, with its reason.

    Raises
    ------
    SetupError
        Where an argument is out of range, or the shot without scatter does not reach the target.
    ShotError
        Where the shot without scatter fails.

    Examples
    --------
    >>> import archerysim
    >>> found = archerysim.group(archerysim.load("examples/club-outdoor.toml"), 12, mesh="coarse")
    >>> found.count, found.failed, found.fletched.shape
    (12, 0, (12,))
    >>> found.spread("fletched").deviation > 0.0  # [cm]
    True
    """
    hands, how = Hands.of(n, scatter, distance, seed), HowToRun(workers, executor, store, progress)
    return shoot_group(FittedBow.of(bow, mesh, changes, hold, planes), hands, how)


def shoot_group(bow: FittedBow, hands: Hands, how: HowToRun) -> Group:
    """`group` for a bow already fitted."""
    nominal = bow.launch()
    question = ShotFlown(hands.distance, *map(math.degrees, sight_of(nominal, hands.distance)))
    points = shots(hands.scatter, filled(bow.setup), hands.n, hands.seed, nominal.draw_force)
    alone = replace(bow, before=None)  # a hand that draws a little farther is no change of the bow
    found = run_in_order(alone, points, question, how)
    columns: dict[str, Any] = {
        name: np.array([row.get(name, np.nan) for row in found], dtype=float) for name in ("fletched", "bare")
    }
    for name in AT_CLEAR:
        columns[name] = np.array([row.get(name, (np.nan, np.nan))[1] for row in found], dtype=float)
    return Group(
        setup=bow.setup, scatter=hands.scatter, seed=hands.seed, distance=hands.distance,
        elevation=question.elevation, windage=question.windage, nominal=nominal,
        drawn={axis.path: np.array(axis.values) for axis in points.axes}, **columns,
        bare_nominal=float(question.flown(nominal).get("bare", np.nan)),
        reasons=tuple(str(row["reason"]) for row in found), warnings=_warnings(nominal, found, hands.distance),
    )  # fmt: skip


def _warnings(nominal: Launch, rows: list[Row], distance: float) -> tuple[str, ...]:
    """The nominal shot's warnings, then each other kind once with the number of shots; the cautions for bare shafts."""
    warnings = list(nominal.warnings)
    known = {kind_of(sentence) for sentence in warnings}
    kinds: dict[str, list[str]] = {}
    for row in rows:
        for sentence in str(row.get("warnings", NONE)).split("\n"):
            if sentence != NONE and kind_of(sentence) not in known:
                kinds.setdefault(kind_of(sentence), []).append(sentence)
    if any(row.get("limits_passed") for row in rows):
        warnings = [sentence for sentence in warnings if sentence != NONE]
    more = [f"{ranged(one)} (at {len(one)} of {len(rows)} shots)" for one in kinds.values()]
    return tuple(with_more(warnings, [*more, *range_cautions(distance, True, nominal.setup.category)]))


def each_warning_once(warnings: Sequence[Sequence[str]]) -> list[str]:
    """Each kind of warning once, in the words of its first; what no limit passed means last, where all say it."""
    kinds: dict[str, str] = {}
    for sentences in warnings:
        for sentence in sentences:
            if sentence != NONE or all(NONE in other for other in warnings):
                kinds.setdefault(kind_of(sentence), sentence)
    return with_more(list(kinds.values()), [])
