"""Bare against fletched as plain text: which way the locators go, then how high the bare shaft lands."""

from __future__ import annotations

from typing import TYPE_CHECKING

from archerysim.show.bare_shaft.plot import WHY, band_words, shown, told
from archerysim.show.bare_shaft.target_card import readings_shown, verdict
from archerysim.show.style import MM
from archerysim.show.text import columns, number, reading, titled, with_warnings, wrapped

if TYPE_CHECKING:
    from archerysim.study.bare_shaft.result import BareAgainstFletched

MOST_LOST = 8  # reasons told


def bare_shaft_table(result: BareAgainstFletched) -> str:
    """What to do at each distance with today's reading, and the heights over the reading with their bands.

    Parameters
    ----------
    result : BareAgainstFletched

    Returns
    -------
    str
        Readings by the setup's convention, heights of the bare shaft above the fletched one in mm. Limits that are
        passed on top; at the end the other warnings and the range's cautions.
    """
    tape = "taped to the fletched one's mass" if result.taped else "without tape"
    lines = [f"{result.setup.name}: where the bare shaft lands, {tape}", ""]
    inside = result.readings[0] <= result.today <= result.readings[-1]
    at = result.today if inside else readings_shown(result)[1]
    whose = "today's" if inside else "the"
    head = f"With {whose} {reading(at * MM, result.by)}"
    lines += titled(head, [line for far in result.distances for line in _advice(result, at, float(far))])
    rows = []
    for distance in map(float, result.distances):
        there = result.together(distance)
        best = [told(result, one) if one == one else "-" for one in (there.median, there.low, there.high)]
        wanted = number(result.wanted(distance) / MM, "", 0, True)
        rows.append((f"{distance:g} m", best[0], f"{best[1]} to {best[2]}" if best[1] != "-" else "-", wanted))
    heads = ("at", "best reading", "90 % sure", "wanted there"), ("", f"{result.by.convention} [mm]", "[mm]", "[mm]")
    lines += titled("Reading that brings bare and fletched together", columns(rows, *heads))
    for j, distance in enumerate(map(float, result.distances)):
        low, middle, high = result.lower[:, j], result.median[:, j], result.upper[:, j]
        cells = [
            (
                f"{at:.1f}", number(result.value[i, j] / MM, "", 0, True), number(middle[i] / MM, "", 0, True),
                f"{number(low[i] / MM, '', 0, True)} to {number(high[i] / MM, '', 0, True)}",
            )
            for i, at in enumerate(shown(result.by, result.readings))
        ]  # fmt: skip
        heads = ("reading", "bow as given", "middle", "90 % of bows"), (result.by.convention, "[mm]", "[mm]", "[mm]")
        lines += titled(f"Bare above fletched at {distance:g} m", columns(cells, *heads))
    lines += [*wrapped(WHY, "  ", "  "), *wrapped(band_words(result), "  ", "  "), ""]
    lines += _lost(result)
    return with_warnings(lines, result.warnings, len(result.limits_passed))


def _advice(result: BareAgainstFletched, at: float, distance: float) -> list[str]:
    """What the draws say of a reading by the underside [mm], in a sentence."""
    words = ""
    for line in verdict(result, at, distance).lines:
        goes_on = line.startswith(("(", "and ")) or words.endswith(("UP", "DOWN"))
        words += line if not words else f" {line}" if goes_on else f"; {line}"
    return wrapped(f"{distance:g} m: {words}")


def _lost(result: BareAgainstFletched) -> list[str]:
    """Why numbers are missing, each reason once, with how often."""
    counts: dict[str, int] = {}
    for one in result.missing:
        counts[one.reason] = counts.get(one.reason, 0) + 1
    told_of = [f"{why} ({count} times)" if count > 1 else why for why, count in list(counts.items())[:MOST_LOST]]
    if len(counts) > MOST_LOST:
        told_of.append(f"and {len(counts) - MOST_LOST} more reasons")
    return titled("Without a number", [line for one in told_of for line in wrapped(one)]) if told_of else []
