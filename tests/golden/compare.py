"""Two records held against each other, and what differs, in words."""

from __future__ import annotations

import itertools
import math
import re
from dataclasses import dataclass, field
from typing import Any, Literal

from tests.golden.record import HASH, is_long, number, shown

ELSEWHERE = 1e-9  # of a number (of 1 in its unit where it is smaller), on another machine than the writing one
# What is made from the last bit of a number differs more; the tolerance is wider by a factor:
WIDER = {
    "shots": 10.0,  # a fit stops at 1e-10 of the draw weight and a nanometre of string: a shot multiplies what is left
    "sweeps": 10.0,
    "commands": 10.0,
    "flights": 1e2,  # steps are chosen by an error estimate, 1e-7 of a number
    "studies": 1e3,  # searches stop at tolerances of their own, and slopes are small differences of shots
    "swing on the way": 1e6,  # read off between the steps of a flight, from falls that die away
}
COUNTED = ("iterations", "draws", "shots", "trials")  # what a search took; elsewhere it may take one more
_NUMBER = re.compile(r"(?<![\w.])[-+]?\d+(?:\.\d+)?(?:[eE][-+]?\d+)?")
Kind = Literal["number", "words", "lost", "form", "new"]


@dataclass(frozen=True)
class Difference:
    """One difference.

    Attributes
    ----------
    place : str
    kind : str
        "number": also one within a text; "words": a text whose numbers are the same; "lost": no longer there; "form":
        another kind of thing, or another count of them; "new": not in the record.
    expected, got : str
    size : float
        Of a number: the difference, relative to the number, the largest of its row, or 1, whichever is largest.
    """

    place: str
    kind: Kind
    expected: str
    got: str
    size: float = math.inf

    def __str__(self) -> str:
        if self.kind == "new":
            return f"{self.place}: not in the record: {self.got}"
        if self.kind == "lost":
            return f"{self.place}: no longer there; it was {self.expected}"
        by = f" (by {self.size:.1e})" if math.isfinite(self.size) else ""
        what = "the words differ" if self.kind == "words" else "differs"
        return f"{self.place}: {what}{by}\n    expected {self.expected}\n    got      {self.got}"


