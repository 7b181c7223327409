"""Filling in what a setup does not give: derived from other values, or assumed. Every value says which."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any, NoReturn

import msgspec

from archerysim.equipment.derived_values import fillings_of
from archerysim.equipment.filled_records import (
    BuiltLimb,
    BuiltRiser,
    BuiltString,
    FilledAir,
    FilledArcher,
    FilledArrow,
    FilledBow,
    FilledLimb,
    FilledNock,
    FilledRest,
    FilledRiser,
    FilledSide,
    FilledString,
    MeasuredBow,
)
from archerysim.equipment.setup import Category, Setup, shown_of
from archerysim.errors import SetupError
from archerysim.fields import paths
from archerysim.fields.filling import GIVEN, Filling, Kind
from archerysim.fields.given import NO_CHANGES
from archerysim.fields.quantity import Form
from archerysim.fields.record import fields_of
from archerysim.fields.small_table import html_table, text_table


@dataclass(frozen=True)
class Source:
    """Where a value of a filled setup comes from.

    Attributes
    ----------
    value : number, tuple, str or bool
        In SI.
    kind : {"given", "derived", "assumed"}
        Given by the user, derived from other values, or assumed.
    how : str
        From what it is derived, or on what ground it is assumed.
    """

    value: Any
    kind: Kind
    how: str


class FilledSetup(msgspec.Struct, frozen=True, kw_only=True, dict=True):
    """A setup with every value that a shot needs, in SI, nothing missing; it can only be read.

    Values that only one form has are in a ``MeasuredSetup`` or a ``BuiltSetup``. The makers' limits stay in the given
    setup, because nothing is assumed about them.

    It holds each value beside what it was derived from, so it is neither changed nor saved: do that with the setup it
    came from, and fill that again.

    Examples
    --------
    >>> import archerysim
    >>> full = archerysim.filled(archerysim.load("examples/club-outdoor.toml"))
    >>> full.given.rest.height is None  # the file does not say it
    True
    >>> full.rest.height > 0.0  # [m], what is usual
    True
    """

    given: Setup
    name: str
    category: Category
    form: Form
    invented: bool
    bow: FilledBow
    upper_limb: FilledLimb
    lower_limb: FilledLimb
    riser: FilledRiser
    string: FilledString
    nock: FilledNock
    rest: FilledRest
    side: FilledSide
    arrow: FilledArrow
    archer: FilledArcher
    air: FilledAir

    def __repr__(self) -> str:
        return text_table(type(self).__name__, shown_of(self.given))

    def _repr_html_(self) -> str:
        return html_table(type(self).__name__, shown_of(self.given))

    @cached_property
    def _fillings(self) -> dict[str, Filling]:
        return fillings_of(self.given)

    def get(self, path: str) -> Any:
        """Value at a dotted path of the setup, in SI; None where none is known.

        Raises
        ------
        SetupError
            If there is no such field.

        Examples
        --------
        >>> import archerysim
        >>> full = archerysim.filled(archerysim.load("examples/club-outdoor.toml"))
        >>> full.get("bow.draw_weight_at") == full.get("archer.draw_length")
        True
        >>> full.get("limits.lightest_arrow") is None  # never assumed
        True
        """
        return paths.get(Setup, path, self._value)

    def _value(self, place: paths.Place) -> Any:
        top = place.steps[0]
        if top == "limits":
            return paths.value_of(self.given, place)
        if place.field.record is not None or top not in self._fillings:
            return paths.value_of(self, place)
        return paths.value_of(self._fillings[str(top)], place, 1, Filling.inner)

    def number(self, path: str) -> float:
        """Number at a dotted path, in SI.

        Raises
        ------
        SetupError
            If there is no such field, it has no value, or it is not a single number.

        Examples
        --------
        >>> import archerysim
        >>> full = archerysim.filled(archerysim.load("examples/club-outdoor.toml"))
        >>> full.number("arrow.diameter")  # [m]
        0.0055
        >>> full.number("limits.lightest_arrow")
        Traceback (most recent call last):
            ...
        archerysim.errors.SetupError: limits.lightest_arrow: has no value. Give it, or ask
        the filled setup for it.
        """
        return paths.number(path, self.get(path))

    def replace(self, changes: Mapping[str, Any] = NO_CHANGES, /, **more: Any) -> NoReturn:
        """Not possible.

        Raises
        ------
        SetupError
            Always: derived values would no longer fit.

        Examples
        --------
        >>> import archerysim
        >>> full = archerysim.filled(archerysim.load("examples/club-outdoor.toml"))
        >>> full.replace({"arrow.point_mass": "100 gr"})
        Traceback (most recent call last):
            ...
        archerysim.errors.SetupError: arrow.point_mass: a filled setup cannot be changed.
        Change the setup it came from, then fill that.
        >>> heavier = archerysim.filled(full.given.replace({"arrow.point_mass": "100 gr"}))
        >>> heavier.arrow.point_mass > full.arrow.point_mass
        True
        """
        raise SetupError(
            next(iter([*changes, *more]), ""),
            "a filled setup cannot be changed",
            "Change the setup it came from, then fill that",
        )

    def with_si(self, **changes: Any) -> NoReturn:
        """Not possible.

        Raises
        ------
        SetupError
            As for `replace`.

        Examples
        --------
        >>> import archerysim
        >>> full = archerysim.filled(archerysim.load("examples/club-outdoor.toml"))
        >>> full.with_si(**{"arrow.point_mass": 0.006})
        Traceback (most recent call last):
            ...
        archerysim.errors.SetupError: arrow.point_mass: a filled setup cannot be changed.
        Change the setup it came from, then fill that.
        """
        self.replace(changes)

    def to_toml(self) -> NoReturn:
        """Not possible.

        Raises
        ------
        SetupError
            Always: assumed values would be saved as if given.

        Examples
        --------
        >>> import archerysim
        >>> full = archerysim.filled(archerysim.load("examples/club-outdoor.toml"))
        >>> full.to_toml()
        Traceback (most recent call last):
            ...
        archerysim.errors.SetupError: a filled setup cannot be saved. Save the setup it came
        from.
        >>> full.given.to_toml().startswith("name")
        True
        """
        raise SetupError("", "a filled setup cannot be saved", "Save the setup it came from")

    def save(self, path: str | os.PathLike[str]) -> NoReturn:
        """Not possible, as `to_toml`.

        Examples
        --------
        >>> import archerysim
        >>> full = archerysim.filled(archerysim.load("examples/club-outdoor.toml"))
        >>> full.save("full.toml")
        Traceback (most recent call last):
            ...
        archerysim.errors.SetupError: a filled setup cannot be saved. Save the setup it came
        from.
        """
        self.to_toml()


class MeasuredSetup(FilledSetup, frozen=True, kw_only=True, dict=True):
    """A filled setup of form "measured": string length, pocket angles and the roots' x are for the fit to find."""

    bow: MeasuredBow


