"""A sweep's points, failures, workers, order and progress."""

from __future__ import annotations

import platform
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from typing import Any

import numba
import numpy as np
import pytest
import scipy
import xarray

from archerysim import __version__
from archerysim.equipment import SetupError, loads
from archerysim.errors import SHORT_ARROW, ShotError
from archerysim.fields.udunits import udunits
from archerysim.shot.columns import BY_PASSAGE, MOMENT, SHOT, of_shot
from archerysim.shot.physics_hash import physics_version
from archerysim.shot.shoot import shoot
from archerysim.study.run.row import BAD_SETUP
from tests.shot.test_launch import MAY_BE_NAN
from tests.support.shot.example_bows import READING, built, measured
from tests.support.study.shared_sweeps import BOLT, MESH, RANGE, READINGS, TURNS, failing, grid, readings, run, undated

SPOKEN = ("reason", "events", "warnings", "limits_passed")


def test_points_and_dimensions() -> None:
    data = readings()
    assert dict(data.sizes) == {READINGS: 9, "moment": 2}
    np.testing.assert_array_equal(data[READINGS], np.arange(4.0, 13.0))
    assert data[READINGS].attrs["path"] == READING
    assert list(data.moment.values) == ["separation", "clear"]
    assert (data.status == 0).all()
    assert (data.reason == "").all()


def test_every_combination() -> None:
    data = grid()
    assert dict(data.sizes) == {READINGS: 3, "arrow_point_mass": 2, "moment": 2}
    np.testing.assert_array_equal(data["arrow_point_mass"], [80.0, 90.0])
    speed = data.speed.sel(moment="clear")
    assert (speed.sel(arrow_point_mass=80.0) > speed.sel(arrow_point_mass=90.0)).all()
    assert (data.angle_of_attack.sel(moment="clear").diff(READINGS) < 0.0).all()


def test_numbers_are_those_of_single_shots() -> None:
    data = grid()
    setup = built("club-outdoor", MESH).replace(**{READING: "7 mm", "arrow.point_mass": "90 gr"})
    launch = shoot(setup, MESH, trace=False)
    point = data.sel(nock_locators_reading=7.0, arrow_point_mass=90.0)
    for quantity in MOMENT:
        for moment in ("separation", "clear"):
            value = getattr(getattr(launch, moment), quantity.name)
            assert float(point[quantity.name].sel(moment=moment)) == value, quantity.name
    for quantity in SHOT:
        np.testing.assert_equal(float(point[quantity.name]), of_shot(launch, quantity.name), quantity.name)
    missing = {quantity.name for quantity in SHOT if np.isnan(point[quantity.name])}
    assert missing <= MAY_BE_NAN | ({one for one in BY_PASSAGE if one.startswith(("arm_strike_", "tail_touch_"))})
    assert point.events.item() == "; ".join(launch.events)
    assert point.warnings.item() == "\n".join(launch.warnings)
    assert point.limits_passed.item() == "; ".join(launch.limits_passed)


def test_cases_are_rows() -> None:
    columns = {READING: ["5 mm", "9 mm", "5 mm"], "arrow.point_mass": ["80 gr", "90 gr", "100 gr"]}
    rows = [dict(zip(columns, row, strict=True)) for row in zip(*columns.values(), strict=True)]
    setup = built("club-outdoor", MESH)
    data = run(setup, cases=columns)
    assert dict(data.sizes) == {"case": 3, "moment": 2}
    np.testing.assert_array_equal(data[READINGS], [5.0, 9.0, 5.0])
    np.testing.assert_array_equal(data["arrow_point_mass"], [80.0, 90.0, 100.0])
    assert data[READINGS].dims == ("case",)
    np.testing.assert_allclose(data.reading, data[READINGS], atol=1e-6)
    assert undated(data).identical(undated(run(setup, cases=rows)))


def test_cases_from_a_data_frame() -> None:
    columns = {f"{READING} [mm]": [5.0, 9.0], "arrow.point_mass": ["6 g", "7 g"]}

    class Frame:
        """As much of a data frame as is read."""

        def __init__(self) -> None:
            self.columns = tuple(columns)

        def __getitem__(self, name: str) -> Any:
            return columns[name]

        def to_dict(self) -> dict[str, Any]:
            return columns

    setup = built("club-outdoor", MESH)
    assert undated(run(setup, cases=Frame())).identical(undated(run(setup, cases=columns)))


def test_a_failed_point_is_a_row_and_others_do_not_notice() -> None:
    data = failing()
    assert data.status.values.tolist() == [SHORT_ARROW, 0, BAD_SETUP]
    assert data.reason.values[0].startswith("draw: the shaft does not reach the rest")
    assert data.reason.values[1] == ""
    assert data.reason.values[2].startswith("arrow.length: 200 mm is outside the allowed range")
    numbers = [name for name in data.data_vars if name not in (*SPOKEN, "status")]
    for name in numbers:
        bad = data[name].isel(arrow_length=[0, 2])
        assert np.isnan(bad).all(), name
    alone = run(built("club-outdoor", MESH), {"arrow.length": ["28.5 in"]})
    for name in data.data_vars:
        np.testing.assert_array_equal(data[name].isel(arrow_length=[1]), alone[name], err_msg=name)


