"""What a group says: its centre, how sure it is, and whether it may be used."""

from __future__ import annotations

import math
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass

import numpy as np

from archerysim.equipment import InSi, Setup, SetupError, filled
from archerysim.equipment.readings import ReadBy, read_by
from archerysim.fields.units import show
from archerysim.study.notes.noted_records import NotedGroup
from archerysim.study.notes.notes_file import Notes
from archerysim.study.tuning.crossing import allowed_readings

LEAST = 3  # good shafts of a kind for a group to be used; common practice
REPEATED = 6  # good bare shafts with one reading at one distance: two ends
FAR = 0.03  # most of bare from fletched over distance: beyond, a number or a unit is wrong [judgement]
CALM = 1.0  # most wind along the line [m/s] [judgement]
# of a club archer's fletched shafts, standard deviation over distance: 3 cm at 18 m, six over some 8 cm [rad]; common
# practice
SCATTER = 0.03 / 18.0
BARE_FACTOR = 1.5  # a bare shaft scatters that much wider [judgement]
PRIOR_HITS = 6.0  # what the usual scatter counts for, in hits [judgement]
MISSED = 0.5  # of the good bare shafts: with more misses the middle of those that hit says little [judgement]
AS_SURE = 1.0364  # standard deviations from nothing of what is 85 % sure of its direction
ASKED = tuple(map(float, range(5, 71)))  # distances at which it is asked whether two ends tell a millimetre [m]
MILLIMETRE = 1e-3  # [m]
TINY = 1e-9  # of two readings that are one [m]
NORMAL = 1.4826  # standard deviation of a normal over its median absolute deviation

# variance of the median of n standard normal numbers, n = 1, 2, ... (computed; the tests integrate it again)
MEDIAN_VARIANCE = (1.0, 0.5, 0.4487, 0.2982, 0.2868, 0.2147, 0.2104, 0.1682, 0.1661, 0.1383)


@dataclass(frozen=True)
class Noted:
    """One group, read.

    Attributes
    ----------
    index : int
        Its place in the notes.
    distance, reading : float
        [m]; locator height by the underside [m].
    bare, fletched : (n,) arrays
        Good hits, sorted [m].
    bad, missed : int
        Hits called bad: kept in the notes, not used; shafts that missed the butt.
    difference : float
        Middle of the bare hits above that of the fletched ones [m]; nan where either is missing.
    sigma : float
        Standard deviation of the difference by the hits' scatter [m].
    beside, beside_sigma : float
        Middle of the bare hits beside that of the fletched ones, positive away from the riser's window, and its
        standard deviation [m]; nan where not noted, or not used.
    wind : float
        As noted, 0 where not [m/s].
    state : int
        Which of the bow's states, of `states_of`, it was shot with.
    used : bool
    why : str
        Why it is not used, in words.
    far_aside : str
        Why the place sideways is not used though it is noted; "" else.
    """

    index: int
    distance: float
    reading: float
    bare: np.ndarray
    fletched: np.ndarray
    bad: int
    missed: int
    difference: float
    sigma: float
    beside: float
    beside_sigma: float
    wind: float
    state: int
    used: bool
    why: str
    far_aside: str = ""


def median_variance(count: int) -> float:
    """Variance of the median of ``count`` standard normal numbers; beyond the table pi/(2 n), corrected to 1 %."""
    if count <= len(MEDIAN_VARIANCE):
        return MEDIAN_VARIANCE[count - 1]
    return math.pi / (2.0 * count + (1.14 if count % 2 else 2.8))


def scatter_of(notes: Notes) -> float:
    """Scatter of this archer's fletched shafts, standard deviation over distance [rad].

    The median absolute deviation of all good hits from the middles of their groups (bare ones divided by
    `BARE_FACTOR`; groups with bare shafts far from the fletched ones left out), joined with the usual scatter,
    which counts for `PRIOR_HITS` hits. One hit a group, the one nearest to the middle, is left out: it is there by
    construction.
    """
    away: list[float] = []
    for group in notes.group:
        if _is_far(_difference(group), group.distance):
            continue
        heights = (group.fletched, 1.0), (group.bare, BARE_FACTOR)
        beside = (group.fletched_right, 1.0), (group.bare_right, BARE_FACTOR)
        for hits, factor in heights + beside * (not _is_far(_to_the_right(group), group.distance)):
            if hits is not None and len(hits) >= LEAST:
                off = np.sort(np.abs(np.array(hits) - np.median(hits)))[1:]
                away += list(off / (factor * group.distance))
    if not away:
        return SCATTER
    own = NORMAL * float(np.median(away))
    return math.sqrt((PRIOR_HITS * SCATTER**2 + len(away) * own**2) / (PRIOR_HITS + len(away)))


def spread_of(distance: float, scatter: float, bare: int, fletched: int) -> float:
    """Standard deviation of bare middle minus fletched middle [m], for so many hits."""
    return distance * scatter * math.sqrt(BARE_FACTOR**2 * median_variance(bare) + median_variance(fletched))


def ends_to_tell(
    per_reading: float, distance: float, scatter: float, size: float = 0.001, bare: int = 3, fletched: int = 6
) -> float:  # fmt: skip
    """How many ends tell a difference of reading, as surely as a direction must be for a move.

    Parameters
    ----------
    per_reading : float
        Change of bare above fletched for a higher reading there [m/m].
    distance, scatter : float
        [m]; of the archer's fletched shafts, standard deviation over distance [rad].
    size : float
        The difference of reading [m].
    bare, fletched : int
        Shafts of an end.
    """
    return (AS_SURE * spread_of(distance, scatter, bare, fletched) / (per_reading * size)) ** 2