class BuiltSetup(FilledSetup, frozen=True, kw_only=True, dict=True):
    """A filled setup of form "built": brace height, tillers and draw weight are for the statics to find."""

    upper_limb: BuiltLimb
    lower_limb: BuiltLimb
    riser: BuiltRiser
    string: BuiltString


def filled(setup: Setup | FilledSetup) -> FilledSetup:
    """The setup with every value that has a default or a derivation.

    Parameters
    ----------
    setup : Setup
        A filled one is returned as it is.

    Returns
    -------
    FilledSetup

    Raises
    ------
    SetupError
        If a derived value is out of range.

    Examples
    --------
    >>> import archerysim
    >>> setup = archerysim.load("examples/club-outdoor.toml")
    >>> setup.nock.height is None
    True
    >>> archerysim.filled(setup).nock.height  # [m], what is usual
    0.0058
    """
    if isinstance(setup, FilledSetup):
        return setup
    return filled_as_measured(setup) if setup.form == "measured" else filled_as_built(setup)


def filled_as_measured(setup: Setup) -> MeasuredSetup:
    """`filled` for a setup of form "measured".

    Raises
    ------
    SetupError
        If it is of the other form, or a derived value is out of range.
    """
    if setup.form != "measured":
        raise SetupError("form", 'is not "measured"', "Give the bow as measured")
    fillings = fillings_of(setup)
    return MeasuredSetup(
        bow=MeasuredBow.of(fillings["bow"]),
        upper_limb=FilledLimb.of(fillings["upper_limb"]),
        lower_limb=FilledLimb.of(fillings["lower_limb"]),
        riser=FilledRiser.of(fillings["riser"]),
        string=FilledString.of(fillings["string"]),
        **_alike(setup, fillings),
    )


def filled_as_built(setup: Setup) -> BuiltSetup:
    """`filled` for a setup of form "built".

    Raises
    ------
    SetupError
        If it is of the other form, or a derived value is out of range.
    """
    if setup.form != "built":
        raise SetupError("form", 'is not "built"', "Fit the bow first")
    fillings = fillings_of(setup)
    return BuiltSetup(
        bow=FilledBow.of(fillings["bow"]),
        upper_limb=BuiltLimb.of(fillings["upper_limb"]),
        lower_limb=BuiltLimb.of(fillings["lower_limb"]),
        riser=BuiltRiser.of(fillings["riser"]),
        string=BuiltString.of(fillings["string"]),
        **_alike(setup, fillings),
    )


def _alike(setup: Setup, fillings: dict[str, Filling]) -> dict[str, Any]:
    """What a filled setup of either form holds alike."""
    return {
        "given": setup,
        "name": setup.name,
        "category": setup.category,
        "form": setup.form,
        "invented": bool(setup.invented),
        "nock": FilledNock.of(fillings["nock"]),
        "rest": FilledRest.of(fillings["rest"]),
        "side": FilledSide.of(fillings["side"]),
        "arrow": FilledArrow.of(fillings["arrow"]),
        "archer": FilledArcher.of(fillings["archer"]),
        "air": FilledAir.of(fillings["air"]),
    }


def sources(setup: Setup | FilledSetup) -> dict[str, Source]:
    """Where each value of the filled setup comes from, by dotted path.

    Parameters
    ----------
    setup : Setup
        Not a filled one.

    Returns
    -------
    dict of str to Source

    Raises
    ------
    SetupError
        If the setup is a filled one (ask for the sources of the setup it came from), or a derived value is
        out of range.

    Examples
    --------
    >>> import archerysim
    >>> found = archerysim.sources(archerysim.load("examples/club-outdoor.toml"))
    >>> found["bow.brace_height"].kind, found["rest.height"].kind
    ('given', 'assumed')
    """
    if isinstance(setup, FilledSetup):
        raise SetupError("", "a filled setup no longer knows its sources", "Ask for those of the setup it came from")
    found = {name: Source(getattr(setup, name), *GIVEN) for name in ("name", "category", "form")}
    if setup.invented is not None:
        found["invented"] = Source(setup.invented, *GIVEN)
    fillings = fillings_of(setup)
    for name in fields_of(Setup):
        if name in fillings:
            found |= {path: Source(value, *grounds) for path, value, grounds in fillings[name].sources()}
    return found
