"""A sweep out of its store alone: finished, killed half way, of another version, one of several."""

from __future__ import annotations

import json
import os
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import xarray

import archerysim
from archerysim.equipment import loads
from archerysim.errors import StoreError
from archerysim.study.run import store as store_module
from archerysim.study.sweeps.sweep import sweep as run
from tests.study.test_store import as_nobody, damage, open_folder  # noqa: F401
from tests.support.study import small_sweep

READING = "nock.locators.reading"
DIMENSION = "nock_locators_reading"


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "runs.sqlite"


DESIGNS: dict[str, dict[str, Any]] = {
    "over": {"over": {READING: "6 mm:8 mm:1 mm", "archer.draw_length": ["27 in", "28 in", "90 in"]}},
    "cases": {"cases": {READING: ["8 mm", "9 mm", "8 mm"], "archer.draw_length": ([0.7, 0.71, 0.7], "m")}},
    "words": {"over": {"archer.hold": ["split", "three under"]}},
    "yes or no": {"over": {"riser.rods.0.rigid": [True, False]}},
    "rows": {"over": {"archer.finger_shares": [(0.4, 0.4, 0.2), (0.3, 0.4, 0.3)]}},
    "hold": {"over": {READING: "7 mm, 8 mm"}, "hold": "brace height"},
}


@pytest.mark.parametrize("design", DESIGNS)
def test_the_dataset_is_had_back_as_the_sweep_gave_it(design: str, path: Path) -> None:
    data = small_sweep.sweep(store=path, workers=1, **DESIGNS[design])
    again = archerysim.open_store(path)
    xarray.testing.assert_identical(again.drop_attrs(deep=False), data.drop_attrs(deep=False))
    assert [*again.dims] == [*data.dims]
    assert again.attrs.pop("points_missing") == 0
    assert again.attrs.pop("computed_by") == f"this version of archerysim ({store_module.version()})"
    assert again.attrs.pop("points_read") == data["status"].size
    assert again.attrs == {k: v for k, v in data.attrs.items() if k not in ("points_read", "points_computed")}
    assert loads(again.attrs["setup"]) == small_sweep.bow()
    assert os.listdir(path.parent) == [path.name]


def test_it_needs_no_script(path: Path) -> None:
    data = small_sweep.sweep({READING: "7 mm, 8 mm"}, store=path, workers=1)
    code = "import sys, archerysim; print(archerysim.open_store(sys.argv[1]).pitch.values.tolist())"
    done = subprocess.run(
        [sys.executable, "-c", code, path], capture_output=True, text=True, check=True, cwd=Path(__file__).parents[2]
    )
    assert json.loads(done.stdout) == data["pitch"].values.tolist()


def test_what_has_not_been_computed_is_told(path: Path) -> None:
    """As after a kill, and as while the sweep runs."""
    seen: list[xarray.Dataset] = []

    def stop(done: int, total: int) -> None:
        if done == 5:
            seen.append(archerysim.open_store(path))
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        run(small_sweep.bow(), small_sweep.READINGS, mesh="coarse", workers=1, store=path, progress=stop)
    for data in (*seen, archerysim.open_store(path)):
        missing = data["status"].values == -2
        assert missing.tolist() == [False] * 5 + [True] * 12
        assert set(data["reason"].values[missing]) == {"not computed yet"}
        assert np.isnan(data["pitch"].values[missing]).all()
        assert (data.attrs["points_read"], data.attrs["points_missing"]) == (5, 12)
        assert data[DIMENSION].values.tolist() == small_sweep.plain_sweep()[DIMENSION].values.tolist()
        whole = small_sweep.plain_sweep()["pitch"].values
        np.testing.assert_array_equal(data["pitch"].values[~missing], whole[~missing])
        from archerysim import show

        show.sweep(data)  # the rest leaves a gap


def test_damaged_rows_are_told(path: Path) -> None:
    small_sweep.sweep(store=path, workers=1)
    with closing(sqlite3.connect(path)) as base, base:
        base.execute("UPDATE shots SET row = replace(row, '0.', '1.') WHERE rowid = 5")
        base.execute("DELETE FROM shots WHERE rowid = 6")
    data = archerysim.open_store(path)
    lost = data["status"].values == -2
    assert sorted(data["reason"].values[lost]) == ["its row in the store is damaged", "not computed yet"]
    assert np.isnan(data["pitch"].values[lost]).all()


