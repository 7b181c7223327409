"""Reading groups: from an archer's notes to the move to make, and to what the notes speak for."""

from __future__ import annotations

import math
import os
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from typing import Annotated, Any

import numpy as np

from archerysim.equipment import Setup, SetupError
from archerysim.equipment.readings import BY_UNDERSIDE, ReadBy, read_by
from archerysim.errors import ShotError
from archerysim.fields.reported import Reported
from archerysim.fields.result import result
from archerysim.fields.units import show
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.planes import planes_of
from archerysim.shot.warnings import not_to_shoot
from archerysim.study.notes.group_means import LEAST, Noted, noted_by, read_groups, scatter_of
from archerysim.study.notes.move import CLEAR, Move, few, move_of, surprise, suspects, up_and_test
from archerysim.study.notes.next_shot import WORTH, Alike, Further, alike, further_shots
from archerysim.study.notes.notes_file import Notes
from archerysim.study.notes.posterior import BARELY, RISE, SCALE, SPEED, Answer, Question, answer, question
from archerysim.study.notes.priors import Cause
from archerysim.study.notes.response_surface import Expected, allowed, expect, launch_at
from archerysim.study.run.how_to_run import HowToRun, Progress

POINTS = 13  # of a profile, besides those of its interval
BEYOND, CURVE = 0.003, 7  # of the curves over the reading: beyond those shot [m], points
SETTLED, SETTLES = 0.1, 8  # of the least scatter: the surface's miss at the answer; rounds at most
UNLIKELY = 0.99  # chi square of the groups at the answer beyond which the model does not fit
STRANGE = 3.0  # standard deviations from everything the priors allow
FELT = 1e-6  # prior spreads by which an interval must stand off the usual value and the prior's end


@dataclass(frozen=True)
class CauseEstimate:
    """What the notes say of one unmeasured input.

    Attributes
    ----------
    cause : Cause
    value, low, high : float
        Best value and ends of the 90 % interval, in the cause's unit.
    usual, usual_low, usual_high : float
        The same by the prior alone.
    narrowed : float
        Length of the interval over that of the prior's.
    profile : (p, 2) array
        Values in the cause's unit, and the rise of chi square.
    words : str
    """

    cause: Cause
    value: float
    low: float
    high: float
    usual: float
    usual_low: float
    usual_high: float
    narrowed: float
    profile: np.ndarray
    words: str


@result("notes.name", "groups", "warnings", "remarks", "causes", "apart", "further")
@dataclass(frozen=True)
class Diagnosis:
    """What an archer's notes say.

    Attributes
    ----------
    notes : Notes
    groups : tuple of Noted
        All of them, used or not.
    warnings : tuple of str
        Those of a shot with the reading where the locators stand now: to be read before anything else.
    limits_passed : tuple of str
        Which limits the first of the warnings speak of.
    remarks : tuple of str
        What has to be said first: too few shafts, wind, contact, sideways.
    move : Move or None
        None where there is no advice.
    causes : tuple of CauseEstimate
        Empty where there is no advice.
    pairs : tuple of Alike
        Inputs that the notes cannot tell apart.
    apart : str
        That in words; "" if there are none.
    further : tuple of Further
        Shots that would tell the first pair apart, the best first.
    answer : Answer or None
    expected : Expected or None
    at_answer : (m,) array
        Heights of bare above fletched at the expected places with the best values, from real shots [m].
    surface_error : float
        The largest miss of the quadratic surface there [m], after it was shifted to pass through shots nearby.
    curves : dict of distance [m] to (readings, heights)
        Bare above fletched over the reading with the best values, from real shots, (c,) arrays [m].
    by : ReadBy
        How readings are told in words, tables and pictures: as the notes do. In the other numbers here they are by
        the underside.
    by_words : str
        Whose convention that is, where the notes name none or the setup another; else empty.
    category : str
        Of the setup.
    """

    notes: Notes
    groups: tuple[Noted, ...]
    warnings: tuple[str, ...]
    limits_passed: tuple[str, ...]
    remarks: tuple[str, ...]
    move: Move | None
    causes: tuple[CauseEstimate, ...]
    pairs: tuple[Alike, ...]
    apart: str
    further: tuple[Further, ...]
    answer: Answer | None
    expected: Expected | None
    at_answer: Annotated[np.ndarray, Reported("m")]
    surface_error: Annotated[float, Reported("m")]
    curves: dict[float, tuple[np.ndarray, np.ndarray]]
    by: ReadBy = BY_UNDERSIDE
    by_words: str = ""
    category: str = ""


