"""What a tune aims at: measures of a launch that are zero where it is best."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from archerysim.equipment import SetupError
from archerysim.shot.launch import Launch

BARE_LOW = 0.02  # [m] how low a bare shaft may land where that is wanted; common practice: level or slightly low


@dataclass(frozen=True)
class Aim:
    """One aim.

    Attributes
    ----------
    name, text, unit : str
    measure : callable
        Launch and distance [m] to a number that is zero (or least) where the launch is best.
    least : bool
        The measure is to be least rather than zero.
    """

    name: str
    text: str
    unit: str
    measure: Callable[[Launch, float], float]
    least: bool = False


def _together(launch: Launch, distance: float) -> float:
    from archerysim.shot.flight.bare_shaft import bare_difference

    found = bare_difference(launch, (distance, "m"))
    return 1e3 * found.swing


def _bare_low(launch: Launch, distance: float) -> float:
    return _together(launch, distance) + 1e3 * BARE_LOW


def _swing(launch: Launch, distance: float) -> float:
    from archerysim.shot.flight.fly import flown

    return float(abs(flown(launch, distance=distance).angle_of_attack).max())


AIMS = {
    aim.name: aim
    for aim in (
        Aim(
            "bare and fletched together",
            "bare and fletched shafts at one height on the target, the difference of drag alone allowed for", "mm",
            _together,
        ),
        Aim("bare slightly low", f"the bare shaft {1e3 * BARE_LOW:.0f} mm below that", "mm", _bare_low),
        Aim("no angle of attack", "no angle of attack at clear", "deg", lambda one, _: one.clear.angle_of_attack),
        Aim("no pitch rate", "no pitch rate at clear", "rad/s", lambda one, _: one.clear.pitch_rate),
        Aim("least swing", "the least largest angle of attack in flight, fletched", "deg", _swing, True),
    )
}  # fmt: skip
DEFAULT_AIM = "bare and fletched together"
LOW_OF = {DEFAULT_AIM: 0.0, "bare slightly low": 1e3 * BARE_LOW}  # how much lower a bare shaft may land [mm]


def aim_of(name: str) -> Aim:
    """The aim of that name; hyphens and underscores count as spaces.

    Raises
    ------
    SetupError
    """
    plain = name.replace("-", " ").replace("_", " ").strip()
    if plain not in AIMS:
        raise SetupError("aim", f"{name!r} is not known", f"Use one of {', '.join(map(repr, AIMS))}")
    return AIMS[plain]
