"""A file that tells readings by the top of the nock is the same bow as one that tells them by the underside.

Numbers given as readings are then larger by the nock's height, and so are those told back; all else is the same.
"""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import pytest
import xarray

from archerysim.equipment import Setup, SetupError, oddities
from archerysim.equipment.readings import BY_UNDERSIDE, CONVENTION, READING, ReadBy, by_underside, read_by
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.flight.fly import fly
from archerysim.shot.shoot import shoot
from archerysim.shot.statics.fit import fit
from archerysim.show.flights.table import flight_table
from archerysim.show.sweeps.table import sweep_table
from archerysim.show.tuning.table import tune_table, two_table
from archerysim.study.bare_shaft.bare_shaft import bare_against_fletched
from archerysim.study.bare_shaft.flights import flights
from archerysim.study.bare_shaft.result import BareAgainstFletched
from archerysim.study.explanation.explain import explain
from archerysim.study.groups.compare import group_by_reading
from archerysim.study.notes.group_means import read_groups
from archerysim.study.notes.noted_records import NotedGroup
from archerysim.study.notes.notes_file import Notes
from archerysim.study.notes.read_group import Diagnosis, diagnose
from archerysim.study.run.row import LaunchNumbers
from archerysim.study.run.store import key_maker
from archerysim.study.sweeps.dataset import dimension
from archerysim.study.sweeps.sweep import sweep
from archerysim.study.sweeps.table_file import read, save
from archerysim.study.tuning.tune import today, tune
from archerysim.study.tuning.tune_two import tune_two
from tests.support.shot.example_bows import measured

MESH = "coarse"
HEIGHT = 5.8  # of the nock [mm]
SAME = 1e-9  # what is left of 13.8 mm - 5.8 mm


@cache
def under() -> Setup:
    return measured("club-outdoor")


@cache
def top() -> Setup:
    return under().replace(**{READING: "13.8 mm", CONVENTION: "top"})


def both(values: list[float]) -> tuple[list[str], list[str]]:
    """Readings by the underside, and the same by the top [mm]."""
    return [f"{one} mm" for one in values], [f"{one + HEIGHT:g} mm" for one in values]


def same(one: xarray.Dataset, other: xarray.Dataset) -> None:
    """Every number of two sweeps."""
    assert set(one.data_vars) == set(other.data_vars)
    for name in one.data_vars:
        if one[name].dtype.kind in "fi":
            np.testing.assert_allclose(one[name].values, other[name].values, rtol=1e-6, atol=1e-7, err_msg=str(name))


def test_the_way_there_and_back() -> None:
    by = read_by(top())
    assert by == ReadBy("top", pytest.approx(HEIGHT * 1e-3))
    assert by.underside(by.reading(0.0071)) == pytest.approx(0.0071)
    np.testing.assert_allclose(by.reading(np.array([0.0, 0.01])), [0.0058, 0.0158])
    assert read_by(under()).reading(0.0071) == BY_UNDERSIDE.underside(0.0071) == 0.0071
    assert by.words == "by the top"
    assert read_by(top(), "underside").underside(0.0138) == 0.0138


def test_the_bow_as_built_and_its_shot_keep_the_convention() -> None:
    built = fit(top(), MESH).setup
    assert built.nock.locators.place is not None
    assert built.nock.locators.convention == "top"
    assert read_by(shoot(top(), MESH, trace=False).setup).convention == "top"
    again = built.replace(**{READING: "15.8 mm"})  # as a saved file of form "built" is edited
    assert shoot(again, MESH, trace=False).reading == pytest.approx(10.0, abs=1e-6)
    assert shoot(top().replace(**{READING: "15.8 mm"}), MESH, trace=False).reading == pytest.approx(10.0, abs=1e-6)


def test_locators_set_by_the_underside_are_told_by_the_top() -> None:
    launch = FittedBow.of(top(), MESH).at_reading("10 mm")
    assert launch.reading == pytest.approx(10.0, abs=1e-6)
    assert launch.reading_top == pytest.approx(15.8, abs=1e-6)
    assert launch.setup.get(READING) == pytest.approx(0.0158)
    assert by_underside(top(), 0.010) == {READING: pytest.approx(0.0158), CONVENTION: "top"}


