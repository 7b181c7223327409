"""In how many planes the shots of studies are: asked for, kept by workers and stores, told in their results."""

from __future__ import annotations

import inspect
import pickle
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import xarray

import archerysim
from archerysim import FittedBow, SetupError, UsageError
from archerysim.study.sweeps.table_file import read, save
from archerysim.study.uncertainty import inputs
from tests.support.cli.run_commands import here
from tests.support.shot.example_bows import READING, fitted, measured, path_of

MESH = "coarse"
TWO = {READING: ["7 mm", "9 mm"]}
COARSE = ("--mesh", MESH)
TRAVEL = {"rest.support_travel": "200 mm"}
Capture = pytest.CaptureFixture[str]


def bow(planes: int) -> FittedBow:
    return FittedBow.of(fitted("club-outdoor", MESH), planes=planes)


def swept(planes: int, **options: Any) -> xarray.Dataset:
    return archerysim.sweep(bow(planes), TWO, progress=False, **options)


def yaw(data: xarray.Dataset) -> np.ndarray:
    return np.asarray(data.yaw.sel(moment="clear"))


def test_a_shot_in_one_plane_and_in_both() -> None:
    flat = archerysim.shoot(fitted("club-outdoor", MESH), planes=1)
    both = archerysim.shoot(fitted("club-outdoor", MESH), planes=2)
    assert (flat.planes, both.planes) == (1, 2)
    assert np.isnan(flat.clear.yaw)
    assert both.clear.yaw != 0.0
    assert flat.clear.angle_of_attack != both.clear.angle_of_attack


def test_a_sweep_in_one_plane_and_in_both() -> None:
    flat, both = swept(1, workers=1), swept(2, workers=1)
    assert (flat.status == 0).all()
    assert (both.status == 0).all()
    assert np.isnan(yaw(flat)).all()
    for k, reading in enumerate(TWO[READING]):
        shot = bow(2).launch({READING: reading})
        assert yaw(both)[k] == shot.clear.yaw
    assert archerysim.sweep(bow(2), TWO, planes=1, workers=1, progress=False).drop_attrs().identical(flat.drop_attrs())


def test_workers_shoot_in_both_planes() -> None:
    np.testing.assert_array_equal(yaw(swept(2, workers=2)), yaw(swept(2, workers=1)))
    for planes in (1, 2):
        assert pickle.loads(pickle.dumps(bow(planes))) == bow(planes)
        assert pickle.loads(pickle.dumps(bow(planes))).planes == planes


def test_a_store_keeps_one_plane_and_both_apart(tmp_path: Path) -> None:
    kept = tmp_path / "runs.sqlite"
    first = swept(1, store=kept, workers=1)
    second = swept(2, store=kept, workers=1)
    assert second.attrs["points_read"] == 0
    assert np.isfinite(yaw(second)).all()
    assert swept(2, store=kept, workers=1).attrs["points_read"] == 2
    for k, data in enumerate((first, second)):
        again = archerysim.open_store(kept, k)
        assert again.attrs["planes"] == data.attrs["planes"] == k + 1


@pytest.mark.parametrize("ending", [".csv", ".nc"])
@pytest.mark.parametrize("planes", [1, 2])
def test_a_file_tells_the_planes(planes: int, ending: str, tmp_path: Path) -> None:
    target = tmp_path / f"sweep{ending}"
    save(swept(planes, workers=1), target)
    data = read(target)
    assert data.attrs["planes"] == planes
    assert ("planar" in data.attrs["source"]) == (planes == 1)
    assert np.isnan(yaw(data)).all() == (planes == 1)


def test_no_plane_and_three_are_refused() -> None:
    for asked in (0, 3, True, "2", 1.5):
        with pytest.raises(UsageError, match="planes"):
            archerysim.shoot(measured("club-outdoor"), MESH, planes=asked)  # type: ignore[arg-type]
        with pytest.raises(UsageError, match="planes"):
            archerysim.sweep(measured("club-outdoor"), TWO, planes=asked)  # type: ignore[arg-type]


SHOOTING = [
    "shoot", "sweep", "tune", "tune_two", "zero_attack_reading", "together_reading", "bare_against_fletched", "flights",
    "explain", "sensitivity", "uncertainty", "group", "group_by_reading", "compare_locators", "fit_data",
    "compare_data", "diagnose",
]  # fmt: skip


@pytest.mark.parametrize("name", SHOOTING)
def test_whatever_shoots_takes_planes(name: str) -> None:
    call = getattr(archerysim, name)
    parameters = inspect.signature(call).parameters
    assert parameters["planes"].default is None
    assert "planes" in call.__doc__ or "Parameters are those of" in call.__doc__


