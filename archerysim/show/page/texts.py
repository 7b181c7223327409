"""The words that all pages share, and how a page's table of texts is looked up.

Another language is another column with the same keys, here and in each page's own table.
"""

from __future__ import annotations

from collections.abc import Mapping

ENGLISH = {
    "language": "en",
    "play": "Play",
    "pause": "Pause",
    "again": "Play again",
    "step_back": "One step back",
    "step_on": "One step on",
    "time": "Time",
    "speed": "Speed",
    "times_slower": "{times} times slower than real",
    "little_motion": "Your device asks for little motion: {play} shows the end at once. Step by hand to see the way "
    "there.",
}
SHARED = {"en": ENGLISH}


def in_language(tables: Mapping[str, Mapping[str, str]], language: str) -> dict[str, str]:
    """A page's texts in a language: its own, and those that all pages share where it has none of its own.

    Raises
    ------
    SetupError
        If there is none in that language.
    """
    from archerysim.errors import SetupError

    if language not in tables:
        raise SetupError("language", f"{language!r} is not known", f"Use {' or '.join(map(repr, tables))}")
    return {**SHARED[language], **tables[language]}
