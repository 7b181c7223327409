"""The table of docs/season.md: what the notes said on each evening, and what was true."""

from __future__ import annotations

import runpy
from collections.abc import Callable
from pathlib import Path

from places import table

SEASON = Path(__file__).resolve().parents[1] / "examples" / "season.py"
ROLL = "archer.side_roll"


def season() -> str:
    """Evening by evening: the groups' answer beside the truth."""
    told = runpy.run_path(str(SEASON))
    rows = []
    for (day, found), (_, up, right) in zip(told["read_all"](), told["true_gaps"](), strict=True):
        last = found.groups[-1]
        aside = found.left_right
        roll = next(one for one in found.causes if one.cause.path == ROLL)
        rows.append([
            day, f"{1e3 * found.by.reading(last.reading):.0f} mm", found.move.words.partition(";")[0],
            f"{100 * abs(aside.gap):.0f} cm {'right' if aside.gap > 0.0 else 'left'}",
            f"{abs(up):.1f} cm {'high' if up > 0.0 else 'low'}, "
            f"{abs(right):.1f} cm {'right' if right > 0.0 else 'left'}",
            f"{roll.low:.1f} to {roll.high:.1f} deg",
        ])  # fmt: skip
    return table(
        ("evening", "reading", "the notes say", "bare shafts lie", "true middle of bare shafts",
         "roll off the fingers, 90 %"),
        rows,
    )  # fmt: skip


TABLES: dict[str, Callable[[], str]] = {"season": season}
