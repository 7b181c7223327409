"""How far bare and fletched are apart over the reading: samples, bands, and the move that brings them together."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Annotated, Any

import numpy as np

from archerysim.equipment import Setup, SetupError
from archerysim.equipment.readings import ReadBy, read_by
from archerysim.fields.quantity import in_si
from archerysim.fields.reported import Reported
from archerysim.fields.result import result
from archerysim.fields.to_xarray import dataset, stacked, variables_of
from archerysim.fields.units import from_si
from archerysim.study.tuning.at_the_butt import AtTheButt
from archerysim.study.tuning.first_move import FirstMove
from archerysim.study.tuning.honest_range import HonestRange
from archerysim.study.uncertainty.inputs import Input

if TYPE_CHECKING:
    import xarray


LOW, HIGH = 0.05, 0.95  # ends of a band of 90 %


@dataclass(frozen=True)
class Missing:
    """One number that could not be computed.

    Attributes
    ----------
    draw : int
        -1: the bow as given.
    reading : float
        [mm]; nan where the whole bow failed.
    distance : float
        [m]; nan where the shot failed.
    reason : str
    """

    draw: int
    reading: Annotated[float, Reported("mm")]
    distance: Annotated[float, Reported("m")]
    reason: str


@dataclass(frozen=True)
class Band:
    """A number with its band of 90 %: median, 5 % and 95 % points; nan where there is none.

    Of the best reading, and of the move to it, the best estimate stands in the median's place.
    """

    median: float
    low: float
    high: float


@result("setup.name", "readings", "distances", "today", "taped", "value", "sample", "missing", "ranges")
@dataclass(frozen=True)
class BareAgainstFletched:
    """Height of the bare shaft above the fletched one. To be shown with the range's cautions.

    The bands of the heights hold what the measuring of the inputs leaves open, not what the model of the flight leaves
    out; the ranges of the best reading hold both.

    Attributes
    ----------
    setup : Setup
        As given.
    readings : (r,) array
        By the underside, as the square shows them [mm], rising.
    distances : (d,) array
        [m]
    today : float
        Reading of the setup as given, by the underside [mm].
    nock_height : float
        How much more the reading to the top of the nock is [mm].
    taped : bool
        Whether the bare shaft carries tape of the fletching's mass.
    inputs : tuple of Input
        What was taken as uncertain.
    seed : int
    value : (r, d) array
        Height of the bare shaft above the fletched one, the bow as given [m]; nan where it failed.
    drag_and_mass : (d,) array
        The part of it that is there with any launch: the difference wanted [m].
    sample : (n, r, d) array
        The same as ``value`` for every draw [m].
    sample_drag_and_mass : (n, d) array
        The same as ``drag_and_mass`` for every draw [m].
    missing : tuple of Missing
    sample_side : (n, r, d) array
        Place of the bare shaft beside the fletched one for every draw, positive away from the window [m]; nan in a shot
        in one plane. Its spread can be used, its middle cannot: the roll of the fingers is poorly known.
    ranges : tuple of HonestRange
        Of the best reading at each distance.
    moves : tuple of FirstMove or None
        What to do with the locators now, by the range at each distance; None where that has none.
    butts : tuple of AtTheButt or None
        What a move of the locators does at each distance.
    warnings, limits_passed : tuple of str
        Of the shot with the reading nearest to today's, with the cautions for bare shafts; which limits the first of
        them are about.

    Examples
    --------
    >>> import archerysim
    >>> setup = archerysim.load("examples/club-outdoor.toml")
    >>> found = archerysim.bare_against_fletched(setup, "4, 8 mm", ["18 m"], draws=8, mesh="coarse")
    >>> found.lower.shape, bool((found.lower <= found.upper).all())
    ((2, 1), True)
    >>> found.ranges[0].low < found.ranges[0].high  # [mm]
    True
    """

    setup: Setup
    readings: Annotated[np.ndarray, Reported("mm", "locator height by the underside of the nock", ("reading",))]
    distances: Annotated[np.ndarray, Reported("m", "distance of the target", ("distance",))]
    today: Annotated[float, Reported("mm", "reading of the setup as given, by the underside")]
    nock_height: Annotated[float, Reported("mm", "how much more the reading to the top of the nock is")]
    taped: bool
    inputs: tuple[Input, ...]
    seed: int
    value: Annotated[
        np.ndarray,
        Reported("m", "height of the bare shaft above the fletched one, the bow as given", ("reading", "distance")),
    ]
    drag_and_mass: Annotated[np.ndarray, Reported("m", "its part that is there with any launch", ("distance",))]
    sample: Annotated[
        np.ndarray,
        Reported(
            "m", "height of the bare shaft above the fletched one, of every draw", ("draw", "reading", "distance")
        ),
    ]
    sample_drag_and_mass: Annotated[
        np.ndarray, Reported("m", "its part that is there with any launch, of every draw", ("draw", "distance"))
    ]
    missing: tuple[Missing, ...]
    sample_side: Annotated[
        np.ndarray,
        Reported(
            "m", "place of the bare shaft beside the fletched one, away from the window, of every draw",
            ("draw", "reading", "distance"),
        ),
    ]  # fmt: skip
    ranges: tuple[HonestRange, ...]
    moves: tuple[FirstMove | None, ...]
    butts: tuple[AtTheButt | None, ...]
    warnings: tuple[str, ...] = ()
    limits_passed: tuple[str, ...] = ()

    def to_xarray(self) -> xarray.Dataset:
        """Heights and ranges as a table with units, along "reading", "distance" and "draw".

        Examples
        --------
        >>> import archerysim
        >>> setup = archerysim.load("examples/club-outdoor.toml")
        >>> found = archerysim.bare_against_fletched(setup, "4, 8 mm", ["18 m"], draws=8, mesh="coarse")
        >>> dict(found.to_xarray().sizes)
        {'reading': 2, 'distance': 1, 'draw': 8}
        """
        names = {"readings": "reading", "distances": "distance"}
        ranges = stacked(self.ranges, "distance", "range_")
        ranges.pop("range_distance", None)
        return dataset(
            {**variables_of(self, names=names), **ranges}, f"bare against fletched shafts of {self.setup.name}",
            setup=self.setup.to_toml(),
        )  # fmt: skip

    @property
    def by(self) -> ReadBy:
        """How the setup gives its readings; pictures do the same."""
        return read_by(self.setup)

    @cached_property
    def _points(self) -> np.ndarray:
        return points_of_band(self.sample)

    @property
    def median(self) -> np.ndarray:
        """Median of the draws (r, d) [m]."""
        return np.asarray(self._points[1])

    @property
    def lower(self) -> np.ndarray:
        """5 % point of the draws (r, d) [m]."""
        return np.asarray(self._points[0])

    @property
    def upper(self) -> np.ndarray:
        """95 % point of the draws (r, d) [m]."""
        return np.asarray(self._points[2])

    def wanted(self, distance: Any) -> float:
        """Height at which the bare shaft is wanted: drag and mass alone, median of the draws [m].

        Raises
        ------
        SetupError
            If nothing was flown to that distance.

        Examples
        --------
        >>> import archerysim
        >>> setup = archerysim.load("examples/club-outdoor.toml")
        >>> found = archerysim.bare_against_fletched(setup, "4, 8 mm", ["18 m"], draws=8, mesh="coarse")
        >>> 0.0 < found.wanted("18 m") < 0.05  # [m]: less drag, a little high
        True
        """
        return _band(self.sample_drag_and_mass[:, self.place_of(distance)]).median

    def height_at(self, reading: Any, distance: Any) -> Band:
        """Height of the bare shaft above the fletched one at a reading ("6 mm"), straight lines between readings [m].

        As in all of these numbers, the reading is by the underside.

        Raises
        ------
        SetupError
            If the reading lies outside the readings, or nothing was flown to that distance.

        Examples
        --------
        >>> import archerysim
        >>> setup = archerysim.load("examples/club-outdoor.toml")
        >>> found = archerysim.bare_against_fletched(setup, "4, 8 mm", ["18 m"], draws=8, mesh="coarse")
        >>> six = found.height_at("6 mm", "18 m")
        >>> six.low < six.median < six.high  # [m]
        True
        """
        return self._at(self.sample, reading, distance)

    def _at(self, sample: np.ndarray, reading: Any, distance: Any) -> Band:
        """Numbers of the draws (n, r, d) at a reading."""
        reading = _reading(reading)
        if not self.readings[0] - 1e-6 <= reading <= self.readings[-1] + 1e-6:
            at, low, high = 1e3 * self.by.reading(1e-3 * np.array([reading, self.readings[0], self.readings[-1]]))
            raise SetupError(
                "reading",
                f"{at:.1f} mm {self.by.words} lies outside those shot, {low:.1f} to {high:.1f} mm",
                "Shoot more readings",
            )
        lines = sample[:, :, self.place_of(distance)]
        heights = np.array([np.interp(reading, self.readings, line) for line in lines])
        return _band(heights)

    def unsure_aside(self, reading: Any, distance: Any) -> float:
        """How far left or right of the fletched shaft nine of ten drawn bows send the bare one at most [m].

        The side is not given: what the draws have in common leans to one side for every bow, and depends on the roll of
        the fingers, which only groups can show. nan in a shot in one plane.

        Raises
        ------
        SetupError
            If the reading lies outside the readings, or nothing was flown to that distance.

        Examples
        --------
        >>> import archerysim
        >>> setup = archerysim.load("examples/club-outdoor.toml")
        >>> found = archerysim.bare_against_fletched(setup, "4, 8 mm", ["18 m"], draws=8, mesh="coarse")
        >>> found.unsure_aside("6 mm", "18 m") > 0.0  # [m], to either side
        True
        """
        aside = self._at(self.sample_side, reading, distance)
        return float(max(abs(aside.low), abs(aside.high)))

    def together(self, distance: Any) -> Band:
        """Reading at which only drag and mass are left between bare and fletched: best estimate with its range [mm].

        All nan where too few draws have such a reading.

        Raises
        ------
        SetupError
            If nothing was flown to that distance.

        Examples
        --------
        >>> import archerysim
        >>> setup = archerysim.load("examples/club-outdoor.toml")
        >>> found = archerysim.bare_against_fletched(setup, "4, 8 mm", ["18 m"], draws=8, mesh="coarse")
        >>> best = found.together("18 m")
        >>> best.low < best.median < best.high  # [mm]
        True
        """
        found = self.ranges[self.place_of(distance)]
        return Band(found.best, found.low, found.high) if found.known else Band(np.nan, np.nan, np.nan)

    def crossings(self, distance: Any) -> np.ndarray:
        """The reading of `together` for each draw (n,) [mm]; nan where a draw has none.

        Raises
        ------
        SetupError
            If nothing was flown to that distance.

        Examples
        --------
        >>> import archerysim
        >>> setup = archerysim.load("examples/club-outdoor.toml")
        >>> found = archerysim.bare_against_fletched(setup, "4, 8 mm", ["18 m"], draws=8, mesh="coarse")
        >>> found.crossings("18 m").shape
        (8,)
        """
        return self.ranges[self.place_of(distance)].sample

    def move(self, reading: Any, distance: Any) -> Band:
        """How far to move the locators from a reading ("6 mm"), positive up [mm].

        Raises
        ------
        SetupError
            If nothing was flown to that distance.

        Examples
        --------
        >>> import archerysim
        >>> setup = archerysim.load("examples/club-outdoor.toml")
        >>> found = archerysim.bare_against_fletched(setup, "4, 8 mm", ["18 m"], draws=8, mesh="coarse")
        >>> found.move("20 mm", "18 m").median < 0.0  # [mm]: down
        True
        """
        there, reading = self.together(distance), _reading(reading)
        return Band(there.median - reading, there.low - reading, there.high - reading)

    def place_of(self, distance: Any) -> int:
        """Index of a distance ("18 m").

        Raises
        ------
        SetupError

        Examples
        --------
        >>> import archerysim
        >>> setup = archerysim.load("examples/club-outdoor.toml")
        >>> found = archerysim.bare_against_fletched(setup, "4, 8 mm", ["18 m"], draws=8, mesh="coarse")
        >>> found.place_of("18 m")
        0
        """
        far = in_si("distance", distance, "m")
        near = np.flatnonzero(np.abs(self.distances - far) < 1e-6)
        if not near.size:
            flown = ", ".join(f"{one:g} m" for one in self.distances)
            raise SetupError("distance", f"nothing was flown to {far:g} m, only to {flown}", "Use one of these")
        return int(near[0])


def _reading(reading: Any) -> float:
    """A reading in mm, from what carries its unit."""
    return from_si(in_si("reading", reading, "mm"), "mm")


def points_of_band(sample: np.ndarray) -> np.ndarray:
    """5 % point, median and 95 % point along the first axis, nan left out; nan where fewer than two are left."""
    flat = sample.reshape(len(sample), -1)
    out = np.full((3, flat.shape[1]), np.nan)
    for k, column in enumerate(flat.T):
        good = column[np.isfinite(column)]
        if good.size > 1:
            out[:, k] = np.quantile(good, (LOW, 0.5, HIGH))
    return out.reshape(3, *sample.shape[1:])


def _band(sample: np.ndarray) -> Band:
    low, median, high = points_of_band(sample)
    return Band(float(median), float(low), float(high))
