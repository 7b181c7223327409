"""Reading and saving setup files."""

from __future__ import annotations

import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from archerysim.equipment import Setup, SetupError, echoes, load, loads, oddities
from tests.support.equipment.setup_strategies import CATEGORIES, setups
from tests.support.equipment.setup_texts import BUILT, MEASURED
from tests.support.shot.example_bows import FOLDER

GOOD = sorted(path for path in FOLDER.glob("*.toml") if path.stem not in ("notes", "season"))
# Examples of what is to be put right: a lower limb too strong, limbs lighter than a club bow's.
ODD_ON_PURPOSE = {
    "flatbow": {"bow.upper_tiller"},
    "training-bow": {"bow.upper_tiller", "upper_limb.mass", "lower_limb.mass"},
}


def test_values_arrive_in_si(measured: Setup) -> None:
    assert measured.bow.length == 1.7272
    assert measured.bow.draw_weight == pytest.approx(34 * 4.4482216152605, rel=1e-15)
    assert measured.arrow.spine == 0.01778
    assert measured.string.strands == 18
    assert isinstance(measured.string.strands, int)
    assert measured.upper_limb.mass == measured.lower_limb.mass == 0.165
    assert measured.riser.rods[0].rod_mass == 0.13
    assert measured.rest.height is None


def test_reference_case_is_within_the_ranges(built: Setup) -> None:
    assert built.upper_limb.bending_stiffness == (23.0, 5.4)
    assert built.archer.release_time == (0.004, 0.004, 0.004)


@pytest.mark.parametrize("path", GOOD, ids=lambda path: path.stem)
def test_examples_load_are_typical_and_round_trip(path: Path, tmp_path: Path) -> None:
    setup = load(path)
    assert {one.path for one in oddities(setup)} <= ODD_ON_PURPOSE.get(path.stem, set())
    setup.save(tmp_path / "again.toml")
    assert load(tmp_path / "again.toml") == setup
    bow = setup.bow
    for tiller in (bow.upper_tiller, bow.lower_tiller):
        assert tiller is not None
        assert bow.brace_height is not None
        if bow.kind != "one piece":  # whose limbs do not stand behind a riser's grip
            assert 0.015 <= bow.brace_height - tiller <= 0.035


def test_there_are_examples() -> None:
    assert {path.stem for path in GOOD} >= {"club-outdoor", "club-indoor", "barebow", "junior"}


@settings(deadline=None, max_examples=40)
@given(setups())
def test_round_trip_is_exact(setup: Setup) -> None:
    assert loads(setup.to_toml()) == setup


@settings(deadline=None, max_examples=30)
@given(setups(), st.floats(0.1001, 0.3999))
def test_round_trip_of_any_float(setup: Setup, brace: float) -> None:
    if setup.form == "measured":
        setup = setup.with_si(**{"bow.brace_height": brace})
        assert setup.bow.brace_height == brace
    assert loads(setup.to_toml()) == setup


@settings(deadline=None, max_examples=20)
@given(st.sampled_from(CATEGORIES), st.data())
def test_strategies_give_typical_setups(category: str, data: st.DataObject) -> None:
    setup = data.draw(setups(category))
    assert setup.category == category
    assert [one.words for one in oddities(setup)] == []


def test_saved_text_is_in_archers_units(measured: Setup) -> None:
    text = measured.to_toml()
    for line in (
        'length = "68 in"',
        'brace_height = "220 mm"',
        'draw_weight = "34 lbf"',
        'spine = "0.7 in"',
        'mass_per_length = "6.4 gr/in"',
        "[limbs]\n",
        "[[riser.rods]]\n",
        "[nock.locators]\n",
    ):
        assert line in text
    assert "upper_limb" not in text
    assert "[limits]" not in text


def test_limbs_that_differ_are_saved_apart(measured: Setup) -> None:
    setup = measured.replace(**{"lower_limb.mass": "170 g", "limbs.tip_mass": "2 g"})
    text = setup.to_toml()
    assert '[limbs]\ntip_mass = "2 g"' in text
    assert '[upper_limb]\nmass = "165 g"' in text
    assert '[lower_limb]\nmass = "170 g"' in text
    assert loads(text) == setup


def test_own_table_of_a_limb_goes_before_that_of_both() -> None:
    setup = loads(MEASURED.replace("[riser]\n", '[upper_limb]\nmass = "170 g"\n[riser]\n'))
    assert (setup.upper_limb.mass, setup.lower_limb.mass) == (0.170, 0.165)


def test_own_table_of_a_limb_drops_the_rival_in_that_of_both() -> None:
    own = '[upper_limb]\nmass_per_length = ["0.4 kg/m", "0.15 kg/m"]\n[riser]\n'
    setup = loads(MEASURED.replace("[riser]\n", own))
    assert setup.upper_limb.mass is None
    assert setup.upper_limb.mass_per_length == (0.4, 0.15)
    assert setup.lower_limb.mass == 0.165


def test_one_release_time_stands_for_three_fingers(measured: Setup) -> None:
    assert loads(MEASURED + 'release_time = "6 ms"\n').archer.release_time == (0.006, 0.006, 0.006)
    each = loads(MEASURED + 'release_time = ["5 ms", "6 ms", "7 ms"]\n')
    assert each.archer.release_time == (0.005, 0.006, 0.007)
    assert loads(each.to_toml()) == each


def test_save_replaces_the_file_whole_and_leaves_nothing_else(measured: Setup, tmp_path: Path) -> None:
    path = tmp_path / "bow.toml"
    path.write_text("old")
    path.chmod(0o640)
    measured.save(path)
    assert load(path) == measured
    assert os.listdir(tmp_path) == ["bow.toml"]
    assert stat.S_IMODE(path.stat().st_mode) == 0o640


def test_save_that_fails_keeps_the_old_file(measured: Setup, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "bow.toml"
    path.write_text("old")

    def refuse(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", refuse)
    with pytest.raises(SetupError, match=r"cannot be written"):
        measured.save(path)
    assert path.read_text() == "old"
    assert os.listdir(tmp_path) == ["bow.toml"]


def test_files_that_cannot_be_read(tmp_path: Path, measured: Setup) -> None:
    with pytest.raises(SetupError, match=r"no\.toml cannot be read \(No such file"):
        load(tmp_path / "no.toml")
    (tmp_path / "latin.toml").write_bytes(b'name = "\xe9"')
    with pytest.raises(SetupError, match="is not UTF-8"):
        load(tmp_path / "latin.toml")
    with pytest.raises(SetupError, match=r"cannot be written"):
        measured.save(tmp_path / "none" / "bow.toml")


def test_echoes_tell_how_unusual_ways_were_read() -> None:
    lines = echoes(MEASURED.replace('"34 lb"', '"15 kg"'))
    assert lines == [
        "bow.draw_weight: 15 kg is read as the force 147.1 N = 33.07 lbf",
        "arrow.spine: 700 is read as 0.7 in = 17.78 mm",
        "arrow.point_mass: 90 gr is read as 5.832 g",
    ]
    assert echoes(BUILT) == ["arrow.spine: 0.6 is read as 0.6 in = 15.24 mm"]


def test_import_needs_nothing_heavy() -> None:
    code = (
        "import sys, archerysim.equipment as e; e.loads(sys.stdin.read());"
        "print([m for m in ('pint', 'numpy', 'scipy', 'xarray', 'numba', 'matplotlib') if m in sys.modules])"
    )
    root = Path(__file__).resolve().parents[2]
    done = subprocess.run([sys.executable, "-c", code], input=MEASURED, capture_output=True, text=True, cwd=root)
    assert done.stdout.strip() == "[]", done.stderr
