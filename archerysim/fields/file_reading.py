"""Plain files: what else may stand under a name, reading a bounded amount, and two names for one file."""

from __future__ import annotations

import codecs
import os
import stat
from collections.abc import Mapping
from contextlib import suppress
from itertools import combinations

from archerysim.errors import SetupError

MOST = 1_000_000  # of a text that is read [bytes]
LINKS = 40  # that follow one another at most
FilePath = str | os.PathLike[str]
_KINDS = (
    (stat.S_ISDIR, "a folder"), (stat.S_ISFIFO, "a pipe"), (stat.S_ISSOCK, "a socket"), (stat.S_ISCHR, "a device"),
    (stat.S_ISBLK, "a device"), (stat.S_ISLNK, "a link"),
)  # fmt: skip


def not_plain(mode: int) -> str:
    """What stands there instead of a plain file, by the mode of its `os.stat`; "" if it is one."""
    if stat.S_ISREG(mode):
        return ""
    return next((words for is_one, words in _KINDS if is_one(mode)), "no plain file")


def is_foreign_link(path: FilePath) -> bool:
    """Whether a name leads elsewhere by a link that neither this user nor the system's has made."""
    if not hasattr(os, "geteuid"):
        return False
    at = os.fspath(path)
    with suppress(OSError):
        for _ in range(LINKS):
            if not os.path.islink(at):
                break
            if os.lstat(at).st_uid not in (0, os.geteuid()):
                return True
            at = os.path.join(os.path.dirname(at), os.readlink(at))
    return False


def bytes_of(path: FilePath, most: int | None = MOST, field: str = "") -> bytes:
    """The content of a plain file. Never waits for a pipe, and never reads more than ``most`` bytes.

    Parameters
    ----------
    path : path
    most : int, optional
        Longest content [bytes]; None for any.
    field : str
        What the error names.

    Raises
    ------
    SetupError
        If it cannot be read, is no plain file, or is longer.
    """
    name = os.fspath(path) or "''"  # no name at all
    try:
        _refuse_special(path, os.stat(path).st_mode, field)  # before it is opened: opening alone can do something
        flags = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_CLOEXEC", 0) | getattr(os, "O_BINARY", 0)
        with os.fdopen(os.open(path, flags), "rb") as file:
            _refuse_special(path, os.fstat(file.fileno()).st_mode, field)
            data = file.read() if most is None else file.read(most + 1)
    except SetupError:
        raise
    except OSError as error:
        raise SetupError(field, f"{name} cannot be read ({error.strerror or error})", "Check the path") from None
    except ValueError as error:
        raise SetupError(field, f"{name!r} is not a path ({error})", "Check the path") from None
    if most is not None and len(data) > most:
        raise SetupError(
            field, f"{name} cannot be read: it is longer than {most / 1e6:g} MB", "Check that it is the right file"
        )
    return data


def text_of(path: FilePath) -> str:
    """The text of a file in UTF-8, without the mark that some editors put first.

    Raises
    ------
    SetupError
        If it cannot be read, is longer than 1 MB, or is no such text.
    """
    data = bytes_of(path)
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        encoding = " (it is UTF-16)" if data[:2] in (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE) else ""
        raise SetupError("", f"{os.fspath(path)} is not UTF-8 text{encoding}", "Save it as UTF-8") from None


def _refuse_special(path: FilePath, mode: int, field: str) -> None:
    kind = not_plain(mode)
    if kind:
        raise SetupError(field, f"{os.fspath(path)} cannot be read: it is {kind}, not a file", "Name a plain file")


def refuse_one_file(paths: Mapping[str, FilePath | None]) -> None:
    """Refuse two names of a job that lead to one file, whatever they are spelled like, and whether it is there or not.

    Parameters
    ----------
    paths : mapping of str to path or None
        What each is for ("setup", "out", ...); None and "" are left out.

    Raises
    ------
    SetupError
        It names the second of the two.
    """
    given = {name: path for name, path in paths.items() if path and "\0" not in os.fspath(path)}
    for (first, one), (second, other) in combinations(given.items(), 2):
        if _one_file(one, other):
            both = "" if os.fspath(one) == os.fspath(other) else f" ({os.fspath(one)})"
            raise SetupError(
                second, f"{os.fspath(other)} is the same file as the {first}{both}", "Give each a file of its own"
            )


def _one_file(one: FilePath, other: FilePath) -> bool:
    """Whether two names lead to one file; also by hard links, and where the file is not there yet."""
    real = [os.path.normcase(os.path.realpath(path)) for path in (one, other)]
    if real[0] == real[1]:
        return True
    try:
        return os.path.samefile(*real)
    except OSError:  # one of them is not there
        pass
    if os.path.basename(real[0]) != os.path.basename(real[1]) or any(os.path.exists(path) for path in real):
        return False
    try:
        return os.path.samefile(*map(os.path.dirname, real))
    except OSError:
        return False
