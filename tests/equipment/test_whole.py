"""Files are written whole or not at all, into no one else's link, and over nothing that is not a plain file."""

from __future__ import annotations

import os
import sqlite3
import stat
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

from archerysim.equipment import SetupError
from archerysim.fields.file_writing import check_target, write_bytes, write_text

posix = pytest.mark.skipif(os.name != "posix", reason="files of POSIX")


def names(folder: Path) -> list[str]:
    return sorted(one.name for one in folder.iterdir())


@posix
def test_a_new_file_has_the_permissions_that_the_user_wants(tmp_path: Path) -> None:
    before = os.umask(0o027)
    try:
        write_text(tmp_path / "a.toml", "a")
    finally:
        os.umask(before)
    assert stat.S_IMODE((tmp_path / "a.toml").stat().st_mode) == 0o640


@posix
def test_an_older_file_keeps_its_permissions_and_is_never_readable_by_more(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "a.toml"
    target.write_text("old")
    target.chmod(0o600)
    seen: list[int] = []
    real = os.open

    def watched(path: str, flags: int, *mode: int, **more: int) -> int:
        opened = real(path, flags, *mode, **more)
        if flags & os.O_CREAT:
            assert flags & os.O_EXCL
            assert flags & os.O_NOFOLLOW
            seen.append(stat.S_IMODE(os.fstat(opened).st_mode))
        return opened

    monkeypatch.setattr(os, "open", watched)
    write_text(target, "new")
    assert seen == [0o600]
    assert target.read_text() == "new"
    assert stat.S_IMODE(target.stat().st_mode) == 0o600


@posix
def test_a_link_planted_where_the_new_file_would_stand_is_not_followed(tmp_path: Path) -> None:
    """Names that can be guessed, such as those made of the process' number, would be."""
    victim = tmp_path / "victim"
    victim.write_text("precious")
    (tmp_path / f".a.{os.getpid()}.part.toml").symlink_to(victim)
    write_text(tmp_path / "a.toml", "new")
    assert victim.read_text() == "precious"
    assert (tmp_path / "a.toml").read_text() == "new"


@posix
def test_a_link_to_a_file_stays_one(tmp_path: Path) -> None:
    (tmp_path / "elsewhere").mkdir()
    there, link = tmp_path / "elsewhere" / "b.toml", tmp_path / "a.toml"
    link.symlink_to(there)
    for text in ("first", "second"):  # not there yet, and there
        check_target(link, "out", (".toml",))
        write_text(link, text)
        assert link.is_symlink()
        assert there.read_text() == text
    assert names(tmp_path / "elsewhere") == ["b.toml"]


@posix
@pytest.mark.skipif(os.name != "posix" or os.geteuid() != 0, reason="only root can make a link for another user")
def test_a_link_that_another_user_made_is_not_followed(tmp_path: Path) -> None:
    victim, link = tmp_path / "victim", tmp_path / "a.toml"
    victim.write_text("precious")
    link.symlink_to(victim)
    os.lchown(link, 12345, 12345)
    with pytest.raises(SetupError, match="it is a link that another user has made"):
        write_text(link, "new", "out")
    assert victim.read_text() == "precious"


def circle(path: Path) -> None:
    path.symlink_to(path.with_name("other.csv"))
    path.with_name("other.csv").symlink_to(path)


def database(path: Path) -> None:
    with closing(sqlite3.connect(path)) as base, base:
        base.execute("CREATE TABLE shots (a)")


SPECIAL = {
    "a circle": (circle, "cannot be written (Too many levels of symbolic links)"),
    "a pipe": (lambda path: os.mkfifo(path), "it is a pipe, not a file"),
    "a device": (lambda path: path.symlink_to("/dev/null"), "it is a device, not a file"),
    "a folder": (lambda path: path.mkdir(), "it is a folder, not a file"),
    "a folder by a link": (lambda path: path.symlink_to("/tmp"), "it is a folder, not a file"),
    "a database": (database, "it is a database, as a store of shots is"),
    "no folder": (lambda path: path.symlink_to("/none/a.csv"), "there is no such folder"),
}


@posix
@pytest.mark.parametrize("kind", SPECIAL)
def test_what_is_no_plain_file_is_refused_before_any_work(kind: str, tmp_path: Path) -> None:
    make, words = SPECIAL[kind]
    target = tmp_path / "a.csv"
    make(target)
    before, was = names(tmp_path), target.lstat()
    for job in (lambda: check_target(target, "out", (".csv",)), lambda: write_text(target, "new", "out")):
        with pytest.raises(SetupError) as error:
            job()
        assert str(error.value).startswith(f"out: {target} ")
        assert words in str(error.value)
    assert names(tmp_path) == before
    assert target.lstat().st_ino == was.st_ino


@posix
def test_what_the_user_may_not_write_is_refused_before_any_work(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "a.csv"
    target.write_text("kept")
    real = os.access
    for closed, words in ((target, "it exists and may not be changed"), (tmp_path, "may not write into its folder")):
        monkeypatch.setattr(os, "access", lambda path, mode, c=closed: path != c and real(path, mode))
        with pytest.raises(SetupError, match=words):
            check_target(target, "out", (".csv",))
    assert target.read_text() == "kept"


LIMITED = """
import resource, sys
from archerysim.equipment import SetupError
from archerysim.fields.file_writing import write_bytes
resource.setrlimit(resource.RLIMIT_FSIZE, (1000, 1000))
try:
    write_bytes(sys.argv[1], bytes(5000), "out")
except SetupError as error:
    print(error)
"""


@posix
def test_a_file_that_does_not_fit_leaves_the_older_one_and_nothing_else(tmp_path: Path) -> None:
    target = tmp_path / "a.csv"
    target.write_text("kept")
    done = subprocess.run([sys.executable, "-c", LIMITED, target], capture_output=True, text=True, check=False)
    assert done.stdout == f"out: {target} cannot be written (File too large). Make room on the disk.\n", done.stderr
    assert names(tmp_path) == ["a.csv"]
    assert target.read_text() == "kept"


def test_bytes_and_their_views(tmp_path: Path) -> None:
    for content in (b"\x00\xff", memoryview(b"\x00\xff")):
        write_bytes(tmp_path / "a", content)
        assert (tmp_path / "a").read_bytes() == b"\x00\xff"


def test_the_longest_name_can_be_written(tmp_path: Path) -> None:
    target = tmp_path / ("a" * 250 + ".csv")
    write_text(target, "new")
    assert names(tmp_path) == [target.name]
