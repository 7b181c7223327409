"""A light start: importing the package, or asking for help, loads nothing heavy."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

import archerysim
import archerysim.show

ROOT = Path(__file__).resolve().parents[1]
HEAVY = {"numba", "scipy", "xarray", "matplotlib", "pint", "pandas", "h5netcdf", "h5py", "tqdm", "sympy", "tomlkit"}


def loaded_by(code: str) -> set[str]:
    """Top-level modules loaded after running ``code`` in a fresh process."""
    report = "import json, sys; print(json.dumps(sorted({name.split('.')[0] for name in sys.modules})))"
    done = subprocess.run(
        [sys.executable, "-c", f"{code}\n{report}"], cwd=ROOT, capture_output=True, text=True, check=True, timeout=120
    )
    return set(json.loads(done.stdout.splitlines()[-1]))


def test_the_package_is_light() -> None:
    assert not loaded_by("import archerysim") & HEAVY


def test_the_records_are_light() -> None:
    assert not loaded_by("import archerysim; archerysim.Setup; archerysim.SetupError") & (HEAVY - {"pint"})


def test_shots_load_no_tables_or_pictures() -> None:
    loaded = loaded_by("import archerysim; archerysim.shoot; archerysim.draw; archerysim.fit; archerysim.sweep")
    assert not loaded & {"xarray", "matplotlib", "pandas", "h5netcdf", "tqdm"}


def test_pictures_load_no_kernels() -> None:
    assert not loaded_by("import archerysim.show") & HEAVY


def test_help_is_light() -> None:
    code = (
        "from archerysim.cli.main import main\n"
        "try:\n    main(['--help'])\nexcept SystemExit as left:\n    assert left.code == 0"
    )
    assert not loaded_by(code) & HEAVY


@pytest.mark.parametrize("name", archerysim.__all__)
def test_every_public_name_is_there(name: str) -> None:
    assert getattr(archerysim, name) is not None
    assert name in dir(archerysim)


def test_public_names() -> None:
    assert len(set(archerysim.__all__)) == len(archerysim.__all__)
    for name in (
        "load", "Setup", "SetupError", "ShotError", "fit", "brace", "draw", "shoot", "sweep", "Launch", "save", "read",
    ):  # fmt: skip
        assert name in archerysim.__all__


def test_an_unknown_name() -> None:
    with pytest.raises(AttributeError, match="no attribute 'loose_cannon'"):
        _ = archerysim.loose_cannon  # type: ignore[attr-defined]


def test_what_is_documented() -> None:
    for name in archerysim.__all__:
        value = getattr(archerysim, name)
        if callable(value):
            assert value.__doc__, name


def test_no_folder_of_pictures_is_named_like_one_of_them() -> None:
    """A folder once loaded would take the picture's place."""
    folders = {path.name for path in (ROOT / "archerysim" / "show").iterdir() if path.is_dir()}
    assert not folders & set(archerysim.show.__all__)


def test_a_renamed_name_still_works_and_warns(monkeypatch: pytest.MonkeyPatch) -> None:
    """DEVELOPERS.md promises it for two versions."""
    monkeypatch.setitem(archerysim._RENAMED, "shot", ("shoot", "0.4"))
    with pytest.warns(
        FutureWarning, match=r"archerysim\.shot is archerysim\.shoot now; the old name goes with version 0\.4"
    ):
        renamed = archerysim.__getattr__("shot")
    assert renamed is archerysim.shoot


def test_old_names_go_in_time() -> None:
    """None stays beyond the version in which it was to be gone, and each leads to a name that is there."""
    from packaging.version import Version

    for old, (now, goes) in archerysim._RENAMED.items():
        assert Version(archerysim.__version__) < Version(goes), old
        assert now in archerysim.__all__
