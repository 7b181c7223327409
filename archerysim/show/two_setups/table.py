"""What lies between two setups, in lines: one change after another, and the effect of the order."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.fields.record import Record
from archerysim.show.style import MM, POUND
from archerysim.show.text import columns, number, with_warnings, wrapped

if TYPE_CHECKING:
    from archerysim.study.two_setups.compare import TwoSetups
    from archerysim.study.two_setups.differences import Difference

# an answer, its head, its size in the unit shown, digits
SHOWN = (
    ("brace_height", "brace mm", 1.0, 1), ("draw_force", "weight lb", POUND, 1), ("speed", "speed m/s", 1.0, 1),
    ("angle_of_attack", "attack deg", 1.0, 2), ("bare_above", "bare_above cm", 10.0, 1),
    ("together_reading", "best_reading mm", 1.0, 1),
)  # fmt: skip
MORE = (
    ("tiller_split", "split mm", 1.0, 1), ("reading", "reading mm", 1.0, 1), ("stored_energy", "energy J", 1.0, 2),
    ("pitch", "pitch deg", 1.0, 2), ("pitch_rate", "pitch_rate rad/s", 1.0, 2),
    ("bare_beside", "bare_beside cm", 10.0, 1),
)  # fmt: skip
ROWS = 8  # changes of their own in the answer
ORDER = 3  # changes whose place in the order matters, named
LITTLE = 0.05  # of a reading [mm]: less is no effect
TILLERS = "bow.upper_tiller"  # together with the lower one
WIDE = 40  # letters of a change
BESIDE = "Bare beside: only what a change does to it is given, positive away from the riser."


def compare_table(found: TwoSetups, distance: str, everything: bool = False) -> str:
    """What differs, what each change does when they are made one after another, and where the order matters.

    Parameters
    ----------
    found : TwoSetups
    distance : str
        Of the target, as the user said it.
    everything : bool
        All changes, with what each does alone first and last.
    """
    lines = [f"{' -> '.join(names(found))}: {_count(found)}"]
    if not found.differences:
        return "\n".join(lines)
    lines += [f"  bare and fletched shafts at {distance}; readings by the underside, whatever a file's convention"]
    ranked = _ranked(found)
    own = (
        list(range(len(found.differences)))
        if everything or len(found.differences) <= ROWS + 1
        else sorted(ranked[:ROWS])
    )
    rows = [("before", *_values(found, found.at[0]))]
    rows += [(f"  {change_words(found, k)}", *_values(found, found.steps[k], signed=True)) for k in own]
    rest = [k for k in range(len(found.differences)) if k not in own]
    if rest:
        both = found.steps[rest].sum(axis=0)
        rows.append((f"  the other {len(rest)} together (--all)", *_values(found, both, signed=True)))
    rows.append(("after", *_values(found, found.at[-1])))
    lines += columns(rows, *_heads(SHOWN))
    lines += _order(found, everything)
    if everything:
        lines += ["", *_more(found), "", "What each does when made before all others, and after them"]
        lines += _first_last(found)
        lines += wrapped(BESIDE)
    if everything:
        for name, why in found.reasons.items():
            lines += wrapped(f"no answer after {name}: {why}")
    elif found.reasons:
        lines += wrapped(f"No answer after {', '.join(found.reasons)} (why: --all)")
    launch = found.launches[1]
    if not everything:
        lines.append("  Each change first and last, pitch, energy, left and right: --all")
    return with_warnings([*lines, ""], launch.warnings, len(launch.limits_passed))


def names(found: TwoSetups) -> tuple[str, str]:
    """What both setups are called, told apart."""
    one, other = found.before.name, found.after.name
    return (one, other) if one != other else (f"{one}, before", f"{other}, after")


def _heads(shown: Any) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Names and units above the columns."""
    names, units = zip(*(head.split() for _, head, _, _ in shown), strict=True)
    return ("", *(name.replace("_", " ") for name in names)), ("", *units)


def _count(found: TwoSetups) -> str:
    count = len(found.differences)
    return "nothing differs that affects a shot" if not count else f"{count} change{'s' if count > 1 else ''}"


def _ranked(found: TwoSetups) -> list[int]:
    """The changes by what they do, the most first; those that do nothing at all left out."""
    spread = np.nanmax(np.abs(np.nan_to_num(found.steps)), axis=0)
    size = (np.abs(np.nan_to_num(found.steps)) / np.where(spread > 0.0, spread, 1.0)).sum(axis=1)
    return [int(k) for k in np.argsort(-size, kind="stable") if size[k] > 1e-3]


