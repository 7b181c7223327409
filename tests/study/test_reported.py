"""What results say of their fields: units as in their docstrings, tables for notebooks, Datasets."""

from __future__ import annotations

import html
import inspect
import re
from dataclasses import fields, is_dataclass, replace
from html.parser import HTMLParser
from pathlib import Path
from typing import Any, get_type_hints

import numpy as np
import pytest
import xarray

import archerysim
from archerysim.fields.reported import column, columns_of, unit_at
from archerysim.fields.to_xarray import stacked, variables_of
from archerysim.fields.udunits import shown, udunits
from archerysim.shot.columns import BY_PASSAGE, MOMENT, SHOT
from tests.study.test_results import RESULTS, launch
from tests.support.study import small_sweep

KINDS = {name: getattr(archerysim, name) for name in RESULTS}
UNIT = re.compile(r"\[([^\]]+)\]")
NO_UNITS = {"memory", "judgement", "-", "mm on the target per mm"}
BY_WORDS = {"slope": "mm/mm"}  # said in words in the docstring
WITH_UNITS_OF_THEIR_OWN = {  # several in one
    "Diagnosis": {"curves"}, "Explained": {"actual", "base", "remainder"}, "AfterShot": {"frequencies"},
}  # fmt: skip
TABLES = (
    "Launch", "Trace", "StrainAlong", "DrawCurve", "Flight", "Uncertainty", "Flights", "BareAgainstFletched", "Group",
    "ReadingGroups", "LocatorGroups", "Tuned", "SidewaysTune", "Explained", "OwnFit", "HonestRange", "Gaps",
    "MeasureNext", "TimedTiller", "BenchMap", "AfterShot", "SeenAt",
)  # fmt: skip
EVIL = '<script>alert("x")</script> & <b>'


def documented(kind: type) -> dict[str, str]:
    """Unit in the docstring of each attribute, "" where there is none; one for several names, or one for each."""
    text = inspect.getdoc(kind) or ""
    head, _, rest = text.partition("Attributes\n----------\n")
    whole = UNIT.findall(head)
    found: dict[str, str] = {}
    for part in re.split(r"\n(?=\S)", rest):
        first, _, words = part.partition("\n")
        if " : " not in first and not re.fullmatch(r"[\w, ]+", first):
            break  # the next section
        names = first.split(" : ")[0].split(", ")
        units = [unit for unit in UNIT.findall(words) if unit not in NO_UNITS] or whole
        if len(units) not in (0, 1, len(names)):
            units = units[:1]  # a bound or a range in the same unit stands behind
        found |= dict(zip(names, units * len(names) if len(units) < 2 else units, strict=False))
        found |= {name: "" for name in names if name not in found}
    return found


@pytest.mark.parametrize("name", RESULTS)
def test_the_docstrings_unit_is_the_fields(name: str) -> None:
    kind = KINDS[name]
    said = {one.name: one.unit for one in columns_of(kind)}
    told, hints = documented(kind), get_type_hints(kind)
    assert {field.name for field in fields(kind)} <= set(told)
    numbers = {field for field, hint in hints.items() if hint in (float, np.ndarray) or "tuple[float, " in str(hint)}
    assert set(said) <= numbers
    for field in numbers - WITH_UNITS_OF_THEIR_OWN.get(name, set()):
        unit = told[field] or (BY_WORDS.get(field, "") if name == "TogetherReading" else "")
        assert said.get(field, "") == unit, f"{name}.{field}"


def test_every_unit_is_known_to_data_files() -> None:
    for kind in KINDS.values():
        for one in columns_of(kind):
            assert shown(udunits(one.unit)) == one.unit
            assert not set(udunits(one.unit)) & set("^[]") or one.unit == ""


def test_what_a_sweep_reports_has_a_meaning() -> None:
    assert [one.name for one in MOMENT][:3] == ["time", "speed", "vertical_velocity"]
    assert [one.name for one in SHOT if one.name not in BY_PASSAGE][-1] == "rod_swing"
    assert [one.name for one in SHOT][-1] == "vane_side_gap"  # how the shaft goes past the rest stands last
    assert all(one.text for one in (*MOMENT, *SHOT))
    assert column(archerysim.Launch, "efficiency").head == "efficiency"
    assert column(archerysim.Moment, "pitch").head == "pitch [deg]"


def test_units_of_properties_and_of_what_stands_deeper() -> None:
    assert unit_at(launch(), "clear.pitch_rate") == "rad/s"
    assert unit_at(launch(), "drawn.weight") == "N"
    assert unit_at(launch(), "setup.name") == ""


