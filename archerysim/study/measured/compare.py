"""What the model says for each row of measured data, and how far the data is from it."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from archerysim.equipment import InSi, Setup, SetupError, field_info, filled
from archerysim.equipment.arrow import total_mass
from archerysim.equipment.filled_setup import filled_as_built
from archerysim.fields.result import result
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.launch import Launch
from archerysim.shot.release.release import loop_of
from archerysim.shot.statics.brace import brace_with_string
from archerysim.shot.statics.curve import curve
from archerysim.shot.statics.draw import TRADE, weigh_at
from archerysim.shot.statics.let_down import kept_from_fingers
from archerysim.shot.warnings import all_warnings, of_limits
from archerysim.study.measured.data import OwnData

POINTS = 25  # equilibria of a draw-force curve
TRACKS = ("nock_x", "nock_y", "point_y")
ERRORS = {
    "draw_force": "0.25 lbf",  # scale
    "speeds": "0.5 m/s",  # chronograph and shot to shot [judgement]
    "track": "1 mm",  # one picture point or two, and the scale in the picture [judgement]
}


@dataclass(frozen=True)
class Alignment:
    """How a film's clock and origin stand to the model's.

    Attributes
    ----------
    time_offset : float
        What the film's clock shows when the first finger opens [s].
    shift_x, shift_y : float
        Added to the model's places to give the film's [m].
    """

    time_offset: float = 0.0
    shift_x: float = 0.0
    shift_y: float = 0.0


@dataclass(frozen=True)
class Path:
    """Nock and point over time, in the riser's axes at full draw from the pivot's place.

    Attributes
    ----------
    time : (k,) array
        [s]
    places, rates : dict of str to (k,) array
        "nock_x", "nock_y", "point_y" [m] and their rates [m/s].
    """

    time: np.ndarray
    places: dict[str, np.ndarray]
    rates: dict[str, np.ndarray]

    def at(self, name: str, time: np.ndarray) -> np.ndarray:
        """A place at some times: still before the release, straight on after clear [m]."""
        from scipy.interpolate import CubicHermiteSpline

        inside = CubicHermiteSpline(self.time, self.places[name], self.rates[name])(
            np.clip(time, self.time[0], self.time[-1])
        )
        return np.asarray(inside + self.rates[name][-1] * np.maximum(time - self.time[-1], 0.0))


@dataclass(frozen=True)
class Modelled:
    """What the model says of a setup.

    Attributes
    ----------
    built : Setup
        As built.
    draw_length, force : (k,) arrays or None
        The draw-force curve [m], [N].
    speed : (n,) array or None
        For each row of the speeds [m/s].
    path : Path or None
    warnings : tuple of str
        A text for the longest draw on the scale (the maker's limits on the bow) and for each shot, its sentences
        apart by line ends.
    """

    built: Setup
    draw_length: np.ndarray | None
    force: np.ndarray | None
    speed: np.ndarray | None
    path: Path | None
    warnings: tuple[str, ...]


@dataclass(frozen=True)
class Residuals:
    """Measured beside computed, a row a measured value; all in SI.

    Attributes
    ----------
    name, unit : str
        What was measured, and the unit in which archers write it.
    along, along_unit : str
        What it was measured against.
    at, measured, computed : (n,) arrays
        Computed is nan where a row is left out.
    error : float
        Standard deviation of one measured value.
    left_out : dict of int to str
        Rows that are not compared, and why.
    distance : (n,) array or None
        Where a speed was measured, from the pivot [m]; nan: at clear. None where no distance was given.
    """

    name: str
    unit: str
    along: str
    along_unit: str
    at: np.ndarray
    measured: np.ndarray
    computed: np.ndarray
    error: float
    left_out: dict[int, str]
    distance: np.ndarray | None = None

    @property
    def difference(self) -> np.ndarray:
        """Measured minus computed (n,)."""
        return np.asarray(self.measured - self.computed)

    @property
    def rms(self) -> float:
        """Root mean square of the differences; nan if there is none."""
        good = self.difference[np.isfinite(self.difference)]
        return float(np.sqrt(np.mean(good**2))) if good.size else float("nan")

    @property
    def scaled(self) -> np.ndarray:
        """Differences over the error, rows left out taken out."""
        return np.asarray(self.difference[np.isfinite(self.difference)] / self.error)


@result("setup.name", "tables", "misfit")
@dataclass(frozen=True)
class DataCompared:
    """A setup beside measured data.

    Attributes
    ----------
    setup : Setup
        As given.
    data : OwnData
    modelled : Modelled
        What the model says: curve, speeds, path; its warnings.
    alignment : Alignment
        Of the film, found by least squares.
    tables : tuple of Residuals
        Draw force, arrow speed, nock x, nock y, point y: those that were measured.
    misfit : float
        Root mean square of all differences over their errors: about 1 where the model is right and the stated errors
        are too.

    Examples
    --------
    >>> import archerysim
    >>> speeds = archerysim.Speeds(arrow_mass=([19, 25], "g"), speed=([55.8, 50.4], "m/s"))
    >>> setup = archerysim.load("examples/club-outdoor.toml")
    >>> found = archerysim.compare_data(setup, archerysim.OwnData(speeds=speeds))
    >>> [table.name for table in found.tables], bool(found.misfit < 2.0)
    (['arrow speed'], True)
    """

    setup: Setup
    data: OwnData
    modelled: Modelled
    alignment: Alignment
    tables: tuple[Residuals, ...]
    misfit: float

    def table(self, name: str) -> Residuals:
        """The table of that name.

        Raises
        ------
        KeyError

        Examples
        --------
        >>> import archerysim
        >>> speeds = archerysim.Speeds(arrow_mass=([19, 25], "g"), speed=([55.8, 50.4], "m/s"))
        >>> setup = archerysim.load("examples/club-outdoor.toml")
        >>> found = archerysim.compare_data(setup, archerysim.OwnData(speeds=speeds))
        >>> bool(abs(found.table("arrow speed").difference).max() < 1.0)  # [m/s]
        True
        """
        return {one.name: one for one in self.tables}[name]


def model_data(bow: FittedBow, data: OwnData) -> Modelled:
    """Draw and shoot what the data asks for.

    Raises
    ------
    SetupError, ShotError
    """
    built = bow.setup
    alone = replace(bow, before=None)  # another arrow on the scale is no change of the bow
    length = force = speed = path = None
    sentences: list[str] = []
    if data.draw_force is not None:
        length, force, passed = _curve(bow, max(data.draw_force.draw_length), max(data.draw_force.force))
        sentences.append("\n".join(passed))
    if data.speeds is not None:
        speed = np.array([0.0] * len(data.speeds))
        shots: dict[float, Launch] = {}
        flown: dict[tuple[float, float], float] = {}
        places = data.speeds.distance or (float("nan"),) * len(data.speeds)
        for k, (mass, place) in enumerate(zip(data.speeds.arrow_mass, places, strict=True)):
            if mass not in shots:
                shots[mass] = alone.launch(with_mass(built, mass))
                sentences.append("\n".join(shots[mass].warnings))
            if (mass, place) not in flown:
                flown[mass, place] = _speed(shots[mass], place)
            speed[k] = flown[mass, place]
    if data.track is not None:
        launch = alone.launch(trace=True)
        path = path_of(launch)
        sentences.append("\n".join(launch.warnings))
    return Modelled(built, length, force, speed, path, tuple(sentences))


def path_of(launch: Launch) -> Path:
    """Nock and front end of the shaft over time, from a traced shot's pictures of all nodes."""
    t: Any = launch.trace
    assert t is not None
    tail = launch.braced.marks.tail
    columns: dict[str, tuple[Any, Any, int]] = {
        "nock_x": (t.frame_x, t.frame_vx, tail), "nock_y": (t.frame_y, t.frame_vy, tail),
        "point_y": (t.frame_y, t.frame_vy, -1),
    }  # fmt: skip
    return Path(
        t.frame_time,
        {name: place[:, node].copy() for name, (place, _, node) in columns.items()},
        {name: rate[:, node].copy() for name, (_, rate, node) in columns.items()},
    )


def with_mass(setup: Setup, mass: float) -> InSi:
    """Changes that give the arrow another mass [kg]: its point is made heavier or lighter.

    Raises
    ------
    SetupError
        If the point cannot be made so light.
    """
    arrow = filled(setup).arrow
    point = arrow.point_mass + mass - total_mass(arrow)
    if point < 0.0:
        raise SetupError(
            "arrow_mass",
            f"{1e3 * mass:.2f} g is less than the arrow of the setup weighs without its point "
            f"({1e3 * (total_mass(arrow) - arrow.point_mass):.2f} g)",
            "Take the row out, or describe that arrow in the setup",
        )
    return InSi({"arrow.point_mass": point})


def tables(
    data: OwnData, modelled: Modelled, shift: Alignment, errors: dict[str, float], late: np.ndarray | None = None
) -> tuple[Residuals, ...]:
    """Residual tables, one for each measured quantity.

    Parameters
    ----------
    late : (n,) array of bool, optional
        Rows of the track after clear; None finds them.
    """
    out = []
    if data.draw_force is not None:
        assert modelled.draw_length is not None
        assert modelled.force is not None
        at = np.array(data.draw_force.draw_length)
        short = at < modelled.draw_length[0]
        computed = np.where(short, np.nan, _spline(modelled.draw_length, modelled.force)(at))
        brace = f"shorter than at brace ({modelled.draw_length[0] / 0.0254:.2f} in)"
        out.append(
            Residuals("draw force", "lbf", "draw length", "in", at, np.array(data.draw_force.force), computed,
                      errors["draw_force"], {int(k): brace for k in np.flatnonzero(short)})
        )  # fmt: skip
    if data.speeds is not None:
        assert modelled.speed is not None
        at, speed = np.array(data.speeds.arrow_mass), np.array(data.speeds.speed)
        places = np.array(data.speeds.distance) if data.speeds.distance else None
        out.append(
            Residuals("arrow speed", "fps", "arrow mass", "gr", at, speed, modelled.speed, errors["speeds"], {}, places)
        )
    if data.track is not None:
        assert modelled.path is not None
        time = np.array(data.track.time)
        gone = after_clear(modelled.path, time, shift) if late is None else late
        for name in TRACKS:
            measured = np.array(getattr(data.track, name))
            if not measured.size:
                continue
            moved = shift.shift_x if name.endswith("x") else shift.shift_y
            computed = np.where(gone, np.nan, modelled.path.at(name, time - shift.time_offset) + moved)
            why = {int(k): "after clear" for k in np.flatnonzero(gone)}
            why |= {int(k): "not seen" for k in np.flatnonzero(np.isnan(measured))}
            words = name.replace("_", " ")
            out.append(Residuals(words, "mm", "time", "ms", time, measured, computed, errors["track"], why))
    return tuple(out)


def after_clear(path: Path, time: np.ndarray, shift: Alignment) -> np.ndarray:
    """Rows of a track that come after clear (n,)."""
    return np.asarray(time - shift.time_offset > path.time[-1])


def _curve(bow: FittedBow, longest: float, greatest: float) -> tuple[np.ndarray, np.ndarray, tuple[str, ...]]:
    """The curve of drawing from brace to the longest draw length measured [m], [N]; the bow's limits there in words.

    The draw weight that counts is the computed one or the ``greatest`` measured, whichever is more.
    """
    full = filled_as_built(bow.setup)
    braced = brace_with_string(full, full.string.length, bow.mesh)
    drawing, last = weigh_at(full, braced, -(longest - TRADE))
    drawn = curve(drawing, last, POINTS)
    length = np.array([TRADE - drawing.begin, *(TRADE - one.throat_x for one in drawn)])
    at_least: Any = field_info("archer.draw_length").low
    there = filled(bow.setup.with_si(**{"archer.draw_length": max(longest, at_least)}))
    hardest = replace(last, force=last.force * max(greatest / last.weight, 1.0))
    passed = {name: sentence for name, sentence in of_limits(there, braced, hardest).items() if "arrow" not in name}
    force = np.array([0.0, *(one.weight for one in drawn)])
    loop = loop_of(drawing, last)
    if loop.size.size:
        force[1:-1] += [kept_from_fingers(drawing, one, loop) for one in drawn[:-1]]
    return length, force, all_warnings(passed, ())


def _spline(x: np.ndarray, y: np.ndarray) -> Callable[[np.ndarray], np.ndarray]:
    from scipy.interpolate import CubicSpline

    return CubicSpline(x, y)  # type: ignore[no-any-return]


def _speed(launch: Launch, place: float) -> float:
    """Speed of the arrow's middle at a distance from the pivot; nan: at clear [m/s]."""
    from archerysim.shot.flight.fly import DISTANCE, flown
    from archerysim.shot.flight.sight import sight_elevation

    if np.isnan(place):
        return launch.clear.speed
    sight = sight_elevation(launch, max(place, DISTANCE.range_si[0]))
    flight = flown(launch, distance=max(place + 1.0, DISTANCE.range_si[0]), elevation=math.radians(sight))
    return float(np.interp(place, flight.x, flight.speed))
