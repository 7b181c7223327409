"""A tune as plain text: what to do now, then all the rest; or what comes nearest."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from archerysim.show.lines import reading_lines
from archerysim.show.style import INCH, MM
from archerysim.show.text import number, pairs, titled, told, with_warnings, wrapped
from archerysim.show.tuning.answer import CONTACT, LITTLE, answer_rows, move_words

if TYPE_CHECKING:
    from archerysim.equipment.readings import ReadBy
    from archerysim.shot.launch import Launch
    from archerysim.study.tuning.honest_range import HonestRange
    from archerysim.study.tuning.search import Jump
    from archerysim.study.tuning.tune_two import TunedTwo
    from archerysim.study.tuning.tuned import Tuned

LEAST_SHARE = 0.02  # of the variance: smaller ones are left out
READING = "nock.locators.reading"
OF = {"mm": "on the target", "deg": "at clear", "rad/s": "at clear"}
UNSURE = (
    "All this is for the bow as in the file. What nobody measures (fingers, release, hand) can move the best value "
    "by some millimetres of reading: go in small steps and let bare shafts decide (archerysim read-group)."
)
SMALL = "for the bow as the file has it: go in small steps and let groups decide (archerysim read-group)"
ALL_TWO = "readings by the square, pitch and attack at clear: --all"
ALL = "readings by the square, window, slope and the other aims: --all"
FIRST = "Do not chase it far: look first at shaft, rest, crawl and finger shares, and at the numbers in the file."
ENDS = {"higher": "; at its upper end, still more may help", "lower": "; at its lower end, still less may help", "": ""}
BEFORE = "look for the cause first (a number in the file, shaft, rest, fingers), and ask a coach."
JUMPS = (
    "On one side of it the shaft touches something on its way out, usually the rest, that it just misses on the "
    "other: no setting to tune by. Clear that first, by the side support, the reach of the rest or another shaft."
)


def tune_table(
    tuned: Tuned, today: float, distance: str = "", crawls: tuple[str, ...] = (), full: bool = True
) -> str:  # fmt: skip
    """A tuned setting: what to do now, and how sure that is; then readings, window, slope, other aims.

    Where no value meets the aim: on which side the answer lies, and what the nearest value does.

    Parameters
    ----------
    tuned : Tuned
    today : float
        Where the setting stands now, in its unit, a reading by the setup's convention:
        ``archerysim.study.tuning.tune.today``.
    distance : str
        Of the target, as the user said it.
    crawls : tuple of str
        The string-walker's crawls over which it is a compromise.
    full : bool
        False: only what to do now.
    """
    distance = distance or f"{tuned.distance:g} m"
    by = f", {tuned.by.words}" if tuned.path == READING else ""
    lines = [f"{tuned.setup.name}: {_words(tuned.path)}{by}, for {tuned.aim}{_at(tuned, distance)}", ""]
    if crawls:
        lines += [f"  A compromise over crawls of {', '.join(crawls)}; the readings are those of the first.", ""]
    sure = tuned.range is not None and tuned.move is not None
    if not tuned.met:
        lines += [*_nearest(tuned, today, distance, full or not sure), ""]
    if tuned.range is not None and tuned.move is not None:
        met = tuned.met or tuned.good_enough
        lines += [*told(answer_rows(tuned.range, tuned.move, tuned.butt, distance, met)), ""]
    elif tuned.met:
        lines += [*told(_answer(tuned, today, full)), ""]
    if full:
        lines += _detail(tuned, today)
    else:
        lines[-1] = f"  {ALL}"
        lines += [""]
    if tuned.touches_rest or (tuned.move is not None and (tuned.move.touches_today or tuned.move.touches_there)):
        lines += [*wrapped(CONTACT), ""]
    low = tuned.path == READING and tuned.value < today
    where = _place_words(_value(tuned.path, tuned.value, tuned.unit, tuned.by), tuned.met)
    cautions = _cautions(tuned.launch, True, tuned.distance, tuned.unusual, where, low)
    return with_warnings(lines, cautions, len(tuned.launch.limits_passed))


def _at(tuned: Tuned, distance: str) -> str:
    return f" at {distance}" if tuned.measure_unit == "mm" else ""


def _answer(tuned: Tuned, today: float, full: bool) -> list[tuple[str, str]]:
    """What to do now where there is no range."""
    then = "then shoot again, the best estimate is"
    rows = [("now", _move(tuned.path, tuned.value, today, tuned.unit, tuned.by, then))]
    if not full:
        low, high = tuned.window
        rows.append(
            ("still good", f"{_span(low, high, tuned.unit)}: within {tuned.size:.3g} {tuned.measure_unit} {_of(tuned)}")
        )
        rows.append(("surer", SMALL))
    if tuned.no_range:
        rows.append(("no range", tuned.no_range.rstrip(".")))
    elif tuned.range is not None:
        lost = f"{tuned.range.failed} of {tuned.range.draws} bows that fit this file have no such reading"
        rows.append(("no range", f"{lost}: {next(iter(tuned.range.reasons), '')}".rstrip(": .")))
    return rows


def _detail(tuned: Tuned, today: float) -> list[str]:
    """Readings, window, slope, jumps, what was left out, and what the other aims say."""
    lines = titled(
        "Locators there, by the square", reading_lines(tuned.reading, tuned.reading_top, tuned.axis_above_square)
    )
    lines += titled("How far off is still good", _sure(tuned, today)) if tuned.met else titled("There", _there(tuned))
    if tuned.jumps:
        lines += titled("It jumps over zero", [line for one in tuned.jumps for line in _jumped(tuned, one)])
    if tuned.failed:
        lines += titled("Left out, because there is no shot", _left_out(tuned))
    if tuned.range is not None:
        lines += titled("What decides how wide the range is", _shares(tuned.range))
        if tuned.range.reasons or tuned.range.touching:
            lines += titled("Bows drawn without an answer, or with contact", _without(tuned.range))
    lines += [*wrapped(UNSURE), ""]
    said = [(name, _other(tuned, name)) for name in tuned.others]
    if said:
        told_by = f", {tuned.by.words}" if tuned.path == READING else ""
        lines += titled(f"Other aims would have given{told_by}", pairs(said))
    return lines


def _shares(found: HonestRange) -> list[str]:
    """Every kind of input with its share, the larger ones."""
    return pairs([(one.words, f"{100.0 * one.share:.0f} %") for one in found.deciding if one.share >= LEAST_SHARE])


def _without(found: HonestRange) -> list[str]:
    rows = [f"{count} of {found.draws}: {why}" for why, count in found.reasons.items()]
    touching = f"{found.touching} of the others touch rest or riser on the way out at their answer"
    return [line for row in [*rows, touching] for line in wrapped(row)]


def two_table(found: TunedTwo, today: dict[str, float], full: bool = True) -> str:
    """Two settings that meet two aims together, or come nearest to it.

    Parameters
    ----------
    found : TunedTwo
    today : dict of path to value
        As they stand now, in the fields' units: ``archerysim.study.tuning.tune.today``.
    full : bool
        False: only what to do now.
    """
    from archerysim.equipment import field_info

    launch, values, aims = found.launch, found.values, tuple(found.left)
    units = {path: field_info(path).unit for path in values}
    lines = [f"{launch.setup.name}: two settings for {aims[0]!r} and {aims[1]!r} together", ""]
    if not found.met:
        lines += wrapped("NO ANSWER: nothing in range meets both aims.")
        for path, span in found.searched.items():
            whose = "your range" if found.asked[path] else "searched"
            at = ENDS[found.ways[path]]
            lines += wrapped(f"{_words(path)}, {whose}: {_span_words(path, span, units[path], found.by)}{at}")
        lines += [*wrapped(FIRST), "", "  The nearest:"]
    for path, value in values.items():
        lines += wrapped(_move(path, value, today[path], units[path], found.by, "in the end"))
    if full:
        lines += ["", *titled("There, at clear", pairs(_at_clear(launch)))]
        lines += titled(
            "Locators there, by the square",
            reading_lines(launch.reading, launch.reading_top, launch.axis_above_square),
        )
    else:
        lines += [f"  {ALL_TWO}", ""]
    if found.touches_rest:
        lines += [*wrapped(CONTACT), ""]
    bare = found.touches_rest or any(aim.startswith("bare") for aim in aims)
    told = " and ".join(
        f"{_words(path)} {_value(path, value, units[path], found.by)}" for path, value in values.items()
    )
    low = READING in values and values[READING] < today[READING]
    cautions = _cautions(launch, bare, found.distance, found.unusual, _place_words(told, found.met), low)
    return with_warnings(lines, cautions, len(launch.limits_passed))


def _words(path: str) -> str:
    return "locators" if path == READING else path.replace("_", " ").replace(".", " ")


def _value(path: str, value: float, unit: str, by: ReadBy) -> str:
    """A value with its unit; a reading in mm and sixteenths of an inch, with the way it is told."""
    from archerysim.equipment.readings import both_units

    return f"{both_units(value * MM)} {by.words}" if path == READING else f"{value:.4g} {unit}".rstrip()


def _span_words(path: str, span: tuple[float, float], unit: str, by: ReadBy) -> str:
    """A range with its unit."""
    if path == READING:
        return f"{span[0]:.1f} to {span[1]:.1f} mm {by.words}"
    return f"{span[0]:.4g} to {span[1]:.4g} {unit}".rstrip()


def _way(path: str, way: str) -> str:
    """The side of a range on which the answer lies."""
    if path == READING:
        return f"the answer lies {way.upper()}, with the locators farther {'up' if way == 'higher' else 'down'}"
    text = f"the answer lies {way.upper()}, at a {'larger' if way == 'higher' else 'smaller'} value"
    return f"{text}; do not turn bolts farther than their maker allows" if path.endswith("bolt_turns") else text


def _nearest(tuned: Tuned, today: float, distance: str, full: bool) -> list[str]:
    """That there is no answer, where it lies, and what the nearest value does."""
    where = "your range" if tuned.asked else "the range searched"
    where += f", {_span_words(tuned.path, tuned.searched, tuned.unit, tuned.by)}"
    lies = f": {_way(tuned.path, tuned.way)}" if tuned.way else "; neither end of it leads there"
    lines = wrapped(f"{'ONLY GOOD ENOUGH,' if tuned.good_enough else 'NO ANSWER'} in {where}{lies}.")
    by = tuned.value - today
    way = f", {_step(tuned.path, by, tuned.unit)} today's" if abs(by) > 1e-3 * abs(today) else ", as today"
    if full:
        near = _value(tuned.path, tuned.value, tuned.unit, tuned.by)
        lines += wrapped(f"The nearest is {near}{way}: {left(tuned, distance)}.")
    if tuned.good_enough:
        return lines
    further = f"A range that reaches farther {'up' if tuned.way == 'higher' else 'down'} may hold it. "
    return lines + wrapped((further if tuned.asked and tuned.way else "") + FIRST)


def _step(path: str, by: float, unit: str) -> str:
    """A difference in words."""
    size = f"{abs(by):.1f} mm" if path == READING else f"{abs(by):.3g} {unit}".rstrip()
    return f"{size} {'over' if by > 0.0 else 'under'}"


def left(tuned: Tuned, distance: str = "") -> str:
    """What the measure of an aim is at the value found, in words; the distance as the user said it."""
    at = tuned.measure
    if tuned.measure_unit == "mm":
        size = f"{abs(at):.0f} mm ({abs(at) * MM / INCH:.1f} in)"
        level = "where this aim wants it" if tuned.aim != "bare and fletched together" else "where it should"
        way = "above" if at > 0.0 else "below"
        text = f"the bare shaft lands {size} {way} {level} at {distance or f'{tuned.distance:g} m'}"
    elif tuned.aim == "least swing":
        text = f"the largest angle of attack in flight is {at:.2f} deg"
    else:
        name = tuned.aim.removeprefix("no ")
        text = f"the {name} at clear is {number(at, tuned.measure_unit, 2, True)}, nose up +"
    good = f", within what is good enough, {tuned.size:.3g} {tuned.measure_unit}"
    return text + (good if tuned.good_enough else "")


def _jumped(tuned: Tuned, jump: Jump) -> list[str]:
    """Where a measure jumps over zero, and why that is no answer."""
    unit, digits = tuned.measure_unit, 0 if tuned.measure_unit == "mm" else 2
    measure = f"the {tuned.aim.removeprefix('no ')} at clear"
    if unit == "mm":
        measure = "the height of the bare shaft over where it should land"
    below, above = number(jump.below, "", digits, True), number(jump.above, unit, digits, True)
    return wrapped(
        f"At {_value(tuned.path, jump.value, tuned.unit, tuned.by)} {measure} jumps from {below} to {above}. {JUMPS}"
    )


def _there(tuned: Tuned) -> list[str]:
    """What the nearest value does."""
    rows = [
        ("slope", f"{tuned.slope:+.3g} {tuned.measure_unit} {_of(tuned)} for 1 {tuned.unit} more".rstrip()),
        ("good enough", f"within {tuned.size:.3g} {tuned.measure_unit} {_of(tuned)}"),
        *_at_clear(tuned.launch),
    ]
    return pairs(rows if math.isfinite(tuned.slope) else rows[1:])


def _of(tuned: Tuned) -> str:
    return "in flight" if tuned.aim == "least swing" else OF[tuned.measure_unit]


def _at_clear(launch: Launch) -> list[tuple[str, str]]:
    clear = launch.clear
    return [
        ("pitch, nose up +", number(clear.pitch, "deg", 3, True)),
        ("pitch rate, nose up +", number(clear.pitch_rate, "rad/s", 3, True)),
        ("angle of attack, nose up +", number(clear.angle_of_attack, "deg", 3, True)),
    ]


def _left_out(tuned: Tuned) -> list[str]:
    """Values without a shot; neighbours with one kind of reason together."""
    from archerysim.shot.warnings import kind_of, ranged

    reasons, last = dict(tuned.failed), ""
    runs: list[list[float]] = []
    for value, measure in tuned.looked:
        kind = "" if math.isfinite(measure) else kind_of(reasons[value])
        if kind and kind == last:
            runs[-1].append(float(value))
        elif kind:
            runs.append([float(value)])
        last = kind
    lines = []
    for values in runs:
        ends = [f"{one:.4g}" for one in (values[0], values[-1])]
        span = ends[0] if len(values) == 1 else f"{len(values)} values from {ends[0]} to {ends[1]}"
        lines += wrapped(f"{span} {tuned.unit}".rstrip() + f": {ranged([reasons[one] for one in values])}")
    return lines


def _move(path: str, value: float, today: float, unit: str, by: ReadBy, then: str) -> str:
    """The move to make now from today's value towards the best one; where it does not lead there, what comes then."""
    from archerysim.study.notes.move import FARTHEST

    words = _moved(path, value, today, unit, by)
    far = path == READING and abs(value - today) > FARTHEST / MM + LITTLE
    return f"{words}; {then} {_value(path, value, unit, by)}" if far else words


