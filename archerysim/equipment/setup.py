"""The record of a whole setup: bow, string, nock, rest and side support, arrow, archer."""

from __future__ import annotations

import os
from collections.abc import Mapping
from functools import cache
from typing import Annotated, Any, ClassVar, Literal, Self

import msgspec

from archerysim.equipment.air import Air
from archerysim.equipment.archer import Archer, Limits
from archerysim.equipment.arrow import Arrow
from archerysim.equipment.assumed_rows import with_assumed_rows
from archerysim.equipment.bow import Bow
from archerysim.equipment.bowstring import String
from archerysim.equipment.limbs.limb import Limb
from archerysim.equipment.nock import Nock
from archerysim.equipment.rest import Rest
from archerysim.equipment.riser import Riser
from archerysim.equipment.side import Side
from archerysim.errors import SetupError
from archerysim.fields import file_writing as whole
from archerysim.fields import paths
from archerysim.fields import toml as toml_text
from archerysim.fields.given import NO_CHANGES, InSi
from archerysim.fields.paths import FieldInfo
from archerysim.fields.quantity import Form, Note, Quantity
from archerysim.fields.record import Field, Record, check_relations, fields_of, join, missing, walk
from archerysim.fields.small_table import Rows, html_table, one_line, text_table
from archerysim.fields.units import show, si_unit

Category = Literal["junior", "club", "elite", "barebow", "traditional"]


# What is shown of a setup, as far as it is given.
SHOWN = (
    "bow.length", "bow.draw_weight", "bow.brace_height", "string.length", "nock.locators.reading",
    "nock.locators.place", "arrow.spine", "archer.draw_length",
)  # fmt: skip
MOST_SHOWN = 9


