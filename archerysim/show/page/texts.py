"""The words that all pages share, and how a page's table of texts is looked up.

Each page's own table begins with these, and may say some of them in its own words.
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


def in_language(tables: Mapping[str, Mapping[str, str]], language: str) -> dict[str, str]:
    """A page's texts in a language.

    Raises
    ------
    SetupError
        If there is none in that language.
    """
    from archerysim.errors import SetupError

    if language not in tables:
        raise SetupError("language", f"{language!r} is not known", f"Use {' or '.join(map(repr, tables))}")
    return dict(tables[language])
