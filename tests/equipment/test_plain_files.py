"""Reading plain files only, a bounded amount of them; and two names for one file."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from archerysim.equipment import Setup, SetupError, load
from archerysim.fields.file_reading import MOST, refuse_one_file
from archerysim.study.measured.data import DrawForce
from archerysim.study.notes.notes_file import load_notes
from tests.support.equipment.setup_texts import MEASURED
from tests.support.shot.example_bows import FOLDER

posix = pytest.mark.skipif(os.name != "posix", reason="files of POSIX")
READERS: dict[str, Callable[[Path], object]] = {"setup": load, "notes": load_notes, "data": DrawForce.read}
HOMES = {
    "setup": "archerysim: load", "notes": "archerysim: load_notes", "sweep": "archerysim: read",
    "data": "archerysim.study.measured.data: DrawForce.read",
}  # fmt: skip


def circle(path: Path) -> None:
    path.symlink_to(path.name)


SPECIAL = {
    "a folder": (lambda path: path.mkdir(), "cannot be read: it is a folder, not a file"),
    "a circle": (circle, "cannot be read (Too many levels of symbolic links)"),
    "long": (lambda path: path.write_bytes(b"#" * (MOST + 1)), "cannot be read: it is longer than 1 MB"),
    "UTF-16": (lambda path: path.write_bytes(MEASURED.encode("utf-16")), "is not UTF-8 text (it is UTF-16)"),
}


@posix
@pytest.mark.parametrize("reader", READERS)
@pytest.mark.parametrize("kind", SPECIAL)
def test_what_cannot_be_read_is_told_in_a_sentence(kind: str, reader: str, tmp_path: Path) -> None:
    make, words = SPECIAL[kind]
    path = tmp_path / "a.toml"
    make(path)
    with pytest.raises(SetupError) as error:
        READERS[reader](path)
    assert words in str(error.value)
    assert str(path) in str(error.value)
    assert len(str(error.value).splitlines()) == 1


READ = """
import importlib, sys
from archerysim.errors import SetupError
home, _, name = sys.argv[1].partition(": ")
for path in sys.argv[2:]:
    read = importlib.import_module(home)
    for part in name.split("."):
        read = getattr(read, part)
    try:
        read(path)
    except SetupError as error:
        print(error)
"""


@posix
@pytest.mark.parametrize("reader", HOMES)
def test_a_pipe_is_not_waited_for_and_a_device_not_read(reader: str, tmp_path: Path) -> None:
    """In a process of its own: one that waits for ever would stop the tests."""
    import resource

    os.mkfifo(tmp_path / "pipe.csv")
    (tmp_path / "device.csv").symlink_to("/dev/zero")
    names = ("pipe", "device")
    done = subprocess.run(
        [sys.executable, "-c", READ, HOMES[reader], *(tmp_path / f"{name}.csv" for name in names)], capture_output=True,
        text=True, check=False, timeout=300,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_AS, (3 << 30, 3 << 30)),
    )  # fmt: skip
    for name, line in zip(names, done.stdout.splitlines(), strict=True):
        assert f"cannot be read: it is a {name}, not a file. Name a plain file." in line, done.stderr


def test_a_mark_before_the_text_is_passed_over(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    for reader, text in ((load, MEASURED), (load_notes, (FOLDER / "notes.toml").read_text("utf-8"))):
        path.write_text(text, encoding="utf-8")
        plain = reader(path)
        path.write_text(text, encoding="utf-8-sig")
        assert reader(path) == plain


def test_a_file_of_just_one_megabyte_is_read(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    text = MEASURED.encode()
    path.write_bytes(text + b"#" * (MOST - len(text)))
    assert isinstance(load(path), Setup)


def hard(one: Path, other: Path) -> tuple[Path, Path]:
    one.write_text("x")
    os.link(one, other)
    return one, other


def soft(one: Path, other: Path) -> tuple[Path, Path]:
    one.write_text("x")
    other.symlink_to(one.name)
    return one, other


def to_come(one: Path, other: Path) -> tuple[Path, Path]:
    """A link to what is not there yet."""
    other.symlink_to(one)
    return one, other


def by_folder(one: Path, other: Path) -> tuple[Path, Path]:
    """Neither is there yet, and their folder has two names."""
    (one.parent / "folder").mkdir()
    (one.parent / "same").symlink_to("folder")
    return one.parent / "folder" / "a.csv", one.parent / "same" / "a.csv"


SAME: dict[str, Callable[[Path, Path], tuple[Path | str, Path | str]]] = {
    "one name": lambda one, other: (one, str(one)),
    "two spellings": lambda one, other: (one, os.path.join(one.parent, ".", "x", "..", one.name)),
    "relative": lambda one, other: (one, os.path.relpath(one)),
    "a hard link": hard,
    "a link": soft,
    "a link to what is to come": to_come,
    "a folder by a link": by_folder,
}


@posix
@pytest.mark.parametrize("kind", SAME)
def test_two_names_for_one_file_are_refused(kind: str, tmp_path: Path) -> None:
    one, other = SAME[kind](tmp_path / "a.csv", tmp_path / "b.csv")
    with pytest.raises(SetupError) as error:
        refuse_one_file({"setup": "bow.toml", "store": one, "out": other, "plot": None})
    assert str(error.value).startswith(f"out: {other} is the same file as the store")
    refuse_one_file({"setup": "bow.toml", "store": one, "out": tmp_path / "c.csv", "plot": ""})


def test_two_files_are_not_refused(tmp_path: Path) -> None:
    (tmp_path / "x").mkdir()
    for one, other in (("a.csv", "b.csv"), ("a.csv", "x/a.csv"), ("none/a.csv", "a.csv"), ("none/a.csv", "no/a.csv")):
        refuse_one_file({"store": tmp_path / one, "out": tmp_path / other})
