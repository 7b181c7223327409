"""Reading groups: from an archer's notes to the move to make, and to what the notes speak for."""

from __future__ import annotations

import math
import os
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from typing import Annotated, Any

import numpy as np

from archerysim.equipment import InSi, Setup, SetupError
from archerysim.equipment.readings import BY_UNDERSIDE, READING, ReadBy, both_units, read_by
from archerysim.errors import ShotError
from archerysim.fields.reported import Reported
from archerysim.fields.result import result
from archerysim.fields.units import show
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.launch import Launch
from archerysim.shot.planes import planes_of
from archerysim.shot.warnings import not_to_shoot
from archerysim.study.notes.cause_estimate import CauseEstimate, apart_words, cause_estimate
from archerysim.study.notes.contact import contact_of
from archerysim.study.notes.group_means import (
    LEAST,
    Noted,
    away_from_window,
    noted_by,
    read_groups,
    scatter_of,
    states_of,
)  # fmt: skip
from archerysim.study.notes.left_right import LeftRight, left_right_of
from archerysim.study.notes.move import CLEAR, Move, few, move_of, up_and_test
from archerysim.study.notes.next_end import NextEnd, next_end_of
from archerysim.study.notes.next_shot import Alike, Further, alike, further_shots
from archerysim.study.notes.noted_records import BUTT
from archerysim.study.notes.notes_file import Notes
from archerysim.study.notes.posterior import SCALE, SPEED, Answer, answer, settled
from archerysim.study.notes.response_surface import Expected, Place, Setting, allowed, expect, launch_at
from archerysim.study.notes.suspicion import off_and_spread, off_and_spread_aside, place_of, setting_of, suspects
from archerysim.study.run.how_to_run import HowToRun, Progress

POINTS = 13  # of a profile, besides those of its interval
BEYOND, CURVE = 0.003, 7  # of the curves over the reading: beyond those shot [m], points
UNLIKELY = 0.99  # chi square of the groups at the answer beyond which the model does not fit
TINY = 1e-9  # of two readings that are one [m]
STRANGE = 3.0  # standard deviations from everything the priors allow


