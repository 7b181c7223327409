"""What may be advised: the range searched for a setting, and the limits of the file."""

from __future__ import annotations

from typing import Any

from archerysim.equipment import SetupError, field_info
from archerysim.equipment.readings import READING, read_by
from archerysim.errors import ShotError
from archerysim.fields.given import several
from archerysim.fields.quantity import in_si
from archerysim.fields.units import show
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.launch import Launch
from archerysim.shot.warnings import not_to_shoot

TWO_TURNS = ("-2 turn", "2 turn")
WITHIN: dict[str, tuple[str, str]] = {
    READING: ("0 mm", "25 mm"),
    "limbs.bolt_turns": TWO_TURNS,
    "upper_limb.bolt_turns": TWO_TURNS,
    "lower_limb.bolt_turns": TWO_TURNS,
    "archer.pressure_point": ("-15 mm", "15 mm"),
}
TURNS = 2.0  # of a bolt, where the file knows no limit


def fit_to_shoot(bow: FittedBow) -> None:
    """Refuse to tune a bow that must not be shot; one that gives no shot as it stands may be tuned.

    Raises
    ------
    SetupError
    """
    try:
        refuse_light(bow.launch())
    except ShotError:
        return


def refuse_light(launch: Launch) -> None:
    """Refuse a shot with an arrow so light that the bow must not be shot.

    Raises
    ------
    SetupError
    """
    words = not_to_shoot(launch.limits_passed, launch.warnings)
    if words:
        raise SetupError("arrow", words.rstrip("."), "Tune with that one")


def passed(bow: FittedBow, launch: Launch, paths: tuple[str, ...]) -> str:
    """The limit of the file that a launch passes, or another that the bow as it stands does not pass; "" for none.

    Locators set elsewhere pass none; what the bow passes with them is told on top of the result.
    """
    if not launch.limits_passed or paths == (READING,):
        return ""
    try:
        today = bow.launch().limits_passed
    except ShotError:
        today = ()
    for name, words in zip(launch.limits_passed, launch.warnings, strict=False):
        if name.startswith("limits.") or name.endswith("strain_limit") or name not in today:
            return words.rstrip(".")
    return ""


def within_limits(bow: FittedBow, launch: Launch, paths: tuple[str, ...], shown: str) -> None:
    """Refuse an answer that passes a limit, as `passed` counts it.

    Raises
    ------
    SetupError
    """
    words = passed(bow, launch, paths)
    if words:
        raise SetupError(
            " and ".join(paths),
            f"the best value, {shown}, passes a limit: {words}",
            "Tune something else, or search within a range that keeps the limit",
        )


def allowed_range(bow: FittedBow, path: str, within: Any) -> tuple[float, float]:
    """The ends between which a setting is searched [SI], a reading's by the setup's convention.

    Raises
    ------
    SetupError
        Where the range is empty, or leaves what is allowed.
    """
    info = field_info(path)
    asked: Any = WITHIN.get(path) or (info.low, info.high) if within is None else several("within", within, info.unit)
    if None in asked or len(asked) != 2:
        raise SetupError(path, "has no range of its own", "Give within=(low, high)")
    low, high = (in_si("within", v, info.unit, "in SI" if within is None else "refused") for v in asked)
    if not low < high:
        raise SetupError("within", f"{asked[0]} to {asked[1]} is empty", "Give the lower end first")
    least, most = info.low, info.high
    if within is not None and least is not None and most is not None and not least <= low < high <= most:
        may = f"{show(least, info.unit)} to {show(most, info.unit)}"
        raise SetupError("within", f"{asked[0]} to {asked[1]} goes outside what {path} may be, {may}", "Stay within it")
    if path == READING and within is None:
        low, high = read_by(bow.setup).reading(low), read_by(bow.setup).reading(high)
    if path.endswith("bolt_turns"):
        given = bow.setup.limits.most_bolt_turns
        turns = TURNS if given is None else given
        if given is None and max(-low, high) > turns:
            raise SetupError(
                "within", f"{asked[0]} to {asked[1]} goes past {turns:g} turns; the file gives no maker's limit",
                "Look up how far the bolts may be turned and give limits.most_bolt_turns",
            )  # fmt: skip
        low, high = max(low, -turns), min(high, turns)
        if not low < high:
            raise SetupError(
                "within", f"{asked[0]} to {asked[1]} lies past limits.most_bolt_turns, {turns:g} turns either way",
                "Stay within the maker's limit",
            )  # fmt: skip
    return low, high
