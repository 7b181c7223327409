"""Causes that notes cannot tell apart, and the further shot that would tell them best."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from archerysim.equipment import NO_CHANGES, InSi, field_info
from archerysim.equipment.readings import BY_UNDERSIDE, ReadBy, read_by
from archerysim.errors import ShotError
from archerysim.fields.units import shortest
from archerysim.shot.flight.bare_shaft import gap_at, leaving_at_sight
from archerysim.shot.launch import Launch
from archerysim.study.notes.contact import DEEP, strike_of
from archerysim.study.notes.group_means import spread_of
from archerysim.study.notes.move import CLEAR, kept_in
from archerysim.study.notes.posterior import FLIGHT, SPEED, SQUARE, Answer, Question
from archerysim.study.notes.response_surface import STEP, Expected, Place, allowed

ALIKE = 0.9  # cosine between what two inputs do to the notes, from which they count as one [judgement]
FELT = 0.3  # what a prior spread of an input must do, in standard deviations of the notes, to be looked at [judgement]
WORTH = 0.05  # a further shot that takes less than this off the variance tells nothing [judgement]
ASIDE = 0.003  # other readings that are proposed [m]
HEAVIER = 0.002  # on the point [kg]
NEAR = (10.0, 18.0)  # distances proposed for bare shafts [m]; farther only where the archer has shot bare there
BARE, FLETCHED = 3, 6


@dataclass(frozen=True)
class Alike:
    """Two inputs that the notes cannot tell apart.

    Attributes
    ----------
    first, second : int
        Which of the causes.
    cosine : float
        Between what they do to the notes; negative: the opposite of one does what the other does.
    """

    first: int
    second: int
    cosine: float


@dataclass(frozen=True)
class Further:
    """A further shot.

    Attributes
    ----------
    words : str
    drop : float
        Share that it is expected to take off the variance of the mixture that the notes cannot tell.
    """

    words: str
    drop: float


def alike(asked: Question, found: Answer) -> tuple[Alike, ...]:
    """Pairs of inputs that do the same to the notes, those that the notes feel most first."""
    pull = asked.pull(found.z)
    size = np.linalg.norm(pull, axis=0)
    pairs = []
    for i in range(len(size)):
        for j in range(i + 1, len(size)):
            if min(size[i], size[j]) < FELT:
                continue
            cosine = float(pull[:, i] @ pull[:, j] / (size[i] * size[j]))
            if abs(cosine) > ALIKE:
                pairs.append(Alike(i, j, cosine))
    return tuple(sorted(pairs, key=lambda pair: -min(size[pair.first], size[pair.second])))


def mixture(asked: Question, found: Answer, pair: Alike) -> np.ndarray:
    """The direction (k,) along which two inputs make up for each other in the notes, of length 1."""
    size = np.linalg.norm(asked.pull(found.z), axis=0)
    u = np.zeros(len(size))
    u[pair.first], u[pair.second] = size[pair.second], -math.copysign(size[pair.first], pair.cosine)
    return np.asarray(u / np.linalg.norm(u))


def further_shots(
    expected: Expected, asked: Question, found: Answer, pair: Alike, scatter: float, *, speed_known: bool,
    suspected: float = -math.inf, by: ReadBy = BY_UNDERSIDE,
) -> tuple[Further, ...]:  # fmt: skip
    """Shots that could be added, the one that tells two inputs apart best first.

    Parameters
    ----------
    scatter : float
        Of the archer's fletched shafts [rad].
    speed_known : bool
        Whether the notes hold an arrow speed.
    suspected : float
        The highest reading at which contact is suspected [m]: no end is proposed lower than `CLEAR` above it.
    by : ReadBy
        How readings are told in words.

    Notes
    -----
    With P the covariance at the answer, G the whitened slopes of a further shot and u the mixture, it takes
    1 - u'(P^-1 + G'G)^-1 u / u'P u off the variance (linear and normal).
    """
    u = mixture(asked, found, pair)
    shots = [
        Further(words, taken_off(found.covariance, rows, u))
        for words, rows in _candidates(expected, scatter, speed_known, suspected, by)
    ]
    return tuple(sorted(shots, key=lambda shot: -shot.drop))


def taken_off(covariance: np.ndarray, rows: np.ndarray, u: np.ndarray) -> float:
    """Share that whitened slopes (n, k) of further numbers take off the variance along ``u`` (k,)."""
    after = float(u @ np.linalg.solve(np.linalg.inv(covariance) + rows.T @ rows, u))
    return 1.0 - after / float(u @ covariance @ u)


def _candidates(
    expected: Expected, scatter: float, speed_known: bool, suspected: float, by: ReadBy = BY_UNDERSIDE
) -> list[tuple[str, np.ndarray]]:
    now, last = expected.places[-1].reading, expected.places[-1].distance
    shot = {place.distance for place in expected.places}
    clear = now > suspected + CLEAR - 1e-9
    distances = tuple(sorted(shot | set(NEAR))) if clear else ()
    candidates = []
    for distance, rows in zip(distances, _rows(expected, now, distances, scatter), strict=True):
        again = "another end" if Place(now, distance, len(expected.states) - 1) in expected.places else "an end"
        words = f"{again} at {shortest(distance, 'm', 'yd')} with this reading, {1e3 * by.reading(now):.1f} mm"
        candidates.append((words, rows))
    for side in (1.0, -1.0):
        reading = now + side * ASIDE
        room = abs(kept_in(now, side * ASIDE)) > ASIDE - 1e-9 and reading > suspected + CLEAR - 1e-9
        if room and not _deep(expected, reading):
            way = "higher" if side > 0 else "lower"
            words = f"an end at {shortest(last, 'm', 'yd')} with the locators {1e3 * ASIDE:.0f} mm {way}"
            candidates.append((words, _rows(expected, reading, (last,), scatter)[0]))
    mass = float(expected.bow.setup.arrow.point_mass or 0.0)
    if 0.0 < mass < float(field_info("arrow.point_mass").high) - HEAVIER and clear:  # type: ignore[arg-type]
        heavier = InSi({"arrow.point_mass": mass + HEAVIER})
        point = f"{1e3 * HEAVIER:.0f} g more point on bare and fletched shafts alike"
        words = f"an end at {shortest(last, 'm', 'yd')} with {point}"
        candidates.append((words, _rows(expected, now, (last,), scatter, heavier)[0]))
    if not speed_known:
        size = math.hypot(SPEED * float(expected.speed.value[0]), float(expected.speed.error[0]))
        candidates.append(("the arrow's speed, measured", expected.speed.slope / size))
    return candidates


def _deep(expected: Expected, reading: float) -> bool:
    """Whether the shaft strikes the rest with a reading, or there is no shot with it."""
    try:
        return strike_of(expected.launch(reading)) > DEEP
    except ShotError:
        return True


def _rows(
    expected: Expected, reading: float, distances: tuple[float, ...], scatter: float,
    extra: InSi = NO_CHANGES,
) -> list[np.ndarray]:  # fmt: skip
    """Whitened slopes of an end's differences over the normed inputs, from real shots either side.

    At each distance: (1, k) of the height in one plane, (2, k) of height and place sideways in both. A side is one
    prior spread away, or at the input's bound where that is nearer.
    """
    if not distances:
        return []
    planes = expected.bow.planes
    no_changes = np.zeros(len(expected.causes))
    ends = np.array([(max(-1.0, cause.low), min(1.0, cause.high)) for cause in expected.causes]).T
    beside = allowed(reading + STEP, read_by(expected.bow.setup))
    if beside == reading:
        beside = reading - STEP
    try:
        middle = expected.launch(reading, no_changes, extra)
        leaving = [leaving_at_sight(middle, far) for far in distances]

        def gaps(launch: Launch) -> np.ndarray:
            pairs = zip(distances, leaving, strict=True)
            return np.array([gap_at(launch, far, way, taped=expected.taped)[:planes] for far, way in pairs])

        low, high = (np.array([gaps(expected.launch(reading, z, extra)) for z in np.diag(end)]) for end in ends)
        level = gaps(middle)
        per_reading = (gaps(expected.launch(beside, no_changes, extra)) - level) / (beside - reading)
    except ShotError:
        return [np.zeros((planes, len(no_changes)))] * len(distances)
    per_reading[:, 1:] = 0.0  # what a reading does sideways comes by contact alone
    sizes = np.array([[spread_of(far, scatter, BARE, FLETCHED)] for far in distances])
    total = np.sqrt(sizes**2 + (SQUARE * per_reading) ** 2 + (FLIGHT * level) ** 2)
    slopes = (high - low) / (ends[1] - ends[0])[:, None, None] / total
    return [np.asarray(slopes[:, k].T) for k in range(len(distances))]
