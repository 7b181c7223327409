"""One group told in a line at the prompt, and how it comes into a notes file."""

from __future__ import annotations

import os
from collections.abc import Mapping

from archerysim.fields import file_writing as whole
from archerysim.fields.file_reading import text_of
from archerysim.study.notes.added_entry import with_entries
from archerysim.study.notes.notes_file import Notes, loads_notes


def notes_with(path: str | os.PathLike[str] | None, name: str, group: Mapping[str, str]) -> tuple[Notes, str]:
    """Notes of a file with one more group, and their text; a file that is not there yet is begun.

    Raises
    ------
    SetupError
    """
    old = text_of(path) if path is not None and os.path.exists(path) else ""
    text = with_entries(old, name, "group", [group])
    return loads_notes(text), text


def save_text(path: str | os.PathLike[str], text: str) -> None:
    """Write a notes file, whole or not at all.

    Raises
    ------
    SetupError
    """
    whole.write_text(path, text, "save")