@pytest.mark.parametrize("hold", [None, "refit"])
def test_a_sweep(hold: str | None) -> None:
    low, high = both([6.0, 10.0])
    one, other = (
        sweep(setup, {READING: values}, hold=hold, mesh=MESH, workers=1, progress=False)
        for setup, values in ((under(), low), (top(), high))
    )
    same(one, other)
    np.testing.assert_allclose(other.reading, [6.0, 10.0], atol=1e-6)
    np.testing.assert_allclose(other.reading_top, other[dimension(READING)], atol=1e-6)


def test_the_rows_of_a_table() -> None:
    low, high = both([6.0, 10.0])
    masses = ["80 gr", "90 gr"]
    same(*(
        sweep(setup, cases={READING: values, "arrow.point_mass": masses}, mesh=MESH, workers=1, progress=False)
        for setup, values in ((under(), low), (top(), high))
    ))  # fmt: skip


def test_a_range_in_words_and_numbers_in_metres() -> None:
    words = sweep(top(), {READING: "11.8 mm:15.8 mm:4 mm"}, mesh=MESH, workers=1, progress=False)
    numbers = sweep(top(), {READING: ([0.0118, 0.0158], "m")}, mesh=MESH, workers=1, progress=False)
    np.testing.assert_allclose(words.reading, [6.0, 10.0], atol=1e-6)
    np.testing.assert_allclose(numbers.reading, [6.0, 10.0], atol=1e-6)


def test_what_a_sweep_records_and_tells(tmp_path: Any) -> None:
    data = sweep(top(), {READING: ["9.8 mm", "13.8 mm"]}, mesh=MESH, workers=1, progress=False)
    assert data.attrs["reading_convention"] == "top"
    assert data.attrs["nock_height"] == pytest.approx(HEIGHT)
    assert data.attrs["reading_today"] == pytest.approx(8.0, abs=1e-6)  # by the underside, as the quantity is
    assert data.attrs["today"] == pytest.approx(13.8, abs=1e-6)  # on the axis
    assert data.attrs["square"] == pytest.approx(data.attrs["reading_square"] + HEIGHT)
    (axis,) = [data[name] for name in data.coords if str(name).endswith("reading")]
    assert axis.attrs["long_name"].endswith("by the top of the nock")
    low, high = data.angle_of_attack.sel(moment="clear").values
    zero = 9.8 + 4.0 * low / (low - high)
    for file in ("sweep.csv", "sweep.nc"):
        save(data, tmp_path / file)
        text = sweep_table(read(tmp_path / file))
        assert "reading, top" in text
        assert "9.8 mm (3/8 in)" in text
        assert "4.0 mm" in text  # by the underside, beside it
        assert f"zero at reading by the top {zero:.1f} mm" in text


def test_a_convention_that_is_named_too() -> None:
    over = {READING: ["10 mm"], CONVENTION: ["underside", "top"]}
    data = sweep(top(), over, mesh=MESH, workers=1, progress=False)
    np.testing.assert_allclose(np.sort(data.reading.values.ravel()), [10.0 - HEIGHT, 10.0], atol=1e-6)
    assert data.attrs["reading_convention"] == "varied"
    assert "by the" not in sweep_table(data).splitlines()[3]
    back = sweep(top(), {READING: ["10 mm"], CONVENTION: ["underside"]}, mesh=MESH, workers=1, progress=False)
    assert float(back.reading.squeeze()) == pytest.approx(10.0, abs=1e-6)


def test_another_thing_swept_tells_the_reading_by_the_top() -> None:
    data = sweep(top(), {"rest.height": ["45 mm", "43 mm"]}, mesh=MESH, workers=1, progress=False)
    text = sweep_table(data)
    assert "reading, top" in text
    assert "reading, underside" not in text
    assert "15.8" in text


def test_points_are_kept_in_a_store_by_what_their_readings_mean() -> None:
    change = {READING: 0.012}
    keys = {key_maker(FittedBow.of(setup, MESH), LaunchNumbers())(change) for setup in (under(), top())}
    assert len(keys) == 2


