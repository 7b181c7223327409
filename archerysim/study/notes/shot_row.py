"""A row of shots as an archer writes it: "9 12 miss 7 bad cm"."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from archerysim.errors import SetupError

MISS, BAD = ("miss", "missed"), "bad"
NOTHING = (*MISS, "-", "")  # what may stand in the row of places sideways where a shaft missed
KINDS = ("fletched", "bare")
WAYS = {
    **dict.fromkeys(("high", "above", "up"), "High needs no word, low is a minus"),
    **dict.fromkeys(("low", "below", "down"), "Low is a minus, high needs no word"),
    **dict.fromkeys(("right", "left"), "Places sideways have an option of their own, right is plus and left a minus"),
}

_NUMBER = r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:/\d+)?"
_PIECE = re.compile(rf"({_NUMBER})|([^\d\s+.,-][^\s,]*)|(-)|(\S)")
EXAMPLE = 'Write one after the other, the unit once at the end: "9 12 miss 7 bad cm"'


def row_of(path: str, text: str) -> list[str]:
    """The shots of a row written in one text, each with its unit: "9 12 miss 7 bad cm" has four.

    A unit at the end counts for all that have none; "miss" stands for a shaft, "bad" behind a number for one that was
    called bad as it left. With commas between the shots, a number may have a fraction: "3 1/2, 4 1/4 in".

    Raises
    ------
    SetupError
        Where a word is neither a unit, "miss" nor "bad", a number has no unit, or a fraction can be read in two ways.
    """
    shots: list[list[str]] = []  # number, unit, "bad"
    for part in text.replace("\u2212", "-").split(","):
        fresh = len(shots)
        for number, word, dash, odd in _PIECE.findall(part):
            if odd:
                raise SetupError(path, f'"{text}" holds "{odd}", which does not belong in a row of shots', EXAMPLE)
            if number and "/" in number and len(shots) > fresh and shots[-1][0].lstrip("+-").isdigit():
                if "," not in text:
                    problem = f'"{text}" can be read in two ways: is "{shots[-1][0]} {number}" one shot or two?'
                    raise SetupError(path, problem, "Put a comma after each shot")
                shots[-1][0] += f" {number}"
            elif number or dash:
                shots.append([number or dash, "", ""])
            elif word.lower() in MISS:
                shots.append([word.lower(), "", ""])
            else:
                _add_word(path, text, word, shots)
    if not shots:
        raise SetupError(path, f'"{text}" holds no shot', EXAMPLE)
    return _with_units(path, text, shots)


def _add_word(path: str, text: str, word: str, shots: list[list[str]]) -> None:
    """A unit, or the word "bad", behind the last shot; of the unit's parts too ("9 cmbad" has none)."""
    if not shots or (shots[-1][0] in NOTHING and word.lower() == BAD):
        raise SetupError(path, f'"{text}": "{word}" is not after a number', EXAMPLE)
    if word.lower() == BAD:
        shots[-1][2] = BAD
        return
    if word.lower() in WAYS:
        remedy = f'{WAYS[word.lower()]}; give one number for each shaft, three bare ones at least: "9 12 7 cm"'
        raise SetupError(path, f'"{text}": "{word}" is no unit', remedy)
    if shots[-1][1]:
        raise SetupError(path, f'"{text}" has two units, "{shots[-1][1]}" and "{word}", after one number', EXAMPLE)
    shots[-1][1] = word


def _with_units(path: str, text: str, shots: list[list[str]]) -> list[str]:
    """The shots as texts, those without a unit by the next one behind them."""
    unit, out = "", []
    for number, own, called in reversed(shots):
        unit = own or unit
        if number not in NOTHING and not unit:
            raise SetupError(path, f'"{text}" has no unit at its end', 'Write it once, for example "9 12 7 cm"')
        out.append(number if number in NOTHING else " ".join(part for part in (number, unit, called) if part))
    return out[::-1]


def sorted_rows(group: Mapping[str, Any], path: str) -> dict[str, Any]:
    """A group's table with each row of shots sorted into good, bad and missed ones.

    Parameters
    ----------
    group : mapping
        As a file has it: rows are lists of texts or one text; `row_of` says what may stand in them.
    path : str
        Of the group.

    Raises
    ------
    SetupError
        Where the places sideways are not as many as the heights, or one stands where a shaft missed.
    """
    out = dict(group)
    for kind in KINDS:
        names = [f"{kind}{end}" for end in ("", "_right", "_bad")]
        heights, rights, bad = (_row(f"{path}.{name}", group.get(name)) for name in names)
        if heights is None or (rights is None and names[1] in group):
            continue  # not given, or refused by whoever reads the record
        rows = _sort(f"{path}.{names[1]}", heights, rights)
        rows["_bad"] = [*(bad or ()), *rows["_bad"]]
        out = {name: value for name, value in out.items() if name not in names}
        out |= {f"{kind}{end}": row for end, row in rows.items() if row}
    return out


def _row(path: str, given: Any) -> list[Any] | None:
    """The entries of a row; None where it is neither a text nor a list."""
    if isinstance(given, str):
        return list(row_of(path, given))
    return list(given) if isinstance(given, list) and given else None


def _sort(path: str, heights: list[Any], rights: list[Any] | None) -> dict[str, Any]:
    """Good heights, good places sideways, bad heights, and how many missed, by the end of their field's name."""
    if rights is not None and len(rights) != len(heights):
        shafts = "1 shaft" if len(heights) == 1 else f"{len(heights)} shafts"
        problem = f"{len(rights)} places sideways for {shafts}"
        raise SetupError(path, problem, 'Give one for each, in the same order, "miss" for one that missed')
    good, beside, bad, missed = [], [], [], 0
    for k, height in enumerate(heights):
        right = None if rights is None else rights[k]
        if _word(height) in MISS:
            if right is not None and _word(right) not in NOTHING:
                problem = f'shaft {k + 1} missed by its height, and has the sideways place "{right}" here'
                raise SetupError(path, problem, 'Write "miss" in both, or a number in both')
            missed += 1
        elif _called(height) or _called(right):
            bad.append(_uncalled(height))
        elif right is not None and _word(right) in NOTHING:
            problem = f"shaft {k + 1} has a height and no place here"
            raise SetupError(path, problem, 'Write a number, or "miss" in both')
        else:
            good.append(height)
            beside.append(right)
    return {"": good, "_right": beside if rights is not None else [], "_bad": bad, "_missed": missed}


def _word(value: Any) -> str:
    return value.strip().lower() if isinstance(value, str) else "a number"


def _called(value: Any) -> bool:
    return bool(re.search(rf"\b{BAD}$", _word(value)))


def _uncalled(value: Any) -> Any:
    """A height without the word that calls it bad."""
    return re.sub(rf"\s*\b{BAD}$", "", value.strip(), flags=re.IGNORECASE) if isinstance(value, str) else value
