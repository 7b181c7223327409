"""Whole jobs on the examples: tables on the screen, files that load again, pictures."""

from __future__ import annotations

import csv
import re
from pathlib import Path

import numpy as np
import pytest

from archerysim.equipment import filled, load
from archerysim.shot.shoot import fit, shoot
from archerysim.shot.side_change import side_change
from archerysim.shot.warnings import NONE
from archerysim.show.csv import write_trace
from archerysim.show.shots.table import launch_table
from archerysim.study.sweeps.table_file import read
from tests.support.cli.run_commands import here, outside, unsaid
from tests.support.shot.example_bows import NAMES, READING, built, path_of, shot
from tests.support.study.shared_sweeps import READINGS

COARSE = ("--mesh", "coarse")
Capture = pytest.CaptureFixture[str]


@pytest.mark.parametrize("command", ["check", "brace", "draw", "shoot"])
@pytest.mark.parametrize("name", NAMES)
def test_every_command_on_every_example(name: str, command: str, capsys: Capture) -> None:
    done = here(capsys, command, path_of(name))
    assert done.status == 0
    assert done.err == ""
    assert len(done.out.splitlines()) > 5
    assert "nan" not in done.out.lower().split()
    assert "Traceback" not in done.out


@pytest.mark.parametrize("name", NAMES)
def test_check_tells_values_sources_and_readings(name: str, capsys: Capture) -> None:
    out = here(capsys, "check", path_of(name), "--all").out
    for word in ("given", "derived", "assumed", "underside", "top", "axis", "grains per pound", "front of centre"):
        assert word.lower() in out.lower(), word


def test_shoot_tells_the_numbers_of_the_library(capsys: Capture) -> None:
    out = here(capsys, "shoot", path_of("club-outdoor"), "--all").out
    launch = shot("club-outdoor")
    assert f"{launch.clear.speed:.2f}" in out
    assert "separation" in out
    assert "clear" in out
    assert out.rstrip().splitlines()[-2:] == ["Warnings", f"  ! {NONE}"]  # warnings come last
    assert launch.events
    assert "; ".join(launch.events) in out.split("On the way")[1]


def test_no_limit_passed_is_said(capsys: Capture) -> None:
    out = here(capsys, "shoot", path_of("barebow")).out
    assert NONE.split(".")[0] in " ".join(out.split())


def test_a_yes_or_no_is_set_and_swept(capsys: Capture) -> None:
    path, flat = path_of("junior"), (*COARSE, "--planes", "1")
    plain = here(capsys, "shoot", path, *flat).out
    assert here(capsys, "shoot", path, "--set", "rest.unlimited_support=false", *flat).out != plain
    assert unsaid(here(capsys, "shoot", path, "--set", "rest.unlimited_support=false", *flat).out) == plain
    other = here(capsys, "shoot", path, "--set", "rest.unlimited_support=true", *flat)
    assert other.status == 0
    assert unsaid(other.out) != plain
    swept = here(capsys, "sweep", path, "--over", "rest.unlimited_support=true, false", *flat)
    assert swept.status == 0
    assert "rest: unlimited support" in swept.out
    no = here(capsys, "shoot", path, "--set", "rest.unlimited_support=maybe", *flat)
    assert no.status == 2
    assert '"maybe" is neither true nor false. Write true or false' in no.err


