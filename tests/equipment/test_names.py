"""Names are one line of plain letters; what steers a terminal or breaks a table is refused."""

from __future__ import annotations

import pytest

from archerysim.equipment import Setup, SetupError, loads
from archerysim.errors import printable
from archerysim.study.notes.notes_file import loads_notes
from tests.support.equipment.setup_texts import MEASURED
from tests.support.shot.example_bows import FOLDER

BAD = {
    "\\u0000": "the control character U+0000",
    "\\u0007": "the control character U+0007",
    "\\u001b[31m": "the control character U+001B",
    "\\u007f": "the control character U+007F",
    "\\u0085": "the control character U+0085",
    "\\u202e": "the control character U+202E",
    "\\u2066": "the control character U+2066",
    "\\t": "a tab",
    "\\n": "a line break",
    "\\r": "a line break",
    "\\u2028": "a line break",
}


@pytest.mark.parametrize("written", BAD)
def test_control_characters_are_refused(written: str) -> None:
    notes = (FOLDER / "notes.toml").read_text("utf-8")
    for read, text in ((loads, MEASURED), (loads_notes, notes)):
        name = next(line for line in text.splitlines() if line.startswith("name = "))
        with pytest.raises(SetupError) as error:
            read(text.replace(name, f'name = "a{written}b"'))
        assert str(error.value) == f"name: it holds {BAD[written]}. Write it in one line of plain letters."


@pytest.mark.parametrize("name", ["Bögen", "弓", "قوس", "🏹", "👩‍🦽", "a\u00a0b", "", "a$b$", "<b>", "'\"\\"])
def test_letters_of_all_scripts_are_kept(name: str, measured: Setup) -> None:
    assert loads(measured.replace(name=name).to_toml()).name == name


def test_messages_do_not_repeat_what_does_not_show() -> None:
    with pytest.raises(SetupError) as error:
        loads(MEASURED.replace('"220 mm"', '"\\u001b[2J220 mm\\u202e"'))
    assert str(error.value).isprintable()
    assert r'"\x1b[2J220 mm\u202e"' in str(error.value)
    assert printable("weiß 8 mm") == "weiß 8 mm"
