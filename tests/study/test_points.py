"""What is varied: ranges in words, values, tables, and what is refused."""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import pint
import pytest
import xarray

from archerysim.equipment import SetupError, with_si
from archerysim.shot.fitted_bow import FittedBow
from archerysim.study.run.points import Points, axis_of, points_of, spread
from tests.support.shot.example_bows import READING, built, measured
from tests.support.study.shared_sweeps import RANGE, run

SETUP = measured("club-outdoor")
BAD_RANGES = {
    "4 mm:12 mm": "is not a range. Write start:stop:step",
    "4 mm:12 mm:1 mm:2 mm": "is not a range",
    "4 mm:12 mm:-1 mm": "never reaches its end. Give the step the sign of stop minus start",
    "12 mm:4 mm:1 mm": "never reaches its end",
    "4 mm:12 mm:0 mm": "never reaches its end",
    "4:12:1": "4 has no unit. Write it with one",
    "4 kg:12 kg:1 kg": 'the unit "kg" does not fit',
    "4 mm:12 kg:1 mm": 'the unit "kg" does not fit',
    "a:b:c": "",
    "0 mm:50 mm:1e-12 mm": "holds more than 10,000,000 values. Widen the step",
    "0:1e308:1e-300 mm": "holds more than 10,000,000 values. Widen the step",
    "-1e308:1e308:1 m": "holds more than 10,000,000 values. Widen the step",
    "0 mm:1 mm:1e-330 m": "never reaches its end",
    "0 mm:1e999 mm:1 mm": "too large a number",
    "0 mm:nan mm:1 mm": "is not a usable number",
    "0 mm:inf mm:1 mm": "is not a usable number",
}


@cache
def bow() -> FittedBow:
    return FittedBow.of(SETUP, "coarse")


def points(path: str, values: Any) -> tuple[Any, ...]:
    return axis_of(path, values, SETUP).values


@pytest.mark.parametrize(
    "text",
    ["4 mm:12 mm:0.5 mm", "4:12:0.5 mm", "0.4 cm:1.2 cm:0.5 mm", "4 mm : 12 mm : 0.5 mm", "4:12 mm:0.5 mm"],
)
def test_ranges(text: str) -> None:
    found = points(READING, text)
    np.testing.assert_allclose(found, 1e-3 * np.arange(4.0, 12.01, 0.5), rtol=1e-12)


def test_range_downwards() -> None:
    np.testing.assert_allclose(points(READING, "12:4:-2 mm"), 1e-3 * np.array([12, 10, 8, 6, 4]), rtol=1e-12)


def test_range_that_does_not_meet_its_end() -> None:
    np.testing.assert_allclose(points(READING, "4:9:2 mm"), [4e-3, 6e-3, 8e-3], rtol=1e-12)


def test_range_of_one() -> None:
    np.testing.assert_allclose(points(READING, "8:8:1 mm"), [8e-3], rtol=1e-12)


def test_range_in_fractions() -> None:
    np.testing.assert_allclose(points(READING, "1/8 in:3/8 in:1/16 in"), 0.0254 / 16 * np.arange(2, 7), rtol=1e-12)


def test_range_without_a_unit_to_give() -> None:
    assert points("string.strands", "14:20:2") == (14.0, 16.0, 18.0, 20.0)


@pytest.mark.parametrize("text", BAD_RANGES)
def test_bad_ranges(text: str) -> None:
    with pytest.raises(SetupError) as caught:
        spread(READING, text)
    assert BAD_RANGES[text] in str(caught.value)
    assert str(caught.value).startswith(READING)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    "values",
    [["4 mm", "6 mm"], ([4, 6], "mm"), "4 mm, 6 mm", (np.array([0.004, 0.006]), "m"), ["0.4 cm", (6000, "um")]],
)
def test_values(values: Any) -> None:
    np.testing.assert_allclose(points(READING, values), [4e-3, 6e-3], rtol=1e-12)


def test_one_value() -> None:
    assert points(READING, (8, "mm")) == (0.008,)
    assert points(READING, "8 mm") == (0.008,)


