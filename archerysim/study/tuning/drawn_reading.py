"""The reading at which a drawn bow meets an aim: few shots, about the answer of the bow as given."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import ClassVar, NamedTuple

import numpy as np

from archerysim.equipment import Setup, SetupError, filled
from archerysim.equipment.readings import read_by
from archerysim.errors import ShotError
from archerysim.fields.zero import zero_between
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.flight.bare_shaft import Leaving, gap_at
from archerysim.shot.launch import Launch
from archerysim.shot.warnings import DEEP, touches_hard
from archerysim.study.run.row import Change, Row
from archerysim.study.tuning.aims import AIMS, LOW_OF
from archerysim.study.tuning.crossing import LOOKED_OVER, jumps
from archerysim.study.uncertainty.inputs import Input, moved_together

NEAR = 0.5e-3  # [m] from the last shot the straight line through the last two is good enough
MOST = 5  # shots before the whole range is looked over
PLAY = "nock.locators.gap"
LONGEST = 6e-3  # step from one shot to the next [m]
LOOK = 2.5e-3  # from one look over the range to the next [m]
FINE = 2e-5  # [m] of a zero between two looks
NONE = "no reading meets the aim, because of what the shaft touches on its way out"

Found = tuple[float, float, float]  # zero [m], slope there, the reading shot last [m]


@dataclass(frozen=True)
class Asked:
    """What is asked of every drawn bow.

    Attributes
    ----------
    aim : str
    distance : float
        Of the target [m].
    taped : bool
    leaving : Leaving
        Direction in which the arrow is to leave [deg]: the sight of the bow as given.
    start : float
        Reading of the bow as given that meets the aim, or comes nearest, by the underside [m].
    slope : float
        Change of the aim's measure with the reading there, per m; nan where it is not known.
    met : bool
        Whether the bow as given meets the aim there.
    """

    aim: str
    distance: float
    taped: bool
    leaving: Leaving
    start: float
    slope: float
    met: bool


class Drawn(NamedTuple):
    """What a drawn bow answers; nan where no reading meets the aim.

    Attributes
    ----------
    reading : float
        As the square shows it, by the underside [m].
    by_rate : float
        How much lower it would be without the part of the swing that the pitch rate makes [m].
    touches : bool
        Whether the shaft meets rest or riser on its way out there, by more than a graze.
    reason : str
        Why there is none; else empty.
    """

    reading: float
    by_rate: float = 0.0
    touches: bool = False
    reason: str = ""


@dataclass(frozen=True)
class DrawnReadings:
    """Asks of the bow with some inputs moved at which reading it meets each of several aims."""

    inputs: tuple[Input, ...]
    asked: tuple[Asked, ...]
    shots: ClassVar[int] = 4

    def __call__(self, bow: FittedBow, change: Change) -> Row:
        fitted, slip = drawn_bow(bow, self.inputs, change)
        return {"drawn": [list(drawn_reading(fitted, one, slip)) for one in self.asked]}


def drawn_bow(bow: FittedBow, inputs: tuple[Input, ...], change: Change) -> tuple[FittedBow, float]:
    """The bow with some inputs moved, a measured one fitted anew; how much more it reads than the square shows [m].

    Play between the locators comes in after the fit, on which it does next to nothing: with it a fit takes twice as
    long.
    """
    moved = moved_together(bow.given, inputs, {path: by for path, by in change.items() if path != PLAY})
    fitted = FittedBow.of(moved, bow.mesh, planes=bow.planes)
    if PLAY in change:
        play, full = next(one for one in inputs if one.path == PLAY), filled(moved)
        gap = play.moved(full, change[PLAY] * play.size(full))
        if gap[PLAY] != play.value(full):  # half of the draws have none, as the file
            fitted = fitted.with_changes(gap)
    return fitted, _read(moved) - _read(bow.given)


def _read(setup: Setup) -> float:
    return float(read_by(setup).underside(setup.nock.locators.reading))


def drawn_reading(bow: FittedBow, asked: Asked, slip: float) -> Drawn:
    """The reading, as a square that is off by ``slip`` [m] shows it, at which a bow meets an aim."""
    shot = _Shot(bow, asked)
    try:
        near = _near(shot.measure, asked.start + slip, asked.slope)
        found = _over(shot.measure, near) if isinstance(near, float) else near
    except (SetupError, ShotError) as error:
        return Drawn(np.nan, reason=str(error))
    if found is None:
        return Drawn(np.nan, reason=NONE)
    zero, slope, last = found
    launch = bow.at_reading((last, "m"))
    by_rate = shot.by_rate(launch) / slope if AIMS[asked.aim].unit == "mm" else 0.0
    return Drawn(zero - slip, by_rate, touches(launch))


def touches(launch: Launch) -> bool:
    """Whether the shaft meets rest or riser on its way out by more than a graze, or never leaves the rest's arm.

    In one plane, where the rest is gone after its travel, whether it comes down on it again or would have.
    """
    if launch.planes == 1:
        return bool(launch.events)
    passage, full = launch.passage, launch.drawing.setup
    if passage.arm_strikes and passage.arm_strike_depth > 1e3 * DEEP:
        return True
    if full.rest.kind != "shelf" and not math.isfinite(passage.arm_left_at):
        return True
    return math.isfinite(passage.tail_touch_force) and touches_hard(
        full.arrow, passage.tail_touch_force, passage.tail_touch_lasted
    )


class _Shot:
    """An aim's measure of one bow over the reading; what drag and mass alone make is found once."""

    def __init__(self, bow: FittedBow, asked: Asked) -> None:
        self.bow, self.asked, self.plain = bow, asked, np.nan

    def measure(self, reading: float) -> float:
        """Of the bow with a reading by the underside [m]."""
        launch = self.bow.at_reading((reading, "m"))
        aim = AIMS[self.asked.aim]
        return 1e3 * self.swing(launch) + LOW_OF[aim.name] if aim.unit == "mm" else aim.measure(launch, 0.0)

    def swing(self, launch: Launch) -> float:
        """What launch and lift make of the bare shaft's height above the fletched one [m]."""
        if np.isnan(self.plain):
            self.plain = self.height(launch, lift=False)
        return self.height(launch) - self.plain

    def by_rate(self, launch: Launch) -> float:
        """The part of it that the pitch rate makes, in the unit of the measure."""
        still = replace(launch, clear=replace(launch.clear, pitch_rate=0.0))
        return 1e3 * (self.height(launch) - self.height(still))

    def height(self, launch: Launch, lift: bool = True) -> float:
        """Of the bare shaft above the fletched one [m]."""
        asked = self.asked
        return gap_at(launch, asked.distance, asked.leaving, taped=asked.taped, lift=lift).height