def test_set_takes_a_list(capsys: Capture) -> None:
    path = path_of("junior")
    plain = here(capsys, "brace", path, *COARSE).out
    for shares in ("[0.3, 0.5, 0.2]", "[0.5, 0.3, 0.2]"):
        found = here(capsys, "check", path, "--set", f"archer.finger_shares={shares}", *COARSE, "--all").out
        assert " ".join(f"finger_shares {shares[1:-1]} given".split()) in " ".join(found.split())
    bent = [here(capsys, "brace", path, "--set", f"limbs.natural_curvature={row}", *COARSE).out
            for row in ("[0 1/m, 0.5 1/m]", '["0 1/m", "0.5 1/m"]')]  # fmt: skip
    assert bent[0] == bent[1] != plain
    assert here(capsys, "brace", path, "--set", "limbs.natural_curvature=0, 0.5 1/m", *COARSE).out == bent[0]
    limb = filled(built("junior", "coarse")).upper_limb  # one value of what is not given: the others are the usual ones
    whole = [limb.natural_curvature[0], 0.5, *limb.natural_curvature[2:]]
    said = (f"natural_curvature={', '.join(map(str, whole))} 1/m", f"curvature_at={list(limb.curvature_at)}")
    table = here(capsys, "brace", path, *(word for one in said for word in ("--set", f"limbs.{one}")), *COARSE).out
    one = here(capsys, "brace", path, "--set", "limbs.natural_curvature.1=0.5 1/m", *COARSE).out
    assert unsaid(one) == unsaid(table) != unsaid(plain)
    told = "limbs natural curvature, not given, is derived: the usual shape of a recurve limb"
    assert told in " ".join(one.split())
    assert "not given" not in " ".join(table.split()).partition("held:")[0]
    stiff = here(capsys, "check", path, "--set", "upper_limb.bending_stiffness.all=1.02 times", *COARSE, "--all").out
    upper, lower = (stiff.split(f"[{limb}_limb]")[1].split("\n\n")[0] for limb in ("upper", "lower"))
    assert re.search(r"bending_stiffness .*\n? +changed", upper)
    assert re.search(r"bending_stiffness .*\n? +found by the fit", lower)
    one = here(capsys, "brace", path, "--set", "limbs.natural_curvature=[]", *COARSE)
    assert one.status == 2
    assert "the list is empty" in one.err


def test_set_changes_the_bow(capsys: Capture) -> None:
    path = path_of("junior")
    plain = here(capsys, "shoot", path).out
    same = here(capsys, "shoot", path, "--set", f"{READING}=1/4 in").out
    other = here(capsys, "shoot", path, "--set", f"{READING}=9 mm", "--set", "arrow.point_mass=90 gr").out
    assert unsaid(same) == unsaid(plain)
    assert unsaid(other) != unsaid(plain)
    assert "changed: nock locators reading 9 mm, arrow point mass 90 gr; held: nothing else touched" in other


def test_set_is_the_sweep_s_point_and_the_library_s_shot_to_the_bit(capsys: Capture, tmp_path: Path) -> None:
    path, sets = path_of("club-outdoor"), ("--set", "rest.height=43 mm", "--hold", "reading")
    changes = {"rest.height": "43 mm", "upper_limb.bolt_turns": "0.5 turn"}
    tables = [tmp_path / f"{name}.csv" for name in ("swept", "also", "set")]
    both = ("--over", "upper_limb.bolt_turns=0.5 turn")
    here(capsys, "sweep", path, *sets, *both, *COARSE, "--out", tables[0])
    here(capsys, "sweep", path, "--over", "rest.height=43 mm", *both, "--hold", "reading", *COARSE, "--out", tables[1])
    turn = ("--set", "upper_limb.bolt_turns=0.5 turn")
    out = here(capsys, "shoot", path, *sets, *turn, *COARSE, "--all", "--out", tables[2]).out
    launch = shoot(load(path), "coarse", changes=changes, hold="reading")
    assert float(read(tables[1]).speed.sel(moment="clear").squeeze()) == launch.clear.speed
    first = fit(load(path), "coarse").with_changes({"rest.height": "43 mm"}, "reading")
    then = first.launch({"upper_limb.bolt_turns": "0.5 turn"}, "reading")
    assert float(read(tables[0]).speed.sel(moment="clear").squeeze()) == then.clear.speed
    write_trace(launch, tables[0])
    assert tables[2].read_text() == tables[0].read_text()
    bow = fit(load(path), "coarse").with_changes(changes, "reading")
    assert out.rstrip("\n") == launch_table(launch, side_change(bow), everything=True)
    assert "held: locators set back to the same reading" in " ".join(out.split())


