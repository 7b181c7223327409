"""Two settings that meet two aims together."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, Any

import numpy as np

from archerysim.equipment import NO_CHANGES, InSi, Setup, SetupError, field_info
from archerysim.equipment.readings import ReadBy, read_by
from archerysim.errors import ShotError
from archerysim.fields.reported import Reported
from archerysim.fields.result import result
from archerysim.fields.units import from_si
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.fitted_bow import Changes, FittedBow
from archerysim.shot.flight.fly import check_distance
from archerysim.shot.hold import Hold, hold_words
from archerysim.shot.launch import Launch
from archerysim.study.tuning.aims import aim_of
from archerysim.study.tuning.drawn_reading import touches
from archerysim.study.tuning.limits import allowed_range, fit_to_shoot, refuse_light, within_limits
from archerysim.study.tuning.tune import unusual_there, usual_size

MET = 0.05  # of the usual tolerances: what may be left of both measures
AT_END = 1e-3  # of a range: nearer to its end is at it
STARTS = (0.5, 0.25, 0.75)  # of both ranges: where the search may begin
TINY = 1e-9  # of a range: what the search leaves to its end
NONE = 1e3  # tolerances: what counts as left where there is no shot


@result("values", "met", "left", "distance")
@dataclass(frozen=True)
class TunedTwo:
    """Two settings that meet two aims, or come nearest to it; unpacked, it gives ``values`` and ``launch``.

    Attributes
    ----------
    values : dict of path to value
        In each field's unit; a reading by the setup's convention, ``by``.
    launch : Launch
        With both.
    met : bool
        Whether both aims are met.
    left : dict of aim to float
        What is left of its measure there, in its unit.
    ways : dict of path to {"", "higher", "lower"}
        Where they are not met: which settings stand at an end of their range, and at which; beyond it they would do
        more.
    searched : dict of path to (float, float)
        The ranges.
    asked : dict of path to bool
        Whether a range was given by the user.
    unusual : tuple of str
        What is then outside the usual range of the setup's category, in words.
    by : ReadBy
    touches_rest : bool
        As in `Tuned`.
    distance : float
        Of the target [m].

    Examples
    --------
    >>> import archerysim
    >>> setup = archerysim.load("examples/club-outdoor.toml")
    >>> values, launch = archerysim.tune_two(setup, ("nock.locators.reading", "lower_limb.bolt_turns"), mesh="coarse")
    >>> list(values), launch.clear.speed > 50.0
    (['nock.locators.reading', 'lower_limb.bolt_turns'], True)
    """

    values: dict[str, float]
    launch: Launch
    met: bool
    left: dict[str, float]
    ways: dict[str, str]
    searched: dict[str, tuple[float, float]]
    asked: dict[str, bool]
    unusual: tuple[str, ...]
    by: ReadBy
    touches_rest: bool
    distance: Annotated[float, Reported("m")] = 18.0

    def __iter__(self) -> Iterator[Any]:
        return iter((self.values, self.launch))


def tune_two(
    bow: Setup | FittedBow,
    paths: tuple[str, str],
    aims: tuple[str, str] = ("no angle of attack", "no pitch rate"),
    *,
    distance: Any = "18 m",
    within: tuple[Any, Any] = (None, None),
    hold: Hold = None,
    mesh: str | Mesh = "default",
    planes: int | None = None,
    changes: Changes = NO_CHANGES,
) -> TunedTwo:
    """Find two settings that make two measures zero together.

    Parameters are those of `archerysim.tune`, two of each.

    Returns
    -------
    TunedTwo
        Its ``met`` says whether both aims are met; if not, it holds the settings that come nearest.

    Raises
    ------
    SetupError
        Where an argument is wrong, or the settings found pass a limit.
    ShotError
        Where nothing in range can be shot.

    Examples
    --------
    >>> import archerysim
    >>> setup = archerysim.load("examples/club-outdoor.toml")
    >>> found = archerysim.tune_two(setup, ("nock.locators.reading", "lower_limb.bolt_turns"), mesh="coarse")
    >>> found.met, found.ways  # two turns are not enough
    (False, {'nock.locators.reading': '', 'lower_limb.bolt_turns': 'higher'})
    """
    from scipy.optimize import least_squares

    goals = [aim_of(aim) for aim in aims]
    for name, pair in (("path", paths), ("aim", [goal.name for goal in goals])):
        if len(set(pair)) < 2:
            raise SetupError(name, f"{pair[0]!r} is given twice", "Give two that differ")
    words, bow = hold_words(hold), FittedBow.of(bow, mesh, changes, hold, planes)
    fit_to_shoot(bow)
    spans = [allowed_range(bow, path, span) for path, span in zip(paths, within, strict=True)]
    lows, highs = (np.array(side) for side in zip(*spans, strict=True))
    far = check_distance(distance)
    sizes = [usual_size(goal, far) for goal in goals]
    units = {path: field_info(path).unit for path in paths}

    def shot(share: np.ndarray) -> Launch:
        values = lows + share * (highs - lows)
        return bow.launch(InSi({path: float(v) for path, v in zip(paths, values, strict=True)}), words)

    def miss(share: np.ndarray) -> np.ndarray:
        launch = shot(share)
        return np.array([goal.measure(launch, far) / size for goal, size in zip(goals, sizes, strict=True)])

    def misses(share: np.ndarray) -> np.ndarray:
        try:
            return miss(share)
        except (SetupError, ShotError):
            return np.full(2, NONE)

    found = least_squares(misses, _start(miss), bounds=(0.0, 1.0), diff_step=0.02, xtol=1e-6, ftol=1e-8)
    share = np.where(found.x < TINY, 0.0, np.where(found.x > 1.0 - TINY, 1.0, found.x))
    launch, left = shot(share), miss(share)
    met = bool(np.abs(left).max() <= MET)
    places = lows + share * (highs - lows)
    values = {path: from_si(float(v), units[path]) for path, v in zip(paths, places, strict=True)}
    refuse_light(launch)
    shown = " and ".join(f"{v:.4g} {units[path]}".rstrip() for path, v in values.items())
    within_limits(bow, launch, paths, shown)
    ends = ["lower" if x < AT_END else "higher" if x > 1.0 - AT_END else "" for x in share]
    return TunedTwo(
        values=values, launch=launch, met=met,
        left={goal.name: float(m) * size for goal, m, size in zip(goals, left, sizes, strict=True)},
        ways={path: "" if met else way for path, way in zip(paths, ends, strict=True)},
        searched={
            path: (from_si(low, units[path]), from_si(high, units[path]))
            for path, (low, high) in zip(paths, spans, strict=True)
        },
        asked={path: span is not None for path, span in zip(paths, within, strict=True)},
        unusual=unusual_there(launch, paths), by=read_by(bow.setup), touches_rest=touches(launch),
        distance=far,
    )  # fmt: skip


def _start(miss: Any) -> list[float]:
    """Where the search begins: the middle of both ranges, or another place that can be shot.

    Raises
    ------
    SetupError, ShotError
        That of the middle, where none can.
    """
    failed: Exception | None = None
    for first in STARTS:
        for second in STARTS:
            try:
                miss(np.array([first, second]))
            except (SetupError, ShotError) as error:
                failed = failed or error
            else:
                return [first, second]
    assert failed is not None
    raise failed
