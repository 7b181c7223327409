"""What a change holds: what stays the same on the bow when one thing on it is changed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from archerysim.equipment import Setup, SetupError, filled
from archerysim.equipment.readings import READING, by_underside
from archerysim.shot.arrays.mesh import Mesh, mesh_of
from archerysim.shot.before import Before, before_of, own_weight
from archerysim.shot.statics.brace import brace_to_height, brace_with_string
from archerysim.shot.statics.fit import fit

WORDS = {
    "reading": "locators set again to the same reading",
    "brace height": "string twisted again to the same brace height",
    "refit": "the bow fitted anew at every point to its measured brace height, tillers and draw weight",
}
NOTHING = "nothing else touched: locators tied at their place on the string, string kept, limbs kept"


@dataclass(frozen=True)
class Base:
    """The bow as built before any change.

    Attributes
    ----------
    given : Setup
        As the user gave it.
    built : Setup
        Fitted once; locators tied at their place. It tells readings as the given one does.
    reading : float
        By the underside [m].
    brace_height : float
        [m]
    hold : tuple of str
        Keys of `WORDS`.
    mesh : Mesh
    before : Before or None
        The bow that changes are told against; with None nothing is said of changes.
    """

    given: Setup
    built: Setup
    reading: float
    brace_height: float
    hold: tuple[str, ...]
    mesh: Mesh
    before: Before | None


def held(hold: str | tuple[str, ...] | list[str] | None) -> tuple[str, ...]:
    """The words of a hold, checked; underscores and hyphens count as spaces.

    Raises
    ------
    SetupError
    """
    words = (hold,) if isinstance(hold, str) else tuple(hold or ())
    words = tuple(word.replace("-", " ").replace("_", " ").strip() for word in words)
    for word in words:
        if word not in WORDS:
            raise SetupError("hold", f"{word!r} is not known", f"Use one or more of {', '.join(map(repr, WORDS))}")
    if "refit" in words and len(words) > 1:
        raise SetupError("hold", "'refit' holds the measured numbers and nothing else", "Give it alone")
    return words


def said(words: tuple[str, ...]) -> str:
    """A sentence for a hold."""
    return "; ".join(WORDS[word] for word in words) if words else NOTHING


def base_of(
    setup: Setup, hold: str | tuple[str, ...] | list[str] | None, mesh: str | Mesh, before: Setup | None = None
) -> Base:
    """Fit once and note what may have to be held; changes are told against ``before``.

    By default that is the setup itself; where its bolts have been turned since it was measured, as it was measured.

    Raises
    ------
    SetupError, ShotError
    """
    cells = mesh_of(mesh)
    done = fit(setup, cells)
    built = done.setup
    full = filled(built)
    braced = brace_with_string(full, full.number("string.length"), cells)
    then = before_of(before, cells, setup) or Before(setup, own_weight(done, braced))
    if built.nock.locators.place is None:
        built = built.replace(**{"nock.locators.place": braced.throat})
    return Base(setup, built, braced.reading, braced.brace_height, held(hold), cells, then)


def refuse_measured(base: Base, paths: list[str]) -> None:
    """Refuse to change what is measured on a bow that is fitted once.

    Raises
    ------
    SetupError
    """
    measured = [path for path in paths if path in MEASURED]
    if measured and base.given.form == "measured" and base.hold != ("refit",):
        raise SetupError(
            measured[0],
            "is measured on the bow: it follows when something on the bow is changed",
            'Change upper_limb.bolt_turns, lower_limb.bolt_turns or string.length, or hold "refit"',
        )


def changed(base: Base, changes: dict[str, Any]) -> Setup:
    """The bow as built after some changes, holding what is to be held.

    A reading among the changes is told by the setup's convention, unless that is changed beside it. A reading that is
    held is the number that the square shows by that convention, with a nock of another height too.

    Raises
    ------
    SetupError, ShotError
    """
    if base.hold == ("refit",):
        if base.given.form != "measured":
            raise SetupError("hold", "'refit' needs a setup of form \"measured\"", "Leave it out")
        return fit(base.given.replace(**changes), base.mesh).setup
    refuse_measured(base, list(changes))
    setup = base.built.replace(**changes)
    if "reading" in base.hold and not any(path in PLACE for path in changes):
        setup = setup.replace(**by_underside(base.built, base.reading))
    if "brace height" in base.hold:
        if "string.length" in changes:
            raise SetupError("string.length", "cannot change while the brace height is held", "Hold something else")
        braced = brace_to_height(filled(setup), base.brace_height, base.mesh)
        setup = setup.replace(**{"string.length": braced.string_length})
    return setup


PLACE = (READING, "nock.locators.place")
MEASURED = (
    "bow.brace_height", "bow.upper_tiller", "bow.lower_tiller", "bow.draw_weight", "bow.draw_weight_at",
    "bow.pocket_angle", "bow.stiffness_ratio",
)  # fmt: skip
