"""Texts cut and folded to a width: as much as fits, nothing lost."""

from __future__ import annotations

import pytest

from archerysim.show.style import CENTIMETRE, SMALL
from archerysim.show.text_widths import fold, most_letters, text_width

TEXTS = ("x" * 90, "WAVE.To;fi,ffl" * 6, "a", "ab", "$a_1$ & 100 % <b>" * 5)


@pytest.mark.parametrize("text", TEXTS)
@pytest.mark.parametrize("room", [0.0, 11.0, 100.0, 250.0])
def test_as_many_letters_as_there_is_room_for(text: str, room: float) -> None:
    def fits(part: str) -> bool:
        return text_width(part, SMALL) <= room

    tried = (count for count in range(len(text) - 1, 1, -1) if fits(text[:count]))  # one after the other
    assert most_letters(text, fits) == next(tried, 1)


def test_a_word_that_is_too_long_is_cut_and_each_line_is_full() -> None:
    wide, words = 5.0, f"a shaft {'x' * 200} and its end"
    lines = fold(words, wide, SMALL).split("\n")
    assert "".join(lines).replace(" ", "") == words.replace(" ", "")
    most = 72.0 * CENTIMETRE * wide
    assert all(text_width(line, SMALL) <= most for line in lines)
    cut = [line for line in lines if set(line) == {"x"}]
    assert all(text_width(f"{line}x", SMALL) > most for line in cut[:-1])
    assert len(cut) > 3
