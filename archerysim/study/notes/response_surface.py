"""What the model expects of groups: quadratic surfaces through real shots, in the unmeasured inputs."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any, ClassVar, NamedTuple

import numpy as np

from archerysim.equipment import NO_CHANGES, InSi, Setup, SetupError
from archerysim.equipment.readings import BY_UNDERSIDE, READING, ReadBy, by_underside, read_by
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.flight.bare_shaft import Gap, Leaving, gap_at, leaving_at_sight
from archerysim.shot.launch import Launch
from archerysim.study.notes.contact import contact_of, strike_of
from archerysim.study.notes.priors import Cause, causes_of, changes_of, kept, spaced
from archerysim.study.notes.surface import Surface, joined, surfaces
from archerysim.study.run.how_to_run import SIMPLY, HowToRun
from archerysim.study.run.row import BAD_SETUP, Change, Row
from archerysim.study.run.run import run_in_order

SHOTS = {1: 36, 2: 64}  # behind the surface of today's setting, by planes
FURTHER = {1: 16, 2: 24}  # behind that of each other setting
LEAST = 0.75  # of the shots must have come off
CLEAN = 0.6  # of them without contact: then only these make the surface [judgement]
STEP = 0.001  # between the readings of a slope [m]


class Setting(NamedTuple):
    """A reading by the underside [m] and which state of the bow: what one shot differs by from another."""

    reading: float
    state: int = 0


class Place(NamedTuple):
    """Where a group was shot, reading by the underside and distance [m], and with which state of the bow."""

    reading: float
    distance: float
    state: int = 0

    @property
    def setting(self) -> Setting:
        """What its shots need."""
        return Setting(self.reading, self.state)


class State(NamedTuple):
    """A state of the bow: what had been changed, the bow with it, and the unmeasured inputs about its values."""

    changes: InSi
    bow: FittedBow
    causes: tuple[Cause, ...]


@dataclass(frozen=True)
class Expected:
    """What the model expects at every place that was shot.

    Attributes
    ----------
    states : tuple of State
        That of the latest group last.
    places : tuple of Place
        The latest last.
    taped : bool
    heights, sides : Surface
        Bare above fletched at each place, and beside it, positive away from the window [m]; in one plane no numbers
        are in the latter.
    wanted : (m,) array
        The part of the height that drag and mass make with any launch [m].
    per_reading : (m,) array
        Change of the height for a higher reading [m/m], at the priors' middle.
    leaving : dict of distance [m] to Leaving
        How a fletched arrow leaves with its sight set for a distance.
    speed, weight : Surface
        Speed at clear [m/s] and draw force [N], with the latest setting; one number each.
    strikes : dict of Setting to float
        How deep the shaft comes into the rest again, or would where its support has ended, at the priors' middle [mm];
        nan where it does not.
    contact : dict of Setting to str
        What touches there, in words; "" where nothing does.
    shots, failed : int
        Shots in all, and those that did not come off, left out of the surfaces.
    """

    states: tuple[State, ...]
    places: tuple[Place, ...]
    taped: bool
    heights: Surface
    sides: Surface
    wanted: np.ndarray
    per_reading: np.ndarray
    leaving: dict[float, Leaving]
    speed: Surface
    weight: Surface
    strikes: dict[Setting, float]
    contact: dict[Setting, str]
    shots: int
    failed: int

    @property
    def bow(self) -> FittedBow:
        """As it stands now."""
        return self.states[-1].bow

    @property
    def causes(self) -> tuple[Cause, ...]:
        """The unmeasured inputs, about the values that they have now."""
        return self.states[-1].causes

    def launch(
        self, reading: float, z: np.ndarray | None = None, extra: InSi = NO_CHANGES, state: int = -1
    ) -> Launch:  # fmt: skip
        """A real shot with a reading [m], normed inputs and further changes, of a state of the bow."""
        return launch_at(self.states[state].bow, self.states[state].causes, reading, z, extra)

    def gap(self, launch: Launch, distance: float) -> Gap:
        """A bare shaft above and beside a fletched one at one of the distances [m], from a real flight."""
        return gap_at(launch, distance, self.leaving[distance], taped=self.taped)

    def shot_gaps(self, z: np.ndarray) -> tuple[np.ndarray, dict[Setting, Launch]]:
        """The gaps at all places from real shots in place of the surfaces (2, m) [m], and these shots."""
        settings = {place.setting for place in self.places}
        launches = {one: self.launch(one.reading, z, state=one.state) for one in settings}
        gaps = [self.gap(launches[place.setting], place.distance) for place in self.places]
        return np.array(gaps).T, launches


def launch_at(
    bow: FittedBow, causes: tuple[Cause, ...], reading: float, z: np.ndarray | None = None,
    extra: InSi = NO_CHANGES,
) -> Launch:  # fmt: skip
    """A shot of the bow as built with a reading by the underside [m] and normed inputs (k,)."""
    changes = by_underside(bow.setup, reading) | extra
    if z is not None:
        changes = changes | changes_of(bow.setup, causes, z)
    return bow.launch(changes)


def in_state(bow: FittedBow, changes: InSi) -> State:
    """A state of the bow: with what had been changed on it."""
    return _state(bow, tuple(changes.items()))


@lru_cache(maxsize=8)  # in a worker too: what is measured on the bow has it fitted anew
def _state(bow: FittedBow, changes: tuple[tuple[str, Any], ...]) -> State:
    made = InSi(dict(changes))
    changed = bow.with_changes(made)
    return State(made, changed, causes_of(changed.setup, changed.planes))


@dataclass(frozen=True)
class GapsOnTarget:
    """Asks where a bare shaft hits as seen from a fletched one, with a reading and normed inputs; speed, draw force.

    A point holds "reading" [m], "z" (k,), "state", what had been changed on the bow, and "flown": each distance [m]
    with the directions in which the arrow leaves.
    """

    taped: bool
    shots: ClassVar[int] = 1

    def __call__(self, bow: FittedBow, change: Change) -> Row:
        _, changed, causes = in_state(bow, InSi(change["state"]))
        launch = launch_at(changed, causes, change["reading"], np.array(change["z"]))
        flown = change["flown"]
        gaps = [list(gap_at(launch, far, Leaving(up, aside), taped=self.taped)) for far, up, aside in flown]
        row: Row = {"gaps": gaps, "speed": launch.clear.speed, "draw_force": launch.draw_force}
        return row | {"contact": contact_of(launch)}


def expect(
    bow: Setup | FittedBow, places: tuple[Place, ...], states: tuple[InSi, ...] = (NO_CHANGES,), *, taped: bool = True,
    shots: int | None = None, mesh: str | Mesh = "default", planes: int | None = None, how: HowToRun = SIMPLY,
) -> Expected:  # fmt: skip
    """Shoot what the surfaces need at every place.

    Parameters
    ----------
    bow : Setup or FittedBow
        Measured (fitted once) or built.
    places : tuple of Place
        The last one is where the locators stand now.
    states : tuple of InSi
        What had been changed on the bow in each state.
    taped : bool
    shots : int, optional
        Behind the surface of the last setting. Default: by `SHOTS`.
    mesh : str or Mesh
    planes : int, optional
        As for `archerysim.shoot`.
    how : HowToRun

    Raises
    ------
    SetupError, ShotError
        A few shots may fail; where more than a quarter do, the last one's error is raised.
    """
    bow = FittedBow.of(bow, mesh, planes=planes)
    made = tuple(in_state(bow, one) for one in states)
    _refuse_other_causes(made)
    settings = [*dict.fromkeys(place.setting for place in reversed(places))][::-1]
    distances = sorted({place.distance for place in places})
    middles = {one: launch_at(made[one.state].bow, (), one.reading) for one in settings}
    leaving = {far: leaving_at_sight(middles[settings[-1]], far) for far in distances}
    points, setting = _points(made, settings, leaving, shots)
    design, seen, others, failed = _shot(bow, points, setting, GapsOnTarget(taped), how)
    of_gaps = surfaces(design, setting[~failed], seen)
    of_shots = surfaces(design, setting[~failed], others)[-1]
    heights, sides = (
        joined([
            of_gaps[settings.index(place.setting)].rows([2 * distances.index(place.distance) + way])
            for place in places
        ])
        for way in (0, 1)
    )  # fmt: skip
    wanted, per_reading = _at_middle(made, places, middles, leaving, taped)
    return Expected(
        made, places, taped, heights, sides.rows([] if bow.planes == 1 else [*range(len(places))]), wanted,
        per_reading, leaving, of_shots.rows([0]), of_shots.rows([1]),
        {one: strike_of(middle) for one, middle in middles.items()},
        {one: contact_of(middle) for one, middle in middles.items()},
        len(points) + 3 * len(settings), int(failed.sum()),
    )  # fmt: skip


def _refuse_other_causes(states: tuple[State, ...]) -> None:
    names = [[cause.path for cause in one.causes] for one in states]
    for one, paths in zip(states, names, strict=True):
        if paths != names[-1]:
            raise SetupError(
                "change", f"{', '.join(one.changes) or 'a change'}: archer and rest differ from now",
                "Begin new notes for them",
            )  # fmt: skip


def _points(
    states: tuple[State, ...], settings: list[Setting], leaving: dict[float, Leaving], shots: int | None
) -> tuple[list[dict[str, Any]], np.ndarray]:
    """What is shot behind the surfaces, and the number of the setting of each."""
    flown = [(far, *way) for far, way in leaving.items()]
    points, setting = [], []
    for k, one in enumerate(settings):
        last = one == settings[-1]
        _, bow, causes = states[one.state]
        count = (shots or SHOTS[bow.planes]) if last else FURTHER[bow.planes]
        for z in spaced(causes, count, seed=0 if last else 1 + k):
            point = {"reading": one.reading, "z": z.tolist(), "state": dict(states[one.state].changes), "flown": flown}
            points.append(point)
            setting.append(k)
    return points, np.array(setting)


def _shot(
    bow: FittedBow, points: list[dict[str, Any]], setting: np.ndarray, question: GapsOnTarget, how: HowToRun
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Inputs, gaps, speed and draw force of the shots that make the surfaces, and which of all points do not.

    Shots with contact are left out where enough are left, for there is no quadratic through both kinds.
    """
    rows = run_in_order(bow, points, question, how)
    good = np.array([row["status"] == 0 for row in rows])
    for row, point in zip(rows, points, strict=True):
        if row["status"] == BAD_SETUP or (row["status"] != 0 and good.mean() < LEAST):
            question(bow, point)  # raises the same once more
    clean = good & np.array([not row.get("contact") for row in rows])
    counts = [(clean & (setting == k)).sum() >= CLEAN * (setting == k).sum() for k in range(setting.max() + 1)]
    used = clean if all(counts) else good
    kept_rows = [row for row, one in zip(rows, used, strict=True) if one]
    design = np.array([point["z"] for point, one in zip(points, used, strict=True) if one])
    seen = np.array([np.ravel(row["gaps"]) for row in kept_rows])
    others = np.array([(row["speed"], row["draw_force"]) for row in kept_rows])
    return design, np.nan_to_num(seen), others, ~used


def _at_middle(
    states: tuple[State, ...], places: tuple[Place, ...], middles: dict[Setting, Launch],
    leaving: dict[float, Leaving], taped: bool,
) -> tuple[np.ndarray, np.ndarray]:  # fmt: skip
    """By drag and mass alone, and per reading, at every place with the priors' middle."""
    wanted, per_reading = np.empty(len(places)), np.empty(len(places))
    for k, place in enumerate(places):
        bow, way = states[place.state].bow, leaving[place.distance]
        by = read_by(bow.setup)
        wanted[k] = gap_at(middles[place.setting], place.distance, way, taped=taped, lift=False).height
        low, high = (allowed(place.reading + side * STEP, by) for side in (-1.0, 1.0))
        ends = [gap_at(launch_at(bow, (), one), place.distance, way, taped=taped).height for one in (low, high)]
        per_reading[k] = (ends[1] - ends[0]) / (high - low)
    return wanted, per_reading


def allowed(reading: float, by: ReadBy = BY_UNDERSIDE) -> float:
    """A reading by the underside, or the nearest one that a setup may have that tells its readings ``by`` [m]."""
    return float(by.underside(kept(READING, by.reading(reading))))