def test_words_and_truths() -> None:
    assert points("archer.hold", "split, three under") == ("split", "three under")
    assert points("rest.unlimited_support", [True, False]) == (True, False)


def test_values_are_shown_in_the_archer_s_unit() -> None:
    axis = axis_of(READING, RANGE, SETUP)
    assert axis.unit == "mm"
    np.testing.assert_array_equal(axis.shown(), np.arange(4.0, 13.0))
    assert axis_of("nock.slope", "0:6:3 deg", SETUP).shown().tolist() == [0.0, 3.0, 6.0]
    assert axis_of("bow.draw_weight", "30:34:2 lb", SETUP).shown().tolist() == [30.0, 32.0, 34.0]
    assert axis_of("archer.hold", ["split"], SETUP).shown().tolist() == ["split"]


@pytest.mark.parametrize(
    ("path", "hint"),
    [
        ("nock.reading", READING), ("nock.locators.readin", READING), ("arrow.pointmass", "arrow.point_mass"),
        ("rest.stifness", "rest.stiffness"),
    ],
)  # fmt: skip
def test_unknown_path(path: str, hint: str) -> None:
    with pytest.raises(SetupError, match="unknown path") as caught:
        axis_of(path, "1 mm", SETUP)
    assert hint in str(caught.value)


def test_a_table_is_not_a_value() -> None:
    with pytest.raises(SetupError, match="a table, not a value"):
        axis_of("nock", ["1"], SETUP)


def test_a_word_that_is_not_known() -> None:
    with pytest.raises(SetupError, match=r'"both" is not known\. Use one of "split", "three under"'):
        axis_of("archer.hold", ["both"], SETUP)


def test_a_value_out_of_range_is_left_to_its_point() -> None:
    assert points(READING, ["70 mm"]) == (0.07,)


def test_combinations_and_rows() -> None:
    over = points_of({READING: ["4 mm", "5 mm"], "arrow.point_mass": ["80 gr", "90 gr", "100 gr"]}, None, bow())
    assert over.shape == (2, 3)
    first, second = over[0], over[1]
    assert first[READING] == second[READING] == 0.004
    assert first["arrow.point_mass"] < second["arrow.point_mass"]
    assert over[5] == {READING: 0.005, "arrow.point_mass": over.axes[1].values[2]}
    rows = points_of(None, {READING: ["4 mm", "5 mm"], "arrow.point_mass": ["80 gr", "90 gr"]}, bow())
    assert rows.shape == (2,)
    assert len(rows) == 2
    assert len(over) == 6
    assert isinstance(rows, Points)


@pytest.mark.parametrize(
    ("over", "cases", "said"),
    [
        (None, None, "needs either over= or cases="),
        ({READING: [0.01]}, {READING: [0.01]}, "needs either over= or cases="),
        ({}, None, "holds no point"),
        ({READING: []}, None, "holds no point"),
        (None, {READING: []}, "holds no point"),
        (None, {READING: [0.01], "arrow.spine": [0.01, 0.02]}, "columns differ in length"),
        (None, [{READING: 0.01}, {"arrow.spine": 0.01}], "rows differ in their fields"),
        (None, [1, 2], "is not a table"),
        (None, [], "is not a table"),
    ],
)
def test_no_points(over: Any, cases: Any, said: str) -> None:
    with pytest.raises(SetupError, match=said):
        points_of(over, cases, bow())


def test_more_points_than_anyone_wants() -> None:
    many = {"arrow.point_mass": "60:160:0.01 gr", READING: "0:20:0.01 mm"}
    with pytest.raises(SetupError, match="more than 10,000,000 points"):
        points_of(many, None, bow())


def test_wrong_points_stop_a_sweep_before_it_shoots() -> None:
    shots: list[int] = []
    with pytest.raises(SetupError):
        run(SETUP, {READING: "4 mm:12 mm"}, progress=lambda done, total: shots.append(done))
    assert not shots


@pytest.mark.parametrize("value", [float("nan"), float("inf"), None, object()])
def test_what_is_no_value_is_refused(value: object) -> None:
    with pytest.raises(SetupError, match="not a value to sweep over"):
        points_of({"nock.slope": [value]}, None, bow())


