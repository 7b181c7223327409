"""One group told in a line at the prompt, and how it comes into a notes file."""

from __future__ import annotations

import os
from collections.abc import Mapping

from archerysim.errors import SetupError
from archerysim.fields import file_writing as whole
from archerysim.fields.file_reading import text_of
from archerysim.study.notes.notes_file import Notes, loads_notes

FIRST = "group.1."


def with_group(text: str, name: str, group: Mapping[str, str]) -> str:
    """The text of a notes file with one more group at its end.

    Parameters
    ----------
    text : str
        Of the file so far; "" for a new one.
    name : str
        Of the notes, where the file is new.
    group : mapping of str to str
        Fields of a `NotedGroup` as they stand in a file; rows of shots as one text.

    Raises
    ------
    SetupError
        Where the group is not usable; it names the field alone.
    """
    import tomlkit

    one = "".join(f"{field} = {tomlkit.item(value).as_string()}\n" for field, value in group.items())
    try:
        alone = loads_notes(f'name = "alone"\n[[group]]\n{one}')
    except SetupError as error:
        raise SetupError(error.path.removeprefix(FIRST), error.problem, error.remedy) from None
    before = text if text.strip() else f"name = {tomlkit.item(name).as_string()}\n"
    joined = f"{before.rstrip()}\n\n[[group]]\n{one}"
    so_far = loads_notes(text).group if text.strip() else ()
    try:
        if loads_notes(joined).group == (*so_far, *alone.group):
            return joined
    except SetupError as error:
        if error.path:
            raise SetupError(error.path.rpartition(".")[2], error.problem, error.remedy) from None
    raise SetupError("notes", "a group cannot be added at their end", "Write each group under [[group]] in the file")


def notes_with(path: str | os.PathLike[str] | None, name: str, group: Mapping[str, str]) -> tuple[Notes, str]:
    """Notes of a file with one more group, and their text; a file that is not there yet is begun.

    Raises
    ------
    SetupError
    """
    old = text_of(path) if path is not None and os.path.exists(path) else ""
    text = with_group(old, name, group)
    return loads_notes(text), text


def save_text(path: str | os.PathLike[str], text: str) -> None:
    """Write a notes file, whole or not at all.

    Raises
    ------
    SetupError
    """
    whole.write_text(path, text, "save")
