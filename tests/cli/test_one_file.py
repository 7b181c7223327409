"""Two paths of a command that are one file: one line, before any work, and the file stays as it is."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import pytest

from archerysim.study.notes import notes_file
from tests.support.cli.run_commands import here
from tests.support.shot.example_bows import READING, path_of

OVER = ("--over", f"{READING}=6:8:1 mm")
JOBS: dict[str, tuple[tuple[str, ...], str]] = {
    "sweep, store and out": (("sweep", "bow.toml", *OVER, "--store", "a.csv", "--out", "a.csv"), "out: "),
    "sweep, store and plot": (("sweep", "bow.toml", *OVER, "--store", "a.png", "--plot", "./a.png"), "plot: "),
    "sweep, setup and store": (("sweep", "bow.toml", *OVER, "--store", "bow.toml"), "store: "),
    "bare-shaft, store and out": (("bare-shaft", "bow.toml", "--store", "a.csv", "--out", "a.csv"), "out: "),
    "group, setup and store": (("group", "bow.toml", "--store", "bow.toml"), "store: "),
    "brace, setup and out": (("brace", "bow.toml", "--out", "folder/../bow.toml"), "out: "),
    "brace, setup by another name": (("brace", "bow.toml", "--out", "again.toml"), "out: "),
    "brace, out and plot by a link": (("brace", "bow.toml", "--out", "link.toml", "--plot", "a.png"), "plot: "),
    "draw, setup and out by a link": (("draw", "bow.toml", "--out", "bow.csv"), "out: "),
    "shoot, setup and plot": (("shoot", "bow.toml", "--plot", "bow.png"), "plot: "),
    "read-group, setup and notes": (("read-group", "bow.toml", "bow.toml"), "notes: "),
    "read-group, notes and plot": (("read-group", "bow.toml", "notes.toml", "--plot", "notes.png"), "plot: "),
    "fly, setup and out": (("fly", "bow.toml", "--distance", "18 m", "--out", "bow.csv"), "out: "),
    "tune, setup and plot": (("tune", "bow.toml", "--plot", "bow.png"), "plot: "),
    "target, store and plot": (("target", "bow.toml", "--store", "a.png", "--plot", "a.png"), "plot: "),
    "strain, out and sections": (("strain", "bow.toml", "--out", "a.csv", "--sections", "./a.csv"), "sections: "),
    "limb-design, sections and plot": (
        ("limb-design", "bow.toml", "--draw-weight", "20 lb", "--plot", "a.csv", "--sections", "a.csv"),
        "sections: ",
    ),
    "check, setup and plot": (("check", "bow.toml", "--plot", "bow.png"), "plot: "),
}


@pytest.mark.skipif(os.name != "posix", reason="links of POSIX")
@pytest.mark.parametrize("job", JOBS)
def test_one_file_under_two_names(
    job: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    import archerysim.equipment as equipment

    def never(*_: object) -> None:
        raise AssertionError("the setup was read")

    monkeypatch.chdir(tmp_path)
    shutil.copy(path_of("junior"), "bow.toml")
    shutil.copy(path_of("notes"), "notes.toml")
    os.mkdir("folder")
    os.link("bow.toml", "again.toml")
    for link, target in (("bow.csv", "bow.toml"), ("bow.png", "bow.toml"), ("notes.png", "notes.toml"),
                         ("link.toml", "a.png")):  # fmt: skip
        os.symlink(target, link)
    before = sorted(os.listdir())
    text = Path("bow.toml").read_bytes(), Path("notes.toml").read_bytes()
    monkeypatch.setattr(equipment, "load", never)
    monkeypatch.setattr(notes_file, "load_notes", never)
    arguments, begins = JOBS[job]
    done = here(capsys, *arguments)
    assert done.status == 2
    assert done.out == ""
    assert done.err.startswith(f"archerysim: {begins}")
    assert " is the same file as the " in done.err
    assert done.err.endswith("Give each a file of its own.\n")
    assert done.err.count("\n") == 1
    assert sorted(os.listdir()) == before
    assert (Path("bow.toml").read_bytes(), Path("notes.toml").read_bytes()) == text


def test_a_store_is_not_written_over_by_a_later_table(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    store = tmp_path / "runs.csv"
    job = ("sweep", path_of("junior"), "--mesh", "coarse", "--over", f"{READING}=8 mm")
    assert here(capsys, *job, "--store", store).status == 0
    before = store.read_bytes()
    done = here(capsys, *job, "--out", store)
    assert done.status == 2
    assert done.err == (
        f"archerysim: out: {store} cannot be written: it is a database, as a store of shots is. Choose another name.\n"
    )
    assert store.read_bytes() == before
