"""Numbers and rows as plain text: both systems of units, aligned columns, wrapped lines."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from archerysim.show.style import FOOT, FOOT_POUND, INCH, MM, POUND

if TYPE_CHECKING:
    from archerysim.equipment import Setup
    from archerysim.equipment.readings import ReadBy

WIDTH = 100  # of a page of text
LEAST_ANGLE = 0.005  # less is printed as none [deg]
LEAST_RATE = 0.05  # the same [rad/s]


def length(value: float, digits: int = 1) -> str:
    """A length [m] in mm and inches."""
    return f"{value / MM:.{digits}f} mm ({value / INCH:.2f} in)"


def force(value: float) -> str:
    """A force [N] in N and lbf."""
    return f"{value:.1f} N ({value / POUND:.1f} lbf)"


def energy(value: float) -> str:
    """An energy [J] in J and ft lb."""
    return f"{value:.2f} J ({value / FOOT_POUND:.2f} ft lb)"


def speed(value: float) -> str:
    """A speed [m/s] in m/s and fps."""
    return f"{value:.2f} m/s ({value / FOOT:.1f} fps)"


def reading(underside: float, by: ReadBy | None = None) -> str:
    """A reading by the underside [m] as it is told, in mm and sixteenths of an inch; else told by the underside."""
    from archerysim.equipment.readings import BY_UNDERSIDE, both_units

    by = by or BY_UNDERSIDE
    return f"reading {both_units(by.reading(underside))} {by.words}"


def nose(angle: float) -> str:
    """How the shaft points by an angle [deg], positive nose up: "level", "nose up 0.17 deg"."""
    if abs(angle) < LEAST_ANGLE:
        return "level"
    return f"nose {'up' if angle > 0.0 else 'down'} {abs(angle):.2f} deg"


def tail(angle: float) -> str:
    """The same in the trade's words: "tail low (nose up 0.17 deg)", "tail high (nose down 0.17 deg)"."""
    if abs(angle) < LEAST_ANGLE:
        return "level"
    return f"tail {'low' if angle > 0.0 else 'high'} ({nose(angle)})"


def turning(rate: float) -> str:
    """How the shaft turns at a rate [rad/s], positive nose up: "hardly turning", "turning nose up at 0.8 rad/s"."""
    if abs(rate) < LEAST_RATE:
        return "hardly turning"
    return f"turning nose {'up' if rate > 0.0 else 'down'} at {abs(rate):.1f} rad/s"


def number(value: float, unit: str, digits: int, signed: bool = False) -> str:
    """A number with its unit; a dash where there is none."""
    if not math.isfinite(value):
        return "-"
    return f"{round(value, digits) + 0.0:{'+' if signed else ''}.{digits}f} {unit}".rstrip()


def away(setup: Setup) -> str:
    """The side away from the riser's window, seen from behind the archer: "left" for a right-handed one."""
    from archerysim.equipment import filled

    return other(filled(setup).archer.handed)


def other(side: str) -> str:
    """Left for right, right for left."""
    return "right" if side == "left" else "left"


def columns(rows: Iterable[Sequence[str]], *heads: Sequence[str]) -> list[str]:
    """Lines with aligned columns: the first to the left, the others to the right.

    Parameters
    ----------
    rows : iterable of sequence of str
        All of the same length.
    *heads : sequence of str
        Rows that name the columns, with a rule below the last.
    """
    every = [*heads, *rows]
    if not every:
        return []
    widths = [max(len(row[k]) for row in every) for k in range(len(every[0]))]
    lines = []
    for row in every:
        first, *others = (
            cell.rjust(wide) if k else cell.ljust(wide) for k, (cell, wide) in enumerate(zip(row, widths, strict=True))
        )
        lines.append("  ".join(["", first, *others]).rstrip())
    if heads:
        lines.insert(len(heads), "  " + "-" * (sum(widths) + 2 * (len(widths) - 1)))
    return lines


def pairs(rows: Iterable[tuple[str, str]]) -> list[str]:
    """Lines of name and text, the texts below each other."""
    body = list(rows)
    wide = max((len(name) for name, _ in body), default=0)
    return [f"  {name.ljust(wide)}  {text}".rstrip() for name, text in body]


def told(rows: Iterable[tuple[str, str]]) -> list[str]:
    """As `pairs`, with texts of more than a line going on below themselves; those without a text are left out."""
    body = [row for row in rows if row[1]]
    wide = max((len(name) for name, _ in body), default=0)
    return [line for name, text in body for line in wrapped(text, f"  {name.ljust(wide)}  ", " " * (wide + 4))]


def wrapped(text: str, first: str = "  ", later: str = "    ") -> list[str]:
    """A long sentence as lines of the page's width."""
    return textwrap.wrap(text, WIDTH, initial_indent=first, subsequent_indent=later)


def warned(warnings: Iterable[str]) -> list[str]:
    """The warnings, under a head of their own."""
    lines = ["Warnings"]
    for warning in warnings:
        lines += wrapped(warning, "  ! ", "    ")
    return lines


def with_warnings(lines: Sequence[str], warnings: Sequence[str], passed: int) -> str:
    """A page: the first ``passed`` warnings, of limits, on top; then the lines; then the other warnings."""
    top = [*warned(warnings[:passed]), ""] if passed else []
    rest = warned(warnings[passed:]) if len(warnings) > passed else []
    return "\n".join([*top, *lines, *rest])


def grouped(texts: Sequence[str], of: str, passed: Sequence[int] = ()) -> tuple[list[str], int]:
    """Each kind of warning once, its numbers as ranges, with how many have it.

    Parameters
    ----------
    texts : sequence of str
        One for each shot, its sentences apart by line ends.
    of : str
        What they are counted in ("points", "shots").
    passed : sequence of int
        How many of each text's sentences, from the first on, tell of limits that are passed.

    Returns
    -------
    sentences : list of str
        Those of limits first; at last, where no shot passed one, what that means.
    limits : int
        How many of them tell of limits.
    """
    from archerysim.shot.warnings import NONE, kind_of, ranged

    limits: dict[str, list[str]] = {}
    others: dict[str, list[str]] = {}
    heads = [*passed, *[0] * (len(texts) - len(passed))]
    for text, head in zip(texts, heads, strict=True):
        for k, sentence in enumerate(text.split("\n")):
            if sentence and sentence != NONE:
                (limits if k < head else others).setdefault(kind_of(sentence), []).append(sentence)
    sentences = [
        f"{ranged(alike)} (at {len(alike)} of {len(texts)} {of})"
        for alike in (*limits.values(), *others.values())
    ]  # fmt: skip
    if texts and all(text.endswith(NONE) for text in texts):
        sentences.append(NONE)
    return sentences, len(limits)


def titled(title: str, lines: Iterable[str]) -> list[str]:
    """A head, its lines and an empty line."""
    return [title, *lines, ""]
