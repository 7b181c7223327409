"""How sure a sweep's curves are: the same points with bows drawn from what an archer cannot know better."""

from __future__ import annotations

import sqlite3
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import xarray

from archerysim.equipment import InSi, SetupError
from archerysim.shot.fitted_bow import FittedBow
from archerysim.study.run.interrupted import Interrupted
from archerysim.study.sweeps.band import quantiles
from archerysim.study.sweeps.slopes import per, slope
from archerysim.study.sweeps.table_file import read, save
from archerysim.study.uncertainty.inputs import draws_of, inputs_from, moved_together, quasi_normal
from tests.support.shot.example_bows import CLUB, READING, fitted, measured
from tests.support.study.shared_sweeps import MESH, run, undated

OVER = {READING: "6 mm:8 mm:2 mm"}
KNOWN = {"rest.height": "0.5 mm", "archer.side_roll": "3 deg", "bow.brace_height": "1 mm"}


def banded(**options: Any) -> xarray.Dataset:
    return run(measured(CLUB[0]), OVER, **{"band": 4, "uncertainty": KNOWN, "workers": 1, **options})


@cache
def plain_band() -> xarray.Dataset:
    return banded()


@cache
def by_hand() -> dict[str, np.ndarray]:
    """The same draws shot one by one (draw, point)."""
    bow = fitted(CLUB[0], MESH)
    inputs = inputs_from(bow.given, KNOWN, bow.planes)
    found: dict[str, list[list[float]]] = {"pitch": [], "side_angle_of_attack": []}
    for amounts in draws_of(inputs, quasi_normal(len(inputs), 4, 0)):
        drawn = FittedBow.of(moved_together(bow.given, inputs, amounts), bow.mesh, planes=bow.planes)
        shots = [drawn.launch(InSi({READING: reading})).clear for reading in (6e-3, 8e-3)]
        for name, values in found.items():
            values.append([getattr(shot, name) for shot in shots])
    return {name: np.array(values) for name, values in found.items()}


def test_the_band_holds_the_quantiles_of_the_draws() -> None:
    data, sample = plain_band().sel(moment="clear"), by_hand()["pitch"]
    for end, share in (("low", 0.05), ("median", 0.5), ("high", 0.95)):
        np.testing.assert_allclose(data[f"pitch_{end}"], np.quantile(sample, share, axis=0), rtol=1e-12)
    assert data.attrs["draws"] == 4
    assert data.draws_failed.values.tolist() == [0, 0]
    assert data["pitch_low"].attrs["units"] == "degree"


def test_slopes_are_those_of_each_draw_s_own_curve() -> None:
    """Two readings 2 mm apart: a line through two points."""
    data, sample = plain_band().sel(moment="clear"), by_hand()["pitch"]
    of_draws = (sample[:, 1] - sample[:, 0]) / 2.0
    np.testing.assert_allclose(data["pitch_slope_of_draws"], of_draws, rtol=1e-9)
    for end, share in (("low", 0.05), ("median", 0.5), ("high", 0.95)):
        np.testing.assert_allclose(data[f"pitch_slope_{end}"], np.quantile(of_draws, share), rtol=1e-9)
    np.testing.assert_allclose(data["pitch_slope"], (data.pitch[1] - data.pitch[0]) / 2.0, rtol=1e-9)
    assert data["pitch_slope_low"].attrs["units"] == "degree mm-1"
    narrow = float(data.pitch_slope_high - data.pitch_slope_low) * 2.0
    assert narrow < 0.5 * float((data.pitch_high - data.pitch_low).min())  # points move together


def test_slope_is_that_of_the_best_straight_line_and_leaves_out_what_is_missing() -> None:
    x = np.array([4.0, 5.0, 7.0, 8.0])
    y = np.random.default_rng(1).normal(size=(3, 4, 2))
    wanted = [[np.polyfit(x, y[i, :, k], 1)[0] for k in range(2)] for i in range(3)]
    np.testing.assert_allclose(slope(x, y, 1), wanted)
    y[0, 2, 0] = np.nan
    y[1, :3, 1] = np.nan
    wanted[0][0] = np.polyfit(x[[0, 1, 3]], y[0, [0, 1, 3], 0], 1)[0]
    found = slope(x, y, 1)
    np.testing.assert_allclose(found[0], wanted[0])
    assert np.isnan(found[1, 1])


@pytest.mark.parametrize(
    ("unit", "of", "told"),
    [("degree", "mm", "degree mm-1"), ("rad s-1", "mm", "rad s-1 mm-1"), ("1", "mm", "mm-1"), ("degree", "1", "degree"),
     ("degree", "N m-1", "degree (N m-1)-1")],
)  # fmt: skip
def test_units_of_a_slope(unit: str, of: str, told: str) -> None:
    assert per(unit, of) == told


