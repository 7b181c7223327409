"""Bare against fletched over the reading, and how sure it is: a draw is a bow that the measuring leaves possible."""

from __future__ import annotations

import os
from collections.abc import Mapping
from concurrent.futures import Executor
from dataclasses import dataclass
from typing import Any

import numpy as np

from archerysim.equipment import NO_CHANGES, Setup, SetupError, filled
from archerysim.errors import ShotError
from archerysim.fields.given import several
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.fitted_bow import Changes, FittedBow
from archerysim.shot.flight.bare_shaft import Leaving, gap_at, leaving_at_sight
from archerysim.shot.flight.fly import check_distance
from archerysim.shot.flight.range_cautions import range_cautions
from archerysim.shot.hold import Hold
from archerysim.shot.launch import Launch
from archerysim.shot.warnings import with_more
from archerysim.study.bare_shaft.flights import readings_of
from archerysim.study.bare_shaft.result import BareAgainstFletched, Missing
from archerysim.study.run.how_to_run import HowToRun, Progress
from archerysim.study.run.row import Change, Row
from archerysim.study.run.run import run_in_order
from archerysim.study.tuning.aims import AIMS, DEFAULT_AIM
from archerysim.study.tuning.at_the_butt import AtTheButt, at_the_butt
from archerysim.study.tuning.drawn_reading import Asked, drawn_bow, drawn_reading
from archerysim.study.tuning.first_move import first_move
from archerysim.study.tuning.honest_range import DRAWS, HonestRange, asked_of, drawn_inputs, drawn_of, range_of
from archerysim.study.uncertainty.inputs import Input, draws_of

STEPS = (-6e-3, -4e-3, -2e-3, 0.0, 2e-3, 4e-3)  # [m] from today's reading to those shot by default
DISTANCES = ("18 m", "30 m", "50 m")


@dataclass(frozen=True)
class HeightsApart:
    """Asks how high the bare shaft hits above the fletched one, of the bow with some inputs moved, at every reading.

    Attributes
    ----------
    inputs : tuple of Input
    asked : tuple of Asked
        For each distance, what the bow's own best reading is looked for by.
    readings, distances : tuple of float
        By the underside, and of the targets [m].
    sights : tuple of Leaving
        Direction in which the arrow is to leave for each distance.
    taped : bool
    """

    inputs: tuple[Input, ...]
    asked: tuple[Asked, ...]
    readings: tuple[float, ...]
    distances: tuple[float, ...]
    sights: tuple[Leaving, ...]
    taped: bool

    @property
    def shots(self) -> int:
        """How long a point takes, in shots."""
        return len(self.readings) + 3 * len(self.distances)

    def __call__(self, bow: FittedBow, change: Change) -> Row:
        """Heights and places aside of a draw (readings, distances), what drag and mass alone make (distances) [m].

        What is missing of them: reading, distance and reason. And the draw's own best reading at each distance.
        """
        height, side = np.full((2, len(self.readings), len(self.distances)), np.nan)
        plain = np.full(len(self.distances), np.nan)
        missing: list[tuple[float, float, str]] = []
        fitted, slip = drawn_bow(bow, self.inputs, change)
        for i, reading in enumerate(self.readings):
            try:
                launch = fitted.at_reading((reading + slip, "m"))
            except (SetupError, ShotError) as error:
                missing.append((reading, float("nan"), str(error)))
                continue
            for j, (distance, sight) in enumerate(zip(self.distances, self.sights, strict=True)):
                try:
                    height[i, j], side[i, j] = gap_at(launch, distance, sight, taped=self.taped)
                    if np.isnan(plain[j]):  # hardly depends on the reading: once for each bow
                        plain[j] = gap_at(launch, distance, sight, taped=self.taped, lift=False).height
                except (SetupError, ShotError) as error:
                    missing.append((reading, distance, str(error)))
        drawn = [list(drawn_reading(fitted, one, slip)) for one in self.asked]
        found = {"height": height.tolist(), "side": side.tolist(), "drag_and_mass": plain.tolist()}
        return {**found, "missing": missing, "drawn": drawn}


