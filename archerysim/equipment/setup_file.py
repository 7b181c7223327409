"""Reading setup files."""

from __future__ import annotations

import os
import tomllib
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any, TypeVar

from archerysim.equipment.limbs.table_files import with_files
from archerysim.equipment.setup import Setup
from archerysim.errors import SetupError
from archerysim.fields import units
from archerysim.fields.file_reading import text_of
from archerysim.fields.paths import PAIRS
from archerysim.fields.quantity import Quantity
from archerysim.fields.record import Field, Record, fields_of, join, made, opened, rivals_of, table_in_si

R = TypeVar("R")


def load(path: str | os.PathLike[str]) -> Setup:
    """Read a setup file.

    Parameters
    ----------
    path : str or path-like

    Returns
    -------
    Setup

    Raises
    ------
    SetupError
        If the file cannot be read or its content is not a usable setup; the problem ends with the file's name.

    Examples
    --------
    >>> import archerysim
    >>> setup = archerysim.load("examples/club-outdoor.toml")
    >>> setup.name, setup.category, setup.form
    ('club recurve, outdoor', 'club', 'measured')
    >>> archerysim.load("examples/none.toml")
    Traceback (most recent call last):
        ...
    archerysim.errors.SetupError: examples/none.toml cannot be read (No such file or
    directory). Check the path.
    """
    return read_from(path, lambda text: _setup_of(with_files(parse(text), Path(path).parent)))


def loads(text: str) -> Setup:
    """Read a setup from the text of a setup file, which must not name other files.

    Parameters
    ----------
    text : str
        TOML; values with units are texts.

    Returns
    -------
    Setup

    Raises
    ------
    SetupError
        If the text is not TOML or not a usable setup.

    Examples
    --------
    >>> import archerysim
    >>> from pathlib import Path
    >>> text = Path("examples/club-outdoor.toml").read_text(encoding="utf-8")
    >>> archerysim.loads(text.replace('reading = "8 mm"', 'reading = "9 mm"')).nock.locators.reading  # [m]
    0.009
    """
    return _setup_of(with_files(parse(text), None))


def _setup_of(tables: Mapping[str, Any]) -> Setup:
    """A setup from a file's tables."""
    values: dict[str, Any] = {}
    shared: dict[str, dict[str, Any]] = {}
    for name, value in tables.items():
        if name not in PAIRS:
            values |= table_in_si(Setup, {name: value}, "", "refused")
            continue
        if not isinstance(value, Mapping):
            raise SetupError(name, "a table is needed", f"Write [{name}] and its fields below it")
        for twin in PAIRS[name]:
            shared[twin] = table_in_si(_record_of(twin), value, name, "refused")
    for twin, table in shared.items():
        own, record = opened(values[twin]) if twin in values else {}, _record_of(twin)
        rivals = {rival for name in own for rival in rivals_of(record, name)}
        values[twin] = record(**{**{name: one for name, one in table.items() if name not in rivals}, **own})
    return made(Setup, values, "")


def _record_of(name: str) -> type[Record]:
    """The record of one of a setup's tables."""
    record = fields_of(Setup)[name].record
    assert record is not None
    return record


def echoes(text: str) -> list[str]:
    """How the unusual ways of writing in a setup file were understood, one line each.

    Kilograms, pounds and # read as force; grains; spines without a unit or in pounds.

    Raises
    ------
    SetupError
        If the text is not a usable setup.
    """
    loads(text)
    lines = []
    for path, about, value in _written(parse(text)):
        number, unit = units.split(value)
        kind = units.kind_of(about.unit)
        meant = about.read(path, value, bare="refused")
        assert isinstance(meant, (int, float))
        if kind == "force" and unit in ("kg", "kgf", "lb", "lbs", "#"):
            understood = f"the force {units.show(meant, 'N')} = {units.show(meant, 'lbf')}"
        elif kind == "mass" and unit in ("gr", "grain", "grains"):
            understood = units.show(meant, "g")
        elif about.words is not None and about.words(number, unit) is not None:
            understood = units.show(meant, about.unit)
            understood += f" = {units.show(meant, 'mm')}" if kind == "length" else ""
        else:
            continue
        lines.append(f"{path}: {value} is read as {understood}")
    return lines


def _written(table: Mapping[str, Any]) -> Iterator[tuple[str, Quantity, str]]:
    """(path, quantity, text as written) of every value in a setup's tables; rows one by one."""

    def inside(record: type[Record], table: Mapping[str, Any], path: str) -> Iterator[tuple[str, Quantity, str]]:
        for name, value in table.items():
            yield from _values(fields_of(record)[name], value, join(path, name))

    def _values(item: Field, value: Any, path: str) -> Iterator[tuple[str, Quantity, str]]:
        if item.record is not None:
            for where, one in item.each(path, value):
                yield from inside(item.record, one, where)
        elif isinstance(item.about, Quantity) and item.about.count == 1:
            yield path, item.about, str(value)

    for name, value in table.items():
        item = fields_of(Setup)[PAIRS.get(name, (name,))[0]]
        yield from _values(item, value, name)


def parse(text: str) -> dict[str, Any]:
    """The tables of a TOML text, as they stand there.

    Raises
    ------
    SetupError
    """
    try:
        return tomllib.loads(text.removeprefix("\ufeff"))
    except tomllib.TOMLDecodeError as error:
        raise SetupError(
            "",
            f"this is not a TOML file: {error}",
            "Write name = value lines under [tables], texts in quotation marks",
        ) from None
    except RecursionError:
        raise SetupError("", "this is not a setup file: its brackets are nested too deeply", "Check it") from None


def read_from(path: str | os.PathLike[str], read: Callable[[str], R]) -> R:
    """What ``read`` makes of a file's text; an error of the content says which file it is.

    Raises
    ------
    SetupError
    """
    text = text_of(path)
    try:
        return read(text)
    except SetupError as error:
        problem = f"{error.problem.strip().rstrip('.')} (in {os.fspath(path)})"
        raise SetupError(error.path, problem, error.remedy) from None
