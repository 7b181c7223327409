"""What the model expects of groups: a quadratic surface through real shots, in the unmeasured inputs."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar

import numpy as np

from archerysim.equipment import NO_CHANGES, InSi, Setup
from archerysim.equipment.readings import BY_UNDERSIDE, READING, ReadBy, by_underside, read_by
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.flight.bare_shaft import bare_difference, fly_both
from archerysim.shot.launch import Launch
from archerysim.study.notes.priors import Cause, causes_of, changes_of, kept, spaced
from archerysim.study.run.how_to_run import SIMPLY, HowToRun
from archerysim.study.run.row import BAD_SETUP, Change, Row
from archerysim.study.run.run import run_in_order

SHOTS = {1: 48, 2: 80}  # behind a surface, at each reading, by planes; it has 21 numbers for five inputs, 36 for seven
LEAST = 0.75  # of the shots must have come off
STEP = 0.001  # between the readings of a slope [m]
Place = tuple[float, float]  # reading, distance [m]


@dataclass(frozen=True)
class Surface:
    """Numbers as a quadratic in the normed inputs z: value + slope z + z' bend z / 2.

    Attributes
    ----------
    value : (m,) array
    slope : (m, k) array
    bend : (m, k, k) array
    error : (m,) array
        Standard deviation of the shots behind it from it, by their number less that of its own numbers.
    """

    value: np.ndarray
    slope: np.ndarray
    bend: np.ndarray
    error: np.ndarray

    def at(self, z: np.ndarray) -> np.ndarray:
        """The numbers (m,)."""
        return np.asarray(self.value + self.slope @ z + 0.5 * (self.bend @ z) @ z)

    def slopes(self, z: np.ndarray) -> np.ndarray:
        """Their slopes (m, k)."""
        return np.asarray(self.slope + self.bend @ z)

    def rows(self, which: list[int]) -> Surface:
        """The surface of some of its numbers, in that order."""
        return Surface(self.value[which], self.slope[which], self.bend[which], self.error[which])

    def shifted(self, by: np.ndarray) -> Surface:
        """The surface moved by ``by`` (m,)."""
        return replace(self, value=self.value + by)


@dataclass(frozen=True)
class Expected:
    """What the model expects at every place that was shot.

    Attributes
    ----------
    bow : FittedBow
    causes : tuple of Cause
    places : tuple of (reading, distance)
        Readings by the underside, distances [m].
    taped : bool
    heights : Surface
        Bare above fletched at each place [m].
    wanted : (m,) array
        The part of it that drag and mass make with any launch [m].
    per_reading : (m,) array
        Change of the height for a higher reading [m/m], at the priors' middle.
    sights : dict of distance [m] to float
        Elevation of the aim line with the last reading shot there [deg].
    speed, weight : Surface
        Speed at clear [m/s] and draw force [N], at the last reading; one number each.
    strikes : dict of reading [m] to float
        How deep the shaft comes into the rest again, or would where its support has ended, at the priors' middle [mm];
        nan where it does not.
    shots : int
    failed : int
        Sets of inputs without a shot at some reading, left out of the surface.
    """

    bow: FittedBow
    causes: tuple[Cause, ...]
    places: tuple[Place, ...]
    taped: bool
    heights: Surface
    wanted: np.ndarray
    per_reading: np.ndarray
    sights: dict[float, float]
    speed: Surface
    weight: Surface
    strikes: dict[float, float]
    shots: int
    failed: int

    def launch(self, reading: float, z: np.ndarray | None = None, extra: InSi = NO_CHANGES) -> Launch:
        """A real shot with a reading [m], normed inputs and further changes."""
        return launch_at(self.bow, self.causes, reading, z, extra)

    def height(self, launch: Launch, distance: float) -> float:
        """A bare shaft above a fletched one at one of the distances [m], from a real flight."""
        return height_of(launch, distance, self.taped, self.sights[distance])

    def shot_heights(self, z: np.ndarray) -> np.ndarray:
        """The heights at all places from real shots in place of the surface [m]."""
        launches = {reading: self.launch(reading, z) for reading in {reading for reading, _ in self.places}}
        return np.array([self.height(launches[reading], far) for reading, far in self.places])


def launch_at(
    bow: FittedBow, causes: tuple[Cause, ...], reading: float, z: np.ndarray | None = None,
    extra: InSi = NO_CHANGES,
) -> Launch:  # fmt: skip
    """A shot of the bow as built with a reading by the underside [m] and normed inputs (k,)."""
    changes = by_underside(bow.setup, reading) | extra
    if z is not None:
        changes = changes | changes_of(bow.setup, causes, z)
    return bow.launch(changes)


def strike_of(launch: Launch) -> float:
    """How deep the shaft is in the rest after it had left it [mm]; nan where it does not come there again.

    In one plane, in which the rest then is not there, after its support has ended.
    """
    return launch.suppressed_strike if launch.planes == 1 else launch.passage.arm_strike_depth


def height_of(launch: Launch, distance: float, taped: bool, elevation: float | None = None) -> float:
    """A bare shaft above a fletched one on the target [m].

    With an ``elevation`` [deg] no sight is looked for: one found for a like launch makes no difference.
    """
    return fly_both(launch, distance=distance, elevation=elevation, taped=taped).apart


@dataclass(frozen=True)
class HeightsOnTarget:
    """Asks how high a bare shaft hits above a fletched one with a reading and normed inputs; speed and draw force.

    A point holds "reading" [m], "z" (k,), and "flown", pairs of distance [m] and elevation of the aim line [deg].
    """

    causes: tuple[Cause, ...]
    taped: bool
    shots: ClassVar[int] = 2

    def __call__(self, bow: FittedBow, change: Change) -> Row:
        launch = launch_at(bow, self.causes, change["reading"], np.array(change["z"]))
        heights = [height_of(launch, far, self.taped, sight) for far, sight in change["flown"]]
        return {"heights": heights, "speed": launch.clear.speed, "draw_force": launch.draw_force}


def expect(
    bow: Setup | FittedBow, places: tuple[Place, ...], *, taped: bool = True, shots: int | None = None,
    mesh: str | Mesh = "default", planes: int | None = None, how: HowToRun = SIMPLY,
) -> Expected:  # fmt: skip
    """Shoot what a surface needs at every place.

    Parameters
    ----------
    bow : Setup or FittedBow
        Measured (fitted once) or built.
    places : tuple of (reading, distance)
        Readings by the underside [m], distances [m]; the last reading is where the locators stand now.
    taped : bool
    shots : int, optional
        Behind the surface, at each reading. Default: by `SHOTS`.
    mesh : str or Mesh
    planes : int, optional
        As for `archerysim.shoot`.
    how : HowToRun

    Raises
    ------
    SetupError, ShotError
        A few shots of the surface may fail; where more than a quarter do, the last one's error is raised.
    """
    bow = FittedBow.of(bow, mesh, planes=planes)
    by = read_by(bow.setup)
    causes = causes_of(bow.setup, bow.planes)
    design = spaced(causes, SHOTS[bow.planes] if shots is None else shots)
    m = len(places)
    seen, last = np.empty((len(design), m)), np.empty((len(design), 2))
    wanted, per_reading = np.empty(m), np.empty(m)
    strikes: dict[float, float] = {}
    readings = list(dict.fromkeys(reading for reading, _ in places))
    sights: dict[float, float] = {}
    for reading in readings:
        middle = launch_at(bow, causes, reading)
        strikes[reading] = strike_of(middle)
        ends = allowed(reading - STEP, by), allowed(reading + STEP, by)
        low, high = (launch_at(bow, causes, end) for end in ends)
        for k in (k for k in range(m) if places[k][0] == reading):
            far = places[k][1]
            whole = bare_difference(middle, (far, "m"), taped=taped)
            wanted[k], sights[far] = whole.drag_and_mass, whole.elevation
            sides = [height_of(launch, far, taped, whole.elevation) for launch in (low, high)]
            per_reading[k] = (sides[1] - sides[0]) / (ends[1] - ends[0])
    at = {reading: [k for k in range(m) if places[k][0] == reading] for reading in readings}
    points = [
        {"reading": reading, "z": z.tolist(), "flown": [(places[k][1], sights[places[k][1]]) for k in at[reading]]}
        for reading in readings
        for z in design
    ]
    question = HeightsOnTarget(causes, taped)
    good = np.full(len(design), True)
    for index, row in enumerate(run_in_order(bow, points, question, how)):
        i, reading = index % len(design), points[index]["reading"]
        if row["status"] != 0:
            good[i] = False
            if row["status"] == BAD_SETUP or good.sum() < LEAST * len(design):
                question(bow, points[index])  # raises the same once more
            continue
        seen[i, at[reading]] = row["heights"]
        if reading == places[-1][0]:
            last[i] = row["speed"], row["draw_force"]
    heights, speed, weight = (surface(design[good], part[good]) for part in (seen, last[:, :1], last[:, 1:]))
    return Expected(
        bow, causes, places, taped, heights, wanted, per_reading, sights, speed, weight, strikes,
        len(points) + 3 * len(readings), int((~good).sum()),
    )  # fmt: skip


def allowed(reading: float, by: ReadBy = BY_UNDERSIDE) -> float:
    """A reading by the underside, or the nearest one that a setup may have that tells its readings ``by`` [m]."""
    return float(by.underside(kept(READING, by.reading(reading))))


def surface(design: np.ndarray, seen: np.ndarray) -> Surface:
    """The quadratic nearest to what was seen (n, m) at normed inputs (n, k), by least squares."""
    n, k = design.shape
    pairs = [(i, j) for i in range(k) for j in range(i, k)]
    columns = [np.ones(n), *design.T, *(design[:, i] * design[:, j] * (0.5 if i == j else 1.0) for i, j in pairs)]
    table = np.array(columns).T
    found = np.linalg.lstsq(table, seen, rcond=None)[0]
    bend = np.zeros((seen.shape[1], k, k))
    for row, (i, j) in zip(found[1 + k :], pairs, strict=True):
        bend[:, i, j] = bend[:, j, i] = row
    left = ((seen - table @ found) ** 2).sum(axis=0)
    return Surface(found[0], found[1 : 1 + k].T, bend, np.sqrt(left / max(n - len(columns), 1)))
