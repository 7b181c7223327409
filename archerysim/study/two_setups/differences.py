"""In what two setups differ: fields that can only change together as one change."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, NamedTuple, TypeVar

from msgspec import structs

from archerysim.equipment import Setup, SetupError, filled
from archerysim.equipment.filled_setup import FilledSetup
from archerysim.fields.record import Record, fields_of

R = TypeVar("R", bound=Record)

LIMBS = ("upper_limb", "lower_limb")
TOLD_ONLY = ("name", "limits")  # no shot depends on them
# Beside rivals and what needs each other, which the records know: fields that say one thing together.
TOGETHER: dict[str, tuple[tuple[str, ...], ...]] = {
    "bow": (("draw_weight", "draw_weight_at"), ("upper_tiller", "lower_tiller")),
    "nock.locators": (("reading", "place", "convention"),),
    "limbs": (
        (
            "at", "stations", "bending_stiffness", "mass_per_length", "width", "thickness", "laminations",
            "natural_curvature",
        ),
    ),
}  # fmt: skip


class Difference(NamedTuple):
    """One change from a setup to another.

    Attributes
    ----------
    name : str
        Dotted path of the field, or of the first of those that change together.
    fields : tuple of (str, str)
        Paths of the records, and the fields in them.
    before, after : tuple
        Their values in SI; None where not given.
    """

    name: str
    fields: tuple[tuple[str, str], ...]
    before: tuple[Any, ...]
    after: tuple[Any, ...]


def differences(before: Setup, after: Setup) -> tuple[Difference, ...]:
    """The changes that make one setup of another, in the order of a setup file; names and limits are none.

    Raises
    ------
    SetupError
        If one is given as measured and the other as built.
    """
    if before.form != after.form:
        raise SetupError(
            "form", f'is "{before.form}" in one setup and "{after.form}" in the other', "Compare two of one form"
        )
    found: list[Difference] = []
    if before.category != after.category:
        found.append(Difference("category", (("", "category"),), (before.category,), (after.category,)))
    for name in fields_of(Setup):
        one, other = getattr(before, name), getattr(after, name)
        if isinstance(one, Record) and name not in TOLD_ONLY:
            found += _of_record(name, one, other)
    full = filled(before), filled(after)
    return tuple(one for one in _limbs_at_once(found) if not _is_same(one, *full))


def _is_same(one: Difference, before: FilledSetup, after: FilledSetup) -> bool:
    """Whether one setup gives what the other takes as usual."""
    paths = [f"{record}.{name}".removeprefix(".") for record, name in one.fields]
    if any(isinstance(value, tuple) and any(isinstance(each, Record) for each in value) for value in one.after):
        return False
    return all(before.get(path) == after.get(path) for path in paths)


def _of_record(path: str, one: Record, other: Record) -> list[Difference]:
    kind = type(one)
    inner: list[Difference] = []
    unlike = []
    for name in fields_of(kind):
        a, b = getattr(one, name), getattr(other, name)
        if isinstance(a, Record) and isinstance(b, Record):
            inner += _of_record(f"{path}.{name}", a, b)
        elif a != b:
            unlike.append(name)
    groups = _groups(unlike, _ties(path, kind))
    return [
        Difference(
            f"{path}.{group[0]}", tuple((path, name) for name in group),
            tuple(getattr(one, name) for name in group), tuple(getattr(other, name) for name in group),
        )
        for group in groups
    ] + inner  # fmt: skip


def _ties(path: str, kind: type[Record]) -> list[set[str]]:
    """Sets of fields that change together."""
    ties = [{name for way in rivals.ways for name in way} for rivals in kind.rivals]
    ties += [{name, *needed} for name, needed in kind.needs.items()]
    return ties + [set(names) for names in TOGETHER.get("limbs" if path in LIMBS else path, ())]


def _groups(names: list[str], ties: Iterable[set[str]]) -> list[list[str]]:
    """Names in groups: all that hang together by some tie."""
    group_of = {name: {name} for name in names}
    for tie in ties:
        joined = set().union(*(group_of[name] for name in names if name in tie), set())
        for name in joined:
            group_of[name] = joined
    groups: list[list[str]] = []
    for name in names:
        group = [one for one in names if one in group_of[name]]
        if group not in groups:
            groups.append(group)
    return groups


def _limbs_at_once(found: list[Difference]) -> list[Difference]:
    """What changes alike on both limbs as one change."""
    out: list[Difference] = []
    for one in found:
        head, _, rest = one.name.partition(".")
        if head in LIMBS:
            twin = LIMBS[1 - LIMBS.index(head)]
            other = next((each for each in found if each.name == f"{twin}.{rest}"), None)
            if other is not None and (other.before, other.after) == (one.before, one.after):
                if head == LIMBS[0]:
                    both = one.fields + other.fields
                    out.append(Difference(f"limbs.{rest}", both, one.before * 2, one.after * 2))
                continue
        out.append(one)
    return out


def with_differences(setup: Setup, chosen: Iterable[Difference]) -> Setup:
    """The setup with some of the changes made.

    Raises
    ------
    SetupError
        If they contradict what stays.
    """
    values: dict[str, dict[str, Any]] = {}
    for one in chosen:
        for (record, name), value in zip(one.fields, one.after, strict=True):
            values.setdefault(record, {})[name] = value
    return _put(setup, values, "")


def _put(record: R, values: dict[str, dict[str, Any]], path: str) -> R:
    new = dict(values.get(path, {}))
    start = f"{path}." if path else ""
    for name in {
        where[len(start) :].partition(".")[0] for where in values if where.startswith(start) and where != path
    }:
        new[name] = _put(getattr(record, name), values, f"{start}{name}")
    return structs.replace(record, **new)
