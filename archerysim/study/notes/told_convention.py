"""By which convention the readings of notes are told, written beside them: else another setup would read them anew."""

from __future__ import annotations

import os

from archerysim.equipment import Setup
from archerysim.equipment.first_setup.questions import split_reading
from archerysim.equipment.readings import read_by
from archerysim.errors import SetupError
from archerysim.fields.units import UnitError, show, to_si
from archerysim.study.notes.notes_file import load_notes, loads_notes


def told_reading(text: str, setup: Setup, file: str | os.PathLike[str] | None) -> tuple[str, str]:
    """A reading of one group told at the prompt, and the convention of the notes that it joins.

    Parameters
    ----------
    text : str
        "11.4 mm", or "11.4 mm top".
    setup : Setup
    file : path, optional
        Of the notes; one that is not there yet takes the convention that the reading names.

    Returns
    -------
    reading : str
        Without the convention.
    convention : {"underside", "top"}

    Raises
    ------
    SetupError
        Where the reading names another convention than the notes have.
    """
    reading, edge = split_reading(text)
    there = file is not None and os.path.exists(file)
    by = read_by(setup, load_notes(file).convention if file is not None and there else edge or None)
    if edge and edge != by.convention:
        try:
            other = by.reading(read_by(setup, edge).underside(to_si(reading, "mm")))
        except UnitError as error:
            raise SetupError("reading", error.problem, error.remedy) from None
        raise SetupError("reading", f"these notes tell readings {by.words}", f'Write "{show(other, "mm")}"')
    return reading, by.convention


def with_convention(text: str, convention: str) -> str:
    """The text of a notes file that says how its readings are told, as they have been read; as it is where it does."""
    import tomlkit

    if loads_notes(text).convention is not None:
        return text
    lines = text.splitlines(keepends=True)
    added = f"convention = {tomlkit.item(convention).as_string()}\n"
    at = next((k for k, line in enumerate(lines) if line.lstrip().startswith("[")), len(lines))  # the first table
    while at and not lines[at - 1].strip():
        at -= 1
    joined = "".join([*lines[:at], added, *lines[at:]])
    try:
        if loads_notes(joined).convention == convention and loads_notes(joined).group == loads_notes(text).group:
            return joined
    except SetupError:
        pass
    raise SetupError("notes", "they do not say how their readings are told", f"Write {added.strip()} at their top")