def test_where_a_line_means_nothing_there_is_no_slope(tmp_path: Path) -> None:
    """Over two numbers, none of them the reading; over the reading and another, one slope for each of the others."""
    few: dict[str, Any] = {"band": 2, "uncertainty": {"rest.height": "0.1 mm"}, "workers": 1}
    two = run(measured(CLUB[0]), {"arrow.point_mass": "90 gr, 100 gr", "arrow.spine": "0.6 in, 0.7 in"}, **few)
    assert "pitch_slope" not in two
    each = run(measured(CLUB[0]), OVER | {"arrow.point_mass": "90 gr, 100 gr"}, **few)
    assert each["pitch_slope_low"].dims == ("arrow_point_mass", "moment")
    assert each["pitch_slope_of_draws"].dims == ("draw", "arrow_point_mass", "moment")
    save(each, tmp_path / "two.csv")
    assert read(tmp_path / "two.csv").identical(each)


def test_sideways_it_is_of_the_change_against_the_bow_s_own_point() -> None:
    """The club bow's own reading is 8 mm: there nothing has changed."""
    data, sample = plain_band().sel(moment="clear"), by_hand()["side_angle_of_attack"]
    change = sample - sample[:, 1:]
    for end, share in (("low", 0.05), ("high", 0.95)):
        np.testing.assert_allclose(data[f"side_angle_of_attack_{end}"], np.quantile(change, share, axis=0), atol=1e-12)
    assert data["side_angle_of_attack_low"].values[1] == 0.0
    assert "change against the bow's own point" in data["side_angle_of_attack_low"].attrs["long_name"]


def test_the_sweep_itself_is_the_same_without() -> None:
    alone = run(measured(CLUB[0]), OVER, workers=1)
    for name in alone.data_vars:
        np.testing.assert_array_equal(alone[name], plain_band()[name], err_msg=str(name))


def test_files_give_it_back(tmp_path: Path) -> None:
    for name in ("band.csv", "band.nc"):
        save(plain_band(), tmp_path / name)
        assert read(tmp_path / name).identical(plain_band())


def test_workers_and_a_store_change_no_bit(tmp_path: Path) -> None:
    store = tmp_path / "runs.sqlite"
    first = banded(store=store, workers=2).drop_attrs()
    assert first.identical(plain_band().drop_attrs())
    with sqlite3.connect(store) as base:
        assert base.execute("SELECT count(*) FROM shots").fetchone() == (2 + 4,)
        base.execute("DELETE FROM shots WHERE row LIKE '%[%' AND rowid % 2")
    again = banded(store=store)
    assert again.drop_attrs().identical(first)
    assert undated(again).attrs["draws"] == 4


def test_draws_without_a_shot_are_counted_and_told() -> None:
    """A shaft of 28.5 in that may be 30 mm shorter does not always reach the rest, a longer one does."""
    data = run(
        measured(CLUB[0]), {"arrow.point_mass": ["80 gr"]}, band=8, uncertainty={"arrow.length": "60 mm"}, workers=1
    )
    (lost,) = data.draws_failed.values
    assert 1 <= lost <= 4
    assert data.attrs["draws_failed_because"].startswith("draw: the shaft does not reach the rest")
    assert np.isfinite(data.pitch_low).all()
    none = run(
        measured(CLUB[0]), {"arrow.length": ["26 in", "28.5 in"]}, band=2, uncertainty={"rest.height": "0.1 mm"},
        workers=1,
    )  # fmt: skip
    assert none.draws_failed.values.tolist() == [2, 0]
    assert np.isnan(none.pitch_low.values[0]).all()
    assert np.isfinite(none.pitch_low.values[1]).all()


def test_quantiles_leave_out_what_is_missing() -> None:
    sample = np.random.default_rng(0).normal(size=(16, 5))
    sample[:3, 1] = sample[:8, 2] = sample[:9, 3] = sample[:, 4] = np.nan
    for found, share in zip(quantiles(sample), (0.05, 0.5, 0.95), strict=True):
        np.testing.assert_allclose(found[:3], np.nanquantile(sample[:, :3], share, axis=0))
        assert np.isnan(found[3:]).all()  # more than half are missing


def test_an_interrupt_leaves_the_band_of_the_draws_that_are_done() -> None:
    def stop(done: int, total: int) -> None:
        if (done, total) == (3, 4):
            raise KeyboardInterrupt

    with pytest.raises(Interrupted) as left:
        banded(progress=stop)
    data = left.value.data
    assert (left.value.done, left.value.total) == (2, 2)
    assert (data.attrs["draws"], data.attrs["draws_not_shot"]) == (2, 2)
    assert np.isfinite(data.pitch_low).all()


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ({"band": 3}, "draws: 3 is not a power of two"),
        ({"band": "many"}, "band: 'many' is not a number of draws"),
        ({"band": 2**18}, "band: 262144 draws of 2 points are more than 200,000 shots"),
        ({"band": False}, "uncertainty: says how wide a band is, but no band was asked for"),
    ],
)
def test_bad_requests(options: dict[str, Any], words: str) -> None:
    with pytest.raises(SetupError, match=words):
        banded(**options)
