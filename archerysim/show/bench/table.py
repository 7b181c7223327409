"""A bow at the bench in lines: what was done and held, then every number before, after, and what it moved by."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from archerysim.show.style import POUND
from archerysim.show.text import columns, number, with_warnings, wrapped

if TYPE_CHECKING:
    from archerysim.study.bench.change import BenchChange

# answer, name, unit shown, size of that unit in the answer's, digits; a blank line before a group's first
Shown = tuple[str, str, str, float, int]
SHORT: tuple[Shown, ...] = (
    ("brace_height", "brace height", "mm", 1.0, 1),
    ("upper_tiller", "upper tiller", "mm", 1.0, 1),
    ("lower_tiller", "lower tiller", "mm", 1.0, 1),
    ("tiller_split", "tiller split", "mm", 1.0, 1),
    ("draw_weight", "draw weight", "lb", POUND, 2),
    ("stored_energy", "stored energy", "J", 1.0, 2),
    ("speed", "speed", "m/s", 1.0, 2),
    ("reading", "reading, locators tied", "mm", 1.0, 1),
    ("best_reading", "reading it wants", "mm", 1.0, 1),
    ("angle_of_attack", "angle of attack", "deg", 1.0, 2),
    ("bare_above", "bare above fletched", "cm", 10.0, 1),
)
MORE: tuple[Shown, ...] = (
    ("upper_share", "upper limb's share of the work", "%", 0.01, 1),
    ("upper_strain", "upper limb's largest strain", "%", 0.01, 2),
    ("lower_strain", "lower limb's largest strain", "%", 0.01, 2),
    ("string_stiffness", "stiffness against tipping", "N/m", 1.0, 0),
    ("upper_home", "upper tip home", "ms", 1.0, 2),
    ("lower_home", "lower tip home", "ms", 1.0, 2),
    ("riser_impulse", "riser's forward momentum", "N s", 1.0, 2),
    ("riser_turning", "riser turning, nose up", "rad/s", 1.0, 2),
    ("pitch", "pitch", "deg", 1.0, 2),
    ("pitch_rate", "pitch rate", "rad/s", 1.0, 2),
    ("vertical_velocity", "vertical velocity", "m/s", 1.0, 2),
)
LITTLE = 0.05  # [mm] of a reading: less is nothing
BY = "Readings by the underside. The reading it wants brings bare and fletched shafts together"


def bench_table(found: BenchChange, distance: str, everything: bool = False) -> str:
    """Before and after in one table.

    Parameters
    ----------
    found : BenchChange
    distance : str
        Of the target, as the user said it.
    everything : bool
        All answers, and those after every step.
    """
    lines = [f"{found.before.setup.name} at the bench"]
    for k, step in enumerate(found.steps, 1):
        lines += wrapped(f"{k}  {step}", "  ", "     ")
    lines += wrapped(f"held: {found.held}", "  ", "    ")
    lines += ["", *_table(found, SHORT + MORE if everything else SHORT, everything and len(found.steps) > 1), ""]
    lines += wrapped(f"{BY} at {distance}{_range(found)}.", "  ", "  ")
    lines += [line for part in _remarks(found) for line in wrapped(part, "  ", "  ")]
    for name, why in found.reasons.items():
        after = f"after {name}" if name else "before"
        lines += wrapped(f"No answer {after}: {why}", "  ", "  ")
    if not everything:
        lines.append("  Limbs, strain, riser and launch, step by step: --all")
    return with_warnings([*lines, ""], found.warnings, len(found.limits_passed))


def _table(found: BenchChange, shown: tuple[Shown, ...], by_step: bool) -> list[str]:
    rows: list[tuple[str, ...]] = []
    for name, words, unit, size, digits in shown:
        values = found.at[:, found.answer(name)] / size
        if not np.isfinite(values).any():
            continue
        each = values if by_step else values[[0, -1]]
        moved = float(values[-1] - values[0])
        told = "." if abs(moved) < 0.5 * 10.0**-digits else number(moved, "", digits, True)
        rows.append((f"{words} [{unit}]", *(number(float(one), "", digits) for one in each), told))
    heads = ("", "before", *([f"after {k}" for k in range(1, len(found.at))] if by_step else ["after"]), "moved")
    return columns(rows, heads)


def _range(found: BenchChange) -> str:
    """Where the wanted readings lie with 90 %."""
    if found.known_to is None or not found.known_to.known:
        return ""
    before, after = (
        f"{max(low, 0.0):.1f} to {high:.1f} mm" for low, high in (found.best_range(0), found.best_range(-1))
    )
    return f"; with 90 % it lies within {before} before, {after} after"


def _remarks(found: BenchChange) -> list[str]:
    """What the numbers come to: whether the locators have to follow, and which limb comes home first."""
    best, tied = (found.at[:, found.answer(name)] for name in ("best_reading", "reading"))
    out = []
    if np.isfinite(best[[0, -1]]).all():
        follow = float((best[-1] - tied[-1]) - (best[0] - tied[0]))
        out.append(
            f"Tied where they are, the locators sit {_by(follow)} than before; only this difference shows at the butt."
            if abs(follow) >= LITTLE
            else "The tied reading and the one it wants move together: nothing shows at the butt."
        )
    home = found.at[-1, [found.answer("upper_home"), found.answer("lower_home")]]
    if np.isfinite(home).all():
        first, later = ("upper", "lower") if home[0] < home[1] else ("lower", "upper")
        out.append(f"The {first} limb comes home {abs(float(home[0] - home[1])):.1f} ms before the {later} one.")
    return out


def _by(follow: float) -> str:
    """By how much the tied locators now sit too high or low beside before [mm]."""
    return f"{abs(follow):.1f} mm {'lower' if follow > 0 else 'higher'} beside the reading it wants"