def bare_against_fletched(
    bow: Setup | FittedBow,
    readings: Any = None,
    distances: Any = DISTANCES,
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
) -> BareAgainstFletched:
    """Find how high bare shafts land above fletched ones at each reading, with a band for what measuring leaves open.

    Every draw moves all inputs together by what an archer can know of them, as `archerysim.uncertainty` does: a
    measured bow is fitted anew, a built one is changed. It is shot once at each reading; all distances are flown
    from that launch. Its own best reading at each distance is found as `archerysim.honest_range` does: the ranges are
    those of `archerysim.tune` with ``sure=True``.

    Parameters
    ----------
    bow : Setup or FittedBow
        A setup is measured or built.
    readings : str or sequence, optional
        As the square shows them, by the setup's convention: a range in words ("4 mm:12 mm:4 mm"), texts with units,
        or ``([4, 8], "mm")``. Default: every 2 mm from 6 mm under today's to 4 mm above. How far the square can be off
        is one of the uncertain inputs.
    distances : sequence
        Texts with units, or ``([18, 30], "m")``.
    draws : int
        How many bows.
    uncertainty : mapping of dotted path to standard deviation, optional
        As for `archerysim.sensitivity`.
    seed : int
    taped : bool
        Whether the bare shaft carries tape of the fletching's mass.
    mesh, planes, workers, executor, store, progress, changes, hold
        As for `sweep`; a point is a draw.

    Returns
    -------
    BareAgainstFletched
        What failed is listed in ``missing`` with its reason; nothing else is lost.

    Raises
    ------
    SetupError, ShotError
        Where the setup itself, readings, distances, draws or inputs are wrong.

    Notes
    -----
    The sight is found once for each distance, with the bow as given; every other arrow leaves in the same direction.
    Where it hits moves bare and fletched together: their difference is the same as with a sight of its own, to a
    thousandth.

    Examples
    --------
    >>> import archerysim
    >>> setup = archerysim.load("examples/club-outdoor.toml")
    >>> found = archerysim.bare_against_fletched(setup, "4, 8 mm", ["18 m"], draws=8, mesh="coarse")
    >>> found.value.shape, found.sample.shape
    ((2, 1), (8, 2, 1))
    >>> bool(found.value[0, 0] > found.value[1, 0])  # the higher reading puts the bare shaft lower
    True
    """
    far = tuple(check_distance(one, "distances") for one in several("distances", distances, "m"))
    if not far or len(set(far)) < len(far):
        raise SetupError("distances", "none is given, or one twice", 'Give for example ("18 m", "30 m")')
    how = HowToRun(workers, executor, store, progress)
    fitted = FittedBow.of(bow, mesh, changes, hold, planes)
    normal, inputs, by_reading = drawn_inputs(fitted, uncertainty, draws, seed)
    square = tuple(sorted(readings_of(by_reading.given, readings, fitted.reading, STEPS)))
    if len(square) < 2:
        raise SetupError("readings", "a single one says nothing about the slope", "Give two or more")
    launch = _nearest(fitted, square)
    sights = tuple(leaving_at_sight(launch, distance) for distance in far)
    asked = tuple(asked_of(fitted, AIMS[DEFAULT_AIM], distance, taped) for distance in far)
    question = HeightsApart(inputs, asked, square, far, sights, taped)
    points = [{}, *draws_of(inputs, normal[:, :-1])]  # the bow as given, then the draws
    rows = run_in_order(by_reading, points, question, how)
    height, side = np.full((2, len(rows), len(square), len(far)), np.nan)
    plain = np.full((len(rows), len(far)), np.nan)
    missing: list[Missing] = []
    for k, row in enumerate(rows):
        if row["status"] != 0:
            missing.append(Missing(k - 1, np.nan, np.nan, row["reason"]))
            continue
        height[k], side[k], plain[k] = row["height"], row["side"], row["drag_and_mass"]
        missing += [Missing(k - 1, 1e3 * reading, distance, reason) for reading, distance, reason in row["missing"]]
    ranges = tuple(
        range_of(by_reading, one, inputs, normal, seed, drawn_of(rows[1:], j)) for j, one in enumerate(asked)
    )
    return BareAgainstFletched(
        setup=by_reading.given, readings=1e3 * np.array(square), distances=np.array(far), today=1e3 * fitted.reading,
        nock_height=1e3 * filled(fitted.setup).number("nock.height"), taped=taped, inputs=inputs, seed=seed,
        value=height[0], drag_and_mass=plain[0], sample=height[1:], sample_drag_and_mass=plain[1:],
        sample_side=side[1:], missing=tuple(missing), limits_passed=launch.limits_passed, ranges=ranges,
        moves=tuple(first_move(fitted, one) if one.known else None for one in ranges),
        butts=tuple(_at_the_butt(fitted, one, taped) for one in ranges),
        warnings=tuple(with_more(launch.warnings, range_cautions(max(far), True, by_reading.given.category))),
    )  # fmt: skip


def _nearest(bow: FittedBow, readings: tuple[float, ...]) -> Launch:
    """The shot with the reading nearest to today's that gives one."""
    *nearer, last = sorted(readings, key=lambda reading: abs(reading - bow.reading))
    for reading in nearer:
        try:
            return bow.at_reading((reading, "m"))
        except (SetupError, ShotError):
            continue
    return bow.at_reading((last, "m"))


def _at_the_butt(bow: FittedBow, found: HonestRange, taped: bool) -> AtTheButt | None:
    """What a move does about the best reading; None where there is no best one, or no shot about it."""
    try:
        return at_the_butt(bow, 1e-3 * found.best, found.distance, taped) if found.known else None
    except (SetupError, ShotError):
        return None
