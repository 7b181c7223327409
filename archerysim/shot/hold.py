"""What a change holds: what stays the same on the bow when one thing on it is changed."""

from __future__ import annotations

from collections.abc import Iterable

from archerysim.equipment import SetupError

Hold = str | tuple[str, ...] | list[str] | None

WORDS = {
    "reading": "locators set back to the same reading",
    "brace height": "string twisted back to the same brace height",
    "refit": "the bow fitted anew at every point to its measured brace height, tillers and draw weight",
}
NOTHING = "nothing else touched: locators tied where they are on the string, same string, same limbs"
REFIT = ("refit",)
HEIGHT = "bow.brace_height"


def hold_words(hold: Hold) -> tuple[str, ...]:
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
        raise SetupError("hold", "'refit' holds only the measured numbers", "Give it alone")
    return words


def check_held(paths: Iterable[str], words: tuple[str, ...]) -> None:
    """Refuse changes of what is held.

    Raises
    ------
    SetupError
    """
    for path in paths:
        if path in (HEIGHT, "string.length") and "brace height" in words:
            raise SetupError(path, "cannot change while the brace height is held", "Hold something else")


def hold_sentence(words: tuple[str, ...]) -> str:
    """A sentence for a hold."""
    return "; ".join(WORDS[word] for word in words) if words else NOTHING
