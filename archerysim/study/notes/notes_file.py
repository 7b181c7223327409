"""An archer's notes, the journal: where bare and fletched shafts landed, with which reading, what changed, and why."""

from __future__ import annotations

import datetime
import math
import os
import re
from typing import Annotated, Any, ClassVar

from archerysim.equipment import InSi, Setup, filled
from archerysim.equipment.nock import Convention
from archerysim.equipment.readings import CONVENTION, READING
from archerysim.equipment.setup_file import parse, read_from
from archerysim.errors import SetupError
from archerysim.fields import file_writing as whole
from archerysim.fields import toml as toml_text
from archerysim.fields.quantity import Note, Quantity
from archerysim.fields.record import Record, check_relations, made, table_in_si
from archerysim.study.notes.noted_records import BUTT, NotedChange, NotedGroup
from archerysim.study.notes.shot_row import sorted_rows

HEADS = re.compile(r"^[ \t]*\[\[[ \t]*(group|change)[ \t]*\]\]", re.MULTILINE)
LISTS = ("group", "change")
ALIKE = 1e-9  # of two values that are one
DAY = 'Write year, month and day: "2026-05-03"'


class Notes(Record, frozen=True, kw_only=True):
    """All that an archer noted; immutable, all values in SI, None = not given. The last group is the latest.

    Examples
    --------
    >>> import archerysim
    >>> notes = archerysim.load_notes("examples/season.toml")
    >>> len(notes.group), len(notes.change)
    (6, 3)
    >>> notes.group[-1].distance  # [m]
    18.0
    """

    label: ClassVar[str] = ""

    name: Annotated[str, Note(text="name of the notes", example="club bow, first outdoor day")]
    convention: Annotated[
        Convention | None,
        Note(text="whether readings go to the underside or to the top of the nock; if not given, as in the setup"),
    ] = None
    taped: Annotated[
        bool | None, Note(text="whether bare shafts carry tape of the fletching's mass in its place", default=True)
    ] = None
    butt: Annotated[float | None, BUTT] = None
    speed: Annotated[float | None, Quantity(text="measured arrow speed", unit="m/s", low="10 m/s", high="120 m/s")] = (
        None
    )
    draw_weight: Annotated[
        float | None,
        Quantity(
            text="force on the fingers at the archer's draw length, on the scale",
            unit="lbf",
            low="2 lbf",
            high="150 lbf",
        ),
    ] = None
    group: tuple[NotedGroup, ...] = ()
    change: tuple[NotedChange, ...] = ()

    def __post_init__(self) -> None:
        Record.__post_init__(self)
        check_relations(self)

    def relations(self, path: str) -> None:
        """Check that something was shot, and that all stands in the order in which it was done.

        Raises
        ------
        SetupError
            If nothing was noted, or a group has no shaft, or a date is before one that stands earlier.
        """
        if not self.change:
            self.check_shot()
        for k, group in enumerate(self.group):
            shot = (group.fletched, group.bare, group.fletched_bad, group.bare_bad)
            if not any((*shot, group.fletched_missed, group.bare_missed)):
                raise SetupError(f"group.{k}.bare", "missing: the group has no hit", "Give bare and fletched hits")
        latest = ""
        for where, date in self._in_order():
            _check_date(f"{where}.date", date)
            if date is not None and date < latest:
                problem = f"{date} is before {latest}, the date of the entry before it"
                raise SetupError(f"{where}.date", problem, "Put groups and changes in the order of their dates")
            latest = latest if date is None else date

    def check_shot(self) -> None:
        """Refuse notes without a group.

        Raises
        ------
        SetupError

        Examples
        --------
        >>> import archerysim
        >>> archerysim.load_notes("examples/notes.toml").check_shot()  # says nothing: there are groups
        """
        if not self.group:
            raise SetupError("group", "missing: no group was noted", "Write [[group]] above each one")

    def _in_order(self) -> list[tuple[str, str | None]]:
        """Path and date of groups and changes, as they were made one after the other."""
        told = [((k, 1), f"group.{k}", one.date) for k, one in enumerate(self.group)]
        told += [((self.groups_before(one), 0), f"change.{k}", one.date) for k, one in enumerate(self.change)]
        return [(path, date) for _, path, date in sorted(told, key=lambda one: one[0])]

    def groups_before(self, change: NotedChange) -> int:
        """How many groups had been shot before a change: all, where it does not say so.

        Examples
        --------
        >>> import archerysim
        >>> notes = archerysim.load_notes("examples/season.toml")
        >>> [notes.groups_before(change) for change in notes.change]
        [2, 4, 4]
        """
        return len(self.group) if change.after is None else change.after

    def changed_before(self, index: int, setup: Setup | None = None) -> InSi:
        """All that had been changed before a group was shot, but for the reading, which each group has of its own.

        Parameters
        ----------
        index : int
            The group's; their number for what is changed by now.
        setup : Setup, optional
            Whose file may hold some of the changes already. What comes back are changes of this one: a place not yet
            changed has its value before the first change of it, where that is noted.

        Returns
        -------
        InSi

        Examples
        --------
        >>> import archerysim
        >>> notes = archerysim.load_notes("examples/season.toml")
        >>> dict(notes.changed_before(0)), sorted(notes.changed_before(5))
        ({}, ['arrow.point_mass', 'side.offset'])
        """
        states: dict[str, Any] = {}
        for one in self.change:
            if one.what in (READING, CONVENTION):
                continue
            if self.groups_before(one) <= index:
                states.pop(one.what, None)
                states |= one.in_si()
            elif setup is not None and one.what not in states:
                states |= one.before_in_si()
        if setup is None:
            return InSi(states)
        return InSi({path: value for path, value in states.items() if not stands_in(setup, path, value)})

    def to_toml(self) -> str:
        """The given values as the text of a notes file; reading it gives exactly these notes.

        Examples
        --------
        >>> import archerysim
        >>> notes = archerysim.load_notes("examples/notes.toml")
        >>> notes.to_toml().count("[[group]]")
        3
        """
        return toml_text.dumps(self)

    def save(self, path: str | os.PathLike[str]) -> None:
        """Write the notes file, whole or not at all.

        Raises
        ------
        SetupError
            If the file cannot be written.

        Examples
        --------
        >>> import archerysim
        >>> from tempfile import TemporaryDirectory
        >>> notes = archerysim.load_notes("examples/notes.toml")
        >>> with TemporaryDirectory() as folder:
        ...     notes.save(f"{folder}/mine.toml")
        ...     archerysim.load_notes(f"{folder}/mine.toml") == notes
        True
        """
        whole.write_text(path, self.to_toml())