def test_what_is_measured_has_the_bow_fitted_anew(capsys: Capture) -> None:
    path, tiller = path_of("club-outdoor"), "bow.upper_tiller=197 mm"
    for command in ("brace", "draw", "shoot", "fly", "explain", "check"):
        more = ("--distance", "18 m") if command == "fly" else ()
        out = " ".join(here(capsys, command, path, *more, "--set", tiller, *COARSE).out.split())
        told = "changed: bow upper tiller 197 mm; fitted anew to the measured brace height, tillers and draw weight"
        assert out.count(f"{told}, because bow.upper_tiller was changed") == 1
    swept = here(capsys, "sweep", path, "--over", "bow.upper_tiller=195 mm, 197 mm", *COARSE)
    assert swept.status == 0
    assert "The bow is fitted anew" in swept.out


def test_a_limb_made_thinner_on_a_measured_file_leaves_the_other_as_it_is(capsys: Capture, tmp_path: Path) -> None:
    text = path_of("club-outdoor").read_text(encoding="utf-8")
    tables = 'width = ["42 mm", "16 mm"]\nthickness = ["9 mm", "5 mm"]\nmodulus = "30 GPa"\n'
    file, built = tmp_path / "board.toml", [tmp_path / f"{k}.toml" for k in range(2)]
    file.write_text(text.replace("[limbs]\n", f"[limbs]\n{tables}").replace("root_thickness", "# root_thickness"))
    here(capsys, "brace", file, *COARSE, "--out", built[0])
    out = here(capsys, "brace", file, "--set", "lower_limb.thickness.0=8.5 mm", *COARSE, "--out", built[1]).out
    before, after = map(load, built)
    assert after.upper_limb == before.upper_limb
    assert after.lower_limb.modulus == before.lower_limb.modulus
    assert "changed: lower limb thickness 0 8.5 mm; held: nothing else touched" in " ".join(out.split())


def test_brace_writes_the_bow_as_built(capsys: Capture, tmp_path: Path) -> None:
    target = tmp_path / "built.toml"
    assert here(capsys, "brace", path_of("junior"), "--out", target).status == 0
    setup = load(target)
    assert setup == built("junior")
    again = here(capsys, "brace", target)
    assert again.status == 0
    first, second = (here(capsys, "shoot", path).out.splitlines() for path in (path_of("junior"), target))
    numbers = [line for line in first if "clear" in line.lower() or "speed" in line.lower()]
    assert numbers
    assert all(line in second for line in numbers)


def table_of(path: Path) -> dict[str, np.ndarray]:
    with path.open(encoding="utf-8", newline="") as file:
        head, *rows = list(csv.reader(line for line in file if not line.startswith("#")))
    values = np.array([[float(cell or "nan") for cell in row] for row in rows])
    return dict(zip(head, values.T, strict=True))


def test_draw_writes_its_curve(capsys: Capture, tmp_path: Path) -> None:
    target = tmp_path / "draw.csv"
    assert here(capsys, "draw", path_of("junior"), "--points", "9", "--out", target).status == 0
    columns = list(table_of(target).values())
    assert all(column.size == 9 for column in columns)
    assert any(column[-1] == pytest.approx(shot("junior").draw_force, rel=1e-6) for column in columns)


def test_shoot_writes_its_trace(capsys: Capture, tmp_path: Path) -> None:
    target = tmp_path / "trace.csv"
    assert here(capsys, "shoot", path_of("junior"), "--out", target).status == 0
    table = table_of(target)
    assert len(table) >= 15
    assert all(name.endswith("]") for name in table)  # units
    time = next(values for name, values in table.items() if name.startswith("time"))
    speed = next(values for name, values in table.items() if name.startswith("speed"))
    assert (np.diff(time) > 0.0).all()
    assert speed[-1] == pytest.approx(shot("junior").clear.speed, rel=1e-4)


