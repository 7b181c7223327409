"""A change that is about to be made: its value before, and what it is to do by the model; differences only."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from archerysim.equipment import NO_CHANGES, InSi, Setup, SetupError, field_info, filled
from archerysim.equipment.readings import CONVENTION, READING, ReadBy, by_underside, read_by
from archerysim.fields import units
from archerysim.fields.paths import read
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.flight.bare_shaft import Gap, gap_at, leaving_at_sight
from archerysim.shot.flight.fly import check_distance
from archerysim.shot.launch import Launch
from archerysim.shot.side_change import SideChange
from archerysim.study.journal.journal import reading_now, value_now
from archerysim.study.journal.landing import moved_words
from archerysim.study.notes.group_means import away_from_window, noted_by
from archerysim.study.notes.notes_file import Notes

USUAL = "18 m"  # where no group was shot yet


@dataclass(frozen=True)
class NewChange:
    """One place that is to be changed.

    Attributes
    ----------
    what, was, to : str
        Its path, and both values with units as in a file; ``was`` is "" where none is known.
    predicted : str
        What it is to do, in words that a journal keeps.
    caution : str
        What has to be minded on a real bow; "" for most.
    """

    what: str
    was: str
    to: str
    predicted: str
    caution: str


@dataclass(frozen=True)
class NewChanges:
    """All that is to be changed at one time.

    Attributes
    ----------
    changes : tuple of NewChange
    launch : Launch
        Of the bow with all of them, with its warnings.
    """

    changes: tuple[NewChange, ...]
    launch: Launch


def new_changes(
    setup: Setup,
    notes: Notes | None,
    changes: Mapping[str, str],
    *,
    distance: Any = None,
    mesh: str | Mesh = "default",
    planes: int | None = None,
) -> NewChanges:
    """What some changes, made one after the other, are to do to a bow as its setup file and its journal have it.

    Parameters
    ----------
    setup : Setup
    notes : Notes or None
        The journal so far.
    changes : mapping of dotted path to str
        New values with their units; a reading as the journal tells readings.
    distance : str or another number with its unit, optional
        Of the target. Default: that of the journal's last group, else 18 m.
    mesh, planes
        As for `archerysim.shoot`.

    Returns
    -------
    NewChanges

    Raises
    ------
    SetupError, ShotError
        Where a change is not usable, or the bow cannot be shot with it.
    """
    last = notes.group[-1].distance if notes is not None and notes.group else None
    far = check_distance(USUAL if last is None else (last, "m")) if distance is None else check_distance(distance)
    at = units.target_distance(far, distance or (USUAL if last is None else None))
    by = read_by(setup) if notes is None else noted_by(setup, notes)
    asked = {path: read(Setup, {path: value}) for path, value in changes.items()}
    if CONVENTION in asked:
        raise SetupError(
            CONVENTION, "is how readings are told, not something on the bow", "Write it into the setup file"
        )
    bow = FittedBow.of(setup, mesh, planes=planes).with_changes(_so_far(setup, notes, by))
    taped = notes is None or notes.taped is not False
    before = _Shot.of(bow, far, taped)
    done = []
    for path, value in asked.items():
        was = _was(setup, notes, path, by, bow)
        if path == READING:
            value = by_underside(bow.setup, by.underside(value[READING]))
        bow = bow.with_changes(value)
        after = _Shot.of(bow, far, taped)
        told = f"at {at} bare {before.to(after, away_from_window(setup))}"
        done.append(NewChange(path, was, changes[path], told, field_info(path).caution))
        before = after
    return NewChanges(tuple(done), before.launch)


@dataclass(frozen=True)
class _Shot:
    """A shot, and where its bare shaft lands."""

    launch: Launch
    gap: Gap

    @classmethod
    def of(cls, bow: FittedBow, distance: float, taped: bool) -> _Shot:
        launch = bow.launch()
        return cls(launch, gap_at(launch, distance, leaving_at_sight(launch, distance), taped=taped))

    def to(self, other: _Shot, to_the_right: float) -> str:
        """What is different in another shot, in words."""
        right, why = None, ""
        if self.launch.planes == 2:
            side = SideChange.between(self.launch, other.launch)
            if side.touches or side.touched_before:
                why = " (left and right not told: the tail touches the side support)"
            else:
                right = to_the_right * (other.gap.side - self.gap.side)
        old, new = self.launch.clear, other.launch.clear
        attack, pitch = new.angle_of_attack - old.angle_of_attack, new.pitch - old.pitch
        lands = moved_words(other.gap.height - self.gap.height, right)
        return f"{lands}{why}; attack {_angle(attack)}, pitch {_angle(pitch)} at clear, nose up +"


def _angle(degrees: float) -> str:
    return f"{round(degrees, 2) + 0.0:+.2f} deg"


def _so_far(setup: Setup, notes: Notes | None, by: ReadBy) -> InSi:
    """The changes of the journal that the setup file does not hold."""
    if notes is None:
        return NO_CHANGES
    made, reading = notes.changed_before(len(notes.group), setup), reading_now(notes)
    return made if reading is None else made | by_underside(setup, by.underside(reading))


def _was(setup: Setup, notes: Notes | None, path: str, by: ReadBy, bow: FittedBow) -> str:
    """The value before, as a file has it; "" where none is known."""
    if path == READING:
        told = None if notes is None else reading_now(notes)
        if told is None:
            return units.show(by.reading(bow.reading), "mm")
        written = value_now(notes, path) if notes is not None else None
        return written if written and read(Setup, {path: written})[path] == told else units.show(told, "mm")
    written = None if notes is None else value_now(notes, path)
    if written is not None:
        return written
    try:
        value = setup.get(path)
        value = filled(setup).get(path) if value is None else value
    except SetupError:  # two limbs that differ
        return ""
    return _written(value, field_info(path).unit)


def _written(value: Any, unit: str) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, tuple):
        return f"[{', '.join(_written(one, unit) for one in value)}]"
    if isinstance(value, str) or value is None:
        return value or ""
    return units.write(value, unit) if unit else f"{value:g}"
