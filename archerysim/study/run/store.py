"""Points that have been computed, kept in a file: an SQLite database with two tables.

A row is found by a key, a hash of everything it was computed from, and by the version of the code that
computed it. Rows of another version are neither used nor removed. Each row carries a checksum. The second table
tells in words which sweeps have been run (`study.kept`).
"""

from __future__ import annotations

import hashlib
import json
import os
import sqlite3
import time
import warnings
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import asdict, astuple
from functools import cache
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from archerysim.errors import SetupError, StoreError
from archerysim.fields.file_reading import is_foreign_link, not_plain
from archerysim.fields.record import plain
from archerysim.kernel_cache.code_hash import code_hash
from archerysim.shot.edit import plain_edits
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.physics_hash import physics_version
from archerysim.study.run.row import Change, Question, Row, rows_of

FORMAT = 3  # of the stored rows
MARK = 0x61726368  # SQLite's application_id: tells a store from other databases
PATIENCE = 60.0  # [s] how long to wait while another process writes
SHOTS = """CREATE TABLE IF NOT EXISTS shots
    (version TEXT, key TEXT, row TEXT NOT NULL, checksum TEXT, PRIMARY KEY (version, key))"""
SWEEPS = """CREATE TABLE IF NOT EXISTS sweeps
    (id TEXT PRIMARY KEY, version TEXT NOT NULL, about TEXT NOT NULL, checksum TEXT NOT NULL)"""
KEEP_SHOT = """INSERT INTO shots VALUES (?, ?, ?, ?) ON CONFLICT (version, key) DO UPDATE
    SET row = excluded.row, checksum = excluded.checksum
    WHERE row IS NOT excluded.row OR checksum IS NOT excluded.checksum"""
OTHERS = "{} also holds shots of another version of archerysim; they are left alone, and not used"
NAME_ONE = "Name a store, or a file that is not there yet, for example runs.sqlite"


@cache
def version() -> str:
    """Version of what is stored: of the physics, with how changes are made, and of the rows."""
    own = code_hash(Path(__file__).parent / "row.py")
    return hashlib.sha256(f"{physics_version()} {own} {FORMAT}".encode()).hexdigest()[:16]


def key_maker(bow: FittedBow, question: Question) -> Callable[[Change], str]:
    """Gives the key of a point from what is changed there.

    The key is a hash of the canonical inputs: the setup as given, what is asked, mesh, planes and the
    changes, as JSON with sorted names and every number in SI with all its digits. With the version they
    decide the row. The setup as built at the point is what follows from them; finding it can take as long
    as the shot itself.
    """
    return key_from(inputs_of(bow, question))


def inputs_of(bow: FittedBow, question: Question) -> dict[str, Any]:
    """What all points of a run have in common: the setup as given in SI, what is asked, mesh and planes."""
    asked = {"name": type(question).__qualname__, "code": _code_behind(type(question)), "fields": asdict(question)}  # type: ignore[call-overload]
    inputs: dict[str, Any] = {
        "setup": plain(bow.given), "question": asked, "mesh": astuple(bow.mesh), "planes": bow.planes,
    }  # fmt: skip
    if bow.edits:
        inputs["edits"] = plain_edits(bow.edits)
    if bow.before is not None and bow.before.setup != bow.given:
        inputs["before"] = plain(bow.before.setup)  # the warnings tell changes against it
    if bow.step_factor != 1.0:
        inputs["step_factor"] = bow.step_factor
    return inputs


@cache
def _code_behind(question: type[Question]) -> str:
    """Hash of the code that answers a question, but for what `version` holds: of all studies, for it may ask them."""
    return "" if question.__module__ == rows_of.__module__ else code_hash(Path(__file__).parent.parent)


def key_from(inputs: Mapping[str, Any]) -> Callable[[Change], str]:
    """As `key_maker`, from the inputs themselves."""
    common = hashlib.sha256(canonical(inputs))

    def key(changes: Change) -> str:
        own = common.copy()
        own.update(canonical(dict(changes)))
        return own.hexdigest()[:32]

    return key


def canonical(value: Any) -> bytes:
    """JSON with sorted names and every digit; a function by its name and its code.

    Raises
    ------
    SetupError
        Where a function holds values from outside it, which no key can tell from others.
    """
    return json.dumps(value, sort_keys=True, separators=(",", ":"), default=_function).encode()


