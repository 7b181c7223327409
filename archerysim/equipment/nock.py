"""Records of the nock and of the locators that hold it on the string."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from archerysim.errors import SetupError
from archerysim.fields.quantity import Note, Quantity
from archerysim.fields.record import Record, Rivals, fields_of

Convention = Literal["underside", "top"]
LocatorKind = Literal["tied", "metal"]

LOCATOR_MASS: dict[str, float] = {"tied": 0.1e-3, "metal": 0.4e-3}  # one locator [kg], common practice


class Locators(Record, frozen=True, kw_only=True):
    """The locators on the string, above and below the nock.

    `reading` is measured with a square on the braced bow: from the foot of the square (lower edge of its arm on the
    rest) up along the string to the underside of the nock, or to its top, as `convention` says. The convention also
    says how readings are reported for locators that are tied at a `place`.

    Examples
    --------
    >>> import archerysim
    >>> locators = archerysim.Locators(reading="14 mm", convention="top", gap="0.5 mm")
    >>> locators.reading, locators.convention  # [m]
    (0.014, 'top')
    >>> archerysim.Locators(reading="14 cm")
    Traceback (most recent call last):
        ...
    archerysim.errors.SetupError: nock.locators.reading: "14 cm" = 140 mm is outside the
    allowed range -30 mm to 60 mm. Check the number and its unit.
    """

    label: ClassVar[str] = "nock.locators"
    rivals: ClassVar[tuple[Rivals, ...]] = (Rivals((("reading",), ("place",)), needed="Give reading, or place"),)

    reading: Annotated[
        float | None,
        Quantity(
            text="locator height by the square, positive = above square",
            unit="mm",
            low="-30 mm",
            high="60 mm",
            example="8 mm",
        ),
    ] = None
    convention: Annotated[
        Convention | None,
        Note(text="whether readings go to the underside or to the top of the nock", default="underside"),
    ] = None
    place: Annotated[
        float | None,
        Quantity(
            text="middle of the throat from the string's middle along the unloaded string, positive = up",
            unit="mm",
            low="-200 mm",
            high="200 mm",
        ),
    ] = None
    kind: Annotated[LocatorKind | None, Note(text="what the locators are made of", default="tied")] = None
    upper_mass: Annotated[float | None, Quantity(text="mass of the upper locator", unit="g", low="0 g", high="3 g")] = (
        None
    )
    lower_mass: Annotated[float | None, Quantity(text="mass of the lower locator", unit="g", low="0 g", high="3 g")] = (
        None
    )
    mass_at: Annotated[
        float | None,
        Quantity(
            text="each locator's mass centre from the throat's middle, along the string",
            unit="mm",
            low="0 mm",
            high="20 mm",
        ),
    ] = None
    upper_present: Annotated[bool | None, Note(text="whether there is a locator above the nock", default=True)] = None
    lower_present: Annotated[bool | None, Note(text="whether there is a locator below the nock", default=True)] = None
    gap: Annotated[
        float | None,
        Quantity(
            text="total free play of the nock between the locators",
            unit="mm",
            low="0 mm",
            high="5 mm",
            default="0 mm",
        ),
    ] = None
    stiffness: Annotated[
        float | None,
        Quantity(
            text="stiffness of a locator along the string",
            unit="N/m",
            low="1000 N/m",
            high="1e7 N/m",
            default="1e5 N/m",
            basis="judgement",
        ),
    ] = None
    loss: Annotated[
        float | None,
        Quantity(
            text="damping of a locator along the string",
            unit="N s/m",
            low="0 N s/m",
            high="1000 N s/m",
            default="10 N s/m",
            basis="judgement",
        ),
    ] = None


class Nock(Record, frozen=True, kw_only=True):
    """The nock: its throat sits on the string between the locators.

    Examples
    --------
    >>> import archerysim
    >>> nock = archerysim.Nock(height="6 mm", locators=archerysim.Locators(reading="8 mm"))
    >>> nock.height, nock.locators.reading  # [m]
    (0.006, 0.008)
    """

    label: ClassVar[str] = "nock"

    height: Annotated[
        float | None,
        Quantity(
            text="height along the string, outer face to outer face, between the locators",
            unit="mm",
            low="2 mm",
            high="15 mm",
            default="5.8 mm",
        ),
    ] = None
    floor: Annotated[
        float | None,
        Quantity(
            text="length of the throat's floor along the string",
            unit="mm",
            low="0.5 mm",
            high="12 mm",
            default="4 mm",
        ),
    ] = None
    depth: Annotated[
        float | None,
        Quantity(text="depth of the throat", unit="mm", low="1 mm", high="15 mm", default="5 mm"),
    ] = None
    slope: Annotated[
        float | None,
        Quantity(
            text="slope of the throat's floor, positive = upper edge farther towards the point",
            unit="deg",
            low="-30 deg",
            high="30 deg",
            default="0 deg",
        ),
    ] = None
    grip: Annotated[
        float | None,
        Quantity(
            text="force that pulls the string out of the throat",
            unit="N",
            low="0 N",
            high="50 N",
            default="5 N",
            basis="judgement",
        ),
    ] = None
    snap_travel: Annotated[
        float | None,
        Quantity(
            text="travel over which the grip lets go",
            unit="mm",
            low="0.05 mm",
            high="3 mm",
            default="0.5 mm",
            basis="judgement",
        ),
    ] = None
    friction: Annotated[
        float | None,
        Quantity(
            text="coefficient of friction between the string and the throat's floor, along the floor",
            unit="",
            low="0",
            high="1",
            default="0.1",
            basis="judgement",
        ),
    ] = None
    edge_stiffness: Annotated[
        float | None,
        Quantity(
            text="stiffness of each edge of the throat's floor",
            unit="N/m",
            low="1e4 N/m",
            high="1e8 N/m",
            default="3e6 N/m",
            basis="judgement",
        ),
    ] = None
    edge_loss: Annotated[
        float | None,
        Quantity(
            text="damping at each edge of the throat's floor",
            unit="N s/m",
            low="0 N s/m",
            high="1000 N s/m",
            default="1 N s/m",
            basis="judgement",
        ),
    ] = None
    groove_stiffness: Annotated[
        float | None,
        Quantity(
            text="stiffness of the string in the nock's groove, sideways",
            unit="N/m",
            low="1e3 N/m",
            high="1e7 N/m",
            default="1e5 N/m",
            basis="judgement",
        ),
    ] = None
    groove_loss: Annotated[
        float | None,
        Quantity(
            text="damping of the string in the nock's groove, sideways",
            unit="N s/m",
            low="0 N s/m",
            high="100 N s/m",
            default="5 N s/m",
            basis="judgement",
        ),
    ] = None
    locators: Locators

    def relations(self, path: str) -> None:
        """Check that the floor fits into the nock.

        Raises
        ------
        SetupError
            If the throat's floor is longer than the nock is high.
        """
        height = fields_of(Nock)["height"].default if self.height is None else self.height
        if self.floor is not None and self.floor > height:
            raise SetupError(
                f"{path}.floor",
                f"{self.floor * 1e3:g} mm is more than {path}.height, {height * 1e3:g} mm",
                "Check both: the floor lies inside the nock",
            )
