"""The archer's journal, read: groups and changes in their order, and what has to be said of them."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from archerysim.equipment import Setup
from archerysim.equipment.readings import READING, ReadBy, read_by
from archerysim.fields.paths import ALL
from archerysim.fields.result import result
from archerysim.fields.units import show
from archerysim.study.journal.check_again import listed, rule_of, told_apart
from archerysim.study.journal.landing import moved_words, read_landing
from archerysim.study.journal.what_was_seen import Seen, alike, disagreement, seen_by_groups, seen_in_words
from archerysim.study.notes.group_means import FAR, Noted, away_from_window, noted_by, read_groups, scatter_of
from archerysim.study.notes.move import Move
from archerysim.study.notes.noted_records import NotedChange
from archerysim.study.notes.notes_file import Notes, stands_in

TINY = 1e-9  # of two readings that are one [m]
TENTHS = 4  # digits of a reading in a setup file [m]
LEAST = 0.005  # of a predicted move whose way is held against why it was made [m]
WAYS = {"high": (True, 1.0), "low": (True, -1.0), "right": (False, 1.0), "left": (False, -1.0)}
OTHER = {"high": "low", "low": "high", "right": "left", "left": "right"}


@dataclass(frozen=True)
class GroupEntry:
    """A group in the journal.

    Attributes
    ----------
    date : str
        "" where not noted.
    group : Noted
    remark : str
        The archer's own.
    """

    date: str
    group: Noted
    remark: str


@dataclass(frozen=True)
class ChangeEntry:
    """What was changed at one time: on one day, with no group between.

    Attributes
    ----------
    date : str
        "" where not noted.
    changes : tuple of NotedChange
        In their order.
    predicted : Seen or None
        What all of them together were to do, by what stands in the journal; its standard deviations are nan.
    seen : Seen or None
        What they did, by the groups before and after, else by the archer's words.
    remarks : tuple of str
        What has to be said of it.
    """

    date: str
    changes: tuple[NotedChange, ...]
    predicted: Seen | None
    seen: Seen | None
    remarks: tuple[str, ...]


@result("name", "entries", "pending", "remarks")
@dataclass(frozen=True)
class Journal:
    """What was shot and changed, and what has to be said of it.

    Attributes
    ----------
    name : str
    entries : tuple of GroupEntry or ChangeEntry
        The latest last.
    pending : tuple of (str, str)
        Places and values that the setup file does not hold, those of changes and the reading of the last group: (path,
        value with its unit), a reading by the file's convention.
    remarks : tuple of str
        What has to be said of the journal as a whole.
    by : ReadBy
        How it tells readings.
    setup : Setup

    Examples
    --------
    >>> import archerysim
    >>> setup = archerysim.load("examples/club-outdoor.toml")
    >>> journal = archerysim.read_journal(setup, archerysim.load_notes("examples/season.toml"))
    >>> journal.pending[0]  # what the setup file does not say yet
    ('nock.locators.reading', '6 mm')
    """

    name: str
    entries: tuple[GroupEntry | ChangeEntry, ...]
    pending: tuple[tuple[str, str], ...]
    remarks: tuple[str, ...]
    by: ReadBy
    setup: Setup


def read_journal(setup: Setup, notes: Notes) -> Journal:
    """Read the groups and changes of an archer's notes as a journal.

    Parameters
    ----------
    setup : Setup
        The bow; its file may hold the changes already or not.
    notes : Notes
        As `archerysim.load_notes` reads them.

    Returns
    -------
    Journal

    Raises
    ------
    SetupError
        Where a reading is out of the range that the setup allows.

    Examples
    --------
    >>> import archerysim
    >>> setup = archerysim.load("examples/club-outdoor.toml")
    >>> journal = archerysim.read_journal(setup, archerysim.load_notes("examples/season.toml"))
    >>> len(journal.entries), journal.entries[-1].date
    (8, '2026-05-20')
    """
    groups, by = read_groups(setup, notes), noted_by(setup, notes)
    entries: list[GroupEntry | ChangeEntry] = []
    for k in range(len(notes.group) + 1):
        made = [one for one in notes.change if min(notes.groups_before(one), len(notes.group)) == k]
        for date, together in groupby(made, key=lambda one: one.date or ""):
            entries.append(_change_entry(setup, notes, groups, k, date, tuple(together)))
        if k < len(notes.group):
            entries.append(GroupEntry(notes.group[k].date or "", groups[k], notes.group[k].remark or ""))
    pending, remarks = _beside_the_file(setup, notes, by)
    return Journal(notes.name, tuple(entries), pending, remarks, by, setup)


def value_now(notes: Notes, path: str) -> str | None:
    """The value that the journal last gave a place, as it is written; None where it gives none."""
    return next((one.to for one in reversed(notes.change) if one.what == path), None)


def reading_now(notes: Notes) -> float | None:
    """The reading that the journal told last [m], by a change or with a group; None where it tells none."""
    moves = [one for one in notes.change if one.what == READING]
    if moves and notes.groups_before(moves[-1]) >= len(notes.group):
        return float(moves[-1].in_si()[READING])
    return notes.group[-1].reading if notes.group else None


def to_write(setup: Setup, move: Move | None) -> tuple[tuple[str, str], ...]:
    """The reading for the setup file, once the locators are moved as groups ask for: (path, value), or nothing.

    Nothing where no move is to be acted on, or where the file has that reading.
    """
    if move is None or not move.size or not move.repeated:
        return ()
    to = round(float(read_by(setup).reading(move.to)), TENTHS)
    return () if stands_in(setup, READING, to) else ((READING, show(to, "mm")),)


def _change_entry(
    setup: Setup, notes: Notes, groups: tuple[Noted, ...], index: int, date: str, changes: tuple[NotedChange, ...]
) -> ChangeEntry:  # fmt: skip
    """What was changed before a group was shot, with what was seen of it."""
    elsewhere = {min(notes.groups_before(one), len(groups)) for one in notes.change if one not in changes}
    low = max((k for k in elsewhere if k < index), default=0)
    high = min((k for k in elsewhere if k > index), default=len(groups))
    before, after = list(groups[low:index]), list(groups[index:high])
    paths = tuple(one.what for one in changes)
    remarks, compared = [], index not in elsewhere
    counted = told_apart(paths)
    if len(counted) > 1:
        remarks.append(
            f"{len(counted)} things were changed at one time ({', '.join(counted)}): what each of them did cannot be "
            "told apart; one at a time"
        )
    elif not compared:
        remarks.append("no group was shot between this and another change: what each did cannot be told apart")
    old, new = alike(before, True), alike(after, False)
    if old and new and READING not in paths and abs(old[-1].reading - new[0].reading) > TINY:
        remarks.append("the groups after it have another reading than those before it, and no change says so")
        compared = False
    seen, predicted = None, _predicted(changes)
    if predicted is not None and max(abs(predicted.up), abs(predicted.right)) > FAR * predicted.distance:
        remarks.append("predicted is more than bare shafts can be told by: check the new value and its unit")
    remarks += _the_wrong_way(changes, predicted)
    to_the_right = away_from_window(setup)
    if compared:
        seen = seen_by_groups(old, new, to_the_right)
        words = " and ".join(one.seen for one in changes if one.seen)
        if seen is None and words:
            at = old[-1].distance if old else predicted.distance if predicted else None
            seen = seen_in_words(read_landing(words), old, at, scatter_of(notes), to_the_right)
    if seen is not None and predicted is not None:
        remarks += _against(predicted, seen)
    remarks += _again(notes, changes, index)
    return ChangeEntry(date, changes, predicted, seen, tuple(remarks))


def _predicted(changes: tuple[NotedChange, ...]) -> Seen | None:
    """What changes made together were to do, by the words in the journal; None where one of them does not say."""
    told = [read_landing(one.predicted) for one in changes]
    at = {one.distance for one in told}
    if None in at or len(at) != 1 or any(one.up is None or not one.up.change for one in told):
        return None
    up = sum(one.up.by for one in told if one.up)
    right = sum(one.right.by if one.right and one.right.change else math.nan for one in told)
    return Seen(float(next(one for one in at if one is not None)), up, math.nan, right, math.nan, False)


def _against(predicted: Seen, seen: Seen) -> list[str]:
    """Remarks where what was seen is not what was predicted."""
    if abs(predicted.distance - seen.distance) > TINY:
        return []
    out = []
    for name, told, found, sigma in (
        ("up and down", predicted.up, seen.up, seen.up_sigma),
        ("left and right", predicted.right, seen.right, seen.right_sigma),
    ):
        odd = disagreement(told, found, sigma) if math.isfinite(told) and math.isfinite(found) else ""
        if odd:
            moved = (
                f"{moved_words(found, None)} for {moved_words(told, None)}" if name == "up and down"
                else f"{100.0 * found:+.1f} cm for {100.0 * told:+.1f} cm, right +"
            )  # fmt: skip
            out.append(
                f"{name} it went {odd}{' than' if odd != 'the other way' else ' from what was'} predicted ({moved}): "
                "repeat the groups, look for contact, check that nothing else was changed"
            )
    return out


def _the_wrong_way(changes: tuple[NotedChange, ...], predicted: Seen | None) -> list[str]:
    """A remark where a change does by the model more of what it was to take away."""
    why = {word for one in changes if "bare" in (one.why or "").lower() for word in WAYS if _says(one.why, word)}
    if predicted is None:
        return []
    return [
        f"why: bare {word}; by the model the change moves bare shafts further that way"
        for word, (upward, sign) in WAYS.items()
        if word in why and OTHER[word] not in why
        and sign * (predicted.up if upward else predicted.right) > LEAST
    ]  # fmt: skip


def _says(words: str | None, word: str) -> bool:
    return re.search(rf"\b{word}\b", words or "", re.IGNORECASE) is not None


def _again(notes: Notes, changes: tuple[NotedChange, ...], index: int) -> list[str]:
    """What to measure again and to look at after some changes, less what was measured since."""
    at = max(notes.change.index(one) for one in changes)
    since = {one.what for one in changes} | {one.what for one in notes.change[at:]}
    if index < len(notes.group):
        since.add(READING)  # every group has it
    out, newest = [], notes.change[-1] in changes
    for rule in dict.fromkeys(rule for one in changes if (rule := rule_of(one.what)) is not None):
        again = tuple(path for path in rule.again if path not in since)
        measure = f"measure again {listed(again)}" if again else ""
        since |= set(again)
        told = "; ".join(part for part in (measure, rule.look if newest else "") if part)
        out += [f"{rule.what}: {told}"] if told else []
    return out


def _beside_the_file(setup: Setup, notes: Notes, by: ReadBy) -> tuple[tuple[tuple[str, str], ...], tuple[str, ...]]:
    """Changes and the reading that the setup file does not hold, and where it says what the journal never had."""
    pending, remarks = [], []
    reading = reading_now(notes)
    for path in dict.fromkeys((*(one.what for one in notes.change), *(() if reading is None else (READING,)))):
        if path == READING and reading is not None:
            own = read_by(setup).reading(by.underside(reading))
            pending += [] if stands_in(setup, path, own) else [(path, show(own, "mm"))]
            continue
        made = [one for one in notes.change if one.what == path]
        values: list[Any] = [value for one in made for value in (one.before_in_si().get(path), one.in_si()[path])]
        if path.endswith(f".{ALL}") or stands_in(setup, path, values[-1]):
            continue
        pending.append((path, made[-1].to))
        if None not in values and not any(stands_in(setup, path, one) for one in values):
            remarks.append(f"{path}: the setup file has a value that this journal never had; put one of them right")
    return tuple(pending), tuple(remarks)
