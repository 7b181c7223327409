"""A sweep with a store: what is kept, what is read again, what is refused."""

from __future__ import annotations

import os
import sqlite3
import sys
import tempfile
import threading
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import xarray

from archerysim.cli import main as cli
from archerysim.errors import StoreError
from archerysim.shot.arrays.mesh import MESHES
from archerysim.shot.fitted_bow import FittedBow
from archerysim.study.run import run as stream
from archerysim.study.run import store as store_module
from archerysim.study.run.row import LaunchNumbers, row_of
from archerysim.study.run.store import Store, key_maker
from archerysim.study.run.store_contents import open_store
from tests.support.study import small_sweep


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "runs.sqlite"


@pytest.fixture
def computed(monkeypatch: pytest.MonkeyPatch) -> list[dict[str, Any]]:
    """The changes of every point that is computed in this process."""
    seen: list[dict[str, Any]] = []

    def counted(question: Any, base: Any, changes: dict[str, Any]) -> Any:
        seen.append(changes)
        return row_of(question, base, changes)

    monkeypatch.setattr(stream, "row_of", counted)
    return seen


def content(path: Path) -> list[Any]:
    with closing(sqlite3.connect(path)) as base:
        base.text_factory = bytes
        rows = base.execute("SELECT version, key, row, checksum FROM shots ORDER BY version, key").fetchall()
    return [tuple(x.decode("utf-8", "replace") if isinstance(x, bytes) else x for x in row) for row in rows]


def test_a_finished_sweep_is_read_back_to_the_bit(path: Path, computed: list[Any]) -> None:
    first = small_sweep.sweep(store=path)
    assert len(computed) == 17
    again = small_sweep.sweep(store=path)
    assert len(computed) == 17
    xarray.testing.assert_identical(first.drop_attrs(), again.drop_attrs())
    xarray.testing.assert_identical(first.drop_attrs(), small_sweep.plain_sweep().drop_attrs())
    assert (first.attrs["points_read"], first.attrs["points_computed"]) == (0, 17)
    assert (again.attrs["points_read"], again.attrs["points_computed"]) == (17, 0)
    assert "points_read" not in small_sweep.plain_sweep().attrs


def test_only_what_is_missing_is_computed(path: Path, computed: list[Any]) -> None:
    small_sweep.sweep(store=path)
    with closing(sqlite3.connect(path)) as base, base:
        base.execute("DELETE FROM shots WHERE rowid % 3 = 0")
    left = len(content(path))
    computed.clear()
    again = small_sweep.sweep(store=path)
    assert 0 < left < 17
    assert len(computed) == 17 - left
    assert again.equals(small_sweep.plain_sweep())


def test_sweeps_share_the_points_they_have_in_common(path: Path, computed: list[Any]) -> None:
    small_sweep.sweep({"nock.locators.reading": "4 mm:12 mm:1 mm"}, store=path)
    assert len(computed) == 9
    shared = small_sweep.sweep(store=path)
    assert len(computed) == 17
    assert shared.equals(small_sweep.plain_sweep())
    small_sweep.sweep({"nock.locators.reading": "8 mm", "archer.draw_length": "27 in"}, store=path)
    assert len(computed) == 18


def test_the_same_point_twice_in_a_sweep(path: Path, computed: list[Any]) -> None:
    for _ in range(2):
        data = small_sweep.sweep(cases={"nock.locators.reading": ["8 mm", "9 mm", "8 mm"]}, store=path)
        assert data["pitch"].values[0].tolist() == data["pitch"].values[2].tolist()
    assert len(content(path)) == 2


def test_a_point_that_fails_is_kept_with_its_reason(path: Path, computed: list[Any]) -> None:
    over = {"archer.draw_length": "28 in, 90 in"}
    first = small_sweep.sweep(over, store=path)
    again = small_sweep.sweep(over, store=path)
    assert len(computed) == 2
    assert first["status"].values[1] != 0
    assert first["reason"].values[1]
    xarray.testing.assert_identical(first.drop_attrs(), again.drop_attrs())