class Cells(HTMLParser):
    """The tags of a page, and its texts."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.texts: list[str] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: Any) -> None:
        self.tags.append(tag)

    def handle_data(self, data: str) -> None:
        self.texts.append(data)


@pytest.mark.parametrize("name", [name for name in RESULTS if name not in ("Met", "Edit")])  # one line is enough
def test_a_notebook_shows_the_same_as_a_table(name: str) -> None:
    found = RESULTS[name]()
    cells = Cells(found._repr_html_())
    assert set(cells.tags) == {"table", "caption", "tr", "th", "td"}
    assert cells.texts[0] == name
    for line in repr(found).splitlines()[1:]:
        assert all(word in " ".join(cells.texts) for word in line.split())


def test_a_name_is_harmless_in_a_notebook() -> None:
    setup = small_sweep.bow().replace(name=EVIL)
    evil = replace(launch(), setup=setup)
    bow = archerysim.FittedBow.of(setup, "coarse")
    for found in (setup, archerysim.filled(setup), bow, evil, archerysim.fly(evil, distance="18 m")):
        page = found._repr_html_()
        assert html.escape(EVIL) in page
        assert set(Cells(page).tags) == {"table", "caption", "tr", "th", "td"}
        assert EVIL in Cells(page).texts


def test_setups_and_bows_are_short() -> None:
    setup = small_sweep.bow()
    for found in (setup, archerysim.filled(setup), archerysim.FittedBow.of(setup, "coarse")):
        assert len(repr(found).splitlines()) <= 10
        assert len(repr(found)) <= 800
    assert "\n  bow.draw_weight        34 lbf\n" in repr(setup)
    assert "x" * 81 not in repr(setup.replace(name="x" * 100))


@pytest.mark.parametrize("name", TABLES)
def test_a_table_with_units_that_can_be_saved(name: str, tmp_path: Path) -> None:
    found = archerysim.shoot(small_sweep.bow(), "coarse", trace=True) if name == "Launch" else RESULTS[name]()
    table = found.to_xarray()
    assert isinstance(table, xarray.Dataset)
    for key, one in table.variables.items():
        assert one.attrs["long_name"], key
        # each row in a unit of its own
        own = ("unit" in table and key in {"start", "prior", "value", "error"}) or key == "drawn"
        assert one.dtype.kind == "O" or (one.attrs["comment"] if own else one.attrs["units"]), key
    for one in columns_of(type(found)):
        if one.name in table and one.unit:
            assert table[one.name].attrs["units"] == udunits(one.unit)
    table.to_netcdf(tmp_path / "table.nc", engine="h5netcdf")
    with xarray.open_dataset(tmp_path / "table.nc", engine="h5netcdf", decode_times=False) as again:
        assert set(again.variables) == set(table.variables)


def test_none_that_has_arrays_along_axes_lacks_a_table() -> None:
    for name, kind in KINDS.items():
        if any(one.along for one in columns_of(kind)):
            assert name in TABLES


def test_the_numbers_of_a_table_are_the_results() -> None:
    traced = archerysim.shoot(small_sweep.bow(), "coarse", trace=True)
    table = traced.to_xarray()
    assert list(table["moment"].values) == ["separation", "clear"]
    assert table["pitch"].sel(moment="clear").item() == traced.clear.pitch
    assert table["energy_stored"].sel(moment="separation").item() == traced.separation.energy.stored
    assert table["draw_force"].item() == traced.draw_force
    assert table["trace_pitch"].dims == ("trace_time",)
    np.testing.assert_array_equal(table["trace_frame_x"].values, traced.traced().frame_x)
    plain = archerysim.shoot(small_sweep.bow(), "coarse", trace=False).to_xarray()
    assert set(plain.variables) == {one for one in table.variables if not str(one).startswith("trace_")}
    group = RESULTS["Group"]()
    inputs = group.to_xarray()
    for path, values in group.drawn.items():
        np.testing.assert_array_equal(inputs[path.replace(".", "_")].values, values)
    heights = RESULTS["BareAgainstFletched"]()
    assert heights.to_xarray()["value"].sel(distance=30.0).values.tolist() == heights.value[:, 1].tolist()
    sure = RESULTS["Uncertainty"]()
    assert sure.to_xarray()["speed_sample"].values.tolist() == sure.sample[:, sure.names.index("speed")].tolist()
    tuned = RESULTS["Tuned"]()
    assert tuned.to_xarray()["measure_tried"].values.tolist() == tuned.looked[:, 1].tolist()
    why = RESULTS["Explained"]()
    parts = why.to_xarray()
    for one in why.contributions:
        np.testing.assert_array_equal(parts["pitch"].sel(part=one.part.name), one.value[1])
    own = RESULTS["OwnFit"]()
    assert own.to_xarray()["value"].sel(input="limbs.mass").item() == own.estimates[0].value


def test_what_is_missing_beside_others_is_nan() -> None:
    groups = RESULTS["ReadingGroups"]()
    partly = replace(groups, groups=(None, groups.groups[1]), reasons=("no", ""))
    table = partly.to_xarray()
    assert np.isnan(table["fletched"].values[0]).all()
    assert table["fletched"].values[1].tolist() == groups.groups[1].fletched.tolist()
    assert stacked([None, None], "reading") == {}
    assert set(replace(groups, groups=(None, None), reasons=("no", "no")).to_xarray().dims) == {"reading"}


def test_an_array_without_axes_is_left_out() -> None:
    drawn = RESULTS["Drawn"]()
    assert is_dataclass(drawn)
    assert "x" not in variables_of(drawn)
    assert "throat_x" in variables_of(drawn)
