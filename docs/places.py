"""Places on a page for what is computed, what is written there, and whether that still holds."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

import archerysim
from archerysim.fields.units import from_si

PLACE = re.compile(r"(<!-- table: (\S+) -->\n)(.*?)(<!-- end -->)", re.DOTALL)
NUMBER = re.compile(r"[+-]?\d+(?:\.\d+)?(?:e[+-]?\d+)?")


def table(head: Iterable[str], rows: Iterable[Iterable[str]]) -> str:
    """A Markdown table."""
    head = list(head)
    lines = [head, ["---"] * len(head), *(list(row) for row in rows)]
    return "\n".join("| " + " | ".join(line) + " |" for line in lines)


def number(value: float) -> str:
    """A plain number, large ones without an exponent."""
    return f"{value:.0f}" if abs(value) >= 1e5 else f"{value:g}"


def in_words(value: Any, unit: str) -> str:
    """A default in its field's unit."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return f'"{value}"'
    if isinstance(value, tuple):
        return ", ".join(number(from_si(v, unit)) for v in value)
    return number(from_si(value, unit))


def usual(full: Any, path: str) -> str:
    """A filled setup's value in words."""
    value, unit = full.get(path), archerysim.field_info(path).unit
    if isinstance(value, str):
        return value
    value = value[0] if isinstance(value, tuple) else value
    return f"{in_words(value or 0, unit)} {unit}".strip() if not isinstance(value, bool) else in_words(value, unit)


def same(old: str, new: str) -> bool:
    """Whether two texts agree: words exactly, numbers to one in a hundred or one in the last digit."""
    if NUMBER.sub("#", old) != NUMBER.sub("#", new):
        return False
    for was, now in zip(NUMBER.findall(old), NUMBER.findall(new), strict=True):
        a, b = float(was), float(now)
        last = 10.0 ** -len(now.partition(".")[2]) if "e" not in now else 0.0
        if abs(a - b) > max(0.01 * max(abs(a), abs(b)), 1.01 * last):
            return False
    return True