def test_the_key_holds_everything_that_decides_a_row() -> None:
    change = {"nock.locators.reading": 0.008, "archer.draw_length": 0.7}
    bow = small_sweep.bow()
    keys = [
        key_maker(FittedBow.of(setup, mesh), LaunchNumbers(hold))(made)
        for setup, hold, mesh, made in (
            (bow, (), "coarse", change),
            (bow, ("reading",), "coarse", change),
            (bow, (), MESHES["coarse"].finer(), change),
            (bow.replace(**{"arrow.point_mass": "101 gr"}), (), "coarse", change),
            (bow, (), "coarse", change | {"archer.draw_length": float(np.nextafter(0.7, 1.0))}),
            (bow, (), "coarse", {"nock.locators.reading": 0.008}),
        )
    ]
    assert len(set(keys)) == len(keys)
    backwards = dict(reversed(list(change.items())))
    assert key_maker(FittedBow.of(bow, "coarse"), LaunchNumbers())(backwards) == keys[0]


def test_rows_of_another_version_are_neither_used_nor_lost(
    path: Path, computed: list[Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as other:
        other.setattr(store_module, "version", lambda: "another")
        small_sweep.sweep(store=path)
    before = content(path)
    assert {row[0] for row in before} == {"another"}
    computed.clear()
    with pytest.warns(UserWarning, match="another version of archerysim; they are left alone"):
        data = small_sweep.sweep(store=path)
    assert len(computed) == 17
    assert data.attrs["points_read"] == 0
    after = content(path)
    assert len(after) == 34
    assert set(before) < set(after)


def test_the_version_is_that_of_all_sources(tmp_path: Path) -> None:
    import shutil
    import subprocess
    import sys

    package = Path(store_module.__file__).parents[2]
    copy = tmp_path / "archerysim"
    shutil.copytree(package, copy, ignore=shutil.ignore_patterns("__pycache__"))
    ask = "from archerysim.study.run.store import version; import archerysim; print(version(), archerysim.__file__)"

    def told() -> str:
        env = dict(os.environ, PYTHONPATH=str(tmp_path), PYTHONDONTWRITEBYTECODE="1")
        out = subprocess.run(
            [sys.executable, "-c", ask], cwd=tmp_path, env=env, check=True, capture_output=True, text=True
        ).stdout.split()
        assert out[1].startswith(str(tmp_path))
        return out[0]

    seen = [store_module.version(), told()]
    assert seen[0] == seen[1]
    for name in ("mechanics/forces/rest.py", "equipment/filled_setup.py", "shot/statics/draw.py", "study/run/row.py"):
        with (copy / name).open("a") as file:
            file.write("A_NEW_NAME = 1\n")
        seen.append(told())
    assert len(set(seen)) == 5


def damage(path: Path, at: int) -> None:
    data = bytearray(path.read_bytes())
    data[at : at + 3000] = bytes(3000)
    path.write_bytes(data)


def _text(path: Path) -> None:
    path.write_text("reading;pitch\n" * 100)


def _other(path: Path) -> None:
    with closing(sqlite3.connect(path)) as base, base:
        base.execute("CREATE TABLE shots (a, b)")


def _damaged_inside(path: Path) -> None:
    small_sweep.sweep(store=path)
    damage(path, 4096)  # where a page tells its kind


def _damaged_head(path: Path) -> None:
    small_sweep.sweep(store=path)
    damage(path, 0)


def _cut_short(path: Path) -> None:
    small_sweep.sweep(store=path)
    os.truncate(path, path.stat().st_size - 4096)


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (_text, "is not a store"),
        (_other, "is a database of something else"),
        (_damaged_inside, "is damaged"),
        (_damaged_head, "is not a store"),
        (_cut_short, "is damaged"),
    ],
)
def test_what_is_no_whole_store_is_refused_and_left_as_it_is(path: Path, make: Any, words: str) -> None:
    make(path)
    before = path.read_bytes()
    with pytest.raises(StoreError, match=words) as error:
        small_sweep.sweep(store=path)
    assert str(path) in str(error.value)
    assert path.read_bytes() == before
    assert isinstance(error.value, ValueError)


