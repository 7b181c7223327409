"""Groups as plain text: how wide, how sure, and what changed from shot to shot."""

from __future__ import annotations

import numpy as np

from archerysim.fields.units import target_distance
from archerysim.show.style import INCH, MM, POUND
from archerysim.show.text import columns, number, titled, warned, wrapped
from archerysim.study.groups.compare import LocatorGroups, ReadingGroups
from archerysim.study.groups.group import UNITS, Group
from archerysim.study.groups.spread import Ratio

WORDS = {
    "fletched": "height, fletched", "bare": "height, bare shaft", "pitch": "pitch at clear",
    "pitch_rate": "pitch rate at clear", "angle_of_attack": "angle of attack at clear", "speed": "speed at clear",
}  # fmt: skip
DIGITS = {"cm": 2, "deg": 3, "rad/s": 3, "m/s": 2}
BRIEF = ("fletched", "bare", "pitch", "angle_of_attack")
HONEST = (
    "This is only the height scatter of draw, fingers, release, hand and nock: no aiming, no differences between "
    "arrows, no wind. A real group is wider."
)
FRICTION = (
    "At full draw a nock with play lies where it would slide to without friction; in the shot the friction of its "
    "floor (nock.friction) holds it there. A real nock may have been settled anywhere within its play."
)
FAINT_FEW = "With few shots the standard deviation is itself uncertain: look at its interval before calling one better."


def fit_words(result: LocatorGroups) -> list[str]:
    """What each fit of the locators is, in words; those of the caller's own keep their names."""
    words = []
    for name, changes in zip(result.names, result.changes, strict=True):
        fit = {path.rpartition(".")[2]: value for path, value in changes.items()}
        if set(fit) != {"place", "gap", "upper_present", "lower_present"}:
            words.append(name)
        elif not fit["upper_present"]:
            words.append("one locator, below the nock")
        elif not fit["lower_present"]:
            words.append("one locator, above the nock")
        elif fit["gap"]:
            words.append(f"two locators, {fit['gap'] / MM:g} mm of play")
        else:
            words.append("two locators touching the nock")
    return words


def group_table(result: Group | ReadingGroups | LocatorGroups) -> str:
    """A group, groups by reading, or locator fits compared, with what their numbers rest on.

    Parameters
    ----------
    result : Group, ReadingGroups or LocatorGroups

    Returns
    -------
    str
        Heights in cm. The interval is that of the standard deviation, 95 %, by chi-square.
    """
    if isinstance(result, Group):
        return _one_group(result)
    return _compared(result) if isinstance(result, LocatorGroups) else _by_reading(result)


def _one_group(result: Group) -> str:
    lines = [f"{_head(result)}", ""]
    rows = []
    for name, words in WORDS.items():
        unit, spread = UNITS[name], result.spread(name)
        d = DIGITS[unit]
        rows.append((
            f"{words} [{unit}]", number(spread.mean, "", d, True), number(spread.deviation, "", d),
            f"{number(spread.low, '', d)} to {number(spread.high, '', d)}", number(spread.full, "", d),
        ))  # fmt: skip
    heads = ("", "mean", "standard deviation", "its interval, 95 %", "full spread")
    lines += [*columns(rows, heads), ""]
    lines += titled("From shot to shot (standard deviation, middle)", _inputs(result))
    if result.failed:
        failed = [(k, reason) for k, reason in enumerate(result.reasons, 1) if reason]
        lines += titled("No result", [line for k, reason in failed for line in wrapped(f"shot {k}: {reason}")])
    lines += [*wrapped(HONEST, "  ", "  "), ""]
    return "\n".join(lines + warned(result.warnings))


def _head(result: Group) -> str:
    return (
        f"{result.setup.name}: {result.count} shots at {target_distance(result.distance)}, one sight (aim line at "
        f"{result.elevation:+.2f} deg), seed {result.seed}"
    )


def _inputs(result: Group) -> list[str]:
    scatter = result.scatter
    shares = " / ".join(f"{100.0 * v:.0f}" for v in result.drawn["archer.finger_shares"].mean(axis=0))
    rows = [
        ("draw length", f"{scatter.size('draw_length') / MM:.1f} mm",
         f"{result.drawn['archer.draw_length'].mean() / INCH:.2f} in"),
        ("finger shares", f"{100.0 * scatter.size('finger_shares'):.1f} %", f"{shares} %"),
        ("release time, all fingers", f"{1e3 * scatter.size('release_time'):.2f} ms",
         f"{1e3 * result.drawn['archer.release_time'].mean():.2f} ms"),
        ("hand torque", f"{scatter.size('hand_torque'):.2f} N m", _hand(result)),
        ("nock fit", f"{scatter.size('nock_fit'):.2f} N ({scatter.size('nock_fit') / POUND:.2f} lbf)",
         f"{result.drawn['nock.grip'].mean():.2f} N"),
    ]  # fmt: skip
    return columns(rows)


