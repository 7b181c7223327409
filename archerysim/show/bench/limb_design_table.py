"""Limbs as thick as they have to be, in lines: what was wanted, each station, what comes of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from archerysim.show.style import INCH, MM, POUND
from archerysim.show.text import columns, length, number, titled, told, with_warnings, wrapped

if TYPE_CHECKING:
    from archerysim.study.bench.wood.limb_design import LimbDesign

LAWS = {
    "even strain": "strained alike from the root to eight tenths of the limb, from there on as thick as there",
    "arc": "an arc of a circle at full draw from the root to eight tenths of the limb, from there on as thick as there",
}
NEXT = (
    "Cut to the rough thickness, wood of straight grain only. Then tiller: no further than the draw above before both "
    "limbs bend evenly, a little longer after each scraping. A board of the same name may be a fifth stiffer or "
    "softer: what the scale says counts."
)


def limb_design_table(found: LimbDesign) -> str:
    """All of it as a page of text.

    Parameters
    ----------
    found : LimbDesign
    """
    limit = "" if found.limit is None else f" of {100 * found.limit:.2f} % that the wood bears (usual or by the file)"
    rows = [
        ("the drawn limb", LAWS[found.law]),
        ("draw weight", f"{found.weight / POUND:.1f} lb ({found.weight:.0f} N) at {found.draw_length / INCH:.2f} in "
         f"({found.draw_length / MM:.0f} mm)"),
        ("brace height", length(found.brace_height)),
        ("tiller split", number(found.split / MM, "mm", 1, True)),
        ("even within", f"{100 * found.uneven:.1f} %, stations joined by straight lines"),
        ("largest strain", f"{100 * found.largest:.2f} %{limit}"),
        ("left on", f"{number(found.allowance / MM, 'mm', 2)} for tillering: with it the bow pulls that weight at "
         f"{found.rough_draw / INCH:.1f} in"),
    ]  # fmt: skip
    lines = [f"Limbs after {found.setup.name}", *told(rows), ""]
    for k, name in enumerate(("Upper", "Lower")):
        table = zip(found.stations[k], found.width[k], found.thickness[k], found.rough_thickness[k], strict=True)
        each = [
            (f"{100 * at:.1f}", number(width / MM, "", 1), number(thick / MM, "", 2), number(rough / MM, "", 2))
            for at, width, thick, rough in table
        ]
        heads = (("from the root", "width", "thickness", "rough"), ("cm", "mm", "mm", "mm"))
        lines += titled(f"{name} limb", columns(each, *heads))
    lines += [*wrapped(NEXT, "  ", "  "), ""]
    return with_warnings(lines, cautioned(found), len(found.limits_passed))


def cautioned(found: LimbDesign) -> list[str]:
    """The warnings, with what is to be minded when wood is worked."""
    from archerysim.equipment.cautions import SCRAPING
    from archerysim.shot.warnings import with_more

    return with_more(found.warnings, [SCRAPING])
