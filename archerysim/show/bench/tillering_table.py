"""A stave on the tillering tree in lines: each length, what is scraped there, what remains."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from archerysim.show.style import INCH, MM, POUND
from archerysim.show.text import columns, number, titled, told, with_warnings, wrapped

if TYPE_CHECKING:
    from archerysim.study.bench.wood.tillering import Stage, Tillering

HEADS = (
    ("length", "string", "brace", "as it is, to", "pulls", "uneven", "deepest off", "then pulls", "uneven", "tillers",
     "off the wanted"),
    ("in", "", "mm", "in", "lb", "%", "mm", "lb", "%", "mm", "outline, mm"),
)  # fmt: skip
RULES = (
    "At each length: draw it no further than it pulls the intended weight; scrape where it bends too little; work it "
    "some thirty times to this length; then judge it, and only when both limbs bend evenly go to the next length. Rest "
    "it between. This is what the model would scrape: on the tree the eye and the scale decide."
)


def tillering_table(found: Tillering) -> str:
    """All of it as a page of text.

    Parameters
    ----------
    found : Tillering
    """
    alike = "strain" if found.law == "even strain" else "curvature"
    rows = [
        ("intended", f"{found.draw_weight / POUND:.1f} lb ({found.draw_weight:.0f} N) at "
         f"{found.stages[-1].draw_length / INCH:.1f} in"),
        ("even", f"{alike} within {100 * found.even:.0f} % of its mean over both limbs, where they are to bend"),
        ("remains", f"{100 * found.left:.1f} %; {found.stages[-1].from_target / MM:.1f} mm off the wanted outline"),
        ("set", "none is reckoned with" if not found.set_share else
         f"{100 * found.set_share:.0f} % of the bend beyond seven tenths of the strain limit [judgement]"),
    ]  # fmt: skip
    lines = [f"{found.stave.name} on the tillering tree", *told(rows), ""]
    lines += titled("Lengths", columns(map(_stage, found.stages), *HEADS))
    for stage in found.stages:
        if stage.steps:
            lines += _scraped(stage)
    lines += [*wrapped(RULES, "  ", "  "), ""]
    return with_warnings(lines, cautioned(found), len(found.limits_passed))


def cautioned(found: Tillering) -> list[str]:
    """The warnings, with what is to be minded when wood is worked."""
    from archerysim.equipment.cautions import SCRAPING
    from archerysim.shot.warnings import with_more

    return with_more(found.warnings, [SCRAPING])


def _stage(stage: Stage) -> list[str]:
    deepest = max(float(one.max()) for one in stage.off)
    tillers = f"{stage.upper_tiller / MM:.1f}, {stage.lower_tiller / MM:.1f}"
    return [
        number(stage.draw_length / INCH, "", 1), "long" if stage.long_string else "its own",
        number(stage.brace_height / MM, "", 0), number(stage.drawn_first / INCH, "", 1),
        number(stage.weight_first / POUND, "", 1), number(100 * stage.uneven_first, "", 1),
        number(deepest / MM, "", 2) if stage.steps else ".", number(stage.weight / POUND, "", 1),
        number(100 * stage.uneven, "", 1), tillers, number(stage.from_target / MM, "", 1),
    ]  # fmt: skip


def _scraped(stage: Stage) -> list[str]:
    """What comes off both limbs at one length."""
    rows = []
    for name, at, off in zip(("upper", "lower"), stage.at, stage.off, strict=True):
        rows.append((f"{name}, from the root [cm]", *(f"{100 * one:.0f}" for one in at)))
        rows.append(("  off the belly [mm]", *(number(one / MM, "", 2) if one > 0.5e-5 else "." for one in off)))
    wide = max(map(len, rows))
    padded = [(*row, *[""] * (wide - len(row))) for row in rows]
    times = int(np.ceil(len(stage.steps) / 2))
    again = f", in {times} scrapings" if times > 1 else ""
    return titled(f"Scraped at {stage.draw_length / INCH:.1f} in{again}", columns(padded))
