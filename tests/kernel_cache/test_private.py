"""A folder that others can write into, or that belongs to another, is not used."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

from archerysim.kernel_cache import private
from archerysim.kernel_cache.private import NotPrivate, private_folder, read_private, write_private

pytestmark = pytest.mark.skipif(not hasattr(os, "geteuid"), reason="no owners and modes here")
as_root = pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() != 0, reason="gives a folder away as root")
OTHER = 12345


def mode(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


def test_every_level_is_made_for_the_user_alone(tmp_path: Path) -> None:
    before = os.umask(0)
    try:
        made = private_folder(tmp_path / "a" / "b" / "c")
    finally:
        os.umask(before)
    assert made == tmp_path / "a" / "b" / "c"
    assert [mode(path) for path in (made, made.parent, made.parent.parent)] == [0o700] * 3


@pytest.mark.parametrize("open_to", [0o770, 0o707, 0o720, 0o702, 0o1777])
def test_a_folder_that_others_may_write_into(open_to: int, tmp_path: Path) -> None:
    folder = tmp_path / "a"
    folder.mkdir()
    folder.chmod(open_to)
    with pytest.raises(NotPrivate, match=r"others may write into .*a "):
        private_folder(folder)
    assert mode(folder) == open_to & 0o7777


def test_a_folder_that_others_may_read_is_used(tmp_path: Path) -> None:
    folder = tmp_path / "a"
    folder.mkdir(mode=0o755)
    assert private_folder(folder) == folder


@pytest.mark.parametrize("open_to", [0o770, 0o707])
def test_a_folder_below_one_that_others_may_write_into(open_to: int, tmp_path: Path) -> None:
    """They could put another in its place."""
    (tmp_path / "a" / "b").mkdir(parents=True)
    (tmp_path / "a").chmod(open_to)
    with pytest.raises(NotPrivate, match=r"others may write into .*a "):
        private_folder(tmp_path / "a" / "b" / "c")
    (tmp_path / "a").chmod(open_to | stat.S_ISVTX)  # as /tmp
    assert mode(private_folder(tmp_path / "a" / "b" / "c")) == 0o700


@as_root
@pytest.mark.parametrize("given", ["a", "a/b"])
def test_a_folder_of_another_user(given: str, tmp_path: Path) -> None:
    (tmp_path / "a" / "b").mkdir(parents=True)
    os.chown(tmp_path / given, OTHER, OTHER)
    with pytest.raises(NotPrivate, match="belongs to another user"):
        private_folder(tmp_path / "a" / "b")


@as_root
def test_a_link_to_a_folder_of_another_user(tmp_path: Path) -> None:
    (tmp_path / "theirs").mkdir(mode=0o755)
    os.chown(tmp_path / "theirs", OTHER, OTHER)
    (tmp_path / "a").symlink_to(tmp_path / "theirs")
    with pytest.raises(NotPrivate, match="theirs belongs to another user"):
        private_folder(tmp_path / "a")


def test_links_are_followed_once_and_for_all(tmp_path: Path) -> None:
    (tmp_path / "scratch").mkdir(mode=0o700)
    (tmp_path / "a").symlink_to(tmp_path / "scratch")
    assert private_folder(tmp_path / "a" / "b") == tmp_path / "scratch" / "b"
    (tmp_path / "nowhere").symlink_to(tmp_path / "not there")
    with pytest.raises(OSError, match="nowhere"):
        private_folder(tmp_path / "nowhere")
    assert not (tmp_path / "not there").exists()


def test_what_is_no_folder(tmp_path: Path) -> None:
    (tmp_path / "a").write_text("a file")
    for path in ("a", "a/b"):
        with pytest.raises(OSError, match="a"):
            private_folder(tmp_path / path)


def test_files_are_read_where_nobody_else_wrote_them(tmp_path: Path) -> None:
    path = tmp_path / "x"
    write_private(path, b"content")
    assert mode(path) == 0o600
    assert read_private(path) == b"content"
    path.chmod(0o620)
    with pytest.raises(NotPrivate):
        read_private(path)
    path.chmod(0o600)
    (tmp_path / "link").symlink_to(path)
    with pytest.raises(OSError, match="symbolic links"):
        read_private(tmp_path / "link")
    os.mkfifo(tmp_path / "pipe", 0o600)
    with pytest.raises(OSError, match="written by others"):
        read_private(tmp_path / "pipe")
    with pytest.raises(FileNotFoundError):
        read_private(tmp_path / "none")


@as_root
def test_a_file_of_another_user_is_not_read(tmp_path: Path) -> None:
    path = tmp_path / "x"
    write_private(path, b"content")
    os.chown(path, OTHER, OTHER)
    with pytest.raises(NotPrivate):
        read_private(path)


def test_a_file_is_written_whole_or_not_at_all(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "x"
    write_private(path, b"old")

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", full)
    with pytest.raises(OSError, match="No space"):
        write_private(path, b"new")
    assert read_private(path) == b"old"
    assert list(tmp_path.iterdir()) == [path]


def test_a_sandbox_that_knows_the_user_alone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """There the system's folders seem to belong to nobody."""
    uid_map, nobody = tmp_path / "uid_map", tmp_path / "overflowuid"
    monkeypatch.setattr(private, "NAMESPACE", uid_map)
    monkeypatch.setattr(private, "UNMAPPED", nobody)
    assert private._owner_outside() == set()
    nobody.write_text("65534\n")
    uid_map.write_text("      1000       1000          1\n")
    assert private._owner_outside() == {65534}
    uid_map.write_text("         0          0 4294967295\n")
    assert private._owner_outside() == set()


def test_where_there_are_no_owners(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As on Windows: folders are taken as they are."""
    monkeypatch.delattr(os, "geteuid")
    (tmp_path / "a").mkdir()
    (tmp_path / "a").chmod(0o777)
    path = private_folder(tmp_path / "a") / "x"
    write_private(path, b"content")
    path.chmod(0o666)
    assert read_private(path) == b"content"