def test_a_value_twice_is_refused() -> None:
    with pytest.raises(SetupError, match="holds a value twice"):
        points_of({"nock.slope": ["1 deg", "1 deg"]}, None, bow())


def test_over_that_is_no_mapping_is_refused() -> None:
    with pytest.raises(SetupError, match="not a mapping"):
        points_of([1], None, bow())  # type: ignore[arg-type]


def test_a_whole_row_of_values_is_one_value() -> None:
    shares = [(0.3, 0.5, 0.2), (0.4, 0.4, 0.2)]
    points = points_of({"archer.finger_shares": shares}, None, bow())
    assert points.axes[0].values == tuple(shares)
    assert list(points.axes[0].shown()) == ["0.3, 0.5, 0.2", "0.4, 0.4, 0.2"]


def test_one_release_time_stands_for_all_fingers() -> None:
    points = points_of({"archer.release_time": ["3 ms", "6 ms"]}, None, bow())
    assert points.axes[0].values == (0.003, 0.006)
    assert points.axes[0].unit == "ms"


def test_a_range_of_bare_spines_is_read_as_one_spine_is() -> None:
    axis = axis_of("arrow.spine", "500:700:100", built("club-outdoor", "coarse"))
    assert axis.values == pytest.approx([0.5 * 0.0254, 0.6 * 0.0254, 0.7 * 0.0254])
    with pytest.raises(SetupError, match="not a number with a unit"):
        axis_of("arrow.spine", "abc:700:100", built("club-outdoor", "coarse"))
    with pytest.raises(SetupError, match="has no unit"):
        axis_of(READING, "4:8:1", built("club-outdoor", "coarse"))


@pytest.mark.parametrize(
    "value", [float("nan"), float("inf"), 10**400, 1 + 2j, None, b"8 mm", np.complex128(1)], ids=type
)
def test_what_is_no_number_to_sweep_over(value: Any) -> None:
    with pytest.raises(SetupError, match=r"is not a value to sweep over\. Give numbers with units"):
        points(READING, [value])


def test_rows_are_read_with_their_units() -> None:
    axis = axis_of("archer.release_time", [("5 ms", (0.006, "s"), "7 ms"), ([5, 5, 5], "ms")], SETUP)
    assert axis.values == ((0.005, 0.006, 0.007), (0.005, 0.005, 0.005))
    assert list(axis.shown()) == ["0.005, 0.006, 0.007", "0.005, 0.005, 0.005"]


@pytest.mark.parametrize("row", [("5 ms", "5 mm", "5 ms"), (0.005, None, 0.005), (0.005, float("nan"), 0.005)])
def test_rows_that_cannot_be_read_are_refused_before_anything_is_shot(row: tuple[object, ...]) -> None:
    with pytest.raises(SetupError, match=r"archer\.release_time"):
        axis_of("archer.release_time", [row], SETUP)


WAYS: dict[str, Any] = {
    "a range": "4 mm:6 mm:1 mm",
    "texts": ["4 mm", "5 mm", "6 mm"],
    "a pair": ([4, 5, 6], "mm"),
    "an array with its unit": xarray.DataArray([4.0, 5.0, 6.0], attrs={"units": "mm"}),
    "pint": pint.UnitRegistry().Quantity([0.4, 0.5, 0.6], "cm"),
    "one by one": [(4, "mm"), "5 mm", xarray.DataArray(6.0, attrs={"units": "mm"})],
}


@pytest.mark.parametrize("way", WAYS)
def test_values_carry_their_unit(way: str) -> None:
    assert points(READING, WAYS[way]) == (0.004, 0.005, 0.006)
    assert points_of(with_si({READING: [0.004, 0.005, 0.006]}), None, bow()).axes[0].values == (0.004, 0.005, 0.006)


@pytest.mark.parametrize("values", [0.004, [0.004], ("4 mm", 0.005), np.array([0.004]), xarray.DataArray([0.004])])
def test_numbers_alone_are_refused(values: Any) -> None:
    with pytest.raises(SetupError, match=r"reading: 0\.00[45] has no unit\. Write it with one.*go through with_si"):
        points(READING, values)


