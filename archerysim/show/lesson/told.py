"""What the terminal tells of a page that was made."""

from __future__ import annotations

import math
import os
from typing import TYPE_CHECKING

from archerysim.fields.units import target_distance
from archerysim.show import text
from archerysim.show.style import MM
from archerysim.study.lesson.missed import WANTED

if TYPE_CHECKING:
    from archerysim.study.lesson.lesson import Lesson

NUMBERS = {
    "height": "bare above fletched", "side": "bare beside fletched", "lands": "where fletched hit, height",
    "lands beside": "where fletched hit, sideways", "attack": "nose up or down", "side attack": "nose left or right",
}  # fmt: skip


def lesson_told(lesson: Lesson, path: str | os.PathLike[str]) -> str:
    """What was written, the reading at which bare and fletched come together, and how well fresh shots are met."""
    still = (
        f"bare and fletched come together at {target_distance(lesson.distance)} at "
        f"{text.reading(lesson.still * MM, lesson.by)}"
        if math.isfinite(lesson.still)
        else "no reading brings bare and fletched together: the page says so"
    )
    rows = [
        (NUMBERS[one.name], f"{100.0 * one.usual:.1f} % of the range (worst {100.0 * one.worst:.1f} %)")
        for one in lesson.missed
    ]
    lines = [
        f"Written: {os.fspath(path)}. It opens in any browser, without a network.",
        f"{lesson.name}: {still}.",
        f"95 of 100 of {lesson.fresh} fresh shots are met within:",
        *text.pairs(rows),
        "The page calls the bow invented, as its file does."
        if lesson.invented
        else "The page says that these are this bow's numbers as the model has it, and no other's.",
    ]
    rough = [NUMBERS[one.name] for one in lesson.missed if one.usual > WANTED]
    if rough:
        lines.append(
            f"Over {100.0 * WANTED:.0f} %: {', '.join(rough)}. The page says so: take no small differences of it."
        )
    return "\n".join(lines)