DAMAGE = {
    "cut short": "row = substr(row, 1, 100)",
    "a digit": "row = replace(row, '0.', '1.')",
    "no text": "row = x'00ff00'",
    "no UTF-8": "row = CAST(x'ff' || row AS TEXT)",
    "a number": "row = 5",
    "another row": "row = (SELECT row FROM shots WHERE rowid = 9)",
    "no checksum": "checksum = NULL",
    "another checksum": "checksum = (SELECT checksum FROM shots WHERE rowid = 9)",
}


@pytest.mark.parametrize("kind", DAMAGE)
def test_damaged_rows_are_computed_again_with_a_warning(kind: str, path: Path, computed: list[Any]) -> None:
    small_sweep.sweep(store=path)
    whole = content(path)
    with closing(sqlite3.connect(path)) as base, base:
        base.execute(f"UPDATE shots SET {DAMAGE[kind]} WHERE rowid IN (4, 5)")
    assert content(path) != whole
    computed.clear()
    with pytest.warns(UserWarning, match=r"runs\.sqlite holds damaged rows \(2\); they are computed again") as told:
        data = small_sweep.sweep(store=path)
    assert len(told) == 1
    assert len(computed) == 2
    assert data.equals(small_sweep.plain_sweep())
    assert content(path) == whole
    computed.clear()
    small_sweep.sweep(store=path)  # no warning any more
    assert not computed


def test_a_store_of_the_first_format_is_left_alone(path: Path, computed: list[Any]) -> None:
    """Its rows have no checksum: they are those of another version."""
    with closing(sqlite3.connect(path)) as base, base:
        base.execute("CREATE TABLE shots (version TEXT, key TEXT, row TEXT NOT NULL, PRIMARY KEY (version, key))")
        base.execute("INSERT INTO shots VALUES ('old', 'key', '{}')")
        base.execute(f"PRAGMA application_id = {store_module.MARK}")
    with pytest.warns(UserWarning, match="another version of archerysim; they are left alone"):
        small_sweep.sweep(store=path)
    assert len(computed) == 17
    assert ("old", "key", "{}", None) in content(path)
    assert len(content(path)) == 18


NO_FILES = {
    "": "'' is not a file name",
    " ": "is not a file name",
    ":memory:": ":memory: is not a file name",
    "file:runs.sqlite": "is not a file name",
    "file::memory:?cache=shared": "is not a file name",
    "runs\0.sqlite": "is not a file name",
    "folder": "folder cannot be written: it is a folder, not a file",
    "pipe": "pipe cannot be written: it is a pipe, not a file",
    "device": "device cannot be written: it is a device, not a file",
    "circle": "circle cannot be used (Too many levels of symbolic links)",
    "nowhere/runs.sqlite": "runs.sqlite cannot be written: there is no such folder",
}


