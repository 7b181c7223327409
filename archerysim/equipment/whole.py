"""Files written whole or not at all."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from archerysim.equipment.errors import SetupError


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
    if "\0" in os.fspath(path) or not target.resolve().parent.is_dir():
        raise SetupError(field, f"{os.fspath(path)!r} cannot be written: there is no such folder", "Make it first")


@contextmanager
def whole_file(path: str | os.PathLike[str], field: str = "") -> Iterator[Path]:
    """A place beside the target to write to; it takes the target's name when all has gone well.

    Parameters
    ----------
    path : path
        The target.
    field : str
        What the error names ("out", "plot", ...).

    Raises
    ------
    SetupError
        If the file cannot be written; nothing is left behind, and an older file stays as it was.
    """
    if not Path(path).name or "\0" in os.fspath(path):
        raise SetupError(field, f"{os.fspath(path)!r} is not the name of a file", "Choose another place")
    target = Path(os.path.realpath(path))
    part = target.with_name(f".{target.stem}.{os.getpid()}.part{target.suffix}")
    try:
        yield part
        if target.exists():
            part.chmod(target.stat().st_mode & 0o7777)
        part.replace(target)
    except OSError as error:
        raise SetupError(
            field, f"{os.fspath(path)} cannot be written ({error.strerror})", "Check the folder and its permissions"
        ) from None
    finally:
        with suppress(OSError):
            part.unlink(missing_ok=True)


def write_text(path: str | os.PathLike[str], text: str, field: str = "") -> None:
    """Write a text file, whole or not at all.

    Raises
    ------
    SetupError
        If it cannot be written.
    """
    with whole_file(path, field) as part, part.open("w", encoding="utf-8", newline="\n") as file:
        file.write(text)
        file.flush()
        os.fsync(file.fileno())
