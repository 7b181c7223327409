"""Folders and files that nobody but the user can have written.

Compiled kernels are read back as programs. On a machine that others use too, one who can write into their
folder, or put another in its place, runs programs as the user. A folder is therefore used only where it
belongs to the user, nobody else may write into it, and neither into any folder above it; one above may be
open to all where, as in /tmp, each may remove only what is his own (the sticky bit).

On Windows, where owner and mode say nothing of this, folders are taken as they are.
"""

from __future__ import annotations

import os
import stat
import tempfile
from contextlib import suppress
from pathlib import Path

OTHERS = stat.S_IWGRP | stat.S_IWOTH
NAMESPACE, UNMAPPED = Path("/proc/self/uid_map"), Path("/proc/sys/kernel/overflowuid")


class NotPrivate(OSError):
    """A folder or file that others may have written; says which and why."""


def user() -> int | None:
    """The user's number; None on Windows."""
    return os.geteuid() if hasattr(os, "geteuid") else None


def private_folder(path: Path) -> Path:
    """A folder of the user's own, made where it is not there.

    Parameters
    ----------
    path : Path
        Each level that is missing is made for the user alone (0700).

    Returns
    -------
    Path
        The same without links, as checked.

    Raises
    ------
    NotPrivate
        Where it, or a folder above it, is not the user's alone.
    OSError
        Where it cannot be made.
    """
    for level in (*reversed(path.parents), path):
        if not os.path.lexists(level):
            with suppress(FileExistsError):  # another process was quicker
                level.mkdir(mode=0o700)
    folder = Path(os.path.realpath(path))
    if not folder.is_dir():
        raise NotADirectoryError(f"{path} is not a folder")
    _check(folder)
    return folder


def _check(folder: Path) -> None:
    me = user()
    if me is None:
        return
    about = os.lstat(folder)
    if about.st_uid != me:
        raise NotPrivate(f"{folder} belongs to another user")
    if about.st_mode & OTHERS:
        raise NotPrivate(f"others may write into {folder} (chmod go-w)")
    trusted = {me, 0, *_owner_outside()}
    for above in folder.parents:
        about = os.lstat(above)
        if about.st_uid not in trusted:
            raise NotPrivate(f"{above} belongs to another user")
        if about.st_mode & OTHERS and not about.st_mode & stat.S_ISVTX:
            raise NotPrivate(f"others may write into {above} (chmod go-w)")


def _owner_outside() -> set[int]:
    """Who owns the system's folders as seen from within a sandbox that knows the user alone."""
    try:
        if any(line.split()[2] == "4294967295" for line in NAMESPACE.read_text().splitlines()):
            return set()
        return {int(UNMAPPED.read_text())}
    except (OSError, ValueError, IndexError):
        return set()


def read_private(path: Path) -> bytes:
    """Content of a file in a private folder.

    Raises
    ------
    NotPrivate
        Where others may have written it.
    OSError
        Where it cannot be read.
    """
    flags = os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
    with open(os.open(path, flags), "rb") as file:
        about = os.fstat(file.fileno())
        if not stat.S_ISREG(about.st_mode) or (user() not in (None, about.st_uid)) or _open_to_others(about):
            raise NotPrivate(f"{path} may have been written by others")
        return file.read()


def _open_to_others(about: os.stat_result) -> bool:
    return user() is not None and bool(about.st_mode & OTHERS)


def write_private(path: Path, content: bytes) -> None:
    """Write a file whole or not at all, also where other processes write or read it at the same time.

    Raises
    ------
    OSError
    """
    number, name = tempfile.mkstemp(dir=path.parent, prefix=path.name, suffix=".part")  # 0600, new
    try:
        with open(number, "wb") as file:
            file.write(content)
        os.replace(name, path)
    except BaseException:
        with suppress(OSError):
            os.unlink(name)
        raise