def test_a_column_s_name_says_its_unit() -> None:
    """As tables on disk have it."""
    table = {f"{READING} [mm]": [4.0, "5 mm"], "nock.slope": ([1, 2], "deg"), "archer.finger_shares.0": [0.3, 0.4]}
    axes = points_of(None, table, bow()).axes
    assert [axis.path for axis in axes] == [READING, "nock.slope", "archer.finger_shares.0"]
    assert axes[0].values == (0.004, 0.005)
    assert axes[1].values == pytest.approx(np.radians([1.0, 2.0]), rel=1e-15)
    assert points_of(None, with_si({READING: [0.004, 0.005]}), bow()).axes[0].values == (0.004, 0.005)
    with pytest.raises(
        SetupError, match=r"Say it in the column's name, for example \"nock\.locators\.reading \[mm\]\""
    ):
        points_of(None, {READING: [0.004, 0.005]}, bow())
    with pytest.raises(SetupError, match='the unit "kg" does not fit'):
        points_of(None, {f"{READING} [kg]": [0.004, 0.005]}, bow())


def test_one_value_of_a_table_or_all_by_a_factor() -> None:
    """A unit with a number of its own, "1/m", at the end of a range or of a list."""
    path = "limbs.natural_curvature"
    for text in ("0:1:0.5 1/m", "0 1/m:1 1/m:0.5 1/m", "0, 0.5, 1 1/m"):
        axis = axis_of(f"{path}.1", text, SETUP)
        assert (axis.values, axis.unit) == ((0.0, 0.5, 1.0), "1/m")
    axis = axis_of(f"{path}.all", "0.9:1.1:0.1 times", SETUP)
    assert axis.values == pytest.approx((0.9, 1.0, 1.1), rel=1e-12)
    assert axis.unit == "times"
    assert axis_of(f"{path}.all", "90 %, 110 %", SETUP).values == pytest.approx((0.9, 1.1), rel=1e-12)
    with pytest.raises(SetupError, match=r'Vary one of its values, "limbs.natural_curvature.0", or all by a factor'):
        axis_of(path, "0, 0.5 1/m", SETUP)


def test_a_sweep_over_a_table_is_each_bow_by_itself() -> None:
    """Twice as stiff is twice as heavy to draw, from the same bow at each point; a member is set, and told so."""
    base = bow()
    swept = points_of({"limbs.bending_stiffness.all": "1, 1.02 times"}, None, base)
    weights = [base.with_changes(swept[i]).statics.drawn.weight for i in range(2)]
    assert weights[0] == pytest.approx(base.statics.drawn.weight, rel=1e-9)
    assert weights[1] == pytest.approx(1.02 * weights[0], rel=0.005)  # the brace height gives a little
    again = base.with_changes(swept[1]).with_changes(swept[1])
    assert again.setup.upper_limb.bending_stiffness == pytest.approx(
        [1.02**2 * one for one in base.setup.upper_limb.bending_stiffness or ()], rel=1e-12
    )
    curved = base.setup.upper_limb.natural_curvature  # a usual recurve's, written down by the fit
    assert curved is not None
    bent = base.with_changes(with_si({"limbs.natural_curvature.1": 0.2}))
    (edit,) = bent.edits
    assert edit.changes == {"limbs.natural_curvature.1": 0.2}
    told = "limbs natural curvature, not given, is derived: the usual shape of a recurve limb [judgement]"
    assert edit.assumed == (told,)
    assert bent.setup.upper_limb.natural_curvature == (curved[0], 0.2, *curved[2:])
    straight = FittedBow.of(SETUP.replace(**{"limbs.shape": "straight"}), "coarse")
    (edit,) = straight.with_changes(with_si({"limbs.natural_curvature.1": 0.2})).edits
    assert edit.changes == {"limbs.natural_curvature.1": 0.2}
    assert edit.assumed == ("limbs natural curvature, not given, is assumed: straight when unstrung [judgement]",)
    anew = base.with_changes(swept[1]).with_changes({"bow.brace_height": "225 mm"})
    other = base.with_changes({"bow.brace_height": "225 mm"}).with_changes(swept[1])
    assert anew.setup == other.setup