@pytest.mark.parametrize("ending", [".csv", ".nc"])
def test_sweep_writes_a_table_that_loads_again(ending: str, capsys: Capture, tmp_path: Path) -> None:
    target = tmp_path / f"sweep{ending}"
    done = here(
        capsys, "sweep", path_of("club-outdoor"), *COARSE, "--over", f"{READING}=4:12:2 mm", "--out", target,
        "--set", "arrow.point_mass=100 gr",
    )  # fmt: skip
    assert done.status == 0
    assert done.err == ""  # no bar where there is no terminal
    data = read(target)
    np.testing.assert_array_equal(data[READINGS], [4.0, 6.0, 8.0, 10.0, 12.0])
    assert (data.status == 0).all()
    assert (data.pitch.sel(moment="clear").diff(READINGS) < 0.0).all()
    assert 'point_mass = "90 gr"' in data.attrs["setup"]
    assert 'point_mass = "100 gr"' in data.attrs["setup_as_built"]
    assert data.attrs["edits"].startswith("changed: arrow point mass 100 gr; held: nothing else touched")
    assert all(f"{value:g}" in done.out for value in data[READINGS].values)


def test_sweep_over_two_with_something_held(capsys: Capture, tmp_path: Path) -> None:
    target = tmp_path / "sweep.csv"
    done = here(
        capsys, "sweep", path_of("club-outdoor"), *COARSE, "--over", "upper_limb.bolt_turns=-1:1:1 turn",
        "--over", "arrow.point_mass=80 gr, 90 gr", "--hold", "brace-height", "--hold", "reading", "--out", target,
        "--workers", "1",
    )  # fmt: skip
    assert done.status == 0
    data = read(target)
    assert dict(data.sizes) == {"upper_limb_bolt_turns": 3, "arrow_point_mass": 2, "moment": 2}
    np.testing.assert_allclose(data.brace_height, 220.0, atol=1e-4)
    np.testing.assert_allclose(data.reading, 8.0, atol=1e-4)
    assert "brace height" in done.out


def test_a_failed_point_does_not_stop_a_sweep(capsys: Capture, tmp_path: Path) -> None:
    target = tmp_path / "sweep.csv"
    done = here(capsys, "sweep", path_of("junior"), *COARSE, "--over", "arrow.length=20 cm, 26 in", "--out", target)
    assert done.status == 0
    assert "outside the allowed range" in " ".join(done.out.split())
    assert read(target).status.values.tolist() == [-1, 0]


PICTURES = {
    "check": ("check",),
    "brace": ("brace",),
    "draw": ("draw",),
    "shoot": ("shoot",),
    "shoot in one plane": ("shoot", "--planes", "1"),
    "throat": ("shoot", "--picture", "throat"),
    "sideways": ("shoot", "--picture", "sideways"),
    "clearance": ("shoot", "--picture", "clearance"),
    "bow": ("shoot", "--picture", "bow"),
    "sweep": ("sweep", "--over", f"{READING}=4:12:4 mm"),
}
MAGIC = {".png": b"\x89PNG", ".pdf": b"%PDF", ".svg": b"<?xml"}


def test_one_plane_has_no_view_from_above(capsys: Capture, tmp_path: Path) -> None:
    target = tmp_path / "views.png"
    flat = ("shoot", path_of("junior"), *COARSE, "--planes", "1", "--picture", "views", "--plot", target)
    done = here(capsys, *flat)
    assert done.status != 0
    assert "it was shot in one plane" in done.err
    assert "--planes 2" in done.err
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("picture", PICTURES)
def test_pictures(picture: str, capsys: Capture, tmp_path: Path) -> None:
    command, *options = PICTURES[picture]
    target = tmp_path / "picture.png"
    done = here(capsys, command, path_of("junior"), *options, *COARSE, "--plot", target)
    assert done.status == 0
    assert done.err == ""
    assert target.read_bytes().startswith(MAGIC[".png"])
    assert target.stat().st_size > 10_000
    assert len(list(tmp_path.iterdir())) == 1