def diagnose(
    bow: Setup | FittedBow,
    notes: Notes,
    *,
    expected: Expected | None = None,
    further: bool = True,
    mesh: str | Mesh = "default",
    planes: int | None = None,
    workers: int | None = None,
    executor: Executor | None = None,
    store: str | os.PathLike[str] | None = None,
    progress: Progress = None,
) -> Diagnosis:
    """Read an archer's groups.

    Parameters
    ----------
    bow : Setup or FittedBow
        The bow that was shot, measured or built. Its reading does not matter: each group has its own.
    notes : Notes
        The last group is the latest: its reading is where the locators stand. Notes that do not say whether readings
        go to the underside or to the top of the nock are read as the setup's.
    expected : Expected, optional
        What `places_of` and `expect` made for the same bow and places, to be used again.
    further : bool
        Whether to look for the further shot that tells causes apart.
    mesh, planes, workers, executor, store, progress
        As for `sweep`; a point is one of the shots behind the surface that stands for the model.

    Returns
    -------
    Diagnosis
        To be shown together with ``archerysim.shot.flight.range_cautions.range_cautions``. With an arrow so light that
        the bow must not be shot, it has warnings and groups and nothing else.

    Raises
    ------
    SetupError, ShotError
    """
    how = HowToRun(workers, executor, store, progress)
    setup = bow.given if isinstance(bow, FittedBow) else bow
    groups, by = read_groups(setup, notes), noted_by(setup, notes)
    about: dict[str, Any] = {"by": by, "by_words": _by_words(setup, notes), "category": setup.category}
    used = tuple(group for group in groups if group.used)
    now = groups[-1].reading
    taped = notes.taped is not False
    places = places_of(groups)
    if expected is not None and (not set(places) <= set(expected.places) or expected.taped != taped):
        raise SetupError("expected", "it was made for other places", "Make it with expect(setup, places_of(groups))")
    if expected is not None and planes_of(expected.bow, planes) != expected.bow.planes:
        raise SetupError("planes", f"it was expected in {expected.bow.planes}, not in {planes}", "Leave planes out")
    bow = FittedBow.of(bow, mesh, planes=planes) if expected is None else expected.bow
    warnings, passed, stop = _today(bow, now, by)
    remarks = stop or _group_remarks(groups)
    if stop or not used:
        return replace(_without(notes, groups, warnings, passed, remarks), **about)
    if expected is None:
        expected = expect(bow, places, taped=taped, how=how)
    contact = suspects(expected, used)
    suspected = max(contact, default=-math.inf)
    remarks += _contact(contact, by)
    remarks += _strange(expected, used, contact)
    clean = tuple(group for group in used if group.reading not in contact)
    move = up_and_test(now) if now in contact else (move_of(expected, clean, now, suspected, by) if clean else None)
    if move is None:
        deaf = "by the model a higher reading does not put bare shafts lower"
        remarks = (f"no advice: {deaf if clean else 'contact is suspected with every group'}", *remarks)
    if not clean:
        return replace(_without(notes, groups, warnings, passed, remarks, move, expected), **about)
    speed, weight, more = _fitting(expected, notes)
    remarks += more
    asked, at_answer, miss = settled(expected, clean, speed, weight)
    found = answer(asked, points=POINTS)
    remarks += _unexplained(found, len(asked.data))
    pairs = alike(asked, found)
    causes = tuple(_cause_estimate(cause, found, k) for k, cause in enumerate(expected.causes))
    shots: tuple[Further, ...] = ()
    if pairs and further:
        known = notes.speed is not None
        scatter = scatter_of(notes)
        shots = further_shots(
            expected, asked, found, pairs[0], scatter, speed_known=known, suspected=suspected, by=by
        )  # fmt: skip
    return Diagnosis(
        notes, groups, warnings, passed, remarks, move, causes, pairs, _apart(expected.causes, pairs, shots), shots,
        found, expected, at_answer, miss, _curves(expected, found.z), **about,
    )  # fmt: skip


