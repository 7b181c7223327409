"""Everything that shoots many times: the same numbers whatever runs it, progress told, a store that is gone on from."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest
import xarray

import archerysim
from archerysim import OwnData, SetupError, Speeds
from archerysim.equipment import field_info, filled, with_si
from archerysim.fields.result import same
from archerysim.shot.fitted_bow import FittedBow
from archerysim.study.run import row as rows
from archerysim.study.run import run as stream
from archerysim.study.uncertainty.inputs import Input, inputs_from
from tests.study.test_executors import Failing
from tests.support.shot.example_bows import READING, built, measured
from tests.support.study import noted_cases, small_sweep
from tests.support.study.shared_sweeps import undated

MESH = "coarse"
SURE = {"arrow.spine": "0.01 in", "archer.release_time": "20 %"}
DATA = OwnData(speeds=Speeds.with_si((0.020, 0.022), (60.0, 57.0)))
NOTES = noted_cases.notes(noted_cases.group(0.05))

STUDIES: dict[str, Callable[..., Any]] = {
    "sweep": lambda bow, **how: archerysim.sweep(bow, {READING: "6 mm, 8 mm, 10 mm"}, **how),
    "group": lambda bow, **how: archerysim.group(bow, 4, **how),
    "group by reading": lambda bow, **how: archerysim.group_by_reading(bow, 3, ("-2 mm", "2 mm"), best="8 mm", **how),
    "compare locators": lambda bow, **how: archerysim.compare_locators(bow, 3, **how),
    "flights": lambda bow, **how: archerysim.flights(bow, ("6 mm", "8 mm", "2 m"), **how),
    "bare against fletched": lambda bow, **how: archerysim.bare_against_fletched(
        bow, ("6 mm", "8 mm", "2 m"), "18 m", draws=2, uncertainty=SURE, **how
    ),
    "sensitivity": lambda bow, **how: archerysim.sensitivity(bow, SURE, **how),
    "uncertainty": lambda bow, **how: archerysim.uncertainty(bow, SURE, draws=2, indices=True, **how),
    "diagnose": lambda bow, **how: archerysim.diagnose(bow, NOTES, further=False, **how),
    "fit data": lambda bow, **how: archerysim.fit_data(bow, DATA, ("limbs.mass", "nock.grip"), **how),
}
TOLD = [name for name in STUDIES if name != "fit data"]  # how many trials that takes nobody knows beforehand
UNLIKE = ("sweep", "flights", "uncertainty", "fit data")  # in what they hand out; the others do as one of these
KEPT = ("sweep", "group", "bare against fletched", "uncertainty", "diagnose")  # rows of each kind, numbers and texts


def asked(name: str, bow: Any = None, **how: Any) -> Any:
    """A study of the small bow on the coarse mesh."""
    quiet = {} if name == "fit data" else {"progress": False}
    return STUDIES[name](small_sweep.bow() if bow is None else bow, mesh=MESH, **{**quiet, **how})


@cache
def alone(name: str) -> Any:
    """In this process alone."""
    return alone_and_told(name)[0]


@cache
def alone_and_told(name: str) -> tuple[Any, list[tuple[int, int]]]:
    """And how far it was told to be on the way."""
    told: list[tuple[int, int]] = []
    tell = {} if name == "fit data" else {"progress": lambda done, total: told.append((done, total))}
    return asked(name, workers=1, **tell), told


def agree(one: Any, other: Any) -> bool:
    """To the bit; without the moment of computing, and where from a store the rows came."""
    if isinstance(one, xarray.Dataset):
        bare = [undated(data).drop_attrs(deep=False) for data in (one, other)]
        return bare[0].identical(bare[1])
    if isinstance(one, archerysim.Diagnosis):
        one, other = (replace(found, expected=replace(found.expected, states=())) for found in (one, other))
    return same(one, other)


@pytest.mark.parametrize("name", UNLIKE)
def test_two_workers(name: str) -> None:
    assert agree(asked(name, workers=2), alone(name))


@pytest.mark.parametrize("name", STUDIES)
def test_an_executor(name: str) -> None:
    with ThreadPoolExecutor(2) as executor:
        assert agree(asked(name, executor=executor), alone(name))


@pytest.mark.parametrize("name", ["group", "bare against fletched"])
def test_workers_that_fail_at_first(name: str) -> None:
    assert agree(asked(name, executor=Failing(2)), alone(name))


@pytest.mark.parametrize("name", STUDIES)
def test_a_fitted_bow_is_as_good_as_its_setup(name: str) -> None:
    assert agree(asked(name, FittedBow.of(small_sweep.bow(), MESH), workers=1), alone(name))


@pytest.mark.parametrize("name", TOLD)
def test_progress_is_told(name: str) -> None:
    _, told = alone_and_told(name)
    assert told[0][0] == 1
    assert told[-1][0] == told[-1][1]
    assert len(told) == sum(total for done, total in told if done == total)


@pytest.mark.parametrize("name", KEPT)
def test_a_store_goes_on_where_an_interrupt_came(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    store = tmp_path / "runs.sqlite"

    def stop(done: int, total: int) -> None:
        if done == 2:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        asked(name, workers=1, store=store, progress=stop)
    with closing(sqlite3.connect(store)) as base:
        assert base.execute("SELECT count(*) FROM shots").fetchone() == (2,)
    assert agree(asked(name, workers=1, store=store), alone(name))
    shot: list[Any] = []
    monkeypatch.setattr(stream, "row_of", lambda *point: shot.append(point) or rows.row_of(*point))
    assert agree(asked(name, workers=1, store=store), alone(name))
    assert shot == []  # all of it is read


def test_a_store_keeps_the_answers_of_different_questions_apart(tmp_path: Path) -> None:
    store = tmp_path / "runs.sqlite"
    for name in ("sensitivity", "bare against fletched", "group", "sweep"):
        asked(name, workers=1, store=store)
    for name in ("sensitivity", "bare against fletched", "group", "sweep"):
        assert agree(asked(name, workers=1, store=store), alone(name))


@pytest.mark.parametrize("name", STUDIES)
def test_no_workers_are_refused_before_any_work(name: str) -> None:
    with pytest.raises(SetupError, match="0 is not a number of processes"):
        asked(name, workers=0)


def test_a_draw_that_fails_is_nan_and_an_input_without_a_slope_says_why() -> None:
    """The arrow is too short for the rest on one side: its slope and the answers that hold it are missing."""
    unsure = {"arrow.length": "3 in", "nock.slope": "1 deg"}
    found = archerysim.uncertainty(small_sweep.bow(), unsure, draws=4, mesh=MESH, progress=False)
    assert "the shaft does not reach the rest" in found.reasons[0]
    assert found.reasons[1] == ""
    assert found.failed > 0
    told = archerysim.sensitivity(small_sweep.bow(), unsure, mesh=MESH, progress=False)
    assert str(told.sel(input="arrow.length")["reason"].values) == found.reasons[0]


def test_one_finger_s_release_time_is_its_own() -> None:
    full = filled(measured("club-outdoor"))
    index, middle, ring = full.archer.release_time
    together = Input("archer.release_time", 0.5, True, "")
    assert together.moved(full, 1e-3) == {"archer.release_time": (index + 1e-3,) * 3}
    assert Input("archer.release_time.0", 0.5, True, "").moved(full, 1e-3) == {"archer.release_time.0": index + 1e-3}
    told = archerysim.sensitivity(
        built("club-outdoor", MESH), {"archer.release_time": "1 ms", "archer.release_time.0": "1 ms"}, mesh=MESH,
        workers=1, progress=False,
    )  # fmt: skip
    one, all_three = (
        float(told.sel(input=path)["pitch_per_spread"]) for path in ("archer.release_time.0", "archer.release_time")
    )
    shot = FittedBow.of(built("club-outdoor", MESH), MESH)
    high, low = (shot.launch(with_si({"archer.release_time.0": index + by})).clear.pitch for by in (1e-3, -1e-3))
    assert one == pytest.approx(0.5 * (high - low), rel=1e-6)
    assert abs(one - all_three) > 0.05 * abs(all_three)
    assert middle == ring


def test_release_times_found_are_those_of_the_setup_found() -> None:
    """All fingers together, or two of them apart, but not one of them beside all."""
    setup, width = built("club-outdoor", MESH), "1 ms"
    together = archerysim.fit_data(setup, DATA, ("archer.release_time",), mesh=MESH)
    (one,) = together.estimates
    assert filled(together.setup).archer.release_time == pytest.approx((1e-3 * one.value,) * 3)
    apart = ("archer.release_time.0", "archer.release_time.1")
    found = archerysim.fit_data(setup, DATA, apart, prior=dict.fromkeys(apart, width), mesh=MESH)
    times = filled(found.setup).archer.release_time
    assert times[:2] == pytest.approx([1e-3 * one.value for one in found.estimates])
    assert times[2] == filled(setup).archer.release_time[2]
    both = ("archer.release_time", "archer.release_time.2")
    with pytest.raises(SetupError, match="it moves the times of all fingers"):
        archerysim.fit_data(setup, DATA, both, prior={both[1]: width}, mesh=MESH)


REFUSED = {
    "unknown": ("measured", "nock.slop", "unknown path"),
    "a finger too many": ("measured", "archer.release_time.3", "unknown path"),
    "a table": ("measured", "bow", "this is a table, not a value"),
    "built alone": ("measured", "string.length", 'belongs to form = "built"'),
    "the fit finds it": ("measured", "upper_limb.pocket_angle", 'belongs to form = "built"'),
    "roots beside tillers": ("measured", "riser.upper_root_x", "one number too many"),
    "one place of a row not given": ("measured", "upper_limb.bending_stiffness.0", "is not given as a whole"),
    "half a pair": ("measured", "string.axial_stiffness", "means nothing without it"),
    "measured alone": ("built", "bow.draw_weight", 'is measured; form = "built" computes it'),
    "measured height": ("built", "bow.brace_height", 'is measured; form = "built" computes it'),
}


@pytest.mark.filterwarnings("ignore:no point gave a shot")
@pytest.mark.parametrize("case", REFUSED)
def test_what_a_sweep_refuses_is_refused_in_the_same_words(case: str) -> None:
    form, path, words = REFUSED[case]
    bow = measured("club-outdoor") if form == "measured" else built("club-outdoor", MESH)
    try:
        hold, allowed = "refit" if form == "measured" else None, field_info(path).low or 0.0
        said = str(archerysim.sweep(bow, with_si({path: allowed}), hold=hold, mesh=MESH, workers=1)["reason"].values[0])
    except SetupError as error:
        said = str(error)
    for study in (archerysim.sensitivity, archerysim.uncertainty, archerysim.bare_against_fletched):
        with pytest.raises(SetupError, match=words) as refused:
            study(bow, uncertainty={path: "5 %"}, mesh=MESH, progress=False)
        assert str(refused.value) == said
    with pytest.raises(SetupError) as refused:
        archerysim.fit_data(bow, DATA, (path,), prior={path: "5 %"}, mesh=MESH)
    assert str(refused.value) == said


@pytest.mark.parametrize("path", ["archer.hold", "archer.finger_shares", "rest.unlimited_support", "name"])
def test_words_and_whole_rows_are_no_single_number(path: str) -> None:
    with pytest.raises(SetupError, match=f"{path}: has no single number"):
        inputs_from(measured("club-outdoor"), {path: "5 %"}, 1)
