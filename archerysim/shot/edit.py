"""What has been changed on a fitted bow, what each change held, and whether the bow was fitted anew for it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from archerysim.equipment import InSi, Setup, SetupError, field_info
from archerysim.equipment.assumed_rows import assumed_rows, rows_kept
from archerysim.fields.paths import ALL, PAIRS
from archerysim.fields.record import Record, plain
from archerysim.fields.units import show
from archerysim.shot.hold import REFIT, WORDS, hold_sentence

FITTED_ANEW = "fitted anew to the measured brace height, tillers and draw weight"


@dataclass(frozen=True)
class Edit:
    """Changes made together.

    Attributes
    ----------
    changes : dict of path to value
        In SI; None where a value is no longer given.
    hold : tuple of str
        What they held: "reading", "brace height", both, or "refit"; empty for nothing.
    refitted : bool
        Whether they went into the file and the bow was fitted anew; else they were made to the bow as built.
    assumed : tuple of str
        For tables that were not given, of which one value was set or all were multiplied: where the others come from.

    Examples
    --------
    >>> import archerysim
    >>> bow = archerysim.fit(archerysim.load("examples/club-outdoor.toml"))
    >>> launch = bow.launch({"bow.brace_height": "225 mm"})
    >>> (edit,) = launch.edits
    >>> edit.changes, edit.refitted  # [m]
    ({'bow.brace_height': 0.225}, True)
    """

    changes: dict[str, Any]
    hold: tuple[str, ...] = ()
    refitted: bool = False
    assumed: tuple[str, ...] = ()

    @classmethod
    def of(
        cls, before: Setup, setup: Setup, asked: InSi, hold: tuple[str, ...], refitted: bool, given: Setup | None = None
    ) -> Edit:
        """The edit that led from one setup to another, both built from a given one; factors stand as asked for.

        Examples
        --------
        >>> import archerysim
        >>> setup = archerysim.load("examples/club-outdoor.toml")
        >>> after = setup.replace({"arrow.point_mass": "100 gr"})
        >>> asked = archerysim.with_si({"arrow.point_mass": after.arrow.point_mass})
        >>> edit = archerysim.Edit.of(setup, after, asked, hold=(), refitted=False)
        >>> list(edit.changes), edit.refitted
        (['arrow.point_mass'], False)
        """
        changes: dict[str, Any] = {}
        for path, value in asked.items():
            changes |= {path: value} if path.endswith(f".{ALL}") else _values(setup, path)
        taken = assumed_rows(before, asked) | ({} if given is None else rows_kept(given, before, asked))
        rows = {row: f"{source.kind}: {source.how}" for row, source in taken.items()}
        for pair, twins in PAIRS.items():  # both limbs told at once, where there is one thing to tell
            for name in {row.partition(".")[2] for row in rows}:
                both = [f"{twin}.{name}" for twin in twins]
                if len({rows.get(row, row) for row in both}) == 1:
                    rows[f"{pair}.{name}"] = rows[both[0]]
                    rows = {row: told for row, told in rows.items() if row not in both}
        return cls(changes, hold, refitted, tuple(f"{_words(row)}, not given, is {rows[row]}" for row in sorted(rows)))

    def words(self) -> str:
        """What was changed, and what was held or fitted anew, in a sentence.

        Examples
        --------
        >>> import archerysim
        >>> bow = archerysim.fit(archerysim.load("examples/club-outdoor.toml"))
        >>> print(bow.with_changes({"arrow.point_mass": "100 gr"}, hold="reading").edits[0].words())
        changed: arrow point mass 100 gr; held: locators set back to the same reading
        """
        changed = [f"{_words(path)} {_value_words(path, value)}" for path, value in self.changes.items()]
        parts = [f"changed: {', '.join(changed)}"] if changed else []
        parts += self.assumed
        if not self.refitted:
            return "; ".join([*parts, f"held: {hold_sentence(self.hold)}"])
        why = "as asked" if self.hold == REFIT else f"because {because(self.changes)}"
        return "; ".join([*parts, f"{FITTED_ANEW}, {why}"])


def held_at_points(paths: Iterable[str], refitted: Iterable[str], hold: tuple[str, ...]) -> str:
    """What is held at every point of a sweep over some paths, of which some have the bow fitted anew, in a sentence."""
    again, others = list(refitted), [path for path in paths if path not in set(refitted)]
    if hold == REFIT or not again:
        return hold_sentence(hold)
    parts = [WORDS["refit"], *([f"then, for {' and '.join(others)}, {hold_sentence(hold)}"] if others else [])]
    return "; ".join([*parts, *([hold_sentence(hold)] if hold and not others else [])])


def because(paths: Iterable[str]) -> str:
    """Which measured values were changed, in words."""
    names = list(paths)
    return f"{' and '.join(names)} {'was' if len(names) == 1 else 'were'} changed"


def plain_edits(edits: Iterable[Edit]) -> list[dict[str, Any]]:
    """Edits as tables of numbers and words, for keys and files."""
    return [{"changes": one.changes, "hold": list(one.hold), "refitted": one.refitted} for one in edits]


def _values(setup: Setup, path: str) -> dict[str, Any]:
    """The value at a path; of both limbs, where one was set once more and they differ."""
    head, _, rest = path.partition(".")
    try:
        return {path: _plain(setup.get(path))}
    except SetupError:
        return {f"{twin}.{rest}": _plain(setup.get(f"{twin}.{rest}")) for twin in PAIRS[head]}


def _plain(value: Any) -> Any:
    if isinstance(value, Record):
        return plain(value)
    return tuple(map(_plain, value)) if isinstance(value, (tuple, list)) else value


def _words(path: str) -> str:
    return path.replace("_", " ").replace(".", " ")


def _value_words(path: str, value: Any) -> str:
    """A value in its field's unit."""
    if value is None or value == ():
        return "no longer given" if value is None else "none"
    if isinstance(value, str):
        return value
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Mapping) or (isinstance(value, tuple) and any(isinstance(one, Mapping) for one in value)):
        return "given anew"
    unit = field_info(path).unit
    if isinstance(value, tuple):
        return f"[{', '.join(show(one, unit) for one in value)}]"
    return show(value, unit)