def told_by_two_ends(distance: float, scatter: float) -> float:
    """The least difference of bare and fletched whose direction two ends together tell [m]; as surely as for a move."""
    return AS_SURE * spread_of(distance, scatter, 6, 12)


def tells_from(per_reading: Callable[[float], float], scatter: float) -> float:
    """The nearest whole distance at which two ends tell a millimetre of reading [m]; nan where none of 5 to 70 m does.

    Parameters
    ----------
    per_reading : callable
        A distance [m] to the change of bare above fletched for a higher reading there [m/m]; it raises `SetupError`
        where the arrow falls short.
    scatter : float
        Of the archer's fletched shafts, standard deviation over distance [rad].
    """
    with suppress(SetupError):
        for far in ASKED:
            if -per_reading(far) * MILLIMETRE >= told_by_two_ends(far, scatter):
                return far
    return math.nan


def noted_by(setup: Setup, notes: Notes) -> ReadBy:
    """How the notes tell their readings: as they say, else as the setup does."""
    return read_by(setup, notes.convention)


def states_of(notes: Notes, setup: Setup | None = None) -> tuple[InSi, ...]:
    """The changes with which the bow was shot, each state once, that of the latest group last.

    Parameters
    ----------
    notes : Notes
    setup : Setup, optional
        Whose file may hold some of the changes already; see `Notes.changed_before`.
    """
    states: list[InSi] = []
    for k in reversed(range(len(notes.group))):
        changes = notes.changed_before(k, setup)
        if changes not in states:
            states.append(changes)
    return tuple(reversed(states))


def away_from_window(setup: Setup) -> float:
    """1 where to the right, seen by the archer, is away from the riser's window, else -1."""
    return 1.0 if filled(setup).archer.handed == "left" else -1.0


def read_groups(setup: Setup, notes: Notes) -> tuple[Noted, ...]:
    """Every group of the notes, used or not.

    Raises
    ------
    SetupError
        Where a reading is out of the range that the setup allows; only one told by another convention can be.
    """
    by, own = noted_by(setup, notes), read_by(setup)
    scatter = scatter_of(notes)
    low, high = allowed_readings(setup)
    states, away = states_of(notes, setup), away_from_window(setup)
    out = []
    for k, group in enumerate(notes.group):
        reading = by.underside(group.reading)
        if not low - TINY <= reading <= high + TINY:
            least, most = (show(by.reading(end), "mm") for end in (low, high))
            there = f"{show(own.reading(reading), 'mm')} {own.words}"
            raise SetupError(
                f"group.{k + 1}.reading",
                f"{show(group.reading, 'mm')} {by.words} is {there}, by the setup's convention: out of range",
                f"Give {least} to {most} {by.words}; check the number and the convention",
            )
        out.append(_read(k, group, reading, scatter, states.index(notes.changed_before(k, setup)), away))
    return tuple(out)


def _difference(group: NotedGroup) -> float:
    """Middle of the bare hits above that of the fletched ones [m]; nan where either is missing."""
    return float(np.median(group.bare) - np.median(group.fletched)) if group.bare and group.fletched else math.nan


def _to_the_right(group: NotedGroup) -> float:
    """Middle of the bare hits to the right of that of the fletched ones [m]; nan where it is not noted."""
    if group.bare_right and group.fletched_right:
        return float(np.median(group.bare_right) - np.median(group.fletched_right))
    return math.nan if group.sideways is None else group.sideways


def _is_far(difference: float, distance: float) -> bool:
    return abs(difference) > FAR * distance


def _read(index: int, group: NotedGroup, reading: float, scatter: float, state: int, away: float) -> Noted:
    bare, fletched = (np.sort(np.array(hits or (), dtype=float)) for hits in (group.bare, group.fletched))
    difference, beside = _difference(group), away * _to_the_right(group)
    sigma = spread_of(group.distance, scatter, bare.size, fletched.size) if bare.size and fletched.size else math.nan
    far_aside = ""
    if _is_far(beside, group.distance):
        far_aside = f"bare shafts {100.0 * abs(beside):.0f} cm to one side, too far to be used: check the numbers"
        beside = math.nan
    wind, missed = group.wind or 0.0, group.bare_missed or 0
    why = ""
    if bare.size < LEAST:
        why = f"too few good bare shafts: {bare.size}, and {LEAST} are needed"
    elif fletched.size < LEAST:
        why = f"too few good fletched shafts: {fletched.size}, and {LEAST} are needed"
    elif missed > MISSED * bare.size:
        why = f"{missed} bare shafts missed, and where they went is not known: nearer, or at a larger butt"
    elif _is_far(difference, group.distance):
        off = f"{100.0 * abs(difference):.0f} cm {'above' if difference > 0 else 'below'}"
        why = f"bare shafts {off}, far from the fletched ones: check the numbers and their units"
    elif abs(wind) > CALM:
        why = f"{'head' if wind > 0 else 'tail'} wind of {abs(wind):.1f} m/s changes the height: repeat in calm"
    called = len(group.bare_bad or ()) + len(group.fletched_bad or ())
    return Noted(
        index, group.distance, reading, bare, fletched, called, missed + (group.fletched_missed or 0), difference,
        sigma, beside, sigma if math.isfinite(beside) else math.nan, wind, state, not why, why, far_aside,
    )  # fmt: skip
