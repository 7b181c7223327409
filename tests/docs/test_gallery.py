"""The gallery: every picture with one sentence and a command that would draw it."""

from __future__ import annotations

import ast
import re
import shlex
from typing import NamedTuple

import pytest

import archerysim
from archerysim import show
from archerysim.cli.main import parser
from tests.support.docs.scripts import DOCS

ENTRY = re.compile(r"!\[[^]]+\]\(images/(\S+)\.png\)\n\n((?:[^`\n].*\n)+)\n```(sh|python)\n((?:.*\n)*?)```\n")
GALLERY = (DOCS / "gallery.md").read_text(encoding="utf-8")
STORIES = "story-"


class Entry(NamedTuple):
    """A picture, what is said of it, and what draws it."""

    name: str
    words: str
    kind: str
    typed: str


ENTRIES = [Entry(*found) for found in ENTRY.findall(GALLERY)]


def test_every_picture_stands_in_it_once() -> None:
    kept = sorted(path.stem for path in (DOCS / "images").iterdir())
    assert sorted(entry.name for entry in ENTRIES) == kept
    assert len(ENTRIES) == GALLERY.count("![")


def test_every_function_that_draws_has_its_picture() -> None:
    drawn = "".join((DOCS / name).read_text(encoding="utf-8") for name in ("pictures.py", "stills.py"))
    saves = {"save_measures", "save_sheet"}  # several pages, or a PDF, of what is drawn
    assert [name for name in show.__all__ if f"show.{name}(" not in drawn and name not in saves] == []


@pytest.mark.parametrize("entry", ENTRIES, ids=lambda entry: entry.name)
def test_one_sentence_and_a_command(entry: Entry) -> None:
    words = " ".join(entry.words.split())
    assert words.endswith(".")
    assert not re.search(r"[.!?] [A-Z]", words)
    if entry.kind == "python":
        tree = ast.parse(entry.typed)
        for one in ast.walk(tree):
            if isinstance(one, ast.Attribute) and isinstance(one.value, ast.Name):
                home = {"archerysim": archerysim, "show": show}[one.value.id]
                assert hasattr(home, one.attr)
        assert f"out/{entry.name}." in entry.typed
        return
    program, *arguments = shlex.split(entry.typed.replace("\\\n", ""))
    for one in arguments:
        if one.startswith(("examples/", "benchmarks/")):
            assert (DOCS.parent / one).is_file()
    if program == "python":
        assert arguments
        return
    assert program == "archerysim"
    asked = vars(parser().parse_args(arguments))
    written = [str(asked[name]) for name in ("plot", "out") if asked.get(name)]
    assert entry.name.startswith(STORIES) or any(f"/{entry.name}." in one for one in written)
