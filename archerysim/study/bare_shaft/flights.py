"""Bare and fletched flights of several readings, each with its own sight."""

from __future__ import annotations

import math
from concurrent.futures import Executor
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, ClassVar

import numpy as np

from archerysim.equipment import NO_CHANGES, Air, Setup, SetupError
from archerysim.equipment.readings import BY_UNDERSIDE, READING, ReadBy, by_underside, read_by
from archerysim.errors import ShotError
from archerysim.fields.reported import Reported
from archerysim.fields.result import result
from archerysim.fields.to_xarray import dataset, stacked, variables_of, words
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.fitted_bow import Changes, FittedBow
from archerysim.shot.flight.aerodynamics import BoundaryLayer
from archerysim.shot.flight.bare_shaft import Both, bare_difference
from archerysim.shot.flight.fly import Flight, check_distance
from archerysim.shot.hold import Hold
from archerysim.shot.launch import Launch
from archerysim.shot.planes import check_support
from archerysim.study.run.how_to_run import HowToRun, Progress
from archerysim.study.run.points import axis_of
from archerysim.study.run.row import Change, Row
from archerysim.study.run.run import run_in_order
from archerysim.study.tuning.crossing import allowed_readings

if TYPE_CHECKING:
    import xarray


STEPS = (-3e-3, 0.0, 3e-3)  # [m] from today's reading to those shot by default


@dataclass(frozen=True)
class FlightRow:
    """One reading.

    Attributes
    ----------
    reading : float
        By the underside [mm].
    launch : Launch or None
    fletched, bare : Flight or None
        With the sight set for the fletched one.
    wanted : float
        Height of the bare shaft above the fletched one that drag and mass alone would make on the target [m]; nan
        where it is missing.
    reason : str
        Why there is less than all of them; else empty.
    """

    reading: Annotated[float, Reported("mm")]
    launch: Launch | None
    fletched: Flight | None
    bare: Flight | None
    wanted: Annotated[float, Reported("m", "height of the bare shaft above the fletched one by drag and mass alone")]
    reason: str

    @property
    def apart(self) -> float:
        """Height of the bare shaft above the fletched one on the target [m]; nan where one of them is missing."""
        if self.fletched is None or self.bare is None:
            return float("nan")
        return Both(self.bare, self.fletched).apart


@result("name", "today", "distance", "taped", "rows")
@dataclass(frozen=True)
class Flights:
    """Flights at several readings. To be shown with ``archerysim.shot.flight.range_cautions.range_cautions``.

    Attributes
    ----------
    name : str
        Of the setup.
    today : float
        Reading of the setup as given, by the underside [mm].
    nock_height : float
        How much more the reading to the top of the nock is [mm].
    distance : float
        [m]
    taped : bool
        Whether the bare shaft carries tape of the fletching's mass.
    rows : tuple of FlightRow
        In the order asked for.
    by : ReadBy
        How the setup gives its readings; tables and pictures do the same.

    Examples
    --------
    >>> import archerysim
    >>> found = archerysim.flights(archerysim.load("examples/club-outdoor.toml"), "4 mm:8 mm:4 mm", mesh="coarse")
    >>> round(found.today), found.distance, [round(row.reading) for row in found.rows]  # [mm], [m], [mm]
    (8, 18.0, [4, 8])
    """

    name: str
    today: Annotated[float, Reported("mm", "reading of the setup as given, by the underside")]
    nock_height: Annotated[float, Reported("mm", "how much more the reading to the top of the nock is")]
    distance: Annotated[float, Reported("m", "distance of the target")]
    taped: bool
    rows: tuple[FlightRow, ...]
    by: ReadBy = BY_UNDERSIDE

    def to_xarray(self) -> xarray.Dataset:
        """The flights side by side as a table with units, along "reading" and "point"; nan where there is none.

        Examples
        --------
        >>> import archerysim
        >>> found = archerysim.flights(archerysim.load("examples/club-outdoor.toml"), "4 mm:8 mm:4 mm", mesh="coarse")
        >>> table = found.to_xarray()
        >>> table.sizes["reading"], sorted(table.dims)
        (2, ['point', 'reading'])
        """
        variables = {
            **stacked(self.rows, "reading"),
            "reason": words([row.reason for row in self.rows], "reading", "why there is less than all"),
            **stacked([row.fletched for row in self.rows], "reading", "fletched_", time="point"),
            **stacked([row.bare for row in self.rows], "reading", "bare_", time="point"),
            **variables_of(self),
        }
        return dataset(variables, f"flights of {self.name}")


