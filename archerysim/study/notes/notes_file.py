"""An archer's notes: where bare and fletched shafts landed, at which distance and with which reading."""

from __future__ import annotations

import os
import re
from typing import Annotated, ClassVar

from archerysim.equipment.nock import Convention
from archerysim.equipment.setup_file import parse, read_from
from archerysim.errors import SetupError
from archerysim.fields import file_writing as whole
from archerysim.fields import toml as toml_text
from archerysim.fields.quantity import Note, Quantity
from archerysim.fields.record import Record, check_relations, made, table_in_si

Heights = tuple[float, ...]


def _heights(text: str) -> Quantity:
    return Quantity(text=text, unit="cm", low="-300 cm", high="300 cm", count=0)


class NotedGroup(Record, frozen=True, kw_only=True):
    """One or more ends shot at one distance with one reading and one sight setting.

    Heights are told from any fixed mark on the target, the same for bare and fletched shafts, positive = up.
    """

    label: ClassVar[str] = "group"

    distance: Annotated[
        float, Quantity(text="distance of the target", unit="m", low="3 m", high="90 m", example="18 m")
    ]
    reading: Annotated[
        float,
        Quantity(
            text="locator height by the square, positive = above square",
            unit="mm",
            low="-30 mm",
            high="60 mm",
            example="8 mm",
        ),
    ]
    fletched: Annotated[Heights | None, _heights("height of each fletched hit on the target, positive = up")] = None
    bare: Annotated[Heights | None, _heights("height of each bare hit on the target, positive = up")] = None
    fletched_bad: Annotated[Heights | None, _heights("fletched hits that the archer called bad: kept, not used")] = None
    bare_bad: Annotated[Heights | None, _heights("bare hits that the archer called bad: kept, not used")] = None
    wind: Annotated[
        float | None,
        Quantity(
            text="wind along the shooting line, positive = against the arrow (head wind)",
            unit="m/s",
            low="-15 m/s",
            high="15 m/s",
            default="0 m/s",
        ),
    ] = None
    sideways: Annotated[
        float | None,
        Quantity(
            text="bare shafts beside the fletched ones, positive = to the right; noted, not used",
            unit="cm",
            low="-300 cm",
            high="300 cm",
        ),
    ] = None


class Notes(Record, frozen=True, kw_only=True):
    """All that an archer noted; immutable, all values in SI, None = not given. The last group is the latest."""

    label: ClassVar[str] = ""

    name: Annotated[str, Note(text="name of the notes", example="club bow, first outdoor day")]
    convention: Annotated[
        Convention | None,
        Note(text="whether readings go to the underside or to the top of the nock; if not given, as in the setup"),
    ] = None
    taped: Annotated[
        bool | None, Note(text="whether bare shafts carry tape of the fletching's mass in its place", default=True)
    ] = None
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

    def __post_init__(self) -> None:
        Record.__post_init__(self)
        check_relations(self)

    def relations(self, path: str) -> None:
        """Check that something was shot.

        Raises
        ------
        SetupError
            If there is no group, or one without a hit.
        """
        if not self.group:
            raise SetupError("group", "missing: no group was noted", "Write [[group]] above each one")
        for k, group in enumerate(self.group):
            if not any((group.fletched, group.bare, group.fletched_bad, group.bare_bad)):
                raise SetupError(f"group.{k}.bare", "missing: the group has no hit", "Give bare and fletched hits")

    def to_toml(self) -> str:
        """The given values as the text of a notes file; reading it gives exactly these notes."""
        return toml_text.dumps(self)

    def save(self, path: str | os.PathLike[str]) -> None:
        """Write the notes file, whole or not at all.

        Raises
        ------
        SetupError
            If the file cannot be written.
        """
        whole.write_text(path, self.to_toml())


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
        If the file cannot be read or its content is not usable; the message names the dotted path, groups counted
        from 1, and the problem ends in the file's name.
    """
    return read_from(path, loads_notes)


def loads_notes(text: str) -> Notes:
    """Read notes from the text of a notes file.

    Raises
    ------
    SetupError
        If the text is not TOML or not usable notes; groups are counted from 1.
    """
    try:
        return made(Notes, table_in_si(Notes, parse(text), "", "refused"), "")
    except SetupError as error:
        path = re.sub(r"^group\.(\d+)", lambda at: f"group.{int(at[1]) + 1}", error.path)
        raise SetupError(path, error.problem, error.remedy) from None
