"""Steps at the bench as they are said: "turn lower 1/4 turn in", "scrape upper belly 20 cm to 40 cm 0.3 mm"."""

from __future__ import annotations

import re
from typing import NamedTuple, cast

from archerysim.equipment.bench.parts import OtherLimbs, OtherRiser, SwapLimbs
from archerysim.equipment.bench.pockets import Shim, Turn, Twist, Which
from archerysim.equipment.bench.wood import Cut, Face, Heat, Scrape, ScrapeAlong
from archerysim.errors import SetupError
from archerysim.fields.quantity import in_si

Step = Turn | Shim | Twist | SwapLimbs | OtherLimbs | OtherRiser | Cut | Heat | Scrape | ScrapeAlong


class FromFile(NamedTuple):
    """Parts of another bow, whose setup file has to be read and fitted first."""

    part: str  # "limbs" or "riser"
    path: str


EXAMPLES = {
    "turn": "turn lower 1/4 turn in",
    "shim": "shim upper 0.3 deg forward",
    "twist": "twist string 3 mm shorter",
    "swap": "swap limbs",
    "limbs": "limbs from other.toml",
    "riser": "riser from other.toml",
    "cut": "cut both 10 mm",
    "heat": "heat lower 30 cm to 45 cm 0.5 1/m",
    "scrape": "scrape lower belly 20 cm to 40 cm 0.3 mm",
}
_LIMB = "(?P<limb>upper|lower|both)"
_STRETCH = "(?P<start>.+?) to (?P<end>[-+0-9./ ]+[a-z\"']+)"
_FORMS = {
    "turn": rf"{_LIMB} (?P<size>.+?)(?: (?P<way>in|out))?",
    "shim": rf"{_LIMB} (?P<size>.+?)(?: (?P<way>forward|back))?",
    "twist": r"(?:the )?string (?P<size>.+?)(?: (?P<way>longer|shorter))?",
    "swap": "(?:the )?limbs",
    "limbs": "from (?P<file>.+)",
    "riser": "from (?P<file>.+)",
    "cut": rf"{_LIMB} (?P<size>.+)",
    "heat": rf"{_LIMB} {_STRETCH} (?P<size>.+)",
    "scrape": rf"{_LIMB} (?P<face>belly|edges|back) {_STRETCH} (?P<size>.+)",
}
_UNITS = {"turn": "turn", "shim": "deg", "twist": "mm", "cut": "mm", "heat": "1/m", "scrape": "mm"}
_AWAY = {"out": "in", "back": "forward", "shorter": "longer"}  # the negative way of each
_MOST = {"turn": 10.0, "shim": 0.2, "twist": 0.1, "cut": 0.5, "heat": 30.0, "scrape": 0.02}  # in SI


def step_of(text: str) -> Step | FromFile:
    """One step at the bench.

    Parameters
    ----------
    text : str
        As of `EXAMPLES`; a size without a way is in, forward, longer.

    Raises
    ------
    SetupError
        Where it is not understood, or asks for what must not be done.
    """
    verb, _, rest = " ".join(text.split()).partition(" ")
    form = _FORMS.get(verb.lower())
    if form is None:
        raise SetupError("step", f'"{text}" is not known here', f"Begin with {', '.join(_FORMS)}")
    said = re.fullmatch(form, rest, re.IGNORECASE)
    if said is None:
        raise SetupError("step", f'"{text}" is not understood', f'Say it like "{EXAMPLES[verb.lower()]}"')
    return _made(verb.lower(), text, {name: one for name, one in said.groupdict().items() if one})


def _made(verb: str, text: str, said: dict[str, str]) -> Step | FromFile:
    if verb == "swap":
        return SwapLimbs()
    if "file" in said:
        return FromFile(verb, said["file"])
    size = _number(text, said["size"], _UNITS[verb])
    if abs(size) > _MOST[verb] or size == 0.0:
        raise SetupError("step", f'"{text}": {said["size"]} is no size for it', f'Say it like "{EXAMPLES[verb]}"')
    way = said.get("way", "").lower()
    if way and size < 0.0:
        raise SetupError("step", f'"{text}" has a sign and a way', f'Say "{way}" or the sign, not both')
    size = -size if way in _AWAY else size
    limb = cast(Which, said.get("limb", "both").lower())
    if verb == "twist":
        return Twist(size)
    if verb == "turn":
        return Turn(limb, size)
    if verb == "shim":
        return Shim(limb, size)
    if verb == "cut":
        return Cut(limb, size)
    start, end = (_number(text, said[name], "cm") for name in ("start", "end"))
    if verb == "heat":
        return Heat(limb, start, end, size)
    if said["face"].lower() == "back":
        raise SetupError("step", f'"{text}": the back is never scraped', "Cut back fibres break bows: belly or edges")
    if size < 0.0:
        raise SetupError("step", f'"{text}": no wood can be put back', "Give how much is taken off")
    return Scrape(limb, cast(Face, said["face"].lower()), start, end, size)


def _number(text: str, said: str, unit: str) -> float:
    """A size in SI; the message names the whole step."""
    try:
        return in_si("step", said, unit)
    except SetupError as error:
        raise SetupError("step", f'"{text}": {error.problem}', error.remedy) from None