def settled(
    expected: Expected, groups: tuple[Noted, ...], speed: float | None, weight: float | None
) -> tuple[Question, np.ndarray, float]:
    """The question with its surface passing through real shots at the answer.

    Returns
    -------
    asked : Question
    heights : (m,) array
        At the expected places, from real shots [m].
    miss : float
        The largest miss of the surface at the groups' places there [m].
    """
    here = expected
    z = np.zeros(len(expected.causes))
    felt = [expected.places.index((group.reading, group.distance)) for group in groups]
    for _ in range(SETTLES):
        asked = question(here, groups, speed, weight)
        z = asked.best(z)
        heights = expected.shot_heights(z)
        miss = heights - here.heights.at(z)
        if np.abs(miss[felt]).max() < SETTLED * min(group.sigma for group in groups):
            break
        here = replace(here, heights=here.heights.shifted(miss))
    return asked, heights, float(np.abs(miss[felt]).max())


def places_of(groups: tuple[Noted, ...]) -> tuple[tuple[float, float], ...]:
    """Reading and distance [m] of every usable group, each once, the latest last."""
    latest_first = [(group.reading, group.distance) for group in reversed(groups) if group.used]
    return tuple(reversed(dict.fromkeys(latest_first)))


def _curves(expected: Expected, z: np.ndarray) -> dict[float, tuple[np.ndarray, np.ndarray]]:
    """Heights at every distance over the readings, a little beyond those that were shot."""
    shot = np.array([reading for reading, _ in expected.places])
    by = read_by(expected.bow.setup)
    readings = np.linspace(allowed(shot.min() - BEYOND, by), allowed(shot.max() + BEYOND, by), CURVE)
    launches = []
    for reading in readings:
        try:
            launches.append(expected.launch(float(reading), z))
        except ShotError:  # too far out for this bow: a shorter curve
            readings = readings[readings != reading]
    distances = sorted({distance for _, distance in expected.places})
    return {d: (readings, np.array([expected.height(one, d) for one in launches])) for d in distances}


def _without(
    notes: Notes, groups: tuple[Noted, ...], warnings: tuple[str, ...], passed: tuple[str, ...],
    remarks: tuple[str, ...], move: Move | None = None, expected: Expected | None = None,
) -> Diagnosis:  # fmt: skip
    """A diagnosis that asks no group what it speaks for."""
    return Diagnosis(
        notes, groups, warnings, passed, remarks, move, (), (), "", (), None, expected, np.empty(0), 0.0, {}
    )  # fmt: skip


def _today(bow: FittedBow, reading: float, by: ReadBy) -> tuple[tuple[str, ...], tuple[str, ...], tuple[str, ...]]:
    """Warnings of a shot with today's reading [m], the limits passed; what is said where they forbid all shots."""
    try:
        launch = launch_at(bow, (), reading)
    except ShotError as error:
        at = f"{1e3 * by.reading(reading):.1f} mm {by.words}"
        return (f"No shot with today's reading, {at}, so its warnings are not known: {error}",), (), ()
    stop = "no advice: DO NOT SHOOT this arrow; take a heavier one, or put the setup file right, then read again"
    forbidden = not_to_shoot(launch.limits_passed, launch.warnings)
    return launch.warnings, launch.limits_passed, (stop,) if forbidden else ()


def _by_words(setup: Setup, notes: Notes) -> str:
    """Whose convention the notes' readings are told by, where that is not plain."""
    by, own = noted_by(setup, notes), read_by(setup)
    if notes.convention is None:
        named = setup.nock.locators.convention is not None
        whose = "as in the setup file, for the notes name no convention" if named else "for no file says otherwise"
    elif by.convention != own.convention:
        whose = f"as the notes say; those of the setup file are {own.words}"
    else:
        return ""
    return f"Readings are {by.words} of the nock, {whose}."


