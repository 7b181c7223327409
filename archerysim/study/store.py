"""Points that have been computed, kept in a file: an SQLite database with one table.

A row is found by a key, a hash of everything it was computed from, and by the version of the code that
computed it. Rows of another version are neither used nor removed.
"""

from __future__ import annotations

import hashlib
import json
import os
import sqlite3
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import astuple
from functools import cache
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from archerysim.equipment.record import plain
from archerysim.shot.physics import physics_version
from archerysim.study.held import Base
from archerysim.study.row import Row

FORMAT = 1  # of the stored rows
MARK = 0x61726368  # SQLite's application_id: tells a store from other databases
PATIENCE = 60.0  # [s] how long to wait while another process writes
TABLE = "CREATE TABLE shots (version TEXT, key TEXT, row TEXT NOT NULL, PRIMARY KEY (version, key))"


class StoreError(ValueError):
    """A store that cannot be used; its file is left as it is."""

    def __init__(self, path: str | os.PathLike[str], problem: str, remedy: str) -> None:
        super().__init__(f"store: {os.fspath(path)} {problem}. {remedy}.")


@cache
def version() -> str:
    """Version of what is stored: of the physics, of how changes are made, and of the rows."""
    digest = hashlib.sha256(f"{physics_version()} {FORMAT}".encode())
    for name in ("held.py", "row.py"):
        digest.update(Path(__file__).with_name(name).read_bytes())
    return digest.hexdigest()[:16]


def key_maker(base: Base) -> Callable[[Mapping[str, Any]], str]:
    """Gives the key of a point from what is changed there.

    The key is a hash of the canonical inputs: the setup as given, what a change holds, the mesh and the
    changes, as JSON with sorted names and every number in SI with all its digits. With the version they
    decide the row. The setup as built at the point is what follows from them; finding it can take as long
    as the shot itself.
    """
    inputs = {"setup": plain(base.given), "hold": sorted(base.hold), "mesh": astuple(base.mesh)}
    if base.before is not None and base.before.setup != base.given:
        inputs["before"] = plain(base.before.setup)  # the warnings tell changes against it
    common = hashlib.sha256(_canonical(inputs))

    def key(changes: Mapping[str, Any]) -> str:
        own = common.copy()
        own.update(_canonical(changes))
        return own.hexdigest()[:32]

    return key


def _canonical(value: Any) -> bytes:
    return json.dumps(value, sort_keys=True, separators=(",", ":")).encode()


class Store:
    """A store, open for reading and writing; made when it is not there.

    Several processes may use one at the same time.

    Parameters
    ----------
    path : path
        On a disk of this machine (SQLite's write-ahead log does not work across a network).

    Attributes
    ----------
    written : int
        Rows written so far.

    Raises
    ------
    StoreError
        Where the file is no store, is damaged, or cannot be written.
    """

    def __init__(self, path: str | os.PathLike[str]) -> None:
        self.path = path
        self.written = 0
        with self._told():
            self._base = sqlite3.connect(path, timeout=PATIENCE, isolation_level=None)
            try:
                self._check()
            except BaseException:
                self._base.close()
                raise

    def _check(self) -> None:
        """Refuse what is no whole store, before anything is written; make an empty file one."""
        (tables,) = self._base.execute("SELECT count(*) FROM sqlite_master").fetchone()
        (mark,) = self._base.execute("PRAGMA application_id").fetchone()  # asked last: it comes with the table
        if tables and mark != MARK:
            raise StoreError(self.path, "is a database of something else", "Name another file")
        (state,) = self._base.execute("PRAGMA quick_check(1)").fetchone()
        if state != "ok":
            raise sqlite3.DatabaseError(state)
        self._log_ahead()
        self._base.execute("PRAGMA synchronous = NORMAL")
        with self._writing():
            self._base.execute(TABLE.replace("TABLE", "TABLE IF NOT EXISTS", 1))
            self._base.execute(f"PRAGMA application_id = {MARK}")

    def _log_ahead(self) -> None:
        """Switch to write-ahead logging; SQLite does not wait by itself where others do so at the same time."""
        until = time.monotonic() + PATIENCE
        while True:
            try:
                self._base.execute("PRAGMA journal_mode = WAL")
                return
            except sqlite3.OperationalError as error:
                if error.sqlite_errorcode & 0xFF != sqlite3.SQLITE_BUSY or time.monotonic() > until:
                    raise
                time.sleep(0.02)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._base.close()

    def others(self) -> bool:
        """Whether it holds rows of another version."""
        with self._told():
            return any(
                self._base.execute(f"SELECT 1 FROM shots WHERE version {sign} ? LIMIT 1", (version(),)).fetchone()
                for sign in "<>"
            )

    def read(self, keys: Sequence[str]) -> dict[str, Row]:
        """Those of the rows that are there, by key; for at most some thousand keys at a time."""
        marks = ",".join("?" * len(keys))
        with self._told():
            got = self._base.execute(
                f"SELECT key, row FROM shots WHERE version = ? AND key IN ({marks})", (version(), *keys)
            ).fetchall()
        try:
            return {key: json.loads(text) for key, text in got}
        except ValueError:
            raise self._damaged() from None

    def write(self, rows: Sequence[tuple[str, Row]]) -> None:
        """Write rows, all or none; one that another process has written meanwhile is the same and stays."""
        values = [(version(), key, json.dumps(row)) for key, row in rows]
        with self._told(), self._writing():
            self._base.executemany("INSERT OR IGNORE INTO shots VALUES (?, ?, ?)", values)
        self.written += len(rows)

    @contextmanager
    def _writing(self) -> Iterator[None]:
        self._base.execute("BEGIN IMMEDIATE")
        try:
            yield
        except BaseException:
            self._base.execute("ROLLBACK")
            raise
        self._base.execute("COMMIT")

    @contextmanager
    def _told(self) -> Iterator[None]:
        """SQLite's errors in words."""
        try:
            yield
        except sqlite3.DatabaseError as error:
            code = getattr(error, "sqlite_errorcode", 0) & 0xFF
            if code == sqlite3.SQLITE_NOTADB:
                raise StoreError(self.path, "is not a store", "Name a store, or a file that is not there yet") from None
            if code in (sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_PERM):
                raise StoreError(
                    self.path, "cannot be written", "Check the folder and the permissions, or copy the file elsewhere"
                ) from None
            if code == sqlite3.SQLITE_BUSY:
                raise StoreError(
                    self.path, f"has been locked by another process for {PATIENCE:g} s", "Try again later"
                ) from None
            if code in (sqlite3.SQLITE_FULL, sqlite3.SQLITE_IOERR):
                raise StoreError(
                    self.path, f"cannot be written ({error})", "Make room on the disk; what is stored is kept"
                ) from None
            raise self._damaged() from None

    def _damaged(self) -> StoreError:
        return StoreError(
            self.path,
            "is damaged",
            'Keep a copy and name another file; the command "sqlite3 FILE .recover" may get rows out of it',
        )
