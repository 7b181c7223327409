"""Files written whole or not at all.

What is written stands first under a random name of its own beside the target, and then takes the target's name
at once. A target that is a link stays one: the file that it leads to is written.
"""

from __future__ import annotations

import errno
import os
from contextlib import suppress
from pathlib import Path

from archerysim.errors import SetupError
from archerysim.fields.file_reading import is_foreign_link, not_plain

DATABASE = b"SQLite format 3\0"  # how a store of shots begins
FULL = {getattr(errno, name, None) for name in ("ENOSPC", "EDQUOT", "EFBIG")}


def check_target(path: str | os.PathLike[str], field: str, endings: tuple[str, ...]) -> None:
    """Refuse a file that could not be written, before any work is done.

    Parameters
    ----------
    field : str
        What the error names ("out", "plot").
    endings : tuple of str
        Endings that are known, with their dots.

    Raises
    ------
    SetupError
    """
    target = Path(path)
    if target.suffix.lower() not in endings:
        raise SetupError(field, f"{target.name!r}: unknown ending {target.suffix!r}", f"Use {' or '.join(endings)}")
    _place(path, field)


def write_bytes(path: str | os.PathLike[str], content: bytes | memoryview, field: str = "") -> None:
    """Write a file, whole or not at all.

    Parameters
    ----------
    path : path
        The target. An older file is replaced at once and its permissions are kept; a link to a file stays a link.
    field : str
        What the error names ("out", "plot", ...).

    Raises
    ------
    SetupError
        If the file cannot be written; nothing is left behind, and an older file stays as it was.
    """
    target, older = _place(path, field)
    part = target.with_name(f".archerysim-{os.urandom(8).hex()}.part")
    made = False
    try:
        file = os.open(part, _FLAGS, 0o666 if older is None else 0o600)  # less what the umask takes away
        made = True
        with os.fdopen(file, "wb") as into:
            if older is not None:
                part.chmod(older)
            into.write(content)
            into.flush()
            os.fsync(into.fileno())
        os.replace(part, target)
        made = False
    except OSError as error:
        remedy = "Make room on the disk" if error.errno in FULL else "Check the folder and its permissions"
        raise _unwritten(path, field, f" ({error.strerror or error})", remedy) from None
    finally:
        if made:
            with suppress(OSError):
                part.unlink()
    _keep_the_name(target.parent)


def write_text(path: str | os.PathLike[str], text: str, field: str = "") -> None:
    """Write a text file in UTF-8, whole or not at all; as `write_bytes`.

    Raises
    ------
    SetupError
        If it cannot be written.
    """
    write_bytes(path, text.encode("utf-8"), field)


_FLAGS = os.O_WRONLY | os.O_CREAT | os.O_EXCL
for _name in ("O_NOFOLLOW", "O_CLOEXEC", "O_BINARY"):
    _FLAGS |= getattr(os, _name, 0)


def _place(path: str | os.PathLike[str], field: str) -> tuple[Path, int | None]:
    """Where a file is really to be written, and the permissions of the one that is there.

    Raises
    ------
    SetupError
        If no file can be written there.
    """
    if not Path(path).name or "\0" in os.fspath(path):
        raise SetupError(field, f"{os.fspath(path)!r} is not a file name", "Choose another place")
    if is_foreign_link(path):
        raise _unwritten(path, field, ": it is a link that another user has made", "Name the file itself")
    target = Path(os.path.realpath(path))
    try:
        mode = target.stat().st_mode
    except FileNotFoundError:
        mode = None
    except OSError as error:
        raise _unwritten(path, field, f" ({error.strerror or error})", "Choose another place") from None
    if not target.parent.is_dir():
        raise _unwritten(path, field, ": there is no such folder", "Make it first")
    if not os.access(target.parent, os.W_OK):
        raise _unwritten(path, field, ": you may not write into its folder", "Check the folder and its permissions")
    if mode is None:
        return target, None
    if not_plain(mode):
        raise _unwritten(path, field, f": it is {not_plain(mode)}, not a file", "Choose another name")
    if not os.access(target, os.W_OK):
        raise _unwritten(path, field, ": it exists and may not be changed", "Choose another name")
    with suppress(OSError), target.open("rb") as file:
        if file.read(len(DATABASE)) == DATABASE:
            raise _unwritten(path, field, ": it is a database, as a store of shots is", "Choose another name")
    return target, mode & 0o777


def _unwritten(path: str | os.PathLike[str], field: str, why: str, remedy: str) -> SetupError:
    return SetupError(field, f"{os.fspath(path)} cannot be written{why}", remedy)


def _keep_the_name(folder: Path) -> None:
    """Have the folder written to the disk too, where the system can."""
    if not hasattr(os, "O_DIRECTORY"):
        return
    with suppress(OSError):
        opened = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
        try:
            os.fsync(opened)
        finally:
            os.close(opened)
