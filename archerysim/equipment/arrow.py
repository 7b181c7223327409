"""Record of the arrow and what follows from it: mass, balance, stiffness."""

from __future__ import annotations

import math
from fractions import Fraction
from typing import TYPE_CHECKING, Annotated, ClassVar, Literal, NamedTuple

from archerysim.errors import SetupError
from archerysim.fields.quantity import Note, Quantity
from archerysim.fields.record import Record, fields_of
from archerysim.fields.units import FACTORS

if TYPE_CHECKING:
    from archerysim.equipment.filled_records import FilledArrow

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


FletchingKind = Literal["vane", "feather"]
PointShape = Literal["streamlined", "blunt"]


class UsualFletching(NamedTuple):
    """Usual size of one vane or feather and the drag coefficient of its area."""

    length: float  # [m]
    height: float  # [m]
    drag: float


# Sizes: common practice. Drag on the area of one side: turbulent skin friction on both sides of a flat plate of
# 45 mm at 55 m/s is 0.0134 (2 x 0.074 Re^-1/5, Schlichting); feathers are rough, about twice that [judgement].
FLETCHING = {"vane": UsualFletching(0.045, 0.008, 0.014), "feather": UsualFletching(0.100, 0.012, 0.028)}


class Arrow(Record, frozen=True, kw_only=True):
    """The arrow; its length runs from the throat to the front end of the shaft, without the point.

    Examples
    --------
    >>> import archerysim
    >>> arrow = archerysim.Arrow(
    ...     length="28 1/2 in", diameter="5.5 mm", spine="0.700 in", mass_per_length="6.4 gr/in", point_mass="90 gr"
    ... )
    >>> round(arrow.length, 3), round(1000 * arrow.point_mass, 1)  # [m], [g]
    (0.724, 5.8)
    """

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
            text="mass centre of the point behind the front end of the shaft (negative: in front of it)",
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
        Quantity(text="mass of the nock with its pin or bush", unit="g", low="0 g", high="10 g", default="0.6 g"),
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
    fletching_number: Annotated[
        float | None,
        Quantity(text="how many vanes or feathers", low="3", high="6", default="3", whole=True),
    ] = None
    fletching_kind: Annotated[FletchingKind | None, Note(text="vanes (plastic) or feathers", example="vane")] = None
    fletching_length: Annotated[
        float | None,
        Quantity(text="length of one vane or feather along the shaft", unit="mm", low="10 mm", high="200 mm"),
    ] = None
    fletching_height: Annotated[
        float | None,
        Quantity(text="height of one vane or feather above the shaft", unit="mm", low="1 mm", high="40 mm"),
    ] = None
    fletching_angle: Annotated[
        float | None,
        Quantity(
            text="angle of one vane or feather from straight away from the side support, positive = turned up",
            unit="deg",
            low="-180 deg",
            high="180 deg",
            default="0 deg",
        ),
    ] = None
    fletching_lift_slope: Annotated[
        float | None,
        Quantity(
            text="normal force of the whole fletching per radian of its angle of attack, on the shaft's cross-section",
            low="0",
            high="500",
        ),
    ] = None
    fletching_drag: Annotated[
        float | None,
        Quantity(text="drag coefficient of the fletching on its area, one side counted", low="0", high="0.2"),
    ] = None
    point_length: Annotated[
        float | None,
        Quantity(
            text="how far the point's tip is in front of the front end of the shaft",
            unit="mm",
            low="5 mm",
            high="100 mm",
            default="20 mm",
        ),
    ] = None
    point_shape: Annotated[
        PointShape | None,
        Note(
            text="a streamlined point keeps the air along the shaft smooth, a blunt one (bullet, flat) stirs it up",
            default="streamlined",
        ),
    ] = None
    shaft_drag_factor: Annotated[
        float | None,
        Quantity(text="factor on the drag of the shaft with its point", low="0.3", high="3", default="1"),
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


def _masses_and_places(arrow: Arrow | FilledArrow) -> list[tuple[float, float]]:
    """(mass [kg], place in front of the throat [m]) of shaft, point, insert, nock, fletching."""

    def value(name: str) -> float:
        given = getattr(arrow, name)
        return float(given if given is not None else fields_of(Arrow)[name].default)

    return [
        (arrow.mass_per_length * arrow.length, arrow.length / 2),
        (arrow.point_mass, arrow.length - value("point_at")),
        (value("insert_mass"), arrow.length - value("insert_at")),
        (value("nock_mass"), value("nock_at")),
        (value("fletching_mass"), value("fletching_at")),
    ]


def total_mass(arrow: Arrow | FilledArrow) -> float:
    """Mass of the whole arrow [kg]; parts not given count with their defaults."""
    return sum(mass for mass, _ in _masses_and_places(arrow))


def balance_point(arrow: Arrow | FilledArrow) -> float:
    """Distance of the mass centre from the throat [m]."""
    return sum(mass * place for mass, place in _masses_and_places(arrow)) / total_mass(arrow)


def moment_of_inertia(arrow: Arrow | FilledArrow) -> float:
    """Moment of inertia about the mass centre, across the shaft [kg m^2]; parts but the shaft count as points."""
    centre = balance_point(arrow)
    shaft = arrow.mass_per_length * arrow.length**3 / 12
    return shaft + sum(mass * (place - centre) ** 2 for mass, place in _masses_and_places(arrow))


def front_of_centre(arrow: Arrow | FilledArrow) -> float:
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


def fletching_area(length: float, height: float) -> float:
    """Area of one side of one vane or feather [m^2]: 0.7 of length times height [judgement]."""
    return 0.7 * length * height


def fletching_lift_slope(number: int, length: float, height: float, diameter: float) -> float:
    """Normal force slope of the fletching on the shaft's cross-section [1/rad].

    Parameters
    ----------
    number : int
        Vanes or feathers, 3 to 6: from three on the sum does not depend on how the arrow is rolled.
    length, height, diameter : float
        Of one vane, and of the shaft [m].

    Notes
    -----
    Fins on a body (Barrowman, The Practical Calculation of the Aerodynamic Characteristics of Slender Finned
    Vehicles, 1967 [memory]): (1 + r/(s + r)) 4 n (s/d)^2 / (1 + sqrt(1 + (2 l/(c_r + c_t))^2)), with s the
    height, r and d the shaft's radius and diameter, and the mean chord (c_r + c_t)/2 here area over height,
    the mid-chord line l square to the shaft. Times 0.8, since the vanes stand in the shaft's slowed boundary
    layer and bend [judgement]. The formula is for three or four fins; with five or six, each in the others'
    stream, it is some 5 and 9 % high [memory].
    """
    radius = diameter / 2
    interference = 1.0 + radius / (height + radius)
    slender = height**2 / fletching_area(length, height)
    fins = 4.0 * number * (height / diameter) ** 2 / (1.0 + math.sqrt(1.0 + slender**2))
    return 0.8 * interference * fins
