"""Wild answers and wild pages end in a setup or in one sentence, never otherwise."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from archerysim.equipment import SetupError, loads
from archerysim.equipment.first_setup.filled_page import read_filled
from archerysim.equipment.first_setup.interview import first_setup
from archerysim.equipment.first_setup.questions import QUESTIONS
from archerysim.equipment.first_setup.setup_text import read_marked
from archerysim.show.measures.pages import measures_markdown

WILD = (
    "", " ", "8", "8 mm", "1/2 top", "1/2 in top", "1/0 in", "top", "9" * 60, "-3 mm", "34 lb at", "34 at 28",
    "at 28 in", "18 HMPE", "18", "0 HMPE", "19 g", "300 gr", "1e400 mm", "nan mm", "inf", "mm", "220 mm by the top",
    "\x00", "\u202e7 mm", '8" top', "club", "b", "left", "three under", "700", "0.7", "40 lb", "7..5 mm", "5 mm 5",
    "8 3/4", "8 3/4 in", "|", "28 in", "27 in", "190 mm", "200 mm", "7 1/2 in", "90 gr", "6 gr/in", "30", "5.6",
)  # fmt: skip
NAMES = [question.name for question in QUESTIONS]


@pytest.mark.parametrize("batch", range(4))
def test_wild_answers(batch: int, tmp_path: Path) -> None:
    rng = np.random.default_rng(300 + batch)
    made, told = 0, list[str]()
    for _ in range(300):
        chosen = rng.choice(NAMES, int(rng.integers(1, 3)), replace=False)
        answers = {str(one).replace("-", "_"): WILD[int(rng.integers(len(WILD)))] for one in chosen}
        try:
            found = first_setup(**answers)
        except SetupError as error:
            told.append(str(error))
            continue
        made += 1
        target = tmp_path / "bow.toml"
        target.write_text(found.text, encoding="utf-8")
        assert read_marked(target)[1] == found.assumed, answers
        assert loads(found.text) == found.setup
    assert made > 5
    assert all(0 < len(one) < 900 for one in told)


def test_wild_pages(tmp_path: Path) -> None:
    rng = np.random.default_rng(7)
    page, told = tmp_path / "m.md", list[str]()
    lines = measures_markdown().splitlines()
    for _ in range(200):
        spoiled = list(lines)
        for k in rng.integers(0, len(lines), 4):
            spoiled[k] = spoiled[k].removesuffix("|  |") + f"| {WILD[int(rng.integers(len(WILD)))]} |"
        page.write_text("\n".join(spoiled), encoding="utf-8")
        try:
            found = read_filled(page)
            answers = {name.replace("-", "_"): value for name, value in found.answers.items()}
            first_setup("bow", found.fields, **answers)
        except SetupError as error:
            told.append(str(error))
    assert all(0 < len(one) < 900 for one in told)
