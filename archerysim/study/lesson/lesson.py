"""What a page for a class is made of: a bow's answer to every slider, checked against fresh shots."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, Any

import numpy as np

from archerysim.equipment import Setup, SetupError, filled
from archerysim.equipment.readings import ReadBy, read_by
from archerysim.fields.given import whole_number
from archerysim.fields.reported import Reported
from archerysim.fields.result import result
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.flight.bare_shaft import Gap, gap_at, leaving_at_sight
from archerysim.shot.flight.fly import check_distance
from archerysim.shot.flight.sight import sight_of
from archerysim.shot.flight.start import Start, start_of
from archerysim.study.lesson.missed import Flyers, Missed, gap, lands, missed, numbers
from archerysim.study.lesson.response import Response
from archerysim.study.lesson.rounds import shoot_in_rounds
from archerysim.study.lesson.shots import LeavingStates, shoot_all, spread
from archerysim.study.lesson.sliders import Slider, sliders_of
from archerysim.study.run.how_to_run import HowToRun
from archerysim.study.tuning.together import together_reading

SHOTS, FRESH = 640, 96
LEAST = 40  # shots: with fewer the 28 numbers of a curve are not known
SEED, FRESH_SEED = 15, 1015


@result("name", "distance", "still", "shots", "fresh")
@dataclass(frozen=True)
class Lesson:
    """A bow's answer to every slider.

    Attributes
    ----------
    name : str
        The bow's.
    invented : bool
        Whether its file says that it is made up.
    handed : str
        "right" or "left".
    by : ReadBy
        How its file tells readings.
    distance : float
        Of the target [m].
    sliders : tuple of Slider
    up, side : Response
        The arrow's state at clear with the locked sight, world axes, SI: x, y, velocity x, velocity y, pitch, pitch
        rate; then z, velocity z, yaw, yaw rate. Of places of the sliders, each from -1 to 1.
    fletched, bare : Start
        The arrow in its air with its fletching, and taped without.
    drag_and_mass : float
        How far a bare shaft is above a fletched one with any launch [m].
    still : float
        Reading that brings bare and fletched shafts together on this bow, by the underside [mm]; nan if none does.
    shaft, nock_height : float
        The shaft's diameter and the nock's height [m].
    missed : tuple of Missed
    shots, fresh : int
        Behind the responses, and beside them as a check.

    Examples
    --------
    >>> import archerysim
    >>> page = archerysim.lesson(archerysim.load("examples/club-outdoor.toml"), mesh="coarse", shots=40)
    >>> reading = page.sliders[0]
    >>> reading.low < reading.today < reading.high  # [m]
    True
    """

    name: str
    invented: bool
    handed: str
    by: ReadBy
    distance: Annotated[float, Reported("m")]
    sliders: tuple[Slider, ...]
    up: Response
    side: Response
    fletched: Start
    bare: Start
    drag_and_mass: Annotated[float, Reported("m", "how far a bare shaft is above a fletched one with any launch")]
    still: Annotated[float, Reported("mm")]
    shaft: Annotated[float, Reported("m", "diameter")]
    nock_height: Annotated[float, Reported("m")]
    missed: tuple[Missed, ...]
    shots: int
    fresh: int

    def states(self, places: np.ndarray) -> np.ndarray:
        """States (k, 10) of the arrow at clear for places (k, d) of the sliders.

        Examples
        --------
        >>> import archerysim
        >>> import numpy as np
        >>> page = archerysim.lesson(archerysim.load("examples/club-outdoor.toml"), mesh="coarse", shots=40)
        >>> page.states(np.zeros((3, len(page.sliders)))).shape
        (3, 10)
        """
        return np.hstack((self.up.at(places), self.side.at(places)))

    def place(self, values: dict[str, float]) -> np.ndarray:
        """The place (1, d) of some values by the sliders' names [SI]; the others as they are today.

        Examples
        --------
        >>> import archerysim
        >>> page = archerysim.lesson(archerysim.load("examples/club-outdoor.toml"), mesh="coarse", shots=40)
        >>> highest = page.place({"reading": page.sliders[0].high})
        >>> highest.shape == (1, len(page.sliders)), float(highest[0, 0])
        (True, 1.0)
        """
        return np.array([[one.part(values.get(one.name, one.today)) for one in self.sliders]])

    def gap(self, values: dict[str, float]) -> Gap:
        """A bare shaft as seen from the fletched one with some values by the sliders' names [SI]; [m].

        Examples
        --------
        >>> import archerysim
        >>> page = archerysim.lesson(archerysim.load("examples/club-outdoor.toml"), mesh="coarse", shots=40)
        >>> page.gap({"reading": 0.004}).height > page.gap({"reading": 0.010}).height  # locators up, bare shaft down
        True
        """
        state = self.states(self.place(values))[0]
        return gap(state, Flyers(self.fletched, self.bare, self.distance))

    def lands(self, values: dict[str, float]) -> Gap:
        """Where the fletched arrow hits, from the target's centre, with some values by the sliders' names [SI]; [m].

        Examples
        --------
        >>> import archerysim
        >>> page = archerysim.lesson(archerysim.load("examples/club-outdoor.toml"), mesh="coarse", shots=40)
        >>> abs(page.lands({"reading": page.still / 1000}).height) < 0.05  # [m] with the sight set for it
        True
        """
        return lands(self.states(self.place(values))[0], self.fletched, self.distance)


def lesson(
    bow: Setup | FittedBow, distance: Any = "18 m", *, mesh: str | Mesh = "default", shots: int = SHOTS,
    workers: int | None = None,
) -> Lesson:  # fmt: skip
    """Shoot what a lesson needs, and check it.

    Parameters
    ----------
    bow : Setup or FittedBow
        Shot in both planes.
    distance : str or another number with its unit
        Of the target.
    mesh : str or Mesh
    shots : int
        Behind the responses, 40 or more; where they jump from one to the next, up to three times as many.
    workers : int, optional
        Processes.

    Returns
    -------
    Lesson

    Raises
    ------
    SetupError, ShotError

    Examples
    --------
    >>> import archerysim
    >>> page = archerysim.lesson(archerysim.load("examples/club-outdoor.toml"), mesh="coarse", shots=40)
    >>> [slider.name for slider in page.sliders]
    ['reading', 'split', 'slope', 'spine', 'rest', 'preload']
    >>> page.distance, page.handed  # [m]
    (18.0, 'right')
    """
    far, how = check_distance(distance), HowToRun(workers=workers)
    whole_number("shots", shots, "a number of shots", LEAST)
    bow = FittedBow.of(bow, mesh, planes=2)
    try:
        still = 1e-3 * together_reading(bow, distance=(far, "m")).reading
    except SetupError:
        still = math.nan
    none = not math.isfinite(still)
    sliders = sliders_of(bow, None if none else still)
    launch = bow.launch() if none else bow.at_reading((still, "m"))
    aim, leaving = sight_of(launch, far), leaving_at_sight(launch, far)
    question = LeavingStates(sliders, aim, far, leaving)
    arrows = Flyers(start_of(launch), start_of(launch, fletched=False), far)
    found = shoot_in_rounds(bow, question, arrows, shots, SEED, how)
    fresh_places, fresh_states, fresh_gaps = shoot_all(bow, question, spread(sliders, FRESH, FRESH_SEED), how)
    fresh, told = numbers(fresh_states, arrows, fresh_gaps), numbers(found.states(fresh_places), arrows)
    full = filled(bow.setup)
    return Lesson(
        bow.setup.name or "", bool(bow.given.invented), str(full.archer.handed), read_by(bow.setup), far, sliders,
        found.up, found.side, arrows.fletched, arrows.bare, gap_at(launch, far, leaving, lift=False).height,
        1e3 * still, full.arrow.diameter, full.nock.height, missed(fresh, told, found.gaps), len(found.up.places),
        len(fresh_places),
    )  # fmt: skip
