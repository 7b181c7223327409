"""An entry of a journal in words: in one line, or as rows of name and text."""

from __future__ import annotations

from math import isfinite
from typing import TYPE_CHECKING

from archerysim.show.text import away, other

if TYPE_CHECKING:
    from archerysim.study.journal.journal import ChangeEntry, GroupEntry, Journal
    from archerysim.study.journal.what_was_seen import Seen
    from archerysim.study.notes.group_means import Noted
    from archerysim.study.notes.noted_records import NotedChange


def entry_line(entry: GroupEntry | ChangeEntry, journal: Journal) -> str:
    """An entry in one sentence, its day before it."""
    from archerysim.study.journal.journal import GroupEntry

    day = f"{entry.date}: " if entry.date else ""
    if isinstance(entry, GroupEntry):
        return f"{day}{group_words(entry.group, journal)}"
    told = [", ".join(change_words(one, journal) for one in entry.changes)]
    told += [f"why: {why}" for why in dict.fromkeys(one.why for one in entry.changes) if why]
    if len(entry.changes) > 1:
        told += [f"predicted: {moved(entry.predicted)}"] if entry.predicted is not None else []
    else:
        told += [f"predicted: {one.predicted.partition(';')[0]}" for one in entry.changes if one.predicted]
    told += [f"seen: {one}" for one in seen_words(entry)]
    return f"{day}changed {'; '.join(told)}"


def entry_rows(entry: GroupEntry | ChangeEntry, journal: Journal) -> list[tuple[str, str]]:
    """An entry as rows: what it is, and what is told of it."""
    from archerysim.study.journal.journal import GroupEntry

    if isinstance(entry, GroupEntry):
        rows = [("group", group_words(entry.group, journal))]
        return [*rows, ("remark", entry.remark)] if entry.remark else rows
    rows = []
    for one in entry.changes:
        rows.append(("changed", change_words(one, journal)))
        rows += [(name, text) for name in ("why", "predicted", "remark") if (text := getattr(one, name))]
    if entry.predicted is not None and len(entry.changes) > 1:
        rows.append(("together", moved(entry.predicted)))
    rows += [("seen", words) for words in seen_words(entry)]
    return rows


def group_words(group: Noted, journal: Journal) -> str:
    """Where a group was shot, with which reading, and how far its bare shafts lie from the fletched ones."""
    from archerysim.equipment.readings import both_units
    from archerysim.fields.units import target_distance

    text = f"{target_distance(group.distance)}, {both_units(journal.by.reading(group.reading))} {journal.by.words}"
    if isfinite(group.difference):
        way = "above" if group.difference >= 0.0 else "below"
        high = f"{abs(100.0 * group.difference):.1f} cm {way}"
        if isfinite(group.beside):
            out = away(journal.setup)
            high += f" and {abs(100.0 * group.beside):.1f} cm {out if group.beside >= 0.0 else other(out)} of"
        text += f": {len(group.bare)} bare {high} {len(group.fletched)} fletched"
    return text + (f" (not used: {group.why})" if group.why else "")


def change_words(change: NotedChange, journal: Journal) -> str:
    """What was changed, from and to; a reading as the journal tells it, in both units."""
    from archerysim.equipment.readings import READING, both_units

    was, to = change.was or "not noted", change.to
    if change.what == READING:
        was, to = (
            both_units(told[READING]) if told else "not noted" for told in (change.before_in_si(), change.in_si())
        )
        to += f" {journal.by.words}"
    return f"{change.what} from {was} to {to}"


def seen_words(entry: ChangeEntry) -> list[str]:
    """What a change did: as the archer wrote it, and by the groups before and after."""
    told = [one.seen for one in entry.changes if one.seen]
    if entry.seen is not None and entry.seen.by_groups:
        told.append(f"by the groups, {moved(entry.seen)}")
    return told


def moved(seen: Seen) -> str:
    """How else bare shafts land, with its standard deviation where that is known."""
    from archerysim.fields.units import target_distance
    from archerysim.study.journal.landing import moved_words

    give = f" (give or take {100.0 * seen.up_sigma:.0f} cm)" if isfinite(seen.up_sigma) else ""
    right = seen.right if isfinite(seen.right) else None
    return f"at {target_distance(seen.distance)} bare {moved_words(seen.up, right)}{give}"
