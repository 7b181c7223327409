"""What an archer notes: groups that were shot, and what was changed between them."""

from __future__ import annotations

from typing import Annotated, ClassVar

from archerysim.equipment import InSi, Setup
from archerysim.errors import SetupError
from archerysim.fields.paths import read
from archerysim.fields.quantity import Note, Quantity
from archerysim.fields.record import Record, Rivals
from archerysim.study.notes.shot_row import KINDS

Row = tuple[float, ...]
BUTT = Quantity(text="the lesser of the butt's width and height", unit="cm", low="20 cm", high="500 cm")


def _row(text: str) -> Quantity:
    return Quantity(text=text, unit="cm", low="-300 cm", high="300 cm", count=0)


def _missed(text: str) -> Quantity:
    return Quantity(text=text, unit="", low="0", high="100", default="0", whole=True)


class NotedGroup(Record, frozen=True, kw_only=True):
    """One or more ends shot at one distance with one reading and one sight setting.

    Heights and places sideways are told from any fixed mark on the target, the same for bare and fletched shafts:
    positive = up, and to the right as the archer sees the target.
    """

    label: ClassVar[str] = "group"
    rivals: ClassVar[tuple[Rivals, ...]] = (Rivals((("bare_right",), ("sideways",))),)

    date: Annotated[str | None, Note(text="day on which it was shot", example="2026-05-03")] = None
    distance: Annotated[
        float, Quantity(text="distance of the target", unit="m", low="3 m", high="90 m", example="18 m")
    ]
    reading: Annotated[
        float,
        Quantity(
            text="locator height by the square, positive = above square",
            unit="mm",
            low="-30 mm",
            high="60 mm",
            example="8 mm",
        ),
    ]
    fletched: Annotated[Row | None, _row("height of each fletched hit on the target, positive = up")] = None
    fletched_right: Annotated[Row | None, _row("how far to the right each of these is, negative = left")] = None
    bare: Annotated[Row | None, _row("height of each bare hit on the target, positive = up")] = None
    bare_right: Annotated[Row | None, _row("how far to the right each of these is, negative = left")] = None
    fletched_bad: Annotated[Row | None, _row("fletched hits that the archer called bad: kept, not used")] = None
    bare_bad: Annotated[Row | None, _row("bare hits that the archer called bad: kept, not used")] = None
    fletched_missed: Annotated[int | None, _missed("fletched shafts that missed the butt")] = None
    bare_missed: Annotated[int | None, _missed("bare shafts that missed the butt")] = None
    wind: Annotated[
        float | None,
        Quantity(
            text="wind along the shooting line, positive = against the arrow (head wind)",
            unit="m/s",
            low="-15 m/s",
            high="15 m/s",
            default="0 m/s",
        ),
    ] = None
    sideways: Annotated[
        float | None,
        Quantity(
            text="middle of the bare shafts beside that of the fletched ones, positive = to the right, where places "
            "were not noted shaft by shaft",
            unit="cm",
            low="-300 cm",
            high="300 cm",
        ),
    ] = None
    remark: Annotated[str | None, Note(text="what else to remember")] = None

    def relations(self, path: str) -> None:
        """Check that places sideways are as many as heights.

        Raises
        ------
        SetupError
        """
        for kind in KINDS:
            beside = getattr(self, f"{kind}_right")
            shafts = len(getattr(self, kind) or ())
            if beside is not None and len(beside) != shafts:
                raise SetupError(
                    f"{path}.{kind}_right", f"{len(beside)} places sideways for {shafts} good shafts",
                    "Give one for each, in the same order",
                )  # fmt: skip


class NotedChange(Record, frozen=True, kw_only=True):
    """Something changed on bow, arrow or archer: it holds for all groups that follow."""

    label: ClassVar[str] = "change"

    date: Annotated[str | None, Note(text="day on which it was made", example="2026-05-03")] = None
    what: Annotated[str, Note(text="dotted path in the setup file of what was changed", example="side.preload")]
    was: Annotated[str | None, Note(text="its value before")] = None
    to: Annotated[str, Note(text="its new value, with its unit", example="3 N")]
    after: Annotated[
        int | None,
        Quantity(
            text="how many groups had been shot before it; if not given, those above it in the file",
            unit="",
            low="0",
            high="10000",
            whole=True,
        ),
    ] = None
    why: Annotated[str | None, Note(text="why it was made")] = None
    predicted: Annotated[str | None, Note(text="what it was to do, as computed before")] = None
    seen: Annotated[str | None, Note(text="what it did", example="bare 3 cm low")] = None
    remark: Annotated[str | None, Note(text="what else to remember")] = None

    def relations(self, path: str) -> None:
        """Check that both values are such as a setup may have.

        Raises
        ------
        SetupError
        """
        for end, value in (("to", self.to), ("was", self.was)):
            try:
                read(Setup, {} if value is None else {self.what: value})
            except SetupError as error:
                end = "what" if error.problem == "unknown path" else end
                problem = f'"{self.what}" is an unknown path' if end == "what" else f"{self.what}: {error.problem}"
                raise SetupError(f"{path}.{end}", problem, error.remedy) from None

    def in_si(self) -> InSi:
        """The change as a setup takes it.

        Raises
        ------
        SetupError
        """
        return read(Setup, {self.what: self.to})

    def before_in_si(self) -> InSi:
        """What takes it back; nothing where its value before is not noted.

        Raises
        ------
        SetupError
        """
        return read(Setup, {} if self.was is None else {self.what: self.was})