def _hand(result: Group) -> str:
    if "archer.pressure_point" in result.drawn:
        return f"pressure point {1e3 * result.drawn['archer.pressure_point'].mean():+.1f} mm"
    return f"{result.drawn['archer.grip_torque'].mean():+.2f} N m"


def _cells(group: Group | None) -> list[str]:
    if group is None:
        return ["-"] * (len(BRIEF) + 2)
    cells = []
    for name in BRIEF:
        spread, d = group.spread(name), DIGITS[UNITS[name]]
        cells.append(number(spread.deviation, "", d))
        if name in ("fletched", "bare"):
            cells[-1] += f" ({number(spread.low, '', d)} to {number(spread.high, '', d)})"
    return [*cells, number(group.bare_nominal, "", 1, True), str(group.failed) if group.failed else ""]


HEADS = (
    ("fletched", "bare", "pitch", "attack", "bare lands", "failed"),
    ("[cm]", "[cm]", "[deg]", "[deg]", "[cm]", ""),
)


def _by_reading(result: ReadingGroups) -> str:
    from archerysim.equipment.readings import both_units

    first = next((one for one in result.groups if one is not None), None)
    if first is None:
        return "\n".join(titled("No result", [line for reason in result.reasons for line in wrapped(reason)]))
    lines = [
        f"{_shots(first)}; the sight set anew at each reading",
        f"  best reading {both_units(result.by.reading(result.best * MM))} {result.by.words} ({result.how})", "",
    ]  # fmt: skip
    rows = [
        (f"{offset:+.1f} mm", "-" if one is None else number(one.nominal.reading, "mm", 1),
         "-" if one is None else number(one.nominal.reading_top, "mm", 1), *_cells(one))
        for offset, one in zip(result.offsets, result.groups, strict=True)
    ]  # fmt: skip
    lines += columns(rows, ("off the best", "underside", "top", *HEADS[0]), ("", "", "", *HEADS[1]))
    lines += ["", *_legend(), *_lost([f"{o:+.1f} mm" for o in result.offsets], result.reasons)]
    return "\n".join(lines + warned(_all_warnings(result.groups)))


def _compared(result: LocatorGroups) -> str:
    first = next((one for one in result.groups if one is not None), None)
    if first is None:
        return "\n".join(titled("No result", [line for reason in result.reasons for line in wrapped(reason)]))
    words = fit_words(result)
    lines = [f"{_shots(first)}; the sight set anew for each", ""]
    rows = [
        (f"{told} (today)" if name == result.today else told, *_cells(one))
        for name, told, one in zip(result.names, words, result.groups, strict=True)
    ]
    lines += [*columns(rows, ("", *HEADS[0]), ("", *HEADS[1])), ""]
    ratios = [
        (told, *(_ratio(result.ratio(name, q)) for q in ("fletched", "bare", "pitch")))
        for name, told, one in zip(result.names[1:], words[1:], result.groups[1:], strict=True)
        if one is not None and result.groups[0] is not None
    ]
    if ratios:
        lines += [f"  Standard deviation over that of {words[0]}"]
        lines += [*columns(ratios, ("", "fletched", "bare", "pitch")), ""]
        lines += ["  * the 95 % interval excludes 1: the same hands tell them apart", ""]
    lines += [*_legend(), *_lost(words, result.reasons)]
    if any(change.get("nock.locators.upper_present") is False for change in result.changes):
        lines += [*wrapped(FRICTION, "  ", "  "), ""]
    return "\n".join(lines + warned(_all_warnings(result.groups)))


def _shots(group: Group) -> str:
    far = target_distance(group.distance)
    return f"{group.setup.name}: {group.count} shots each at {far}, the same hands (seed {group.seed})"


def _ratio(ratio: Ratio) -> str:
    if not np.isfinite(ratio.value):
        return "-"
    return f"{ratio.value:.2f} ({ratio.low:.2f} to {ratio.high:.2f}){'*' if ratio.told_apart else ' '}"


def _legend() -> list[str]:
    text = (
        "Standard deviations, of the heights with their 95 % intervals; bare lands: the bare shaft without scatter, "
        "above the fletched ones."
    )
    return [*wrapped(f"{text} {FAINT_FEW}", "  ", "  "), *wrapped(HONEST, "  ", "  "), ""]


def _lost(names: tuple[str, ...] | list[str], reasons: tuple[str, ...]) -> list[str]:
    lost = [f"{name}: {reason}" for name, reason in zip(names, reasons, strict=True) if reason]
    return titled("No result", [line for one in lost for line in wrapped(one)]) if lost else []


def _all_warnings(groups: tuple[Group | None, ...]) -> list[str]:
    """Each warning's kind once, in the words of its first group."""
    from archerysim.study.groups.group import each_warning_once

    return each_warning_once([one.warnings for one in groups if one is not None])
