"""What is measured for a setup, in which order, with what and how well."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from archerysim.equipment.first_setup.questions import BY_NAME
from archerysim.show.measures import drawings

if TYPE_CHECKING:
    from archerysim.equipment import Setup


@dataclass(frozen=True)
class Measure:
    """One drawing and what is written down beside it.

    Attributes
    ----------
    title, tool : str
    how : str
        In a sentence or two.
    rows : tuple of (str, str)
        Name of a question or dotted path of a field, and what it is called on the page.
    draw : callable
        Draws it on given axes.
    """

    title: str
    tool: str
    how: str
    rows: tuple[tuple[str, str], ...]
    draw: Callable[[Any], None]


def _how(*names: str) -> str:
    return " ".join(BY_NAME[name].how for name in names)


# The bow is strung first, then drawn; then the arrow; then the parts.
MEASURES: tuple[Measure, ...] = (
    Measure(
        "Brace height", "bow square", _how("brace-height"), (("brace-height", "brace height"),), drawings.brace_height
    ),
    Measure(
        "Tillers", "bow square", f"{_how('upper-tiller')} Both from the same face of the string.",
        (("upper-tiller", "upper tiller"), ("lower-tiller", "lower tiller")), drawings.tillers,
    ),
    Measure("Locator height", "bow square", _how("reading"), (("reading", "reading"),), drawings.square_on_string),
    Measure(
        "Draw length", "tape, a helper", _how("draw-length"), (("draw-length", "draw length"),), drawings.draw_length
    ),
    Measure("Draw weight", "bow scale", _how("draw-weight"), (("draw-weight", "draw weight"),), drawings.draw_weight),
    Measure(
        "Arrow length and diameter", "tape, calliper", _how("arrow-length", "diameter"),
        (("arrow-length", "arrow length"), ("diameter", "diameter")), drawings.arrow_length,
    ),
    Measure(
        "Masses of arrow and point", "kitchen scale, 0.1 g", _how("shaft-mass"),
        (("point-mass", "point"), ("shaft-mass", "whole arrow")), drawings.arrow_mass,
    ),
    Measure("Spine", "the print on the shaft", _how("spine"), (("spine", "spine"),), drawings.spine),
    Measure(
        "Droop of the rest", "50 g on a thread, rule",
        "Hang 50 g where the shaft lies on the rest and see how far it gives. Not for a shelf.",
        (("rest.droop", "droop under 50 g"),), drawings.rest_droop,
    ),
    Measure(
        "Limb: mass and point of balance", "kitchen scale, an edge",
        "Bow taken down: weigh one limb, then lay it across an edge and measure from the butt's end to where it lies "
        "level. Weigh the other limb too: a difference of a few grams counts.",
        (("limbs.mass", "one limb"), ("limbs.balance", "balance from the butt's end")), drawings.limb,
    ),
    Measure(
        "Nock: height and slope of its floor", "calliper, a glass",
        "Height along the string, outer face to outer face. Under a glass, with a straight edge across the throat: "
        "does the floor lean?",
        (("nock.height", "height"), ("nock.slope", "slope")), drawings.nock_slope,
    ),
    Measure(
        "Centre shot", "seen along the string",
        "Bow strung, arrow on the rest, string in front of the middle of both limbs: how far the shaft's axis at the "
        "side support is out from the string.",
        (("side.offset", "centre shot"),), drawings.centre_shot,
    ),
)  # fmt: skip
SHOWN_IN = {"arrow.point_mass": "g", "arrow-length": "in"}
NOT_DRAWN = ("kind", "units", "hand", "bow-length", "hold", "stabiliser", "string")  # asked, with nothing to draw


def well(name: str) -> str:
    """How well a value can be known, as an archer measures it; "" where nothing is usual."""
    from archerysim.equipment import field_info
    from archerysim.fields.units import show
    from archerysim.study.uncertainty.inputs import USUAL

    path = BY_NAME[name].path if name in BY_NAME else name
    path = {"limbs.mass": "upper_limb.mass", "rest.droop": "rest.stiffness"}.get(path, path)
    found = next((one for one in USUAL if one.path == path), None)
    if found is None:
        return ""
    unit = SHOWN_IN.get(path, field_info(path).unit)
    return f"{100 * found.spread:g} %" if found.relative else show(found.spread, unit).replace("lbf", "lb")


def today(name: str, setup: Setup | None) -> str:
    """What a setup says of it, in the units of its field; "" where it says nothing."""
    from archerysim.equipment import field_info
    from archerysim.equipment.arrow import total_mass
    from archerysim.fields.units import show

    if setup is None:
        return ""
    if name == "shaft-mass":
        return f"{show(total_mass(setup.arrow), 'g')} by the file"
    if name == "string":
        return f"{setup.string.strands} {setup.string.material}" if setup.string.strands else ""
    path = BY_NAME[name].path if name in BY_NAME else name
    if name in ("hand", "hold"):
        path = BY_NAME[name].fields[0]
    value = None if not path else _value(setup, path)
    if value is None:
        return ""
    unit = SHOWN_IN.get(name, field_info(path).unit)
    words = value if isinstance(value, str) else show(value, unit).replace("lbf", "lb")
    if name == "reading":
        words += f" {setup.nock.locators.convention or 'underside'}"
    if name == "draw-weight" and setup.bow.draw_weight_at is not None:
        words += f" at {show(setup.bow.draw_weight_at, 'in')}"
    return words


def _value(setup: Setup, path: str) -> Any:
    """A value that the setup gives; of both limbs only where they are alike."""
    if not path.startswith("limbs."):
        return setup.get(path)
    upper, lower = (setup.get(f"{limb}.{path[6:]}") for limb in ("upper_limb", "lower_limb"))
    return upper if upper == lower else None