class Setup(Record, frozen=True, kw_only=True):
    """Everything that a shot depends on; immutable, all values in SI, None = not given.

    `form` says what is known about the bow: ``"measured"`` (brace height, tillers and draw weight; the fit finds string
    length, pocket angles and stiffness) or ``"built"`` (string length, pocket angles and stiffness; brace height,
    tillers and draw weight follow). `category` only decides what counts as typical; no shot depends on
    `invented`.

    Examples
    --------
    >>> import archerysim
    >>> setup = archerysim.load("examples/club-outdoor.toml")
    >>> setup.bow.brace_height, setup.nock.locators.reading  # [m]
    (0.22, 0.008)
    >>> setup == archerysim.loads(setup.to_toml())
    True
    """

    label: ClassVar[str] = ""

    name: Annotated[str, Note(text="name of the setup", example="club bow, outdoor")]
    category: Annotated[Category, Note(text="decides the typical ranges", example="club")]
    form: Annotated[Form, Note(text="whether the bow is given as measured or as built", example="measured")]
    invented: Annotated[
        bool | None, Note(text="whether the bow is made up, as an example: a page for a class says so", default=False)
    ] = None
    bow: Bow
    upper_limb: Limb = msgspec.field(default_factory=Limb)
    lower_limb: Limb = msgspec.field(default_factory=Limb)
    riser: Riser = msgspec.field(default_factory=Riser)
    string: String
    nock: Nock
    rest: Rest = msgspec.field(default_factory=Rest)
    side: Side = msgspec.field(default_factory=Side)
    arrow: Arrow
    archer: Archer
    limits: Limits = msgspec.field(default_factory=Limits)
    air: Air = msgspec.field(default_factory=Air)

    def __post_init__(self) -> None:
        Record.__post_init__(self)
        check_relations(self)

    def __repr__(self) -> str:
        return text_table("Setup", shown_of(self))

    def _repr_html_(self) -> str:
        return html_table("Setup", shown_of(self))

    def relations(self, path: str) -> None:
        """Check that what is given fits the form.

        Raises
        ------
        SetupError
            If a field belongs to the other form, or one that the form needs is missing.
        """
        lacking: SetupError | None = None
        for where, record in walk(self):
            for item, about in tied_to_form(type(record)):
                given = getattr(record, item.name) is not None
                if given and about.only not in (None, self.form):
                    remedy = f'Remove it or set form = "{about.only}"'
                    raise SetupError(join(where, item.name), _wrong_form(about), remedy)
                if not given and about.required == self.form and lacking is None:
                    lacking = missing(join(where, item.name), item)
        if lacking is not None:
            raise lacking
        if self.form == "built" and self.bow.split_from is not None:
            problem = 'belongs to form = "measured"; form = "built" has pocket angles and stiffness'
            raise SetupError("bow.split_from", problem, 'Remove it or set form = "measured"')
        for name in ("upper_limb", "lower_limb") if self.bow.kind == "one piece" else ():
            if getattr(self, name).bolt_turns:
                raise SetupError(
                    f"{name}.bolt_turns",
                    f'{show(getattr(self, name).bolt_turns, "turn")} on a bow with bow.kind = "one piece", '
                    "which has no limb bolts",
                    'Leave it out, or set bow.kind = "take-down"',
                )
        for name in ("upper_limb", "lower_limb") if self.form == "built" else ():
            limb = getattr(self, name)
            if limb.bending_stiffness is None and limb.width is None:
                raise SetupError(
                    f"{name}.bending_stiffness",
                    'missing: form = "built" needs the limb\'s stiffness',
                    "Give bending_stiffness, or width, thickness and modulus",
                )

    def replace(self, changes: Mapping[str, Any] = NO_CHANGES, /, **more: Any) -> Self:
        """A setup with some values changed.

        Parameters
        ----------
        changes : mapping of dotted path to value, optional
            A value carries its unit: text as in a file ("0.4 deg"), a pair ``(0.4, "deg")``, a quantity of pint, or an
            array of xarray with the attribute ``units``; a bare number is for what has no dimension. None takes a value
            away. ``limbs.X`` sets both limbs, ``riser.rods.0.end_mass`` one item of a list. A table is a list or text,
            "0, 0, 6 1/m"; ``limbs.thickness.2`` sets one of its values, ``limbs.thickness.all`` = "1.02 times"
            multiplies them all; where no table is given, they are those that `filled` finds. Setting one of several
            ways to say the same thing drops the others. What `with_si` returns is taken as SI.
        **more
            Further changes. All are made together, then checked.

        Raises
        ------
        SetupError
            If a path is unknown, a value has no unit or is out of range, or the result contradicts itself.

        Examples
        --------
        >>> import archerysim
        >>> setup = archerysim.load("examples/club-outdoor.toml")
        >>> lighter = setup.replace({"arrow.point_mass": "80 gr", "nock.locators.gap": (0.4, "mm")})
        >>> lighter.nock.locators.gap  # [m]
        0.0004
        >>> setup.replace({"nock.locators.reading": 9})
        Traceback (most recent call last):
            ...
        archerysim.errors.SetupError: nock.locators.reading: 9 has no unit. Write it with
        one, for example "9 mm"; numbers in SI go through with_si.
        """
        asked = paths.read(Setup, changes) | paths.read(Setup, more) if more else changes
        return paths.changed(self, with_assumed_rows(self, asked))

    def with_si(self, **changes: Any) -> Self:
        """A setup with some values changed, as by `replace`, but with numbers in SI and angles in radians.

        Raises
        ------
        SetupError
            As for `replace`.

        Examples
        --------
        >>> import archerysim
        >>> setup = archerysim.load("examples/club-outdoor.toml")
        >>> moved = setup.with_si(**{"nock.locators.reading": 0.009})  # [m]
        >>> moved == setup.replace({"nock.locators.reading": "9 mm"})
        True
        """
        return self.replace(InSi(changes))

    def get(self, path: str) -> Any:
        """Value at a dotted path, in SI; None if it is not given.

        Raises
        ------
        SetupError
            If there is no such field.

        Examples
        --------
        >>> import archerysim
        >>> setup = archerysim.load("examples/club-outdoor.toml")
        >>> setup.get("nock.locators.reading")  # [m]
        0.008
        >>> setup.get("archer.release_time") is None  # not given: only `filled` has it
        True
        """
        return paths.get(Setup, path, lambda place: paths.value_of(self, place))

    def number(self, path: str) -> float:
        """Number at a dotted path, in SI.

        Raises
        ------
        SetupError
            If there is no such field, it has no value, or it is not a single number.

        Examples
        --------
        >>> import archerysim
        >>> setup = archerysim.load("examples/club-outdoor.toml")
        >>> setup.number("bow.brace_height")  # [m]
        0.22
        >>> setup.number("archer.release_time")
        Traceback (most recent call last):
            ...
        archerysim.errors.SetupError: archer.release_time: has no value. Give it, or ask the
        filled setup for it.
        """
        return paths.number(path, self.get(path))

    def to_toml(self) -> str:
        """The given values as the text of a setup file; reading it gives exactly this setup.

        Examples
        --------
        >>> import archerysim
        >>> setup = archerysim.load("examples/club-outdoor.toml")
        >>> text = setup.replace({"nock.locators.reading": "9 mm"}).to_toml()
        >>> [line for line in text.splitlines() if line.startswith("reading")]
        ['reading = "9 mm"']
        """
        return toml_text.dumps(self)

    def save(self, path: str | os.PathLike[str]) -> None:
        """Write the setup file, whole or not at all.

        Raises
        ------
        SetupError
            If the file cannot be written.

        Examples
        --------
        >>> import archerysim
        >>> from tempfile import TemporaryDirectory
        >>> setup = archerysim.load("examples/club-outdoor.toml").replace({"arrow.point_mass": "100 gr"})
        >>> with TemporaryDirectory() as folder:
        ...     setup.save(f"{folder}/heavier.toml")
        ...     archerysim.load(f"{folder}/heavier.toml") == setup
        True
        """
        whole.write_text(path, self.to_toml())