@pytest.mark.parametrize("ending", [".pdf", ".svg"])
def test_other_kinds_of_pictures(ending: str, capsys: Capture, tmp_path: Path) -> None:
    target = tmp_path / f"curve{ending}"
    assert here(capsys, "draw", path_of("junior"), *COARSE, "--plot", target).status == 0
    assert target.read_bytes().startswith(MAGIC[ending])


def test_as_a_user_runs_it(tmp_path: Path) -> None:
    """The main job in a process of its own: table on the screen, CSV and PNG on disk, a clean second stream."""
    table, picture = tmp_path / "sweep.csv", tmp_path / "sweep.png"
    over = ("--over", f"{READING}=4 mm:12 mm:2 mm")
    done = outside("sweep", path_of("club-outdoor"), *COARSE, *over, "--out", table, "--plot", picture)
    assert done.status == 0
    assert done.err.count("\n") <= 2  # at most that it compiles, and that it has
    assert "\r" not in done.err
    assert read(table).sizes[READINGS] == 5
    assert picture.read_bytes().startswith(MAGIC[".png"])
    assert len(done.out.splitlines()) > 8


def test_read_group_says_why_there_is_no_advice(tmp_path: Path, capsys: Capture) -> None:
    notes = tmp_path / "notes.toml"
    notes.write_text(
        'name = "short day"\n[[group]]\ndistance = "18 m"\nreading = "8 mm"\n'
        'fletched = ["1 cm", "0 cm", "-1 cm"]\nbare = ["2 cm", "3 cm"]\nbare_bad = ["9 cm"]\n'
    )
    picture = tmp_path / "notes.png"
    done = here(capsys, "read-group", path_of("club-outdoor"), notes, *COARSE, "--plot", picture)
    assert (done.status, done.err) == (0, "")
    assert "too few good bare shafts: 2 in the best group" in done.out
    assert "by the range's rules" in " ".join(done.out.split())
    assert picture.stat().st_size > 1000


def test_a_sweep_tells_what_else_changes(capsys: Capture) -> None:
    over = ("--over", "lower_limb.bolt_turns=0 turn, 1 turn")
    out = here(capsys, "sweep", path_of("club-outdoor"), *over, *COARSE).out
    before, after = (
        shot("club-outdoor", None, "coarse"),
        shoot(built("club-outdoor", "coarse").replace(**{"lower_limb.bolt_turns": "1 turn"}), "coarse", trace=False),
    )
    below = out.split("What else changes")[1].splitlines()
    assert below[1].endswith("upper tiller  lower tiller  draw force")
    for launch, line in ((before, below[4]), (after, below[5])):
        assert f" {launch.lower_tiller:.1f} " in line
        assert f" {launch.reading:.1f} " in line
    slower = ("--over", "archer.release_time=5 ms, 7 ms")  # fingers that take more of the speed than is passed over
    below = here(capsys, "sweep", path_of("club-outdoor"), *slower, *COARSE).out.split("What else changes")[1]
    assert re.split(r"  +", below.splitlines()[1].strip()) == ["archer: release time", "speed", "off the arm after"]
    speed = [shoot(built("club-outdoor", "coarse").replace(**{"archer.release_time": one}), "coarse", trace=False)
             for one in ("5 ms", "7 ms")]  # fmt: skip
    assert [line.split()[2] for line in below.splitlines()[4:6]] == [f"{one.clear.speed:.1f}" for one in speed]
    plain = here(capsys, "sweep", path_of("club-outdoor"), "--over", "archer.release_time=5 ms, 5.5 ms", *COARSE).out
    assert "What else changes" not in plain
    turned = here(capsys, "sweep", path_of("club-outdoor"), "--over", f"{READING}=7 mm, 8 mm", *COARSE).out
    below = turned.split("What else changes")[1].splitlines()
    assert below[1].split() == ["reading", "by", "the", "underside", "aim", "angle"]
    assert below[5].split() == ["8", "mm", f"{shot('club-outdoor', 8.0, 'coarse').aim_angle:.2f}"]