@result("notes.name", "groups", "warnings", "remarks", "left_right", "next_end", "causes", "apart", "further")
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
    left_right : LeftRight or None
        None where the groups do not tell it, or nothing is advised at all.
    next_end : NextEnd or None
        What to shoot next; None where there is no advice.
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
    at_answer : (2, m) array
        Bare above fletched, and beside it, positive away from the window, at the expected places with the values of
        least chi square, from real shots [m].
    surface_error : float
        The largest miss of the surfaces there [m], after they were shifted to pass through shots nearby.
    curves : dict of distance [m] to (readings, heights)
        Bare above fletched over the reading with the best values, from real shots, (c,) arrays [m].
    by : ReadBy
        How readings are told in words, tables and pictures: as the notes do. In the other numbers here they are by
        the underside.
    by_words : str
        Whose convention that is, where the notes name none or the setup another; else empty.
    category : str
        Of the setup.

    Examples
    --------
    >>> import archerysim
    >>> bow, notes = archerysim.load("examples/club-outdoor.toml"), archerysim.load_notes("examples/notes.toml")
    >>> found = archerysim.diagnose(bow, notes, further=False, mesh="coarse", planes=1)
    >>> len(found.groups), found.groups[-1].used
    (3, True)
    >>> found.move.to < found.move.reading  # [m]: bare shafts low, locators down
    True
    """

    notes: Notes
    groups: tuple[Noted, ...]
    warnings: tuple[str, ...]
    limits_passed: tuple[str, ...]
    remarks: tuple[str, ...]
    move: Move | None
    left_right: LeftRight | None
    next_end: NextEnd | None
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
    butt: Any = None,
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
        The bow that was shot, measured or built. Its reading does not matter: each group has its own. Its file may hold
        the changes of the notes already, or some of them: a group shot before one is read with the value before.
    notes : Notes
        The last group is the latest: its reading is where the locators stand. Notes that do not say whether readings
        go to the underside or to the top of the nock are read as the setup's.
    expected : Expected, optional
        What `places_of` and `expect` made for the same bow and places, to be used again.
    further : bool
        Whether to look for the further shot that tells causes apart.
    butt : str or another length with its unit, optional
        The lesser of the butt's width and height. Default: as the notes have it.
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

    Examples
    --------
    >>> import archerysim
    >>> bow, notes = archerysim.load("examples/club-outdoor.toml"), archerysim.load_notes("examples/notes.toml")
    >>> found = archerysim.diagnose(bow, notes, further=False, mesh="coarse", planes=1)
    >>> found.move.way
    'down'
    """
    how = HowToRun(workers, executor, store, progress)
    room = notes.butt if butt is None else BUTT.single("butt", butt, "refused")
    setup = bow.given if isinstance(bow, FittedBow) else bow
    notes.check_shot()
    groups, by = read_groups(setup, notes), noted_by(setup, notes)
    about: dict[str, Any] = {"by": by, "by_words": _by_words(setup, notes), "category": setup.category}
    used = tuple(group for group in groups if group.used)
    now, states = groups[-1].reading, states_of(notes, setup)
    taped = notes.taped is not False
    places = places_of(groups)
    if expected is not None and not _made_for(expected, places, states, taped):
        remedy = "Make it with expect(setup, places_of(groups), states_of(notes, setup))"
        raise SetupError("expected", "it was made for other places", remedy)
    if expected is not None and planes_of(expected.bow, planes) != expected.bow.planes:
        raise SetupError("planes", f"it was expected in {expected.bow.planes}, not in {planes}", "Leave planes out")
    bow = FittedBow.of(bow, mesh, planes=planes) if expected is None else expected.states[0].bow
    warnings, passed, stop = _today(bow.with_changes(states[-1]), now, by)
    remarks = stop or _group_remarks(groups)
    if stop or not used:
        return replace(_without(notes, groups, warnings, passed, remarks), **about)
    if expected is None:
        expected = expect(bow, places, states, taped=taped, how=how)
    latest = len(states) - 1
    contact = suspects(expected, used)
    suspected = max((one.reading for one in contact if one.state == latest), default=-math.inf)
    remarks += _contact(contact, latest, suspected, by)
    remarks += _strange(expected, used, contact, latest)
    clean = tuple(group for group in used if setting_of(group) not in contact)
    here = tuple(group for group in clean if group.state == latest)
    move: Move | None
    if _moved(setup, notes, by) is not None:
        move, remarks = None, (f"no advice: {_moved(setup, notes, by)}", *remarks)
    else:
        move = up_and_test(now) if Setting(now, latest) in contact else _move(expected, here, now, suspected, by)
        if move is None:
            remarks = (_no_move(clean, here), *remarks)
    scatter = scatter_of(notes)
    if not clean:
        return replace(_without(notes, groups, warnings, passed, remarks, move, expected), **about)
    speed, weight, more = _fitting(expected, notes)
    remarks += more
    asked, at_answer, launches, miss = settled(expected, clean, speed, weight)
    found = answer(asked, points=POINTS)
    unexplained = _unexplained(found, len(asked.data))
    remarks += unexplained
    pairs = alike(asked, found)
    causes = tuple(cause_estimate(cause, found, k) for k, cause in enumerate(expected.causes))
    shots: tuple[Further, ...] = ()
    if pairs and further:
        shots = further_shots(
            expected, asked, found, pairs[0], scatter, speed_known=notes.speed is not None, suspected=suspected, by=by
        )  # fmt: skip
    touches = _touches(expected, Setting(now, latest), contact, launches)
    aside = left_right_of(expected, here, away_from_window(setup), touches, found, scatter, not unexplained)
    own = tuple(group for group in groups if group.state == latest)
    next_end = (
        None if move is None
        else next_end_of(expected, own, move, scatter, setup.category, room, found, aside, by)
    )  # fmt: skip
    return Diagnosis(
        notes, groups, warnings, passed, remarks, move, aside, next_end, causes, pairs,
        apart_words(expected.causes, pairs, shots), shots, found, expected, at_answer, miss,
        _curves(expected, found.z), **about,
    )  # fmt: skip


def _made_for(
    expected: Expected, places: tuple[Place, ...], states: tuple[InSi, ...], taped: bool
) -> bool:  # fmt: skip
    same = tuple(one.changes for one in expected.states) == states
    return same and set(places) <= set(expected.places) and expected.taped == taped


def _move(
    expected: Expected, here: tuple[Noted, ...], now: float, suspected: float, by: ReadBy
) -> Move | None:  # fmt: skip
    """The move that groups of the bow as it is now ask for; None where there is none, or where it does nothing."""
    return move_of(expected, here, now, suspected, by) if here else None


def _no_move(clean: tuple[Noted, ...], here: tuple[Noted, ...]) -> str:
    """Why no move is advised."""
    if here:
        return "no advice: by the model a higher reading does not put bare shafts lower"
    if clean:
        return "no advice on the reading: no usable group was shot since the last change"
    return "no advice: contact is suspected with every group"


def _moved(setup: Setup, notes: Notes, by: ReadBy) -> str | None:
    """What is said where the locators were moved since the last group; None where they stand as then."""
    count = len(notes.group)
    moves = [one for one in notes.change if one.what == READING and notes.groups_before(one) >= count]
    if not moves:
        return None
    told = moves[-1].in_si()[READING]
    if abs(told - notes.group[-1].reading) < TINY:
        return None
    return f"the locators were moved to {both_units(told)} {by.words} since the last group: shoot with them first"