@pytest.mark.parametrize("aim", ["no angle of attack", "bare slightly low"])
def test_a_tune(aim: str) -> None:
    one = tune(under(), aim, within=("2 mm", "15 mm"), mesh=MESH)
    other = tune(top(), aim, within=("7.8 mm", "20.8 mm"), mesh=MESH)
    assert other.value == pytest.approx(one.value + HEIGHT, abs=1e-6)
    assert other.window == pytest.approx([end + HEIGHT for end in one.window], abs=1e-4)
    assert other.searched == pytest.approx((7.8, 20.8))
    assert other.slope == pytest.approx(one.slope, rel=1e-5)
    assert other.reading == pytest.approx(one.reading, abs=1e-6)
    assert other.reading_top == pytest.approx(one.reading_top, abs=1e-6)
    for name, value in one.others.items():
        assert other.others[name] == pytest.approx(value + HEIGHT, abs=0.02)  # a least measure is found no closer
    assert today(top(), mesh=MESH) == pytest.approx(13.8, abs=1e-6)
    text = tune_table(other, 13.8)
    assert f"from 13.8 mm (9/16 in) to {max(other.value, 10.8):.1f} mm" in text  # 3 mm at most at once
    assert f"{other.value:.1f} mm" in text
    assert "by the top" in text
    assert "Other aims would have given, by the top" in text


def test_a_tune_over_its_own_range_looks_at_the_same_places() -> None:
    one, other = (tune(setup, "no angle of attack", others=False, mesh=MESH) for setup in (under(), top()))
    np.testing.assert_allclose(other.looked[:, 0] - HEIGHT, one.looked[:, 0], atol=1e-5)
    np.testing.assert_allclose(other.looked[:, 1], one.looked[:, 1], atol=1e-5)
    assert other.path == READING


def test_two_settings() -> None:
    spans = [((low, high), ("-5 deg", "30 deg")) for low, high in (("0 mm", "25 mm"), ("5.8 mm", "30.8 mm"))]
    one, other = (
        tune_two(setup, (READING, "nock.slope"), within=span, mesh=MESH)
        for setup, span in zip((under(), top()), spans, strict=True)
    )
    assert other.values[READING] == pytest.approx(one.values[READING] + HEIGHT, abs=1e-3)
    assert other.launch.reading == pytest.approx(one.launch.reading, abs=1e-3)
    text = two_table(other, {READING: 13.8, "nock.slope": 0.0})
    assert "from 13.8 mm (9/16 in) to" in text
    assert "by the top" in text


def test_flights() -> None:
    low, high = both([6.0, 10.0])
    one, other = (
        flights(setup, values, distance="18 m", mesh=MESH) for setup, values in ((under(), low), (top(), high))
    )
    for row, twin in zip(one.rows, other.rows, strict=True):
        assert twin.reading == pytest.approx(row.reading)
        assert twin.apart == pytest.approx(row.apart, abs=1e-7)
        assert twin.fletched is not None
        assert twin.fletched.reading == pytest.approx(row.reading, abs=1e-6)
        assert twin.fletched.by.convention == "top"
    assert other.today == pytest.approx(8.0, abs=1e-6)
    assert other.by == read_by(top())
    default = flights(top(), distance="18 m", mesh=MESH)
    assert [row.reading for row in default.rows] == pytest.approx([5.0, 8.0, 11.0], abs=1e-6)


@cache
def apart(convention: str) -> BareAgainstFletched:
    setup = top() if convention == "top" else under()
    values = both([2.0, 8.0, 12.0])[convention == "top"]
    unsure = {READING: "0.5 mm", "rest.height": "0.5 mm"}
    return bare_against_fletched(
        setup, values, "18 m", draws=4, uncertainty=unsure, mesh=MESH, workers=1, progress=False
    )


def test_bare_against_fletched() -> None:
    one, other = apart("underside"), apart("top")
    np.testing.assert_allclose(other.readings, one.readings, atol=SAME)
    np.testing.assert_allclose(other.value, one.value, atol=1e-7)
    np.testing.assert_allclose(other.sample, one.sample, atol=1e-7)
    assert other.today == pytest.approx(one.today, abs=1e-6)
    assert other.by.convention == "top"
    with pytest.raises(SetupError, match=r"25\.8 mm by the top lies outside those shot, 7\.8 to 17\.8 mm"):
        other.height_at("20 mm", "18 m")