@pytest.mark.skipif(os.name != "posix", reason="files of POSIX")
@pytest.mark.parametrize("name", NO_FILES)
def test_what_is_no_file_is_refused_before_the_bow_is_fitted(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def never(*_: object) -> None:
        raise AssertionError("the bow was fitted")

    monkeypatch.chdir(tmp_path)
    os.mkdir("folder")
    os.mkfifo("pipe")
    os.symlink("/dev/null", "device")
    os.symlink("circle", "circle")
    before = sorted(os.listdir())
    monkeypatch.setattr(sys.modules["archerysim.study.sweeps.sweep"], "FittedBow", never)
    with pytest.raises(StoreError) as error:
        small_sweep.sweep(store=name)
    assert str(error.value).startswith("store: ")
    assert NO_FILES[name] in str(error.value)
    assert str(error.value).isprintable()
    assert sorted(os.listdir()) == before


@pytest.mark.skipif(os.name != "posix" or os.geteuid() != 0, reason="only root can make a link for another user")
def test_a_link_that_another_user_made_is_not_followed(path: Path, tmp_path: Path) -> None:
    path.symlink_to(tmp_path / "victim")
    os.lchown(path, 12345, 12345)
    with pytest.raises(StoreError, match="is a link that another user has made"):
        small_sweep.sweep(store=path)
    assert not (tmp_path / "victim").exists()


def test_a_store_that_stays_locked(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    small_sweep.sweep(store=path)
    monkeypatch.setattr(store_module, "PATIENCE", 0.05)
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(StoreError, match=r"has been locked by another process for 0\.05 s\. Try again later"):
            small_sweep.sweep(store=path)


@pytest.fixture
def as_nobody() -> Iterator[None]:
    """Without the rights of root, whom no permission binds."""
    root = hasattr(os, "geteuid") and os.geteuid() == 0
    if root:
        os.seteuid(65534)
    try:
        yield
    finally:
        if root:
            os.seteuid(0)


@pytest.fixture
def open_folder() -> Iterator[Path]:
    with tempfile.TemporaryDirectory() as name:
        os.chmod(name, 0o777)
        yield Path(name)


@pytest.mark.skipif(os.name != "posix", reason="permissions of POSIX")
def test_a_store_that_cannot_be_written(open_folder: Path, request: pytest.FixtureRequest) -> None:
    path = open_folder / "runs.sqlite"
    small_sweep.sweep(store=path)
    path.chmod(0o444)
    before = path.read_bytes()
    request.getfixturevalue("as_nobody")
    with pytest.raises(StoreError, match="cannot be written"):
        small_sweep.sweep(store=path)
    assert path.read_bytes() == before


@pytest.mark.filterwarnings("default")
def test_the_command_line_says_it_in_one_line(
    path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    command = [
        "sweep", str(small_sweep.EXAMPLE), "--mesh", "coarse", "--over", "nock.locators.reading=7 mm:9 mm:1 mm",
        "--store", str(path),
    ]  # fmt: skip
    assert cli.main(command) == 0
    assert "0 points read, 3 computed" in capsys.readouterr().err
    assert cli.main(command) == 0
    assert "3 points read, 0 computed" in capsys.readouterr().err
    with monkeypatch.context() as other:
        other.setattr(store_module, "version", lambda: "another")
        assert cli.main(command) == 0
    told = capsys.readouterr().err.splitlines()
    assert told[0].startswith("archerysim: ")
    assert told[0].endswith("left alone, and not used")
    path.write_text("no store")
    assert cli.main(command) == 2
    told = capsys.readouterr().err.splitlines()
    assert len(told) == 1
    assert told[0].startswith(f"archerysim: store: {path} is not a store. ")


def test_many_open_and_write_one_store_at_once(path: Path) -> None:
    writers, each = 6, 20
    gate = threading.Barrier(writers)
    failed: list[BaseException] = []

    def write(k: int) -> None:
        gate.wait()
        try:
            with Store(path) as store:
                for i in range(each):
                    store.write([(f"{k}-{i}", {"status": 0}), (f"same-{i}", {"status": 0})])
        except BaseException as error:
            failed.append(error)

    threads = [threading.Thread(target=write, args=(k,)) for k in range(writers)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert not failed
    assert len(content(path)) == (writers + 1) * each


def test_stores_of_several_jobs_put_together(tmp_path: Path, computed: list[Any]) -> None:
    """The way that docs/scale.md shows."""
    for k, over in enumerate(("4 mm:7.5 mm:0.5 mm", "8 mm:12 mm:0.5 mm")):
        small_sweep.sweep({"nock.locators.reading": over}, store=tmp_path / f"job-{k}.sqlite")
    whole = tmp_path / "job-0.sqlite"
    with closing(sqlite3.connect(whole)) as base:
        base.execute("ATTACH ? AS job", (str(tmp_path / "job-1.sqlite"),))
        base.execute("INSERT OR IGNORE INTO shots SELECT * FROM job.shots")
        base.execute("INSERT OR IGNORE INTO sweeps SELECT * FROM job.sweeps")
        base.commit()
    computed.clear()
    data = small_sweep.sweep(store=whole)
    assert not computed
    assert data.equals(small_sweep.plain_sweep())
    assert [open_store(whole, k)["status"].size for k in range(3)] == [8, 9, 17]
