"""Results: compared with the arrays in them, and shown in a few lines with units, as text and for notebooks."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields, is_dataclass
from operator import attrgetter
from typing import Any, TypeVar

import numpy as np

from archerysim.fields.reported import unit_at
from archerysim.fields.small_table import html_table, one_line, text_table

Kind = TypeVar("Kind")


def result(*shown: str) -> Callable[[type[Kind]], type[Kind]]:
    """A class of results, printed by a few of its values (as text and as a table for notebooks), equal where all are.

    Parameters
    ----------
    *shown : str
        Attributes, with dots where they stand deeper, for example ``"clear.speed"``; nine at most, so that ten lines
        are enough. Their units are those that their fields say (`archerysim.fields.reported`).
    """

    def made(kind: type[Kind]) -> type[Kind]:
        def printed(self: Any) -> str:
            return summary(self, shown)

        def table(self: Any) -> str:
            return html_table(type(self).__name__, rows_of(self, shown))

        def equal(self: Any, other: object) -> Any:
            return same(self, other) if type(other) is type(self) else NotImplemented

        kind.__repr__ = printed  # type: ignore[method-assign]
        kind.__eq__ = equal  # type: ignore[method-assign]
        kind._repr_html_ = table  # type: ignore[attr-defined]
        return kind

    return made


def rows_of(found: object, shown: tuple[str, ...]) -> list[tuple[str, str]]:
    """Each attribute shown, and its value in a few words with its unit."""
    rows = []
    for path in shown:
        unit, words = unit_at(found, path), in_words(attrgetter(path)(found))
        rows.append((path, words if words == "none" or not unit else f"{words} {unit}"))
    return rows


def summary(found: object, shown: tuple[str, ...]) -> str:
    """The class's name, and a line for each attribute shown."""
    return text_table(type(found).__name__, rows_of(found, shown))


def same(one: Any, other: Any) -> bool:
    """Whether two values are equal to the bit: arrays and missing numbers (nan) too, wherever they stand inside."""
    if type(one) is not type(other):
        return False
    if isinstance(one, np.ndarray):
        return one.shape == other.shape and bool(np.array_equal(one, other, equal_nan=one.dtype.kind == "f"))
    if is_dataclass(one):
        names = [field.name for field in fields(one) if field.compare]
        return all(same(getattr(one, name), getattr(other, name)) for name in names)
    if isinstance(one, tuple | list):
        return len(one) == len(other) and all(map(same, one, other))
    if isinstance(one, dict):
        return one.keys() == other.keys() and all(same(value, other[key]) for key, value in one.items())
    return bool(one == other or (one != one and other != other))


def in_words(value: object) -> str:
    """A value in a few words: text and numbers as they are, of many the number and the range."""
    if value is None:
        return "none"
    if isinstance(value, float):
        return "none" if np.isnan(value) else f"{value:.5g}"
    if isinstance(value, np.ndarray):
        size = " x ".join(map(str, value.shape))
        there = value[np.isfinite(value)]
        return f"{size} values, {there.min():.5g} to {there.max():.5g}" if there.size else f"{size} values"
    if isinstance(value, dict):
        value = tuple(f"{key}: {in_words(each)}" for key, each in value.items())
    if isinstance(value, tuple | list):
        if not all(isinstance(each, str | float | int) for each in value):
            return str(len(value))
        value = ", ".join(map(in_words, value)) or "none"
    return one_line(str(value))