def _values(found: TwoSetups, row: np.ndarray, signed: bool = False, shown: Any = SHOWN) -> list[str]:
    values = [(float(row[found.answer(name)]) / size, digits) for name, _, size, digits in shown]
    return ["." if signed and abs(value) < 0.5 * 10.0**-digits else number(value, "", digits, signed)
            for value, digits in values]  # fmt: skip


def change_words(found: TwoSetups, k: int, wide: int = WIDE) -> str:
    """A change in words, in so many letters: "arrow.spine 0.7 -> 0.4 in"."""
    one = found.differences[k]
    if any(isinstance(side, tuple) and side and isinstance(side[0], Record) for side in (*one.before, *one.after)):
        return f"{one.name}: others"
    if one.name == TILLERS and len(one.fields) > 1:
        pairs = ("/".join(f"{at / MM:.4g}" for at in side) for side in (one.before, one.after))
        return f"tillers {' -> '.join(pairs)} mm"
    before, after = _told(found.before, one, one.before), _told(found.after, one, one.after)
    unit = after.partition(" ")[2]
    if unit and before.endswith(f" {unit}"):
        before = before.removesuffix(f" {unit}")
    words = f"{one.name} {before} -> {after}"
    return words if len(words) <= wide else f"{words[: wide - 3]}..."


def _told(setup: Any, one: Difference, values: tuple[Any, ...]) -> str:
    """One side of a change: what is given, else what the setup then takes; a reading with its file's convention."""
    from archerysim.equipment import filled
    from archerysim.equipment.readings import READING, read_by

    value = values[0]
    if value in (None, ()):
        value = filled(setup).get(one.name)
    if value is None or value == ():
        return "none"
    if isinstance(value, bool | str):
        return str(value)
    if isinstance(value, tuple):
        return f"{len(value)} values" if len(set(value)) > 1 else _told_number(value[0], one.name)
    by = f" {read_by(setup).convention}" if one.name == READING else ""
    return _told_number(value, one.name) + by


def _told_number(value: float, path: str) -> str:
    from archerysim.equipment import field_info
    from archerysim.fields.units import from_si

    unit = field_info(path).unit
    return f"{from_si(value, unit):.4g} {unit}".rstrip().replace("lbf", "lb")


def _order(found: TwoSetups, everything: bool) -> list[str]:
    """For which changes it matters when they are made: by the best reading, else by the bare shaft's height."""
    if len(found.differences) < 2:
        return []
    name, unit, size = "together_reading", "mm of the best reading", 1.0
    column = found.answer(name)
    if not np.isfinite(found.at[:, column]).all():
        name, unit, size = "bare_above", "cm of bare above fletched", 10.0
        column = found.answer(name)
    first, last = found.first[:, column] / size, found.last[:, column] / size
    apart = np.abs(np.nan_to_num(first - last))
    worst = [int(k) for k in np.argsort(-apart, kind="stable") if apart[k] > LITTLE]
    if not worst:
        return ["  The order hardly matters here: each change does the same first or last"]
    named = worst if everything else worst[:ORDER]
    words = [
        f"{found.differences[k].name} {number(first[k], '', 1, True)} made first, {number(last[k], '', 1, True)} last"
        for k in named
    ]
    return wrapped(f"The order matters ({unit}): {'; '.join(words)}", "  ", "    ")


def _more(found: TwoSetups) -> list[str]:
    rows = [("before", *_values(found, found.at[0], shown=MORE[:-1]), "")]
    rows += [
        (f"  {change_words(found, k)}", *_values(found, found.steps[k], True, MORE))
        for k in range(len(found.differences))
    ]
    rows.append(("after", *_values(found, found.at[-1], shown=MORE[:-1]), ""))
    return columns(rows, *_heads(MORE))


def _first_last(found: TwoSetups) -> list[str]:
    rows = []
    for k, one in enumerate(found.differences):
        first = _values(found, found.first[k], True)
        last = _values(found, found.last[k], True)
        rows.append((f"  {one.name}", *(f"{a}; {b}" for a, b in zip(first, last, strict=True))))
    return columns(rows, *_heads(SHOWN))