def _function(value: Any) -> list[str]:
    code = getattr(value, "__code__", None)
    if code is None or value.__closure__:
        raise SetupError(
            "store", f"{value!r} cannot be told from others by its code", "Use a function of a module, or no store"
        )
    own = [value.__module__, value.__qualname__, repr(value.__defaults__), repr(value.__kwdefaults__)]
    return [*own, hashlib.sha256(repr(_plain(code)).encode()).hexdigest()[:16]]


def _plain(code: Any) -> tuple[Any, ...]:
    """What a code does, with the code within it."""
    held = tuple(_plain(one) if hasattr(one, "co_code") else repr(one) for one in code.co_consts)
    return code.co_code, code.co_names, code.co_varnames, held


def checksum(*parts: str) -> str:
    """Checksum of some texts, in their order."""
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()[:16]


class Store:
    """A store, open for reading and writing; made when it is not there.

    Several processes may use one at the same time.

    Parameters
    ----------
    path : path
        On a disk of this machine (SQLite's write-ahead log does not work across a network).
    read_only : bool
        Only look into one that is there.

    Attributes
    ----------
    written : int
        Rows written so far.
    damaged : set of str
        Keys of the rows found so far whose checksum does not fit.

    Raises
    ------
    StoreError
        Where the file is no store, is damaged, or cannot be written.
    """

    def __init__(self, path: str | os.PathLike[str], read_only: bool = False) -> None:
        self.path = path
        self.written = 0
        self.damaged: set[str] = set()
        name = file_name(path, read_only)
        with self._errors_in_words():
            self._base = _looked_into(name) if read_only else sqlite3.connect(name, timeout=PATIENCE)
            self._base.isolation_level = None
            self._base.text_factory = _text
            try:
                self._check()
                if not read_only:
                    self._prepare()
            except BaseException:
                self._base.close()
                raise

    def _check(self) -> None:
        """Refuse what is no whole store, before anything is written."""
        (tables,) = self._base.execute("SELECT count(*) FROM sqlite_master").fetchone()
        (mark,) = self._base.execute("PRAGMA application_id").fetchone()  # asked last: it comes with the table
        if tables and mark != MARK:
            raise StoreError(self.path, "is a database of something else", "Name another file")
        (state,) = self._base.execute("PRAGMA quick_check(1)").fetchone()
        if state != "ok":
            raise sqlite3.DatabaseError(state)

    def _prepare(self) -> None:
        """Make an empty file a store; what an earlier format lacks is added, its rows stay."""
        self._log_ahead()
        self._base.execute("PRAGMA synchronous = NORMAL")
        with self._writing():
            self._base.execute(SHOTS)
            self._base.execute(SWEEPS)
            if "checksum" not in [column[1] for column in self._base.execute("PRAGMA table_info(shots)")]:
                self._base.execute("ALTER TABLE shots ADD COLUMN checksum TEXT")
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
        with self._errors_in_words():
            return any(
                self._base.execute(f"SELECT 1 FROM shots WHERE version {sign} ? LIMIT 1", (version(),)).fetchone()
                for sign in "<>"
            )

    def read(self, keys: Sequence[str], of_version: str = "") -> dict[str, Row]:
        """Those of the rows that are there and undamaged, by key; for at most some thousand keys at a time.

        Parameters
        ----------
        of_version : str
            Which version's; this one's if left out.
        """
        marks = ",".join("?" * len(keys))
        own = of_version or version()
        with self._errors_in_words():
            got = self._base.execute(
                f"SELECT key, row, checksum FROM shots WHERE version = ? AND key IN ({marks})", (own, *keys)
            ).fetchall()
        whole = {key: row for key, row, proof in got if proof == checksum(own, str(key), str(row))}
        self.damaged.update(str(key) for key, _, _ in got if key not in whole)
        return {key: json.loads(row) for key, row in whole.items()}

    def write(self, rows: Sequence[tuple[str, Row]]) -> None:
        """Write rows, all or none; one that another process has written meanwhile is the same and stays."""
        own = version()
        texts = [(key, json.dumps(row)) for key, row in rows]
        with self._errors_in_words(), self._writing():
            self._base.executemany(KEEP_SHOT, [(own, key, text, checksum(own, key, text)) for key, text in texts])
        self.written += len(rows)

    def remember(self, design: Mapping[str, Any], about: str) -> None:
        """Write down a sweep, once.

        Parameters
        ----------
        design : mapping
            What tells it from any other sweep of this version.
        about : str
            All that is to be known of it, as JSON.
        """
        own = version()
        name = checksum(own, canonical(design).decode())
        with self._errors_in_words(), self._writing():
            found = self._base.execute("SELECT version, about, checksum FROM sweeps WHERE id = ?", (name,)).fetchone()
            if found is None or found[2] != checksum(name, *map(str, found[:2])):
                self._base.execute(
                    "INSERT OR REPLACE INTO sweeps VALUES (?, ?, ?, ?)", (name, own, about, checksum(name, own, about))
                )

    def remembered(self) -> list[tuple[str, str] | None]:
        """Version and JSON of each sweep that was written down, in order; None where that is damaged."""
        with self._errors_in_words():
            (there,) = self._base.execute("SELECT count(*) FROM sqlite_master WHERE name = 'sweeps'").fetchone()
            if not there:
                return []
            got = self._base.execute("SELECT id, version, about, checksum FROM sweeps ORDER BY rowid").fetchall()
        return [(own, about) if proof == checksum(str(name), str(own), str(about)) else None
                for name, own, about, proof in got]  # fmt: skip

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
    def _errors_in_words(self) -> Iterator[None]:
        """SQLite's errors in words."""
        try:
            yield
        except sqlite3.DatabaseError as error:
            code = getattr(error, "sqlite_errorcode", 0) & 0xFF
            if code == sqlite3.SQLITE_NOTADB:
                raise StoreError(self.path, "is not a store", NAME_ONE) from None
            if code in (sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_PERM):
                raise StoreError(
                    self.path, "cannot be written", "Check the folder and the permissions, or copy the file elsewhere"
                ) from None
            if code in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
                raise StoreError(
                    self.path, f"has been locked by another process for {PATIENCE:g} s", "Try again later"
                ) from None
            if code in (sqlite3.SQLITE_FULL, sqlite3.SQLITE_IOERR):
                raise StoreError(
                    self.path, f"cannot be written ({error})", "Make room on the disk; what is stored is kept"
                ) from None
            if code not in (0, sqlite3.SQLITE_CORRUPT):
                raise StoreError(self.path, f"cannot be used ({error})", "Try again, or name another file") from None
            raise StoreError(
                self.path, "is damaged",
                'Keep a copy and name another file; the command "sqlite3 FILE .recover" may get rows out of it',
            ) from None  # fmt: skip