def _moved(path: str, value: float, today: float, unit: str, told_by: ReadBy) -> str:
    """A move from today's value to another one; of locators no more than is moved at once."""
    from archerysim.study.notes.move import FARTHEST

    if path == READING:
        most = FARTHEST / MM
        to = today + min(max(value - today, -most), most)
        low, high = (float(told_by.underside(one * MM)) / MM for one in (today, to))
        return f"{move_words(low, high, told_by)}, {told_by.words}"
    words = f"{_words(path)}: from {today:.4g} to {value:.4g} {unit}".rstrip()
    words += f", that is {value - today:+.3g} {unit}".rstrip()
    return words + (" (+ in, - out)" if path.endswith("bolt_turns") else "")


def _sure(tuned: Tuned, today: float) -> list[str]:
    low, high = tuned.window
    inside = (not low > today) and (not high < today)
    unit = tuned.unit
    rows = [
        ("still good", _span(low, high, unit) + f": within {tuned.size:.3g} {tuned.measure_unit} "
         f"{_of(tuned)}"),
        ("today", f"{today:.4g} {unit}".rstrip() + (", inside" if inside else ", outside")),
        ("slope", f"{tuned.slope:+.3g} {tuned.measure_unit} {_of(tuned)} for 1 {unit} more".rstrip()),
    ]  # fmt: skip
    if tuned.also:
        rows.append(("other answers", ", ".join(_value(tuned.path, one, unit, tuned.by) for one in tuned.also)))
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


def _other(tuned: Tuned, name: str) -> str:
    from archerysim.equipment.readings import both_units

    value, way = tuned.others[name], tuned.others_way.get(name, "")
    if not math.isfinite(value):
        return f"nothing in range: it lies {way}" if way else "nothing in range"
    return both_units(value * MM) if tuned.path == READING else f"{value:.4g} {tuned.unit}".rstrip()


def _place_words(value: str, met: bool) -> str:
    """At which value the launch was made that the warnings are of."""
    return f"At {value} (the {'estimate' if met else 'nearest'})"


def _cautions(
    launch: Launch, bare: bool, distance: float, unusual: tuple[str, ...], where: str, lower: bool
) -> list[str]:  # fmt: skip
    """Warnings of the launch, those of contact with the value that it was made with; cautions of unusual settings and
    those for the range.
    """
    from archerysim.shot.flight.range_cautions import range_cautions
    from archerysim.shot.warnings import of_contact_at, with_more

    odd = [f"{words[0].upper()}{words[1:]}: {BEFORE}" for words in unusual]
    return with_more(
        of_contact_at(launch.warnings, where, lower), [*odd, *range_cautions(distance, bare, launch.setup.category)]
    )
