"""Gaps of bare beside fletched over the reading and over the side support's preload, with what is unsure about them."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from concurrent.futures import Executor
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any

import numpy as np

from archerysim.equipment import NO_CHANGES, InSi, Setup, SetupError, filled
from archerysim.equipment.readings import ReadBy, read_by
from archerysim.errors import ShotError
from archerysim.fields.reported import Reported
from archerysim.fields.result import result
from archerysim.fields.to_xarray import dataset, variables_of
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.fitted_bow import Changes, FittedBow
from archerysim.shot.flight.bare_shaft import Leaving, gap_at, leaving_at_sight
from archerysim.shot.flight.fly import check_distance
from archerysim.shot.flight.range_cautions import range_cautions
from archerysim.shot.hold import Hold
from archerysim.shot.launch import Launch
from archerysim.shot.planes import check_sideways
from archerysim.shot.warnings import of_contact, with_more
from archerysim.study.bare_shaft.flights import readings_of
from archerysim.study.bare_shaft.result import points_of_band
from archerysim.study.run.how_to_run import HowToRun, Progress
from archerysim.study.run.points import axis_of
from archerysim.study.run.row import Change, Row
from archerysim.study.run.run import run_in_order
from archerysim.study.uncertainty.inputs import (
    Input,
    draws_of,
    inputs_from,
    moved_together,
    quasi_normal,
    with_reading_given,
)

if TYPE_CHECKING:
    import xarray

PRELOAD = "side.preload"
STEPS = (-4e-3, -2e-3, 0.0, 2e-3, 4e-3)  # [m] from today's reading to those shot by default
SPRING = (-2.0, -1.0, 0.0, 1.0, 2.0)  # [N] from today's preload to those shot by default
DRAWS = 32
PLATE = "a plate has no spring: only how far out it is can be set"


@dataclass(frozen=True)
class GapCurve:
    """A gap, or its change from today's, over something that can be set.

    Attributes
    ----------
    value : (n,) array
        Of the bow as given [m].
    low, high : (n,) arrays
        5 % and 95 % points of the draws [m].
    """

    value: np.ndarray
    low: np.ndarray
    high: np.ndarray


@result("setup.name", "distance", "readings", "preloads", "height", "side_by_preload")
@dataclass(frozen=True)
class Gaps:
    """Where bare shafts land beside fletched ones, over the reading and over the preload of the side support.

    Left and right are given only as changes from today's, draw by draw: where the bare shaft lands today depends on the
    roll of the fingers, which nobody measures. A shot in which something touches on the way out gives no left or right.

    Attributes
    ----------
    setup : Setup
        As given.
    distance : float
        Of the target [m].
    taped : bool
        Whether the bare shaft carries tape of the fletching's mass.
    readings : (r,) array
        By the underside [mm], rising.
    preloads : (p,) array
        [N], rising; empty where the side support has no spring.
    today : float
        Reading of the setup as given, by the underside [mm].
    preload_today : float
        Of the setup as given [N].
    height : GapCurve
        Of the bare shaft above the fletched one, over the reading.
    wanted : float
        The part of it that drag and mass alone make, of the bow as given [m].
    side_by_reading : GapCurve
        Change of the place beside the fletched one, positive away from the window, over the reading.
    height_by_preload, side_by_preload : GapCurve
        Changes of both over the preload.
    touching : tuple of (r,) and (p,) bool arrays
        Where something touches on the way out of the bow as given, at each reading and each preload.
    draws, failed, struck : int
        Bows drawn; of them those without a shot, and those in which something touches today.
    warnings, limits_passed : tuple of str
        Of today's shot, with the cautions for bare shafts; which limits the first of them are about.

    Examples
    --------
    >>> import archerysim
    >>> setup = archerysim.load("examples/club-outdoor.toml")
    >>> found = archerysim.gaps(setup, "6, 8 mm", "1, 2 N", draws=4, mesh="coarse")
    >>> round(found.today), found.readings.round(), found.preloads  # [mm], [mm], [N]
    (8, array([6., 8.]), array([1., 2.]))
    """

    setup: Setup
    distance: Annotated[float, Reported("m", "distance of the target")]
    taped: bool
    readings: Annotated[np.ndarray, Reported("mm", "locator height by the underside of the nock", ("reading",))]
    preloads: Annotated[np.ndarray, Reported("N", "preload of the side support", ("preload",))]
    today: Annotated[float, Reported("mm", "reading of the setup as given, by the underside")]
    preload_today: Annotated[float, Reported("N", "preload of the setup as given")]
    height: GapCurve
    wanted: Annotated[float, Reported("m", "height of the bare shaft by drag and mass alone")]
    side_by_reading: GapCurve
    height_by_preload: GapCurve
    side_by_preload: GapCurve
    touching: tuple[np.ndarray, np.ndarray]
    draws: int
    failed: int
    struck: int
    warnings: tuple[str, ...]
    limits_passed: tuple[str, ...]

    @property
    def by(self) -> ReadBy:
        """How the setup gives its readings; pictures do the same."""
        return read_by(self.setup)

    def to_xarray(self) -> xarray.Dataset:
        """The gaps as a table with units, along "reading" and "preload".

        Examples
        --------
        >>> import archerysim
        >>> setup = archerysim.load("examples/club-outdoor.toml")
        >>> found = archerysim.gaps(setup, "6, 8 mm", "1, 2 N", draws=4, mesh="coarse")
        >>> dict(found.to_xarray().sizes)
        {'reading': 2, 'preload': 2}
        """
        variables = variables_of(self, names={"readings": "reading", "preloads": "preload"})
        for name, along, text in (
            ("height", "reading", "height of the bare shaft above the fletched one"),
            ("side_by_reading", "reading", "sideways change of its place, positive away from the window"),
            ("height_by_preload", "preload", "change of its height"),
            ("side_by_preload", "preload", "sideways change of its place, positive away from the window"),
        ):
            curve: GapCurve = getattr(self, name)
            for ending, values in (("", curve.value), ("_low", curve.low), ("_high", curve.high)):
                variables[name + ending] = ((along,), values, {"units": "m", "long_name": text})
        return dataset(variables, f"gaps of bare beside fletched shafts of {self.setup.name}")


@dataclass(frozen=True)
class GapsOver:
    """Asks for the gaps of a bow with some inputs moved: as it is, at every reading, with every preload.

    Attributes
    ----------
    inputs : tuple of Input
    readings, preloads : tuple of float
        By the underside [m]; [N].
    distance : float
        Of the target [m].
    leaving : Leaving
        Direction in which the arrow is to leave [deg].
    taped : bool
    """

    inputs: tuple[Input, ...]
    readings: tuple[float, ...]
    preloads: tuple[float, ...]
    distance: float
    leaving: Leaving
    taped: bool

    @property
    def shots(self) -> int:
        """How long a point takes, in shots."""
        return 1 + len(self.readings) + len(self.preloads)

    def __call__(self, bow: FittedBow, change: Change) -> Row:
        """Heights and places aside [m], and whether something touches: today first, then readings, then preloads.

        A reading is what the square shows, a preload what the scale does: both are out by as much as in the draw.
        """
        moved = moved_together(bow.given, self.inputs, change)
        drawn = FittedBow.of(moved, bow.mesh, planes=bow.planes)
        slip = _today(moved) - _today(bow.given)
        own, told = filled(moved).side.preload, filled(bow.given).side.preload
        share = own / told if told else 1.0
        row: Row = {"height": [], "side": [], "contact": []}

        def at(reading: float) -> Callable[[], Launch]:
            return lambda: drawn.at_reading((reading + slip, "m"))

        def pressed(preload: float) -> Callable[[], Launch]:
            return lambda: drawn.launch(InSi({PRELOAD: share * preload}))

        for shoot in (drawn.launch, *map(at, self.readings), *map(pressed, self.preloads)):
            height, side, contact = self._gap(shoot)
            row["height"].append(height)
            row["side"].append(side)
            row["contact"].append(contact)
        return row

    def _gap(self, shoot: Callable[[], Launch]) -> tuple[float, float, bool]:
        try:
            launch = shoot()
            gap = gap_at(launch, self.distance, self.leaving, taped=self.taped)
        except (SetupError, ShotError):
            return np.nan, np.nan, False
        return gap.height, gap.side, bool(of_contact(launch.warnings))


def gaps(
    bow: Setup | FittedBow,
    readings: Any = None,
    preloads: Any = None,
    distance: Any = "18 m",
    *,
    draws: int = DRAWS,
    uncertainty: Mapping[str, Any] | None = None,
    seed: int = 0,
    taped: bool = True,
    mesh: str | Mesh = "default",
    planes: int | None = None,
    workers: int | None = None,
    executor: Executor | None = None,
    store: str | os.PathLike[str] | None = None,
    progress: Progress = None,
    changes: Changes = NO_CHANGES,
    hold: Hold = None,
) -> Gaps:
    """Find the gaps of bare beside fletched shafts over the reading and over the side support's preload, with ranges.

    Parameters
    ----------
    bow : Setup or FittedBow
        A measured one is fitted anew for every draw.
    readings : str or sequence, optional
        By the setup's convention. Default: every 2 mm from 4 mm under today's to 4 mm above.
    preloads : str or sequence, optional
        "0 N:4 N:1 N", ``([0, 2], "N")``. Default: every 1 N from 2 N under today's to 2 N above, never below zero; none
        for a side support without a spring.
    distance : str or another number with its unit
        Of the target.
    draws : int
        A power of two (Sobol sequence, scrambled with ``seed``).
    uncertainty : mapping of dotted path to standard deviation, optional
        As for `archerysim.uncertainty`.
    seed : int
    taped : bool
        Whether the bare shaft carries tape of the fletching's mass.
    mesh, planes, workers, executor, store, progress, changes, hold
        As for `sweep`; a point is a draw.

    Returns
    -------
    Gaps

    Raises
    ------
    SetupError, ShotError
        Where the setup itself, readings, preloads, distance or draws are wrong.
    UsageError
        In one plane, where there is no left and right.

    Examples
    --------
    >>> import archerysim
    >>> setup = archerysim.load("examples/club-outdoor.toml")
    >>> found = archerysim.gaps(setup, "6, 8 mm", "1, 2 N", draws=4, mesh="coarse")
    >>> found.height.value.shape, found.side_by_preload.value.shape
    ((2,), (2,))
    >>> bool(found.height.value[0] > found.height.value[1])  # the higher reading puts the bare shaft lower
    True
    """
    far, how = check_distance(distance), HowToRun(workers, executor, store, progress)
    fitted = FittedBow.of(bow, mesh, changes, hold, planes)
    check_sideways(fitted.planes)
    by_reading = with_reading_given(fitted)
    inputs = inputs_from(by_reading.given, uncertainty, 2)
    normal = quasi_normal(len(inputs), draws, seed)
    square = tuple(sorted(readings_of(by_reading.given, readings, fitted.reading, STEPS)))
    pressed = _preloads(by_reading.given, preloads)
    launch = fitted.launch()
    leaving = leaving_at_sight(launch, far)
    question = GapsOver(inputs, square, pressed, far, leaving, taped)
    rows = run_in_order(by_reading, [{}, *draws_of(inputs, normal)], question, how)
    lost = [np.nan] * question.shots
    height, side = (np.array([row.get(name, lost) for row in rows]) for name in ("height", "side"))
    contact = np.array([row.get("contact", [False] * question.shots) for row in rows])
    side[contact | contact[:, :1]] = np.nan
    first, second = slice(1, 1 + len(square)), slice(1 + len(square), None)
    up, aside = height - height[:, :1], side - side[:, :1]
    return Gaps(
        setup=by_reading.given, distance=far, taped=taped, readings=1e3 * np.array(square), preloads=np.array(pressed),
        today=1e3 * fitted.reading, preload_today=filled(fitted.setup).side.preload, height=_curve(height[:, first]),
        wanted=gap_at(launch, far, leaving, taped=taped, lift=False).height, side_by_reading=_curve(aside[:, first]),
        height_by_preload=_curve(up[:, second]), side_by_preload=_curve(aside[:, second]),
        touching=(contact[0, first], contact[0, second]), draws=draws, failed=int(np.isnan(height[1:, 0]).sum()),
        struck=int(contact[1:, 0].sum()), limits_passed=launch.limits_passed,
        warnings=tuple(with_more(launch.warnings, range_cautions(far, True, fitted.setup.category))),
    )  # fmt: skip


def _preloads(setup: Setup, given: Any) -> tuple[float, ...]:
    """Preloads [N], rising."""
    side = filled(setup).side
    if given is not None:
        if side.kind == "plate":
            raise SetupError(PRELOAD, PLATE, "Leave it out")
        return tuple(sorted(axis_of(PRELOAD, given, setup).values))
    if side.kind == "plate":
        return ()
    return tuple(float(one) for one in np.unique(np.maximum(side.preload + np.array(SPRING), 0.0)))


def _curve(sample: np.ndarray) -> GapCurve:
    """From the bow as given and the draws (1 + n, points); no band where the bow as given has no value."""
    low, _, high = np.where(np.isfinite(sample[0]), points_of_band(sample[1:]), np.nan)
    return GapCurve(sample[0], low, high)


def _today(setup: Setup) -> float:
    """What the square shows by the underside [m]."""
    return float(read_by(setup).underside(setup.nock.locators.reading))