@dataclass(frozen=True)
class BothFlown:
    """Asks for the launch with a change, and its arrow's flights with and without fletching."""

    distance: float
    taped: bool
    air: Air | None
    boundary_layer: BoundaryLayer
    shots: ClassVar[int] = 4

    def __call__(self, bow: FittedBow, change: Change) -> Row:
        launch = bow.launch(change)
        try:
            both = bare_difference(
                launch, (self.distance, "m"), taped=self.taped, air=self.air, boundary_layer=self.boundary_layer
            )
        except (SetupError, ShotError) as error:
            return {"launch": launch, "reason": str(error)}
        return {"launch": launch, "fletched": both.fletched, "bare": both.bare, "wanted": both.drag_and_mass}


def flights(
    bow: Setup | FittedBow,
    readings: Any = None,
    *,
    distance: Any = "18 m",
    taped: bool = True,
    air: Air | None = None,
    boundary_layer: BoundaryLayer = "auto",
    mesh: str | Mesh = "default",
    planes: int | None = None,
    workers: int | None = None,
    executor: Executor | None = None,
    progress: Progress = None,
    changes: Changes = NO_CHANGES,
    hold: Hold = None,
) -> Flights:
    """Shoot a bow at several readings and fly each arrow, fletched and bare.

    The bow is fitted once; only the locators are set anew. Each reading has its own sight, found for its fletched
    arrow, and the bare shaft is flown with it.

    Parameters
    ----------
    bow : Setup or FittedBow
        A setup is measured or built.
    readings : str or sequence, optional
        By the setup's convention: a range in words ("4 mm:12 mm:2 mm"), texts with units, or ``([4, 6], "mm")``.
        Default: today's, 3 mm less and 3 mm more.
    distance : str or another number with its unit
        Of the target.
    taped, air, boundary_layer
        As for `archerysim.fly`.
    mesh, planes, workers, executor, progress, changes, hold
        As for `sweep`.

    Returns
    -------
    Flights
        A reading that fails is a row with its reason.

    Raises
    ------
    SetupError, ShotError
        Where the setup itself, the readings or the distance are wrong.

    Examples
    --------
    >>> import archerysim
    >>> found = archerysim.flights(archerysim.load("examples/club-outdoor.toml"), "4 mm:8 mm:4 mm", mesh="coarse")
    >>> [round(1000 * row.apart) > 0 for row in found.rows]  # is the bare shaft above the fletched one?
    [True, False]
    """
    how, far = HowToRun(workers, executor, progress=progress), check_distance(distance)
    bow = FittedBow.of(bow, mesh, changes, hold, planes)
    check_support(bow.setup, bow.planes)
    square = readings_of(bow.given, readings, bow.reading, STEPS)
    question = BothFlown(far, taped, air, boundary_layer)
    rows = run_in_order(bow, [by_underside(bow.setup, reading) for reading in square], question, how)
    flown = tuple(
        FlightRow(
            1e3 * reading, row.get("launch"), row.get("fletched"), row.get("bare"), row.get("wanted", math.nan),
            row["reason"],
        )
        for reading, row in zip(square, rows, strict=True)
    )  # fmt: skip
    by = read_by(bow.setup)
    return Flights(bow.given.name, 1e3 * bow.reading, 1e3 * by.nock_height, far, taped, flown, by)


def readings_of(setup: Setup, readings: Any, today: float, steps: tuple[float, ...]) -> tuple[float, ...]:
    """Readings by the underside [m], from those given by the setup's convention, or today's and some steps [m] away.

    The latter stay within the allowed range, and not under the square unless today's is.

    Raises
    ------
    SetupError
    """
    if readings is None:
        low, high = allowed_readings(setup)
        inside = np.clip(today + np.array(steps), max(low, min(0.0, today)), high)
        return tuple(float(one) for one in np.unique(inside))
    values = axis_of(READING, readings, setup).values
    if not values:
        raise SetupError(READING, "no reading is given", "Give at least one")
    return tuple(float(read_by(setup).underside(one)) for one in values)