def test_a_higher_nock_lifts_the_arrow_by_the_underside_and_lowers_it_by_the_top() -> None:
    """The one difference that is meant: with the same number on the square the axis moves half of it, up or down."""
    unsure: Any = {"uncertainty": {"nock.height": "0.5 mm"}, "draws": 4, "mesh": MESH, "workers": 1, "progress": False}
    one, other = (
        bare_against_fletched(setup, values, "18 m", **unsure).sample
        for setup, values in zip((under(), top()), both([6.0, 8.0]), strict=True)
    )
    assert np.corrcoef(one[:, 0, 0], other[:, 0, 0])[0, 1] < -0.99
    assert np.ptp(other[:, 0]) == pytest.approx(np.ptp(one[:, 0]), rel=0.2)


def test_groups_by_reading() -> None:
    options: Any = {"mesh": MESH, "workers": 1, "progress": False}
    one = group_by_reading(under(), 3, ("0 mm",), best="8 mm", **options)
    other = group_by_reading(top(), 3, ("0 mm",), best="13.8 mm", **options)
    assert other.best == pytest.approx(one.best)
    assert one.groups[0] is not None
    assert other.groups[0] is not None
    np.testing.assert_allclose(other.groups[0].fletched, one.groups[0].fletched, atol=1e-5)
    assert other.by.convention == "top"


def made(convention: str | None, readings: tuple[float, ...]) -> Notes:
    """Notes of ends with these readings [mm]."""
    hits: Any = {"fletched": (0.0, 0.01, -0.02, 0.02, -0.01, 0.0), "bare": (-0.03, -0.06, -0.02), "distance": 18.0}
    ends = tuple(NotedGroup(reading=1e-3 * reading, **hits) for reading in readings)
    return Notes(name="made up", convention=convention, group=ends)  # type: ignore[arg-type]


def test_notes_without_a_convention_are_read_as_the_setup_s() -> None:
    for setup, convention, readings in (
        (under(), None, (5.0, 8.0)),
        (top(), None, (10.8, 13.8)),
        (top(), "underside", (5.0, 8.0)),
        (under(), "top", (10.8, 13.8)),
    ):
        found = read_groups(setup, made(convention, readings))
        assert [one.reading for one in found] == pytest.approx([0.005, 0.008])


@cache
def read_notes(convention: str) -> Diagnosis:
    setup, readings = (top(), (10.8, 13.8, 13.8)) if convention == "top" else (under(), (5.0, 8.0, 8.0))
    return diagnose(setup, made(None, readings), further=False, mesh=MESH)


def test_notes_give_the_same_move() -> None:
    one, other = read_notes("underside").move, read_notes("top").move
    assert one is not None
    assert other is not None
    assert other.words == one.words
    for name in ("size", "wanted", "low", "high", "reading", "to"):
        assert getattr(other, name) == pytest.approx(getattr(one, name), abs=1e-7), name


def test_notes_say_whose_convention_they_are_read_by() -> None:
    assert "by the top of the nock, as in the setup file" in read_notes("top").by_words
    assert "by the underside of the nock, because no file says otherwise" in read_notes("underside").by_words
    few = made("underside", (5.0,))
    assert "as the notes say; those of the setup file are by the top" in diagnose(top(), few, mesh=MESH).by_words
    assert diagnose(under(), few, mesh=MESH).by_words == ""


def test_notes_out_of_range_are_told_as_they_are_noted() -> None:
    with pytest.raises(SetupError, match=r"group\.1\.reading: 59 mm by the underside is 64\.8 mm by the top"):
        read_groups(top(), made("underside", (59.0,)))
    assert read_groups(top(), made(None, (-28.0,)))[0].reading == pytest.approx(-0.0338)


def test_an_odd_reading_is_told_by_the_top() -> None:
    (odd,) = [one for one in oddities(top().replace(**{READING: "19.8 mm"})) if one.path == READING]
    assert odd.words.startswith("reading by the top 19.8 mm is outside 8.8 to 15.8 mm")
    assert odd.value == pytest.approx(0.014)


def test_words_of_one_shot() -> None:
    parts = {one.part.name: one.part.here for one in explain(top(), mesh=MESH).contributions}
    assert parts["reading"].startswith("13.8 mm by the top")
    launch = shoot(top(), MESH, trace=False)
    flight = fly(launch, distance="18 m")
    assert flight.by.convention == "top"
    from archerysim.shot.flight.bare_shaft import bare_difference

    text = " ".join(flight_table(launch, flight, bare_difference(launch, "18 m")).split())
    assert "reading, underside of the nock 8.0 mm" in text
    assert "reading, top of the nock 13.8 mm" in text
