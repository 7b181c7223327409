"""In how many planes a bow shoots: its own alone, or sideways too."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from archerysim.equipment import Setup, SetupError
from archerysim.errors import UsageError

if TYPE_CHECKING:
    from archerysim.shot.fitted_bow import FittedBow

PLANES = 2  # where nothing else is asked for


def planes_of(bow: Setup | FittedBow, asked: Any) -> int:
    """How many were asked for; else those of a bow already fitted, else `PLANES`.

    Raises
    ------
    UsageError
        Where it is neither 1 nor 2.
    """
    if asked is None:
        return getattr(bow, "planes", PLANES)
    if isinstance(asked, bool) or asked not in (1, 2):
        problem = f"{asked!r} is not a number of planes"
        raise UsageError("planes", problem, "give 2 for up and down and sideways, or 1 for up and down only")
    return int(asked)


def check_sideways(planes: int) -> None:
    """Refuse a shot in one plane where left and right are asked for.

    Raises
    ------
    UsageError
    """
    if planes == 1:
        raise UsageError("planes", "a shot in one plane has no left and right", "give 2, or leave it out")


def check_support(setup: Setup, planes: int, varied: Iterable[str] = ()) -> None:
    """Refuse what only the shot in one plane is told, given or among what is ``varied``.

    Raises
    ------
    SetupError
        Where the rest's support is said to end, in both planes.
    """
    for name in ("support_travel", "unlimited_support") if planes == 2 else ():
        if getattr(setup.rest, name) is not None or f"rest.{name}" in varied:
            raise SetupError(
                f"rest.{name}", "in both planes the shaft leaves the rest by itself, so this cannot be given",
                "Remove it, or shoot in one plane: planes=1, --planes 1",
            )  # fmt: skip
