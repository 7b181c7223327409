"""What is added to the text of a notes file: entries at its end, a line in its last change; the rest stays as it is."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from msgspec import structs

from archerysim.errors import SetupError
from archerysim.study.notes.notes_file import HEADS, loads_notes

KEY = re.compile(r"^[ \t]*[A-Za-z_\"'][^=\n]*=[^\n]*", re.MULTILINE)
ANY_HEAD = re.compile(r"^[ \t]*\[", re.MULTILINE)


def with_entries(text: str, name: str, kind: str, entries: Sequence[Mapping[str, str]]) -> str:
    """The text of a notes file with more groups or changes at its end.

    Parameters
    ----------
    text : str
        Of the file so far; "" for a new one.
    name : str
        Of the notes, where the file is new.
    kind : {"group", "change"}
    entries : sequence of mapping of str to str
        Fields of a `NotedGroup` or a ``NotedChange`` as they stand in a file; rows of shots as one text.

    Raises
    ------
    SetupError
        Where an entry is not usable, which names the field alone, or the file cannot take it at its end.
    """
    tables = [_table(kind, entry) for entry in entries]
    alone: tuple[object, ...] = ()
    for table in tables:
        try:
            alone += getattr(loads_notes(f'name = "alone"\n{table}'), kind)
        except SetupError as error:
            raise SetupError(error.path.removeprefix(f"{kind}.1."), error.problem, error.remedy) from None
    before = text if text.strip() else _head(name)
    joined = "\n\n".join([before.rstrip(), *(table.rstrip() for table in tables)]) + "\n"
    so_far = getattr(loads_notes(text), kind) if text.strip() else ()
    try:
        if _without_places(getattr(loads_notes(joined), kind)) == _without_places((*so_far, *alone)):
            return joined
    except SetupError as error:
        if error.path:
            raise SetupError(error.path.rpartition(".")[2], error.problem, error.remedy) from None
    raise SetupError(
        "notes", f"a {kind} cannot be added at their end", f"Write each {kind} under [[{kind}]] in the file"
    )


def with_seen(text: str, seen: str) -> str:
    """The text of a notes file whose last change says what it did.

    Raises
    ------
    SetupError
        Where there is no change, or it says so already, or the file is written so that no line can be put there.
    """
    import tomlkit

    notes = loads_notes(text)
    if not notes.change:
        raise SetupError("seen", "no change is noted of which it could be told", "Give --changed with it")
    last = notes.change[-1]
    if last.seen is not None:
        raise SetupError(
            "seen", f'the last change, of {last.what}, has it already: "{last.seen}"', "Edit it in the file"
        )
    heads = [found for found in HEADS.finditer(text) if found[1] == "change"]
    if heads:
        end = next((found.start() for found in ANY_HEAD.finditer(text, heads[-1].end())), len(text))
        keys = [found for found in KEY.finditer(text, heads[-1].end()) if found.end() <= end]
        at = keys[-1].end() if keys else heads[-1].end()
        joined = f"{text[:at]}\nseen = {tomlkit.item(seen).as_string()}{text[at:]}"
        try:
            told = (*notes.change[:-1], structs.replace(last, seen=seen))
            if structs.replace(notes, change=told) == loads_notes(joined):
                return joined
        except SetupError as error:
            if error.path.endswith(".seen"):
                raise SetupError("seen", error.problem, error.remedy) from None
    raise SetupError("seen", "it cannot be put under the last change of the file", "Write it there by hand")


def _head(name: str) -> str:
    import tomlkit

    return f"name = {tomlkit.item(name).as_string()}\n"


def _table(kind: str, entry: Mapping[str, str]) -> str:
    import tomlkit

    return f"[[{kind}]]\n" + "".join(f"{name} = {tomlkit.item(value).as_string()}\n" for name, value in entry.items())


def _without_places(entries: Sequence[object]) -> list[object]:
    """Entries without where between the groups they stand."""
    return [structs.replace(one, after=None) if hasattr(one, "after") else one for one in entries]  # type: ignore[type-var]
