"""Lessons for a class, made once for all tests of their pages."""

from __future__ import annotations

from functools import cache

import pytest

from archerysim.equipment import Setup
from archerysim.study.lesson import lesson as lesson_module
from archerysim.study.lesson.lesson import Lesson, lesson
from tests.support.shot.example_bows import measured

ENOUGH = 240  # shots behind a page whose numbers are held against fresh ones


@cache
def club_lesson() -> Lesson:
    """The club bow's."""
    return lesson(measured("club-outdoor"), mesh="coarse", shots=ENOUGH, workers=1)


def rough_lesson(bow: Setup) -> Lesson:
    """A bow's from as few shots as will do, and hardly checked: for what no number decides."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(lesson_module, "FRESH", 8)
        return lesson(bow, mesh="coarse", shots=40, workers=1)
