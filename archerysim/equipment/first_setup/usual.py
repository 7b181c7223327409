"""What is usual in a first setup, by the kind of bow and by what was answered before. Judgements unless marked."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal, NamedTuple

from archerysim.equipment.setup import Category, field_info
from archerysim.fields import units

Kind = Literal["club recurve", "barebow", "junior", "traditional"]
KINDS: tuple[Kind, ...] = ("club recurve", "barebow", "junior", "traditional")
Fields = Mapping[str, str]  # dotted path to the text that stands in the file


class UsualBow(NamedTuple):
    """What is usual for one kind of bow; the ranges are the trade's (`archerysim.equipment.typical`).

    Attributes
    ----------
    category : str
    length, draw_length, draw_weight : float
        [in], [in], [lbf].
    brace_height : float
        Of a bow of that length [mm].
    below_brace, split : float
        By how much the upper tiller is shorter than the brace height, and longer than the lower tiller [mm].
    hold, stabiliser, string : str
    reading : float
        By the underside [mm]; the upper part of what is usual, since locators begin high and come down.
    longer : float
        Shaft longer than the draw length [in].
    diameter, shaft, point : float
        [mm], [gr/in], [gr].
    """

    category: Category
    length: float
    draw_length: float
    draw_weight: float
    brace_height: float
    below_brace: float
    split: float
    hold: str
    stabiliser: str
    string: str
    reading: float
    longer: float
    diameter: float
    shaft: float
    point: float


BOWS: dict[str, UsualBow] = {
    "club recurve": UsualBow(
        "club", 68, 28, 30, 220, 25, 5, "split", "long rod", "18 HMPE", 9, 0.5, 5.5, 6.4, 90
    ),
    "barebow": UsualBow(
        "barebow", 68, 28, 36, 222, 26, 0, "three under", "weight", "18 HMPE", 12, 0.5, 5.9, 7.6, 120
    ),
    "junior": UsualBow("junior", 62, 24, 16, 190, 25, 3, "split", "none", "12 HMPE", 8, 2, 5.8, 6.0, 70),
    "traditional": UsualBow(
        "traditional", 68, 28, 35, 155, -11, 2, "split", "none", "14 polyester", 9, 0.5, 8.7, 9.6, 125
    ),
}  # fmt: skip
BRACE_PER_INCH = 2.5  # a bow that is an inch longer is braced higher by so much [mm]
STRONG_LENGTH = 24.0  # spine times draw weight [in lbf]

# A stabiliser or weight, as a file tells it (the example setups' own).
RODS: dict[str, dict[str, str]] = {
    "long rod": {"start_x": "30 mm", "length": "28 in", "rod_mass": "130 g", "end_mass": "120 g"},
    "weight": {"start_x": "20 mm", "start_y": "-150 mm", "length": "15 mm", "end_mass": "450 g"},
    "none": {},
}

# What a self bow has beyond the questions, as the example's longbow: a handle, straight limbs, a shelf that is hard.
BEYOND: dict[str, dict[str, str]] = {
    "traditional": {
        "bow.pocket_angle": "0 deg", "limbs.shape": "straight", "riser.mass": "0.4 kg",
        "riser.upper_root_y": "140 mm", "riser.lower_root_y": "-160 mm", "rest.stiffness": "20000 N/m",
    },
}  # fmt: skip


def in_unit(fields: Fields, path: str, unit: str) -> float:
    """A number among the fields, in a unit."""
    return units.from_si(units.to_si(fields[path], field_info(path).unit), unit)


def length_words(millimetres: float, inches: bool) -> str:
    """A length in whole millimetres, or to the nearest eighth of an inch."""
    from archerysim.equipment.readings import sixteenths

    if not inches:
        return f"{millimetres:.0f} mm"
    eighths = round(millimetres / 25.4 * 8)
    return sixteenths(eighths * 0.0254 / 8)


def usual_brace_height(bow: UsualBow, fields: Fields) -> float:
    """Brace height [mm] that is usual for a bow of the length answered."""
    return bow.brace_height + BRACE_PER_INCH * (in_unit(fields, "bow.length", "in") - bow.length)


def usual_spine(fields: Fields) -> str:
    """A spine that is usual for the draw weight answered: to the nearest 50 thousandths of an inch."""
    weight = in_unit(fields, "bow.draw_weight", "lbf")
    return f"{max(200, min(2500, round(20.0 * STRONG_LENGTH / weight) * 50))}"