def test_workers_do_not_change_a_bit() -> None:
    """And they tell their progress as their points end."""
    told: list[tuple[int, int]] = []
    both = run(
        measured("club-outdoor"), {READING: RANGE}, workers=2, progress=lambda done, total: told.append((done, total))
    )
    assert undated(both).identical(undated(readings()))
    assert told == [(k, 9) for k in range(1, 10)]


def test_an_executor_does_not_change_a_bit() -> None:
    with ThreadPoolExecutor(2) as pool:
        data = run(measured("club-outdoor"), {READING: RANGE}, executor=pool)
    assert undated(data).identical(undated(readings()))


def test_order_does_not_change_a_bit() -> None:
    order = np.random.default_rng(4).permutation(9)
    shuffled = run(measured("club-outdoor"), {READING: (np.arange(4.0, 13.0)[order], "mm")})
    assert shuffled.sortby(READINGS).drop_attrs().identical(readings().drop_attrs())


def test_no_workers() -> None:
    with pytest.raises(SetupError, match="workers: 0 is not a number of processes"):
        run(measured("club-outdoor"), {READING: RANGE}, workers=0)


def test_progress_is_told() -> None:
    told: list[tuple[int, int]] = []
    run(built("club-outdoor", MESH), {BOLT: (TURNS, "turn")}, progress=lambda done, total: told.append((done, total)))
    assert told == [(1, 3), (2, 3), (3, 3)]


@pytest.mark.parametrize("progress", [None, False])
def test_no_bar_where_there_is_no_terminal(progress: bool | None, capsys: pytest.CaptureFixture[str]) -> None:
    run(built("club-outdoor", MESH), {BOLT: (TURNS, "turn")}, progress=progress)
    assert capsys.readouterr() == ("", "")


def test_a_bar_when_asked_for(capsys: pytest.CaptureFixture[str]) -> None:
    run(built("club-outdoor", MESH), {BOLT: (TURNS, "turn")}, progress=True)
    said = capsys.readouterr()
    assert said.out == ""
    assert "/3 " in said.err
    assert "shot" in said.err


def test_the_setup_itself_must_work() -> None:
    hopeless = built("club-outdoor", MESH).replace(**{"string.length": "2.2 m"})
    with pytest.raises(ShotError):
        run(hopeless, {READING: RANGE})


def attributes_of(data: xarray.Dataset) -> dict[str, dict[str, str]]:
    return {str(name): dict(data[name].attrs) for name in (*data.data_vars, *data.coords)}


def test_units_and_long_names() -> None:
    about = attributes_of(readings())
    for quantity in (*MOMENT, *SHOT):
        assert about[quantity.name] == {"units": udunits(quantity.unit), "long_name": quantity.text}
    assert about["pitch"]["units"] == "degree"
    assert about["pitch_rate"]["units"] == "rad s-1"
    assert about[READINGS]["units"] == "mm"
    assert about[READINGS]["long_name"].startswith("locator height by the square")
    for name in ("status", "moment", *SPOKEN):
        assert about[name]["long_name"]
    for name in ("moment", *SPOKEN):
        assert "units" not in about[name]  # of words


def test_attributes() -> None:
    data = readings()
    assert loads(data.attrs["setup"]) == measured("club-outdoor")
    again = loads(data.attrs["setup_as_built"])
    assert again.form == "built"
    assert again.string.length == pytest.approx(built("club-outdoor", MESH).string.length, rel=1e-12)
    assert data.attrs["archerysim_version"] == __version__
    assert data.attrs["python_version"] == platform.python_version()
    for module in (np, scipy, numba):
        assert data.attrs[f"{module.__name__}_version"] == module.__version__
    assert data.attrs["physics_hash"] == physics_version()
    made = datetime.fromisoformat(data.attrs["date_created"])
    assert timedelta(0) <= datetime.now(UTC) - made < timedelta(hours=3)
    assert data.attrs["history"].startswith(data.attrs["date_created"])
    assert READING in data.attrs["history"]
    assert data.attrs["held"].startswith("nothing else touched")
    assert data.attrs["reading_today"] == pytest.approx(8.0, abs=1e-6)
    assert data.attrs["today"] == data.attrs["reading_today"]
    assert data.attrs["square"] == data.attrs["reading_square"] == pytest.approx(0.5 * (5.5 - 5.8))
    assert "12" in data.attrs["mesh"]
    assert measured("club-outdoor").name in data.attrs["title"]


def test_today_is_marked_for_other_axes() -> None:
    data = run(built("club-outdoor", MESH), {"rest.stiffness": ["600 N/m", "900 N/m"]})
    assert data.attrs["today"] == pytest.approx(9.81 * 0.05 / 0.0006, rel=1e-3)
    assert "square" not in data.attrs