def shown_of(setup: Setup) -> Rows:
    """A few of the values given, with units; all of them stand in `Setup.to_toml`."""
    rows = [("name", one_line(setup.name)), ("category", setup.category), ("form", setup.form)]
    for path in SHOWN:
        value = setup.get(path)
        if value is not None and len(rows) < MOST_SHOWN:
            rows.append((path, show(value, field_info(path).unit)))
    return rows


@cache
def tied_to_form(record: type[Record]) -> tuple[tuple[Field, Quantity], ...]:
    """The quantities of a record that one form of setup must give, or that only one may give."""
    quantities = [(one, one.about) for one in fields_of(record).values() if isinstance(one.about, Quantity)]
    return tuple((one, about) for one, about in quantities if about.only is not None or about.required is not None)


def _wrong_form(about: Quantity) -> str:
    if about.only == "built":
        return 'belongs to form = "built"; form = "measured" finds it by the fit'
    if about.required == "measured":
        return 'is measured; form = "built" computes it'
    return 'belongs to form = "measured"'


def field_info(path: str) -> FieldInfo:
    """What the field at a dotted path is: unit, allowed range, meaning, default.

    Parameters
    ----------
    path : str
        For example "nock.locators.reading".

    Returns
    -------
    FieldInfo

    Raises
    ------
    SetupError
        If there is no such field, with the closest path as a suggestion.

    Examples
    --------
    >>> import archerysim
    >>> about = archerysim.field_info("nock.locators.reading")
    >>> about.unit, about.low, about.high  # the range in SI [m]
    ('mm', -0.03, 0.06)
    >>> archerysim.field_info("nock.locator.reading")
    Traceback (most recent call last):
        ...
    archerysim.errors.SetupError: nock.locator.reading: unknown path. Did you mean
    "nock.locators.reading"?
    """
    about = paths.resolve(Setup, path)[0].field.about
    if about is None:
        raise SetupError(path, "this is a table, not a value", "Name one of its fields")
    if isinstance(about, Note):
        return FieldInfo(path, "", "", about.text, None, None, about.default)
    low, high = about.range_si
    return FieldInfo(path, about.unit, si_unit(about.unit), about.text, low, high, about.default_si, about.caution)