def _contact(contact: dict[float, str], by: ReadBy) -> tuple[str, ...]:
    lines = [
        f"contact suspected at {1e3 * by.reading(reading):.1f} mm ({why}): bare shafts can lie there"
        for reading, why in contact.items()
    ]
    if contact:
        least = f"{1e3 * by.reading(max(contact) + CLEAR):.1f} mm"
        lines.append(f"because of the contact no move goes below {least}, and no further end is proposed there")
    return tuple(lines)


def _group_remarks(groups: tuple[Noted, ...]) -> tuple[str, ...]:
    lines = []
    if not any(group.used for group in groups):
        enough = [group for group in groups if group.bare.size >= LEAST]
        lines.append(f"no advice: {enough[-1].why}" if enough else few(max(group.bare.size for group in groups)))
    lines += [f"group {group.index + 1} is not used: {group.why}" for group in groups if not group.used]
    if any(math.isfinite(group.beside) for group in groups):
        lines.append("sideways is not ours: set the height first, then see to it with a coach")
    return tuple(lines)


def _strange(expected: Expected, groups: tuple[Noted, ...], contact: dict[float, str]) -> tuple[str, ...]:
    return tuple(
        f"group {group.index + 1} lies far from what this setup explains: check numbers, spine, point; repeat"
        for group in groups
        if group.reading not in contact and abs(surprise(expected, group)) > STRANGE
    )


def _unexplained(found: Answer, count: int) -> tuple[str, ...]:
    from scipy.stats import chi2

    if found.chi_square <= float(chi2.ppf(UNLIKELY, count)):
        return ()
    return ("no value of the unmeasured inputs explains these groups well: do not lean on what they speak for",)


def _cause_estimate(cause: Cause, found: Answer, k: int) -> CauseEstimate:
    low, high, narrowed = float(found.low[k]), float(found.high[k]), float(found.narrowed[k])
    usual = float(np.sqrt(RISE))
    more = low > max(0.0, float(found.prior_low[k])) + FELT
    if more or high < min(0.0, float(found.prior_high[k])) - FELT:
        words = f"the notes speak for {cause.more if more else cause.less}"
    elif narrowed > BARELY:
        words = "the notes say little about it"
    else:
        words = "the notes narrow it; the usual value fits"
    profile = found.profiles[k].copy()
    profile[:, 0] = [cause.value(z) for z in profile[:, 0]]
    return CauseEstimate(
        cause, cause.value(float(found.z[k])), cause.value(low), cause.value(high), cause.value(0.0),
        cause.value(max(cause.low, -usual)), cause.value(min(cause.high, usual)), narrowed, profile, words,
    )  # fmt: skip


def _apart(causes: tuple[Cause, ...], pairs: tuple[Alike, ...], shots: tuple[Further, ...]) -> str:
    if not pairs:
        return ""
    one, two = causes[pairs[0].first], causes[pairs[0].second]
    text = f"the notes cannot tell {one.more} from {two.more if pairs[0].cosine > 0 else two.less}"
    if not shots:
        return text
    share = f"{100 * shots[0].drop:.0f} % less of their common variance"
    if shots[0].drop < WORTH:
        return f"{text}, nor would a further shot (best: {shots[0].words}, {share}); measure {two.otherwise}"
    return f"{text}; the further shot that would help most: {shots[0].words} ({share})"


def _fitting(expected: Expected, notes: Notes) -> tuple[float | None, float | None, tuple[str, ...]]:
    """Noted speed and draw weight where the unmeasured inputs could make them, else None; and what is said then."""
    kept: list[float | None] = []
    remarks = []
    for noted, surface, share, least, unit, name, look in (
        (notes.speed, expected.speed, SPEED, 0.0, "m/s", "arrow speed", "arrow mass, limbs and string"),
        (notes.draw_weight, expected.weight, 0.0, SCALE, "lbf", "draw weight", "bow.draw_weight"),
    ):
        kept.append(noted)
        if noted is None:
            continue
        size = math.hypot(share * noted + least, float(np.linalg.norm(surface.slope[0])))
        model = float(surface.value[0])
        if abs(noted - model) > STRANGE * size:
            kept[-1] = None
            remarks.append(
                f"the noted {name}, {show(noted, unit)}, is not this setup's, {show(model, unit)}: not used; put "
                f"{look} right in the setup file first"
            )
    return kept[0], kept[1], tuple(remarks)
