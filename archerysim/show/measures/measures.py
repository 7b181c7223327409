"""What is measured for a setup, in which order, with what and how well."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from archerysim.equipment import field_info
from archerysim.equipment.first_setup.interview import KIND_OF
from archerysim.equipment.first_setup.questions import BY_NAME
from archerysim.equipment.first_setup.usual import RODS
from archerysim.fields.units import from_si, show, to_si
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
        "Spine", "the print on the shaft", _how("spine"), (("spine", "spine, as printed"),), drawings.spine
    ),
    Measure(
        "Masses of arrow and point", "kitchen scale, 0.1 g", _how("shaft-mass"),
        (("point-mass", "point"), ("shaft-mass", "whole arrow")), drawings.arrow_mass,
    ),
    Measure(
        "Droop of the rest", "50 g on a thread, rule",
        "Hang 50 g where the shaft lies on the rest and see how far it gives. Not for a shelf.",
        (("rest.droop", "droop under 50 g"),), drawings.rest_droop,
    ),
    Measure(
        "Limb: mass and point of balance", "kitchen scale, an edge",
        "Bow taken down: weigh each limb, a difference of a few grams counts; then lay one across an edge and measure "
        "from the butt's end to where it lies level.",
        (
            ("upper_limb.mass", "upper limb"), ("lower_limb.mass", "lower limb"),
            ("limbs.balance", "balance from the butt's end"),
        ), drawings.limb,
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
NOT_DRAWN = {  # asked, with nothing to draw, and what it is called on the page
    "kind": "bow", "units": "square read in", "hand": "drawing hand", "bow-length": "bow length", "hold": "fingers",
    "stabiliser": "stabiliser", "string": "string, strands and fibre",
}  # fmt: skip


def well(name: str) -> str:
    """How well a value can be known, as an archer measures it; "" where nothing is usual."""
    from archerysim.study.uncertainty.inputs import USUAL

    path = BY_NAME[name].path if name in BY_NAME else name
    path = {"rest.droop": "rest.stiffness"}.get(path, path)
    found = next((one for one in USUAL if one.path == path), None)
    if found is None:
        return ""
    if name == "spine":
        return f"{1e3 * from_si(found.spread, 'in'):.0f}"
    unit = SHOWN_IN.get(path, field_info(path).unit)
    return f"{100 * found.spread:g} %" if found.relative else show(found.spread, unit).replace("lbf", "lb")


def today(name: str, setup: Setup | None) -> str:
    """What a setup says of it, in the units of its field; "" where it says nothing."""
    from archerysim.equipment.arrow import total_mass

    if setup is None:
        return ""
    if name == "kind":
        return KIND_OF.get(setup.category, "")
    if name == "stabiliser":
        return _stabiliser(setup)
    if name == "spine" and setup.arrow.spine is not None:
        return f"{1e3 * from_si(setup.arrow.spine, 'in'):.0f}"
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


def _stabiliser(setup: Setup) -> str:
    """Which of the usual ones a setup has; another is told as such."""
    rods = setup.riser.rods or ()
    if not rods:
        return "none"
    usual = (kind for kind, rod in RODS.items() if rod and len(rods) == 1 and _is(rods[0], rod))
    return next(usual, "as the file has it")


def _is(rod: Any, usual: Mapping[str, str]) -> bool:
    units = {name: field_info(f"riser.rods.0.{name}").unit for name in usual}
    return all(getattr(rod, name) == to_si(value, units[name]) for name, value in usual.items())


def _value(setup: Setup, path: str) -> Any:
    """A value that the setup gives; of both limbs only where they are alike."""
    if not path.startswith("limbs."):
        return setup.get(path)
    upper, lower = (setup.get(f"{limb}.{path[6:]}") for limb in ("upper_limb", "lower_limb"))
    return upper if upper == lower else None
