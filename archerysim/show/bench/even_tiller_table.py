"""What has to be done for a wanted tiller, in lines: where, how much, in which passes, what to measure between them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from archerysim.show.style import INCH, MM, POUND
from archerysim.show.text import columns, number, titled, told, with_warnings, wrapped

if TYPE_CHECKING:
    from archerysim.study.bench.wood.even_tiller import EvenTiller
    from archerysim.study.bench.wood.passes import Pass

KEPT = "string, locators and draw length"
NOTHING = "Nothing has to be done: the bow is there."
BETWEEN = {
    "scraping": (
        "Between passes: the same strokes along the whole stretch, then string it, draw it to the length in the table "
        "some thirty times and let it rest; then measure."
    ),
    "bolts": "Between passes: unstring the bow or follow its maker, turn, string it again; then measure.",
}
OFF_THE_TABLE = "More than 1 mm or half a pound off the table: stop, put the new measures into the file and ask again."
HEADS = (
    ("after pass", "done", "brace height", "upper tiller", "lower tiller", "split", "draw it to", "weight there"),
    ("", "%", "mm", "mm", "mm", "mm", "in", "lb"),
)


def even_tiller_table(found: EvenTiller) -> str:
    """All of it as a page of text.

    Parameters
    ----------
    found : EvenTiller
    """
    before, after = found.judges
    rows = [
        ("wished", "; ".join(found.wished)),
        ("kept", KEPT),
        ("split", f"{_mm(before.split)} before, {_mm(after.split)} after"),
        ("draw weight", f"{_lb(before.drawn.weight)} before, {_lb(after.drawn.weight)} after, at "
         f"{found.draw_length / INCH:.2f} in ({found.draw_length / MM:.0f} mm)"),
        ("strain", _strain(found)),
    ]  # fmt: skip
    lines = [f"{found.before.setup.name}: tillering by {found.by}", *told(rows), ""]
    if not found.steps:
        return with_warnings([*lines, f"  {NOTHING}", ""], found.warnings, len(found.limits_passed))
    lines += _scraped(found) if found.by == "scraping" else _turned(found)
    lines += titled("Passes: measure all of a row before the next", columns(map(_pass, _numbered(found)), *HEADS))
    lines += [*wrapped(BETWEEN[found.by], "  ", "  "), *wrapped(OFF_THE_TABLE, "  ", "  "), ""]
    return with_warnings(lines, found.warnings, len(found.limits_passed))


def _mm(value: float) -> str:
    return number(value / MM, "mm", 1, True)


def _lb(value: float) -> str:
    return f"{value / POUND:.1f} lb ({value:.0f} N)"


def _strain(found: EvenTiller) -> str:
    """How even, and how large; "" where it is not known."""
    if not np.isfinite(found.uneven).all():
        return ""
    most = 100.0 * found.strains.max(axis=(1, 2))
    one, other = (100.0 * share for share in found.uneven)
    return (
        f"even within {one:.1f} % before, {other:.1f} % after, where the limbs are to bend; at most {most[0]:.2f} % "
        f"before, {most[1]:.2f} % after"
    )


def _scraped(found: EvenTiller) -> list[str]:
    """A table for each limb: what is there, what goes, what is left."""
    from archerysim.equipment import filled

    full, lines = filled(found.before.setup), []
    each = len(found.passes) - 1
    for name, limb, at, off in zip(
        ("upper", "lower"), (full.upper_limb, full.lower_limb), found.stations, found.off, strict=True
    ):
        if float(off.max()) < 0.5e-5:
            lines += [f"Nothing off the {name} limb", ""]
            continue
        there = np.interp(at / limb.length, limb.at, limb.thickness)
        rows = [
            (f"{100 * place:.0f}", number(now / MM, "", 2), _less(depth), _less(depth / each),
             number((now - depth) / MM, "", 2))
            for place, now, depth in zip(at, there, off, strict=True)
        ]  # fmt: skip
        heads = (("from the root", "thick now", "off", "each pass", "leaves"), ("cm", "mm", "mm", "mm", "mm"))
        lines += titled(f"Off the belly of the {name} limb, straight lines between", columns(rows, *heads))
    return lines


def _less(depth: float) -> str:
    """A depth [m]; a dot where nothing is taken."""
    return number(depth / MM, "", 2) if depth >= 0.5e-5 else "."


def _turned(found: EvenTiller) -> list[str]:
    each = len(found.passes) - 1
    rows = [
        (limb, number(turns, "", 2, True), number(turns / each, "", 2, True))
        for limb, turns in zip(("upper", "lower"), found.turns, strict=True)
    ]
    return titled("Turns of the bolts, in +, out -", columns(rows, ("bolt", "altogether", "each pass")))


def _numbered(found: EvenTiller) -> list[tuple[int, Pass]]:
    return list(enumerate(found.passes))


def _pass(numbered: tuple[int, Pass]) -> list[str]:
    k, one = numbered
    lengths = (one.brace_height, one.upper_tiller, one.lower_tiller)
    split = number((one.upper_tiller - one.lower_tiller) / MM, "", 1, True)
    return [
        str(k) if k else "as it is", f"{100 * one.share:.0f}", *(number(value / MM, "", 1) for value in lengths), split,
        number(one.draw_length / INCH, "", 1), number(one.weight / POUND, "", 1),
    ]  # fmt: skip
