"""Bare against fletched as plain text: which way the locators go, how high the bare shaft lands; several flights."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from archerysim.show.bare_shaft.plot import WHY, band_words, shown
from archerysim.show.bare_shaft.verdict import readings_shown, verdict
from archerysim.show.style import MM
from archerysim.show.text import columns, grouped, number, reading, titled, told, with_warnings, wrapped
from archerysim.show.tuning.answer import CONTACT, answer_rows, span_words

if TYPE_CHECKING:
    from archerysim.study.bare_shaft.flights import Flights
    from archerysim.study.bare_shaft.result import BareAgainstFletched

MOST_LOST = 8  # reasons told
ALL = "heights over the reading with their bands, and what the draws say at each distance: --all"
NEAR = 0.05  # [mm] from today's reading


def bare_shaft_table(result: BareAgainstFletched, distances: Sequence[str] = (), full: bool = True) -> str:
    """What to do now and how sure that is; then what the draws say at each distance, and the heights over the reading.

    Parameters
    ----------
    result : BareAgainstFletched
    distances : sequence of str
        As the user said them.
    full : bool
        False: only what to do now.

    Returns
    -------
    str
        Readings by the setup's convention, heights of the bare shaft above the fletched one in mm. Limits that are
        passed on top; at the end the other warnings and the range's cautions.
    """
    tape = "taped to the fletched one's mass" if result.taped else "without tape"
    names = list(distances) or [f"{distance:g} m" for distance in map(float, result.distances)]
    lines = [f"{result.setup.name}: where the bare shaft lands, {tape}; readings {result.by.words}", ""]
    found, move = result.ranges[0], result.moves[0]
    if move is None:
        lost = f"NO ANSWER at {names[0]}: {found.failed} of {found.draws} bows that fit this file have none"
        lines += wrapped(f"{lost} ({next(iter(found.reasons), '')})")
    else:
        rows = answer_rows(found, move, result.butts[0], names[0], True)
        farther = zip(names[1:], result.moves[1:], strict=True)
        spans = [f"{name}: {'none' if one is None else span_words(one, found.by)}" for name, one in farther]
        lines += told([*rows, ("range at", "; ".join(spans))] if spans else rows)
    lines += ["", *_detail(result, names)] if full else [f"  {ALL}", ""]
    if move is not None and (move.touches_today or move.touches_there):
        lines += [*wrapped(CONTACT), ""]
    return with_warnings(lines, result.warnings, len(result.limits_passed))


def _detail(result: BareAgainstFletched, names: Sequence[str]) -> list[str]:
    """What the draws say of today's reading, and the heights over the reading with their bands."""
    inside = result.readings[0] <= result.today <= result.readings[-1]
    at = result.today if inside else readings_shown(result)[1]
    whose = "today's" if inside else "the"
    advice = [
        line
        for far, name in zip(map(float, result.distances), names, strict=True)
        for line in _advice(result, at, far, name)
    ]
    lines = titled(f"With {whose} {reading(at * MM, result.by)}", advice)
    rows = []
    for distance, name, move in zip(map(float, result.distances), names, result.moves, strict=True):
        best = number(float(shown(result.by, result.together((distance, "m")).median)), "", 1)
        wanted = number(result.wanted((distance, "m")) / MM, "", 0, True)
        rows.append((name, best, "-" if move is None else span_words(move, result.by), wanted))
    heads = ("at", "best reading", "90 % sure", "wanted there"), ("", f"{result.by.convention} [mm]", "", "[mm]")
    lines += titled("Reading that brings bare and fletched together", columns(rows, *heads))
    for j, name in enumerate(names):
        low_j, middle, high_j = result.lower[:, j], result.median[:, j], result.upper[:, j]
        cells = [
            (
                f"{at:.1f}", number(result.value[i, j] / MM, "", 0, True), number(middle[i] / MM, "", 0, True),
                f"{number(low_j[i] / MM, '', 0, True)} to {number(high_j[i] / MM, '', 0, True)}",
            )
            for i, at in enumerate(shown(result.by, result.readings))
        ]  # fmt: skip
        heads = ("reading", "bow as given", "middle", "90 % of bows"), (result.by.convention, "[mm]", "[mm]", "[mm]")
        lines += titled(f"Bare above fletched at {name}", columns(cells, *heads))
    lines += [*wrapped(WHY, "  ", "  "), *wrapped(band_words(result), "  ", "  "), ""]
    return [*lines, *_lost(result)]


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


def _advice(result: BareAgainstFletched, at: float, distance: float, name: str) -> list[str]:
    """What the draws say of a reading by the underside [mm], in a sentence."""
    words = ""
    for line in verdict(result, at, distance).lines:
        goes_on = line.startswith(("(", "and ", "to ")) or words.endswith(("UP", "DOWN"))
        words += line if not words else f" {line}" if goes_on else f"; {line}"
    return wrapped(f"{name}: {words}")


def _lost(result: BareAgainstFletched) -> list[str]:
    """Why numbers are missing, each reason once, with how often."""
    counts: dict[str, int] = {}
    for one in result.missing:
        counts[one.reason] = counts.get(one.reason, 0) + 1
    reasons = [f"{why} ({count} times)" if count > 1 else why for why, count in list(counts.items())[:MOST_LOST]]
    if len(counts) > MOST_LOST:
        reasons.append(f"and {len(counts) - MOST_LOST} more reasons")
    return titled("Without a number", [line for one in reasons for line in wrapped(one)]) if reasons else []