def _near(measure: Callable[[float], float], start: float, slope: float) -> Found | float:
    """By straight lines from a reading and the slope expected there; where that leads nowhere, whence to look."""
    at, value = start, measure(start)
    for _ in range(MOST):
        if not slope < 0.0:
            break
        step = -value / slope
        if abs(step) < NEAR:
            return at + step, slope, at
        step = float(np.clip(step, -LONGEST, LONGEST))
        try:
            there = measure(at + step)
        except (SetupError, ShotError):
            break
        slope = (there - value) / step
        if slope >= 0.0 and value < 0.0 and there < 0.0:
            return max(at, at + step, LOOKED_OVER[0])  # lower down it lies lower still
        at, value = at + step, there
    return LOOKED_OVER[0]


def _over(measure: Callable[[float], float], first: float) -> Found | None:
    """By a look over the range, upwards from a reading: where the measure falls through zero.

    A measure below zero that begins to fall is past its highest: lower down the tail strikes, which brings it down too.
    """
    last = before = np.nan
    for place in map(float, np.arange(first, LOOKED_OVER[1] + FINE, LOOK)):
        try:
            now = measure(place)
        except (SetupError, ShotError):
            now = np.nan
        if before > 0.0 >= now:
            zero = zero_between(measure, last, place, FINE)
            if not jumps(measure(zero), before, now):
                return zero, (now - before) / (place - last), zero
        elif now < before <= 0.0:
            return None
        last, before = place, now
    return None