def stands_in(setup: Setup, path: str, value: Any) -> bool:
    """Whether a setup has this value at a path [SI], given or taken as usual."""
    try:
        own = setup.get(path)
        own = filled(setup).get(path) if own is None else own
    except SetupError:  # two limbs that differ
        return False
    if isinstance(own, float) and isinstance(value, float):
        return math.isclose(own, value, rel_tol=ALIKE)
    return bool(own == value)


def load_notes(path: str | os.PathLike[str]) -> Notes:
    """Read a notes file.

    Parameters
    ----------
    path : str or path-like

    Returns
    -------
    Notes

    Raises
    ------
    SetupError
        If the file cannot be read or its content is not usable; the message names the dotted path, groups and changes
        counted from 1, and the problem ends in the file's name.

    Examples
    --------
    >>> import archerysim
    >>> notes = archerysim.load_notes("examples/notes.toml")
    >>> notes.name, len(notes.group)
    ('club recurve, first bare shafts', 3)
    >>> [group.reading for group in notes.group]  # [m]
    [0.005, 0.008, 0.008]
    """
    return read_from(path, loads_notes)


def loads_notes(text: str) -> Notes:
    """Read notes from the text of a notes file.

    Raises
    ------
    SetupError
        If the text is not TOML or not usable notes; groups and changes are counted from 1.
    """
    try:
        tables = _plain_dates(parse(text))
        groups, changes = (tables.get(name) for name in LISTS)
        if isinstance(groups, list):
            tables["group"] = [sorted_rows(one, f"group.{k}") if isinstance(one, dict) else one
                               for k, one in enumerate(groups)]  # fmt: skip
        if isinstance(changes, list):
            tables["change"] = _placed(text, changes, len(groups) if isinstance(groups, list) else 0)
        return made(Notes, table_in_si(Notes, tables, "", "refused"), "")
    except SetupError as error:
        path = re.sub(r"^(group|change)\.(\d+)", lambda at: f"{at[1]}.{int(at[2]) + 1}", error.path)
        raise SetupError(path, error.problem, error.remedy) from None


def _placed(text: str, changes: list[Any], groups: int) -> list[Any]:
    """The tables of changes, each with how many groups stand above it; their values as texts.

    Raises
    ------
    SetupError
        Where that cannot be seen in the text.
    """
    heads = HEADS.findall(text)
    seen = heads.count("group") == groups and heads.count("change") == len(changes)
    above = [heads[:k].count("group") for k, head in enumerate(heads) if head == "change"]
    out = []
    for k, change in enumerate(changes):
        if not isinstance(change, dict):
            return changes
        if not seen and "after" not in change:
            remedy = "Write [[group]] and [[change]] in lines of their own, or say after how many groups"
            raise SetupError(f"change.{k}.after", "missing: it is not clear between which groups it was made", remedy)
        texts = {
            name: str(value) if isinstance(value, (int, float)) and not isinstance(value, bool) else value
            for name, value in change.items()
            if name in ("to", "was")
        }
        out.append({**({"after": above[k]} if seen else {}), **change, **texts})
    return out


def _check_date(path: str, date: str | None) -> None:
    """Refuse what is no day.

    Raises
    ------
    SetupError
    """
    if date is None:
        return
    try:
        if not re.fullmatch(r"\d{4}-\d\d-\d\d", date):
            raise ValueError
        datetime.date.fromisoformat(date)
    except ValueError:
        raise SetupError(path, f'"{date}" is not a day', DAY) from None


def _plain_dates(tables: Any) -> Any:
    """Tables of a file with the days that TOML itself knows as texts; an hour beside one is left out."""
    if isinstance(tables, dict):
        return {name: _plain_dates(value) for name, value in tables.items()}
    if isinstance(tables, list):
        return [_plain_dates(value) for value in tables]
    if isinstance(tables, datetime.datetime):
        return tables.date().isoformat()
    return tables.isoformat() if isinstance(tables, datetime.date) else tables