@contextmanager
def opened(store: str | os.PathLike[str] | Store | None) -> Iterator[Store | None]:
    """A store for a while, from its path; one that is open already stays so. Rows of another version are told of."""
    if store is None or isinstance(store, Store):
        yield store
        return
    with Store(store) as kept:
        if kept.others():
            warnings.warn(OTHERS.format(os.fspath(kept.path)), stacklevel=4)
        yield kept


def file_name(path: str | os.PathLike[str], there: bool = False) -> str:
    """The name of a store's file: not one that SQLite reads in a way of its own, nor that of a folder or device.

    Parameters
    ----------
    there : bool
        Whether it must be there already.

    Raises
    ------
    StoreError
    """
    name = os.fsdecode(path)
    if not name.strip() or "\0" in name or name == ":memory:" or name.startswith("file:"):
        raise StoreError(path, "is not a file name", NAME_ONE)
    if is_foreign_link(name):
        raise StoreError(path, "is a link that another user has made", "Name the file itself")
    try:
        kind = not_plain(os.stat(name).st_mode)
    except FileNotFoundError:
        if there:
            raise StoreError(path, "is not there", "Check the path") from None
        if not os.path.isdir(os.path.dirname(os.path.realpath(name))):
            raise StoreError(path, "cannot be written: there is no such folder", "Make it first") from None
        return name
    except OSError as error:
        raise StoreError(path, f"cannot be used ({error.strerror})", NAME_ONE) from None
    if kind:
        raise StoreError(path, f"cannot be written: it is {kind}, not a file", NAME_ONE)
    return name


def _looked_into(name: str) -> sqlite3.Connection:
    """A connection that changes nothing; also where neither the file nor its folder may be written."""
    place = Path(name).absolute().as_uri()
    base = sqlite3.connect(f"{place}?mode=rw", timeout=PATIENCE, uri=True)  # "ro" would leave its log behind
    try:
        base.execute("PRAGMA query_only = ON")
        base.execute("SELECT count(*) FROM sqlite_master")
    except sqlite3.OperationalError as error:
        base.close()
        log = Path(f"{name}-wal")
        unlogged = not log.exists() or log.stat().st_size == 0
        if not unlogged or error.sqlite_errorcode & 0xFF not in (sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_READONLY):
            raise
        base = sqlite3.connect(f"{place}?immutable=1", timeout=PATIENCE, uri=True)
    return base


def _text(raw: bytes) -> str:
    """A text of the database; one that is damaged fits no checksum."""
    return raw.decode("utf-8", "replace")