def test_where_the_support_ends_is_not_told_in_both_planes() -> None:
    given = measured("club-outdoor").replace(**TRAVEL)
    told = archerysim.FittedBow.of(given, MESH, planes=2)
    two: Any = {"workers": 1, "progress": False}
    calls: list[Any] = [
        lambda: archerysim.shoot(told),
        lambda: archerysim.sweep(told, TWO, **two),
        lambda: archerysim.sweep(bow(2), {"rest.support_travel": ["200 mm"]}, **two),
        lambda: archerysim.flights(told, **two),
        lambda: archerysim.tune(told),
        lambda: archerysim.tune(bow(2), path="rest.support_travel", within=("100 mm", "200 mm")),
        lambda: archerysim.sensitivity(told, {"rest.height": "1 mm"}, **two),
        lambda: archerysim.sensitivity(bow(2), {"rest.support_travel": "10 mm"}, **two),
        lambda: archerysim.uncertainty(bow(2), {"rest.support_travel": "10 mm"}, draws=2, **two),
    ]
    for call in calls:
        with pytest.raises(SetupError) as caught:
            call()
        assert caught.value.path == "rest.support_travel"
        assert "planes" in str(caught.value)
    assert archerysim.shoot(told, planes=1).planes == 1


def test_explain_follows_the_launch() -> None:
    shot = archerysim.shoot(fitted("club-outdoor", MESH), planes=2, trace=False)
    assert archerysim.explain(shot, mesh=MESH).launch.planes == 2
    assert archerysim.explain(shot, mesh=MESH, planes=1).launch.planes == 1


def test_the_usual_inputs_follow_the_planes(monkeypatch: pytest.MonkeyPatch) -> None:
    few = ("rest.height", "side.offset")
    monkeypatch.setattr(inputs, "USUAL", tuple(one for one in inputs.USUAL if one.path in few))
    two: Any = {"workers": 1, "progress": False}
    for planes, paths in ((1, few[:1]), (2, few)):
        found = archerysim.uncertainty(bow(planes), draws=2, **two)
        assert tuple(one.path for one in found.inputs) == paths
        data = archerysim.sensitivity(bow(planes), **two)
        assert set(data.input.values) == set(paths)
        assert data.attrs["planes"] == planes
        assert (data["angle_of_attack_per_spread"] != 0.0).all()
        band = archerysim.bare_against_fletched(bow(planes), "6 mm, 8 mm", draws=2, **two)
        assert tuple(one.path for one in band.inputs) == paths


@pytest.mark.parametrize("planes", [1, 2])
def test_the_command_line_shoots_and_sweeps(planes: int, capsys: Capture, tmp_path: Path) -> None:
    path, count = path_of("club-outdoor"), ("--planes", str(planes))
    assert here(capsys, "shoot", path, *count, *COARSE).status == 0
    target = tmp_path / "sweep.csv"
    done = here(capsys, "sweep", path, "--over", f"{READING}=8 mm", "--out", target, "--workers", "1", *count, *COARSE)
    assert done.status == 0
    found = read(target)
    assert found.attrs["planes"] == planes
    expected = archerysim.shoot(fitted("club-outdoor", MESH), changes={READING: "8 mm"}, planes=planes, trace=False)
    np.testing.assert_array_equal(yaw(found), [expected.clear.yaw])


@pytest.mark.parametrize("words", [("shoot",), ("sweep", "--over", f"{READING}=8 mm"), ("flights",), ("tune",)])
def test_the_command_line_tells_once_that_the_support_needs_no_end(words: tuple[str, ...], capsys: Capture) -> None:
    command, *more = words
    end = ("--set", "rest.support_travel=200 mm")
    done = here(capsys, command, path_of("club-outdoor"), *more, *end, "--planes", "2", *COARSE)
    assert done.status == 2
    assert len(done.err.splitlines()) == 1
    assert "rest.support_travel" in done.err
    assert "--planes 1" in done.err
    assert here(capsys, "brace", path_of("club-outdoor"), *end, *COARSE).status == 0


def test_the_command_line_refuses_a_third_plane(capsys: Capture) -> None:
    with pytest.raises(SystemExit) as left:
        here(capsys, "shoot", path_of("club-outdoor"), "--planes", "3")
    assert left.value.code == 2
    assert "--planes" in capsys.readouterr().err
    for command in ("brace", "draw", "strain", "check"):  # they shoot no arrow
        with pytest.raises(SystemExit):
            here(capsys, command, path_of("club-outdoor"), "--planes", "2")
