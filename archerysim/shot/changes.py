"""Changes of a bow: which of them have it fitted anew, and the one place where they are made."""

from __future__ import annotations

from archerysim.equipment import NO_CHANGES, InSi, Setup, SetupError
from archerysim.shot.hold import HEIGHT, REFIT

MEASURED = (
    HEIGHT, "bow.upper_tiller", "bow.lower_tiller", "bow.draw_weight", "bow.draw_weight_at",
    "bow.arrow_speed", "bow.pocket_angle", "bow.stiffness_ratio", "bow.kind", "bow.split_from", "bow.draw_forces",
    "bow.draw_forces_at",
)  # fmt: skip


def refitted(given: Setup, changes: InSi, words: tuple[str, ...]) -> InSi:
    """Those of some changes that go into the given setup, to be fitted anew: all as "refit", else what is measured.

    Raises
    ------
    SetupError
    """
    if words == REFIT and changes and given.form != "measured":
        raise SetupError("hold", "'refit' needs a setup of form \"measured\"", "Leave it out")
    if given.form != "measured":
        return NO_CHANGES
    return InSi({path: value for path, value in changes.items() if words == REFIT or _of_row(path) in MEASURED})


def _of_row(path: str) -> str:
    """A path without the number of one value of a row."""
    return path.rstrip("0123456789").rstrip(".") if path[-1:].isdigit() else path


def without(changes: InSi, some: InSi) -> InSi:
    """Those of some changes that are not among others."""
    return InSi({path: value for path, value in changes.items() if path not in some})


def changed(setup: Setup, changes: InSi) -> Setup:
    """A setup with some values changed: the one place where changes, of users and of studies, are made.

    Raises
    ------
    SetupError
    """
    return setup.replace(changes)
