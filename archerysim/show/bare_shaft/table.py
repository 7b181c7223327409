"""Bare against fletched as plain text: which way the locators go, how high the bare shaft lands; several flights."""

from __future__ import annotations

from typing import TYPE_CHECKING

from archerysim.show.bare_shaft.plot import WHY, band_words, reading_words, shown
from archerysim.show.bare_shaft.verdict import readings_shown, verdict
from archerysim.show.style import MM
from archerysim.show.text import columns, grouped, number, reading, titled, with_warnings, wrapped

if TYPE_CHECKING:
    from archerysim.study.bare_shaft.flights import Flights
    from archerysim.study.bare_shaft.result import BareAgainstFletched

MOST_LOST = 8  # reasons told
NEAR = 0.05  # [mm] from today's reading


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
        there = result.together((distance, "m"))
        best = [reading_words(result, one) if one == one else "-" for one in (there.median, there.low, there.high)]
        wanted = number(result.wanted((distance, "m")) / MM, "", 0, True)
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


def flights_table(flown: Flights) -> str:
    """Flights of several readings, bare and fletched: where the bare shaft lands with the fletched one's sight.

    Parameters
    ----------
    flown : Flights

    Returns
    -------
    str
        Readings by the setup's convention. Limits that are passed on top; at the end the other warnings and the
        range's cautions.
    """
    from archerysim.shot.flight.range_cautions import range_cautions
    from archerysim.shot.warnings import with_more

    tape = "taped to the fletched one's mass" if flown.taped else "without tape"
    lines = [f"{flown.name}: bare shafts beside fletched ones at {flown.distance:g} m, {tape}", ""]
    rows = []
    for row in flown.rows:
        at = float(shown(flown.by, row.reading))
        today = "today" if abs(row.reading - flown.today) < NEAR else ""
        if row.launch is None or row.fletched is None:
            rows.append((f"{at:.1f}", *("-",) * 5, today))
            continue
        clear = row.launch.clear
        rows.append((
            f"{at:.1f}", number(row.apart / MM, "", 1, True), number(row.wanted / MM, "", 1, True),
            number(clear.angle_of_attack, "", 3, True), number(clear.pitch_rate, "", 3, True),
            number(row.fletched.elevation, "", 3, True), today,
        ))  # fmt: skip
    heads = (
        ("reading", "bare above fletched", "by drag and mass", "attack", "pitch rate", "sight", ""),
        (f"{flown.by.convention} [mm]", "[mm]", "alone [mm]", "[deg]", "[rad/s]", "[deg]", ""),
    )
    lines += [*columns(rows, *heads), "", *wrapped(WHY, "  ", "  "), ""]
    lost = [f"{shown(flown.by, row.reading):.1f} mm: {row.reason}" for row in flown.rows if row.reason]
    lines += titled("Without a flight", [line for one in lost for line in wrapped(one)]) if lost else []
    launches = [row.launch for row in flown.rows if row.launch is not None]
    sentences, passed = grouped(
        ["\n".join(one.warnings) for one in launches], "readings", [len(one.limits_passed) for one in launches]
    )
    category = launches[0].setup.category if launches else ""
    return with_warnings(lines, with_more(sentences, range_cautions(flown.distance, True, category)), passed)


def _advice(result: BareAgainstFletched, at: float, distance: float) -> list[str]:
    """What the draws say of a reading by the underside [mm], in a sentence."""
    words = ""
    for line in verdict(result, at, distance).lines:
        goes_on = line.startswith(("(", "and ", "to ")) or words.endswith(("UP", "DOWN"))
        words += line if not words else f" {line}" if goes_on else f"; {line}"
    return wrapped(f"{distance:g} m: {words}")


def _lost(result: BareAgainstFletched) -> list[str]:
    """Why numbers are missing, each reason once, with how often."""
    counts: dict[str, int] = {}
    for one in result.missing:
        counts[one.reason] = counts.get(one.reason, 0) + 1
    reasons = [f"{why} ({count} times)" if count > 1 else why for why, count in list(counts.items())[:MOST_LOST]]
    if len(counts) > MOST_LOST:
        reasons.append(f"and {len(counts) - MOST_LOST} more reasons")
    return titled("Without a number", [line for one in reasons for line in wrapped(one)]) if reasons else []
