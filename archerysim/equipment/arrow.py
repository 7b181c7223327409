"""Record of the arrow and what follows from it: mass, balance, stiffness."""

from __future__ import annotations

from fractions import Fraction
from typing import Annotated, ClassVar

from archerysim.equipment.errors import SetupError
from archerysim.equipment.quantity import Quantity
from archerysim.equipment.record import Record, default_of
from archerysim.equipment.units import FACTORS

_INCH = FACTORS["length"]["in"]
_POUND = FACTORS["force"]["lbf"]
_GRAIN = FACTORS["mass"]["gr"]

# Static spine: 1.94 lb at the middle of a 28 in span (ASTM F2031). Wooden shafts: 2 lb on 26 in [memory].
_SPINE_LOAD, _SPINE_SPAN = Fraction("1.94") * _POUND, 28 * _INCH
_WOOD_LOAD, _WOOD_SPAN = 2 * _POUND, 26 * _INCH


def _spine(number: Fraction, unit: str) -> Fraction | None:
    """Ways of writing a spine: 0.600 or 600 without a unit; pounds for wooden shafts."""
    if unit == "":
        return number * _INCH / (1000 if number >= 100 else 1)
    if unit in ("lb", "lbs", "#", "lbf") and number > 0:
        deflection = 26 * _INCH / number
        return deflection * (_SPINE_LOAD * _SPINE_SPAN**3) / (_WOOD_LOAD * _WOOD_SPAN**3)
    return None


class Arrow(Record, frozen=True, kw_only=True):
    """The arrow; its length runs from the throat to the front end of the shaft, the point not counted."""

    label: ClassVar[str] = "arrow"

    length: Annotated[
        float,
        Quantity(
            text="throat to the front end of the shaft",
            unit="mm",
            low="400 mm",
            high="1000 mm",
            example="29 in",
        ),
    ]
    diameter: Annotated[
        float,
        Quantity(text="outer diameter of the shaft", unit="mm", low="3 mm", high="15 mm", example="5.5 mm"),
    ]
    spine: Annotated[
        float,
        Quantity(
            text="static spine: deflection under 1.94 lb at the middle of a 28 in span (600 = 0.600 in)",
            unit="in",
            low="0.1 in",
            high="3 in",
            words=_spine,
            example="0.600 in",
        ),
    ]
    mass_per_length: Annotated[
        float,
        Quantity(
            text="mass per length of the bare shaft, over its whole length",
            unit="gr/in",
            low="2 gr/in",
            high="40 gr/in",
            example="7.4 gr/in",
        ),
    ]
    point_mass: Annotated[
        float, Quantity(text="mass of the point", unit="gr", low="0 gr", high="600 gr", example="100 gr")
    ]
    point_at: Annotated[
        float | None,
        Quantity(
            text="mass centre of the point behind the front end of the shaft (negative: before it)",
            unit="mm",
            low="-50 mm",
            high="150 mm",
            default="0 mm",
        ),
    ] = None
    insert_mass: Annotated[
        float | None,
        Quantity(text="mass of the insert", unit="gr", low="0 gr", high="300 gr", default="0 gr"),
    ] = None
    insert_at: Annotated[
        float | None,
        Quantity(
            text="mass centre of the insert behind the front end of the shaft",
            unit="mm",
            low="-50 mm",
            high="150 mm",
            default="15 mm",
        ),
    ] = None
    nock_mass: Annotated[
        float | None,
        Quantity(
            text="mass of the nock with its pin or bush", unit="g", low="0 g", high="10 g", default="0.6 g"
        ),
    ] = None
    nock_at: Annotated[
        float | None,
        Quantity(
            text="mass centre of the nock in front of the throat",
            unit="mm",
            low="-10 mm",
            high="50 mm",
            default="0 mm",
        ),
    ] = None
    fletching_mass: Annotated[
        float | None,
        Quantity(text="mass of fletching and wrap", unit="g", low="0 g", high="15 g", default="0.7 g"),
    ] = None
    fletching_at: Annotated[
        float | None,
        Quantity(
            text="mass centre of the fletching in front of the throat",
            unit="mm",
            low="0 mm",
            high="250 mm",
            default="60 mm",
        ),
    ] = None
    axial_stiffness: Annotated[
        float | None,
        Quantity(
            text="stiffness EA along the shaft",
            unit="N",
            low="1e4 N",
            high="1e8 N",
            default="8e5 N",
            basis="judgement",
        ),
    ] = None

    def relations(self, path: str) -> None:
        """Check that the fletching is on the shaft.

        Raises
        ------
        SetupError
            If a part sits beyond the other end of the shaft.
        """
        if self.fletching_at is not None and self.fletching_at > self.length:
            raise SetupError(
                f"{path}.fletching_at",
                f"{self.fletching_at * 1e3:g} mm lies beyond the shaft's end",
                f"Give a place from the throat, less than {self.length * 1e3:g} mm",
            )


def _parts(arrow: Arrow) -> list[tuple[float, float]]:
    """(mass [kg], place in front of the throat [m]) of shaft, point, insert, nock, fletching."""

    def value(name: str) -> float:
        given = getattr(arrow, name)
        return float(given if given is not None else default_of(Arrow, name))

    return [
        (arrow.mass_per_length * arrow.length, arrow.length / 2),
        (arrow.point_mass, arrow.length - value("point_at")),
        (value("insert_mass"), arrow.length - value("insert_at")),
        (value("nock_mass"), value("nock_at")),
        (value("fletching_mass"), value("fletching_at")),
    ]


def total_mass(arrow: Arrow) -> float:
    """Mass of the whole arrow [kg]; parts not given count with their defaults."""
    return sum(mass for mass, _ in _parts(arrow))


def balance_point(arrow: Arrow) -> float:
    """Distance of the mass centre from the throat [m]."""
    return sum(mass * place for mass, place in _parts(arrow)) / total_mass(arrow)


def front_of_centre(arrow: Arrow) -> float:
    """Front of centre [%]: how far the balance point lies before the middle of the length, over the length.

    The length runs from the throat to the front end of the shaft (common practice).
    """
    return 100.0 * (balance_point(arrow) / arrow.length - 0.5)


def bending_stiffness(spine: float) -> float:
    """Bending stiffness EI [N m^2] of a shaft of static spine `spine` [m].

    Notes
    -----
    EI = P l^3 / (48 d) with P = 1.94 lbf, l = 28 in (ASTM F2031).
    """
    return float(_SPINE_LOAD * _SPINE_SPAN**3) / (48.0 * spine)


def grains_per_pound(arrow_mass: float, draw_weight: float) -> float:
    """Arrow mass [kg] over draw weight [N], in grains per pound."""
    return (arrow_mass / float(_GRAIN)) / (draw_weight / float(_POUND))