@dataclass
class Comparison:
    """What a comparison has found so far.

    Attributes
    ----------
    tolerance : float or None
        Of a number, relative; None: equal to the bit.
    count : int
        Numbers and texts compared.
    found : list of Difference
    largest, share : Difference or None, float
        The number that differs most, by its share of the tolerance, within it or not.
    """

    tolerance: float | None = None
    count: int = 0
    found: list[Difference] = field(default_factory=list)
    largest: Difference | None = None
    share: float = 0.0

    def compare(self, place: tuple[str, ...], expected: Any, got: Any, scale: float = 0.0) -> None:
        """Hold one answer against another, down to its last number; ``scale`` is the size of its neighbours."""
        if is_long(expected) and is_long(got):
            self._long(place, expected, got)
        elif _refused(expected) != _refused(got):
            self._add(place, "form", shown(expected), shown(got))
        elif isinstance(expected, dict) and isinstance(got, dict):
            for name in expected:
                if name in got:
                    self.compare((*place, name), expected[name], got[name])
                else:
                    self._add(place, "lost", shown(expected[name]), "", name=name)
            for name in got.keys() - expected.keys():
                self._add(place, "new", "", shown(got[name]), name=name)
        elif _texts(expected) and _texts(got) and [] != expected != got != []:
            self._text(place, expected, got)
        elif isinstance(expected, list) and isinstance(got, list):
            self._list(place, expected, got, scale)
        elif (a := number(expected)) is not None and (b := number(got)) is not None:
            self._number(place, a, b, scale)
        elif isinstance(expected, str) and isinstance(got, str):
            self._text(place, [expected], [got])
        elif expected != got:
            self._add(place, "form", shown(expected), shown(got))
        else:
            self.count += 1

    def _add(
        self, place: tuple[str, ...], kind: Kind, expected: str, got: str, size: float = math.inf, name: str = ""
    ) -> None:
        self.found.append(Difference(" / ".join((*place, name) if name else place), kind, expected, got, size))

    def _number(self, place: tuple[str, ...], expected: float, got: float, scale: float) -> None:
        self.count += 1
        if expected == got or (math.isnan(expected) and math.isnan(got)):
            return
        size = abs(got - expected) / max(abs(expected), abs(got), scale, 1.0)
        size = size if math.isfinite(size) else math.inf
        one = Difference(" / ".join(place), "number", repr(expected), repr(got), size)
        if self.tolerance is None:
            share, allowed = size, -1.0
        elif _name(place) in COUNTED:
            return
        else:
            allowed = self.tolerance * max((by for word, by in WIDER.items() if word in place), default=1.0)
            share = size / allowed
        if self.largest is None or share > self.share:
            self.largest, self.share = one, share
        if not size <= allowed:
            self.found.append(one)

    def _list(self, place: tuple[str, ...], expected: list[Any], got: list[Any], scale: float) -> None:
        if len(expected) != len(got):
            self._add(place, "form", f"{len(expected)} of them: {shown(expected)}", f"{len(got)}: {shown(got)}")
            return
        scale = scale or max((abs(one) for one in _numbers(expected) if math.isfinite(one)), default=0.0)
        for index, (one, other) in enumerate(zip(expected, got, strict=True)):
            self.compare((*place, str(index)), one, other, scale)

    def _long(self, place: tuple[str, ...], expected: Any, got: Any) -> None:
        if expected["shape"] != got["shape"]:
            self._add(place, "form", f"shape {expected['shape']}", f"shape {got['shape']}")
            return
        before = len(self.found)
        self._list(place, expected["samples"], got["samples"], 0.0)
        same = expected[HASH] == got[HASH]
        if self.tolerance is None and not same and len(self.found) == before:
            kept = f"hash {expected[HASH][:12]}..."
            self._add(place, "number", kept, f"hash {got[HASH][:12]}..., the samples are the same")

    def _text(self, place: tuple[str, ...], expected: list[str], got: list[str]) -> None:
        self.count += 1
        if expected == got:
            return
        lines = next((a, b) for a, b in itertools.zip_longest(expected, got, fillvalue="(no line)") if a != b)
        before, now = "\n".join(expected), "\n".join(got)
        numbers, others = _NUMBER.findall(before), _NUMBER.findall(now)
        if self.tolerance is None:
            same, plain = numbers == others, False
        else:
            same = len(numbers) == len(others) and all(map(self._printed_alike, numbers, others))
            plain = _words(before) == _words(now)
        if not (same and plain):
            self._add(place, "words" if same else "number", shown(lines[0]), shown(lines[1]))

    def _printed_alike(self, one: str, other: str) -> bool:
        """Whether two printed numbers differ by one in the last digit printed at most, or by the tolerance."""
        mantissa, _, power = one.lower().partition("e")
        last = 10.0 ** (int(power or 0) - len(mantissa.partition(".")[2]))
        a, b = float(one), float(other)
        return abs(a - b) <= max(1.01 * last, (self.tolerance or 0.0) * abs(a))


def _name(place: tuple[str, ...]) -> str:
    return next(word for word in reversed(place) if not word.isdigit())


def _refused(answer: Any) -> bool:
    return isinstance(answer, dict) and "refused" in answer


def _texts(value: Any) -> bool:
    return isinstance(value, list) and all(isinstance(one, str) and number(one) is None for one in value)


def _numbers(value: Any) -> list[float]:
    if isinstance(value, list):
        return [size for one in value for size in _numbers(one)]
    found = number(value)
    return [] if found is None else [float(found)]


def _words(text: str) -> str:
    return " ".join(_NUMBER.sub("#", text).split())


def report(comparison: Comparison, most: int = 20) -> str:
    """What a comparison has found, the largest differences first."""
    found = sorted(comparison.found, key=lambda one: -one.size)
    lines = []
    kinds: tuple[tuple[Kind, str], ...] = (
        ("number", "numbers differ"), ("lost", "are no longer there"), ("form", "are of another form"),
        ("words", "texts have other words and the same numbers"), ("new", "are not in the record"),
    )  # fmt: skip
    for kind, words in kinds:
        some = [one for one in found if one.kind == kind]
        if some:
            lines += [f"{len(some)} {words}:", *(f"  {one}" for one in some[:most])]
            lines += [f"  ... and {len(some) - most} more"] if len(some) > most else []
    told = f"{comparison.count} numbers and texts compared"
    if comparison.largest is not None:
        told += f"; the largest difference of a number: {comparison.largest}"
    else:
        told += "; no number differs"
    return "\n".join([*lines, told])


def fails(comparison: Comparison, words_too: bool = True) -> list[Difference]:
    """The differences that count: all but what is new and, where so wished, changed words with the same numbers."""
    return [one for one in comparison.found if one.kind != "new" and (words_too or one.kind != "words")]