def _touches(
    expected: Expected, now: Setting, suspected: dict[Setting, str], launches: dict[Setting, Launch]
) -> str:  # fmt: skip
    """What touches with the bow as it is now: by groups, by the priors' middle, or by what the notes speak for."""
    by_groups = next((words for one, words in suspected.items() if one.state == now.state), "")
    by_answer = contact_of(launches[now]) if now in launches else ""
    return by_groups or expected.contact.get(now, "") or by_answer


def places_of(groups: tuple[Noted, ...]) -> tuple[Place, ...]:
    """Where every usable group was shot, each place once, the latest last."""
    latest_first = [place_of(group) for group in reversed(groups) if group.used]
    return tuple(reversed(dict.fromkeys(latest_first)))


def _curves(expected: Expected, z: np.ndarray) -> dict[float, tuple[np.ndarray, np.ndarray]]:
    """Heights at every distance over the readings, a little beyond those that were shot."""
    shot = np.array([place.reading for place in expected.places])
    by = read_by(expected.bow.setup)
    readings = np.linspace(allowed(shot.min() - BEYOND, by), allowed(shot.max() + BEYOND, by), CURVE)
    launches = []
    for reading in readings:
        try:
            launches.append(expected.launch(float(reading), z))
        except ShotError:  # too far out for this bow: a shorter curve
            readings = readings[readings != reading]
    distances = sorted({place.distance for place in expected.places})
    return {d: (readings, np.array([expected.gap(one, d).height for one in launches])) for d in distances}


def _without(
    notes: Notes, groups: tuple[Noted, ...], warnings: tuple[str, ...], passed: tuple[str, ...],
    remarks: tuple[str, ...], move: Move | None = None, expected: Expected | None = None,
) -> Diagnosis:  # fmt: skip
    """A diagnosis that asks no group what it speaks for."""
    return Diagnosis(
        notes, groups, warnings, passed, remarks, move, None, None, (), (), "", (), None, expected, np.empty((2, 0)),
        0.0, {},
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
        whose = "as in the setup file: the notes name no convention" if named else "because no file says otherwise"
    elif by.convention != own.convention:
        whose = f"as the notes say; those of the setup file are {own.words}"
    else:
        return ""
    return f"Readings are {by.words} of the nock, {whose}."


def _contact(contact: dict[Setting, str], latest: int, suspected: float, by: ReadBy) -> tuple[str, ...]:
    lines = []
    for one, why in contact.items():
        earlier = "" if one.state == latest else ", before the last change"
        at = f"{1e3 * by.reading(one.reading):.1f} mm{earlier}"
        lines.append(f"contact suspected at {at} ({why}): bare shafts can mislead there")
    if math.isfinite(suspected):
        least = f"{1e3 * by.reading(suspected + CLEAR):.1f} mm"
        lines.append(f"because of the contact no move goes below {least}, and no end is proposed there")
    return tuple(lines)


def _group_remarks(groups: tuple[Noted, ...]) -> tuple[str, ...]:
    lines = []
    if not any(group.used for group in groups):
        enough = [group for group in groups if group.bare.size >= LEAST]
        lines.append(f"no advice: {enough[-1].why}" if enough else few(max(group.bare.size for group in groups)))
    lines += [f"group {group.index + 1} is not used: {group.why}" for group in groups if not group.used]
    for group in groups:
        if group.used and group.far_aside:
            lines.append(f"group {group.index + 1}: {group.far_aside}")
    return tuple(lines)


def _strange(
    expected: Expected, groups: tuple[Noted, ...], contact: dict[Setting, str], latest: int
) -> tuple[str, ...]:  # fmt: skip
    """Groups off what the setup explains: by how much, how much it could explain, and that they count all the same."""
    right = away_from_window(expected.bow.setup)
    lines = []
    for group in groups:
        told = []
        for (off, spread), sign, ways in (
            (off_and_spread(expected, group), 1.0, ("higher", "lower")),
            (off_and_spread_aside(expected, group), right, ("further right", "further left")),
        ):
            if abs(off) > STRANGE * spread:
                way = ways[0] if sign * off > 0.0 else ways[1]
                most = f"at most {100.0 * STRANGE * spread:.0f} cm off could be explained"
                told.append(f"bare shafts {100.0 * abs(off):.0f} cm {way} than it expects, where {most}")
        if told and setting_of(group) not in contact:
            counts = "; the move counts it all the same" if group.state == latest else ""
            lines.append(
                f"group {group.index + 1} lies far from what this setup explains ({'; '.join(told)}): check numbers, "
                f"spine, point; repeat{counts}"
            )
    return tuple(lines)


def _unexplained(found: Answer, count: int) -> tuple[str, ...]:
    from scipy.stats import chi2

    if found.chi_square <= float(chi2.ppf(UNLIKELY, count)):
        return ()
    return ("no value of the unmeasured inputs explains these groups well: do not rely on what they show",)


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
