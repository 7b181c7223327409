"""The words that all pages share, and how a page's table of texts is checked.

Each page's own table begins with these, and may say some of them in its own words.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

ENGLISH: Mapping[str, str] = {
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


def checked(texts: Mapping[str, str], english: Mapping[str, str], home: str) -> Mapping[str, str]:
    """A page's table of texts that has every sentence, with what is filled into it.

    Parameters
    ----------
    texts : mapping
        Perhaps of another language.
    english : mapping
        The page's own table.
    home : str
        Where that stands, for the error.

    Raises
    ------
    SetupError
        If one is missing or unknown, or holds other braces or another number of ends than in English.
    """
    from archerysim.errors import SetupError

    for key in sorted(english.keys() ^ texts.keys()):
        problem = "this sentence is missing" if key in english else "no such sentence stands on the page"
        raise SetupError(f"texts.{key}", problem, f"Take the keys of {home}")
    for key, text in texts.items():
        if _filled_in(text) != _filled_in(english[key]):
            wanted = " ".join(_filled_in(english[key])) or "nothing in braces"
            raise SetupError(f"texts.{key}", f"{text!r} is filled in otherwise than in English", f"Hold {wanted} in it")
    return texts


def _filled_in(text: str) -> list[str]:
    return sorted(set(re.findall(r"\{\w+\}|\|", text)))
