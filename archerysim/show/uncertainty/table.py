"""What the answers depend on and how sure they are, as plain text."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from archerysim.fields.udunits import shown
from archerysim.show.style import MM
from archerysim.show.text import columns, number, pairs, speed, titled, with_warnings, wrapped

if TYPE_CHECKING:
    import xarray

    from archerysim.study.uncertainty.uncertainty import Uncertainty

BRIEF = {
    "together_reading": "together", "zero_attack_reading": "zero attack", "pitch": "pitch", "pitch_rate": "pitch rate",
    "angle_of_attack": "attack", "vertical_velocity": "vertical", "speed": "speed",
    "side_angle_of_attack": "side attack",
}  # fmt: skip
DIGITS = {"mm": 2, "deg": 3, "rad/s": 3, "m/s": 3}
SIDEWAYS = "side_angle_of_attack"  # of shots in both planes; only its changes are told
READINGS = ("together_reading", "zero_attack_reading")
LEGEND = (
    "Together: the reading that brings bare and fletched shafts together on the target; zero attack: the one that "
    "leaves no angle of attack; the others at clear, with today's reading. Nose up and upward are positive."
)
LEGEND_SIDEWAYS = (
    " Side attack: the side angle of attack at clear, nose away from the riser's window positive. Only its changes are "
    "given: its size depends on how the string rolls off the fingers, which is poorly known."
)
LOCAL = (
    "Slopes are those about this bow, each input moved by itself: a larger move, or one that makes or ends a contact, "
    "may do otherwise. Readings are by the underside, whatever the file's convention."
)
TOUCHES = (
    "THE SHAFT TOUCHES on its way out, with every input as given: the slopes hold on this side of the contact only. "
    "Clear it first (archerysim shoot tells what touches), then ask again."
)
HONEST = (
    "This covers only what measuring the inputs leaves open, not what the model itself leaves out, nor how an archer "
    "varies from shot to shot."
)


def sensitivity_table(found: xarray.Dataset, most: int = 40) -> str:
    """The answers of the bow as given, and what a slip in each input does to them, the largest first.

    Parameters
    ----------
    found : xarray.Dataset
        As `archerysim.sensitivity` returns it.
    most : int
        Inputs at most.

    Returns
    -------
    str
        Limits that are passed on top; at the end the other warnings.
    """
    names = [name for name in BRIEF if name in found]
    units = [shown(found[name].attrs["units"]) for name in names]
    lines = [f"{found.attrs['title']}: what one standard deviation of each input does", ""]
    now = [
        (str(found[name].attrs["long_name"]), _answer_words(name, float(found[name]), unit))
        for name, unit in zip(names, units, strict=True)
        if name != SIDEWAYS
    ]
    lines += titled("With every input as given", pairs(now))
    rows = [
        (
            str(found["input"].values[k]), _size(found, k),
            *(_cell(found[f"{name}_per_spread"].values[k], unit) for name, unit in zip(names, units, strict=True)),
        )
        for k in range(min(most, found.sizes["input"]))
    ]  # fmt: skip
    heads = ("", "known to", *(BRIEF[name] for name in names)), ("", "", *(f"[{unit}]" for unit in units))
    lines += titled("Change when an input is larger by one standard deviation", columns(rows, *heads))
    if found.sizes["input"] > most:
        lines += [f"  {found.sizes['input'] - most} inputs with less effect are left out", ""]
    lost = [f"{path}: {why}" for path, why in zip(found["input"].values, found["reason"].values, strict=True) if why]
    if lost:
        lines += titled("Without a number", [line for one in lost for line in wrapped(one)])
    lines += [*wrapped(LEGEND + (LEGEND_SIDEWAYS if SIDEWAYS in names else ""), "  ", "  ")]
    lines += [*wrapped(LOCAL, "  ", "  "), *_touches(found.attrs.get("touches") == "yes"), ""]
    passed = [one for one in found.attrs["limits_passed"].split("; ") if one]
    return with_warnings(lines, found.attrs["warnings"].splitlines(), len(passed))


def uncertainty_table(result: Uncertainty, most: int = 8) -> str:
    """How sure the answers are, and which inputs they are unsure by.

    Parameters
    ----------
    result : Uncertainty
    most : int
        Inputs told of each answer at most.

    Returns
    -------
    str
        Limits that are passed on top; at the end the other warnings.
    """
    from archerysim.study.uncertainty.sensitivity import answers_in

    count = len(result.sample)
    lines = [f"{result.setup.name}: how certain the answers are, by what is known of {len(result.inputs)} inputs", ""]
    rows = []
    aside = SIDEWAYS in result.names
    for k, (name, unit, text) in enumerate(answers_in(2 if aside else 1)):
        d, signed = DIGITS[unit], name not in (*READINGS, "speed")
        value, mean, low, high = (
            number(float(one[k]), "", d, signed) for one in (result.value, result.mean, result.low, result.high)
        )
        spread, linear = (number(float(one[k]), "", d) for one in (result.spread, result.linear))
        told = ("", "", spread, "") if name == SIDEWAYS else (value, mean, spread, f"{low} to {high}")
        rows.append((f"{text} [{unit}]", *told, linear))
    heads = (
        ("", "as given", "mean", "give or", "90 % of the", "give or take,"),
        ("", "", "", "take", "bows", "by slopes"),
    )
    lines += [*columns(rows, *heads), ""]
    if aside:
        lines += [*wrapped(LEGEND_SIDEWAYS.strip(), "  ", "  "), ""]
    lost = f"; {result.failed} of them lack an answer" if result.failed else ""
    lines += wrapped(f"From {count} bows that all fit what was measured{lost}. {HONEST}", "  ", "  ")
    lines += [*wrapped(LOCAL, "  ", "  "), *_touches(result.touches), ""]
    lines += _blamed(result, most)
    lost_inputs = [f"{one.path}: {why}" for one, why in zip(result.inputs, result.reasons, strict=True) if why]
    if lost_inputs:
        lines += titled("Without a number", [line for one in lost_inputs for line in wrapped(one)])
    return with_warnings(lines, result.warnings, len(result.limits_passed))


def _touches(does: bool) -> list[str]:
    """That slopes are told beside a contact."""
    return wrapped(TOUCHES, "  ", "  ") if does else []


def _blamed(result: Uncertainty, most: int) -> list[str]:
    """Each answer's share of variance by input: by the slopes, and by Sobol's indices where there are any."""
    shares = result.shares if result.total is None else result.total
    first = int(np.isfinite(result.value).argmax())  # the reading that brings both together, where this bow has one
    order = np.argsort(-np.nan_to_num(shares[:, first]), kind="stable")[:most]
    rows = [(result.inputs[k].path, *(_percent(share) for share in shares[k])) for k in order]
    by = "by the slopes" if result.total is None else "with everything it interacts with, by Sobol's total indices"
    return titled(
        f"Share of each input in the square of give or take, {by}",
        columns(rows, ("", *(BRIEF[name] for name in result.names))),
    )


def _answer_words(name: str, value: float, unit: str) -> str:
    """An answer in both systems of units where archers use both."""
    from archerysim.equipment.readings import both_units

    if np.isfinite(value) and name in READINGS:
        return f"{both_units(value * MM)} underside"
    return speed(value) if np.isfinite(value) and name == "speed" else number(value, unit, DIGITS[unit], True)


def _percent(share: float) -> str:
    return f"{100.0 * share:.0f} %" if np.isfinite(share) else "-"


def _size(found: xarray.Dataset, k: int) -> str:
    unit = str(found["unit"].values[k])
    return f"{float(found['spread'].values[k]):.3g} {'' if unit == '1' else unit}".rstrip()


def _cell(value: float, unit: str) -> str:
    return number(float(value), "", DIGITS[unit], True)
