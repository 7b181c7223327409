"""A tune as plain text: the best value, how far off it still does, and how to get there."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from archerysim.show.facts import reading_lines
from archerysim.show.style import MM
from archerysim.show.text import number, pairs, titled, with_warnings, wrapped

if TYPE_CHECKING:
    from archerysim.shot.launch import Launch
    from archerysim.study.tune import Tuned

READING = "nock.locators.reading"
OF = {"mm": "on the target", "deg": "at clear", "rad/s": "at clear"}
UNSURE = (
    "All this is for the bow as the file has it. What nobody measures (fingers, release, hand) can move the best value "
    "by some millimetres of reading: go in small steps and let bare shafts decide (archerysim read-group)."
)
LIES = (
    "The shaft touches the rest on its way out there: a bare shaft can then lie about the locators. Start high, come "
    "down, and check the clearance with powder or paint."
)


def tune_table(tuned: Tuned, today: float, distance: str = "", crawls: tuple[str, ...] = ()) -> str:
    """A tuned setting: value, readings, window, slope, other aims, and the way from today's.

    Parameters
    ----------
    tuned : Tuned
    today : float
        Where the setting stands now, in its unit: `archerysim.study.tune.today`.
    distance : str
        Of the target, for the head.
    crawls : tuple of str
        The string-walker's crawls over which it is a compromise.
    """
    aim = tuned.aim + (f" at {distance}" if distance and tuned.measure_unit == "mm" else "")
    lines = [f"{tuned.setup.name}: {_words(tuned.path)} for {aim}", ""]
    if crawls:
        lines += [f"  A compromise over crawls of {', '.join(crawls)}; the readings are those of the first.", ""]
    lines += [f"  {_move(tuned.path, tuned.value, today, tuned.unit)}", ""]
    lines += titled(
        "Locators there, by the square", reading_lines(tuned.reading, tuned.reading_top, tuned.axis_above_square)
    )
    lines += titled("How far off is still good", _sure(tuned, today))
    lines += [*wrapped(UNSURE), ""]
    said = [(name, _other(tuned, value)) for name, value in tuned.others.items()]
    if said:
        lines += titled("Other aims would have said", pairs(said))
    if tuned.touches_rest:
        lines += [*wrapped(LIES), ""]
    told = _cautions(tuned.launch, True, tuned.distance)
    return with_warnings(lines, told, len(tuned.launch.limits_passed))


def two_table(
    values: dict[str, float], today: dict[str, float], aims: tuple[str, str], launch: Launch, units: dict[str, str],
    distance: float = 18.0,
) -> str:  # fmt: skip
    """Two settings that meet two aims together.

    Parameters
    ----------
    values, today : dict of path to value
        Found and as they stand now, in the fields' units.
    aims : (str, str)
    launch : Launch
        With both.
    units : dict of path to unit
    distance : float
        Of the target [m].
    """
    lines = [f"{launch.setup.name}: two settings for {aims[0]!r} and {aims[1]!r} together", ""]
    lines += [f"  {_move(path, value, today[path], units[path])}" for path, value in values.items()]
    clear = launch.clear
    lines += ["", *titled(
        "There, at clear",
        pairs([
            ("pitch, nose up +", number(clear.pitch, "deg", 3, True)),
            ("pitch rate, nose up +", number(clear.pitch_rate, "rad/s", 3, True)),
            ("angle of attack, nose up +", number(clear.angle_of_attack, "deg", 3, True)),
        ]),
    )]  # fmt: skip
    lines += titled(
        "Locators there, by the square",
        reading_lines(launch.reading, launch.reading_top, launch.axis_above_square),
    )
    if launch.events:
        lines += [*wrapped(LIES), ""]
    bare = bool(launch.events) or any(aim.startswith("bare") for aim in aims)
    return with_warnings(lines, _cautions(launch, bare, distance), len(launch.limits_passed))


def _words(path: str) -> str:
    return "locators" if path == READING else path.replace("_", " ")


def _move(path: str, value: float, today: float, unit: str) -> str:
    """How to get from today's value to the best one."""
    from archerysim.equipment.readings import both_units
    from archerysim.study.move import FARTHEST

    by, most = value - today, FARTHEST / MM
    if path == READING:
        if abs(by) < 0.05:
            return f"locators STAY at {both_units(today * MM)}, by the underside"
        way = "UP" if by > 0.0 else "DOWN"
        once = f"; {most:.0f} mm at most at once, then shoot again" if abs(by) > most else ""
        return (
            f"locators {way} {both_units(abs(by) * MM)}: from {both_units(today * MM)} to {both_units(value * MM)}, "
            f"by the underside{once}"
        )
    told = f"{_words(path)}: from {today:.4g} to {value:.4g} {unit}".rstrip()
    told += f", that is {by:+.3g} {unit}".rstrip()
    return told + (" (+ in, - out)" if path.endswith("bolt_turns") else "")


def _sure(tuned: Tuned, today: float) -> list[str]:
    low, high = tuned.window
    inside = (not low > today) and (not high < today)
    unit = tuned.unit
    rows = [
        ("still good", _span(low, high, unit) + f": within {tuned.size:.3g} {tuned.measure_unit} "
         f"{OF[tuned.measure_unit]}"),
        ("today", f"{today:.4g} {unit}".rstrip() + (", inside" if inside else ", outside")),
        ("slope", f"{tuned.slope:+.3g} {tuned.measure_unit} {OF[tuned.measure_unit]} for 1 {unit} more".rstrip()),
    ]  # fmt: skip
    return pairs(rows)


def _span(low: float, high: float, unit: str) -> str:
    """From one end of a window to the other; nan where it is open within the range."""
    if math.isnan(low) and math.isnan(high):
        return "all of the range"
    if math.isnan(low):
        return f"up to {high:.2f} {unit}".rstrip()
    if math.isnan(high):
        return f"from {low:.2f} {unit} on".replace("  ", " ")
    return f"{low:.2f} to {high:.2f} {unit}".rstrip()


def _other(tuned: Tuned, value: float) -> str:
    from archerysim.equipment.readings import both_units

    if not math.isfinite(value):
        return "nothing in range"
    return both_units(value * MM) if tuned.path == READING else f"{value:.4g} {tuned.unit}".rstrip()


def _cautions(launch: Launch, bare: bool, distance: float) -> list[str]:
    """Warnings of the launch, and the cautions for the range."""
    from archerysim.shot.on_the_range import range_cautions
    from archerysim.shot.warnings import with_more

    return with_more(launch.warnings, range_cautions(distance, bare, launch.setup.category))