def test_rows_of_another_version_are_read_and_marked(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with monkeypatch.context() as other:
        other.setattr(store_module, "version", lambda: "0123456789abcdef")
        first = small_sweep.sweep({READING: "7 mm, 8 mm"}, store=path, workers=1)
    data = archerysim.open_store(path)
    assert data.attrs["computed_by"] == "another version of archerysim (0123456789abcdef)"
    assert data.equals(first)
    with pytest.warns(UserWarning, match="another version"):
        small_sweep.sweep({READING: "7 mm, 8 mm"}, store=path, workers=1)
    with pytest.raises(StoreError, match=r"begun [^)]*, of another version\); 1: "):
        archerysim.open_store(path)
    assert archerysim.open_store(path, -1).attrs["computed_by"].startswith("this version")


def test_fields_and_quantities_that_are_called_otherwise_by_now(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    small_sweep.sweep({READING: "7 mm, 8 mm"}, store=path, workers=1)
    own = store_module.version()
    with closing(sqlite3.connect(path)) as base, base:
        (name, text) = base.execute("SELECT id, about FROM sweeps").fetchone()
        about = json.loads(text)
        about["axes"][0]["path"] = "nock.locators.place_in_old_words"
        text = json.dumps(about)
        base.execute("UPDATE sweeps SET about = ?, checksum = ?", (text, store_module.checksum(name, own, text)))
    data = archerysim.open_store(path)
    assert data.sizes["nock_locators_place_in_old_words"] == 2
    assert (data["status"].values == -2).all()


def test_one_of_several_is_chosen(path: Path) -> None:
    first = small_sweep.sweep({READING: "7 mm, 8 mm"}, store=path, workers=1)
    second = small_sweep.sweep({READING: "7 mm", "archer.draw_length": ["27 in", "28 in"]}, store=path, workers=1)
    small_sweep.sweep({READING: "7 mm, 8 mm"}, store=path, workers=1)  # again: no third one
    for wanted in (None, 2, -3, True, "0"):
        with pytest.raises(StoreError) as error:
            archerysim.open_store(path, wanted)  # type: ignore[arg-type]
        message = str(error.value)
        assert f"{path} holds 2 sweeps: 0: {READING} (points: 2, begun " in message
        assert f"; 1: {READING} and archer.draw_length (points: 2, begun " in message
        assert message.endswith(". Choose one, for example sweep=1.")
    for wanted, data in ((0, first), (1, second), (-1, second), (-2, first)):
        assert archerysim.open_store(path, sweep=wanted).equals(data)


def test_a_long_list_is_cut(path: Path) -> None:
    with store_module.Store(path) as store:
        design = {"inputs": {}, "attributes": {}, "paired": False, "begun": "then"}
        for k in range(30):
            about = {**design, "axes": [{"path": "archer.draw_length", "unit": "in", "values": [0.7 + k]}]}
            store.remember(about, json.dumps(about))
    with pytest.raises(StoreError, match=r"holds 30 sweeps: 0: .*; and 18 more\. Choose one, for example sweep=29\."):
        archerysim.open_store(path)


def test_the_description_is_readable_and_guarded(path: Path) -> None:
    small_sweep.sweep({READING: "7 mm, 8 mm"}, store=path, hold="reading", workers=1)
    with closing(sqlite3.connect(path)) as base, base:
        told = dict(zip(
            ("setup", "held", "reading", "values", "mesh"),
            base.execute(
                "SELECT about ->> '$.attributes.setup', about ->> '$.held.what', about ->> '$.held.reading', "
                "about ->> '$.axes[0].values', about ->> '$.attributes.mesh' FROM sweeps"
            ).fetchone(), strict=True,
        ))  # fmt: skip
        assert loads(told["setup"]) == small_sweep.bow()
        assert told["held"] == "locators set back to the same reading"
        assert told["reading"] == pytest.approx(0.008)
        assert json.loads(told["values"]) == [0.007, 0.008]
        assert "limb=12" in told["mesh"]
        base.execute("UPDATE sweeps SET about = replace(about, '0.007', '0.0071')")
    with pytest.raises(StoreError, match=r"the description is damaged\. Run the sweep again with this store"):
        archerysim.open_store(path)
    small_sweep.sweep({READING: "7 mm, 8 mm"}, store=path, hold="reading", workers=1)
    assert archerysim.open_store(path).attrs["points_read"] == 2


def test_what_is_no_whole_store(path: Path, tmp_path: Path) -> None:
    with pytest.raises(StoreError, match=r"is not there\. Check the path"):
        archerysim.open_store(path)
    assert not path.exists()
    with store_module.Store(path):
        pass
    with pytest.raises(StoreError, match=r"holds no sweep\. Run one with this store"):
        archerysim.open_store(path)
    small_sweep.sweep(store=path, workers=1)
    damage(path, 3 * 4096)  # where a page begins
    before = path.read_bytes()
    with pytest.raises(StoreError, match="is damaged"):
        archerysim.open_store(path)
    assert path.read_bytes() == before
    (tmp_path / "text").write_text("no store")
    for name, words in (
        ("text", "is not a store"),
        (".", "it is a folder, not a file"),
        (":memory:", "not a file name"),
    ):
        with pytest.raises(StoreError, match=words):
            archerysim.open_store(tmp_path / name if name != ":memory:" else name)


@pytest.mark.skipif(os.name != "posix", reason="permissions of POSIX")
def test_a_store_that_may_only_be_read(open_folder: Path, request: pytest.FixtureRequest) -> None:  # noqa: F811
    """Such as one on a medium that cannot be written."""
    path = open_folder / "runs #1?.sqlite"
    data = small_sweep.sweep({READING: "7 mm, 8 mm"}, store=path, workers=1)
    path.chmod(0o444)
    open_folder.chmod(0o555)
    request.getfixturevalue("as_nobody")
    assert archerysim.open_store(path).equals(data)
