"""Results: shown in ten lines at most, and compared whole."""

from __future__ import annotations

from dataclasses import dataclass, field, fields, is_dataclass, replace
from functools import cache
from typing import Annotated, Any

import numpy as np
import pytest

import archerysim
from archerysim import OwnData, Speeds
from archerysim.fields.reported import Reported
from archerysim.fields.result import same, summary
from tests.support.cli.run_commands import bows_shared
from tests.support.shot.example_bows import path_of
from tests.support.study import noted_cases, small_sweep

HOW: dict[str, Any] = {"mesh": "coarse"}
QUIET: dict[str, Any] = {**HOW, "progress": False}
ALONE: dict[str, Any] = {**QUIET, "workers": 1}
SURE = {"arrow.spine": "0.01 in", "arrow.mass_per_length": "0.1 gr/in"}
DATA = OwnData(speeds=Speeds.with_si((0.020, 0.022), (60.0, 57.0)))


@cache
def launch() -> archerysim.Launch:
    return archerysim.shoot(small_sweep.bow(), "coarse")


def built() -> archerysim.Setup:
    return archerysim.fit(small_sweep.bow(), "coarse").setup


def asked() -> archerysim.Problem:
    known = {"nock.locators.reading": "0.5 mm", "arrow.point_mass": "2 gr"}
    return archerysim.problem(small_sweep.bow(), known, ("pitch", "speed"), mesh="coarse", planes=1)


def stave() -> archerysim.Setup:
    return archerysim.load(path_of("flatbow"))


MAKERS: dict[str, Any] = {
    "Met": lambda: archerysim.fit(small_sweep.bow(), "coarse").met[0],
    "Edit": lambda: archerysim.fit(small_sweep.bow(), "coarse").with_changes({"nock.slope": "0.5 deg"}).edits[0],
    "Launch": launch,
    "Moment": lambda: launch().clear,
    "Trace": lambda: launch().trace,
    "Energy": lambda: launch().clear.energy,
    "Strained": lambda: launch().strain[0],
    "StrainAlong": lambda: archerysim.strain_along(launch()),
    "Laid": lambda: archerysim.fit(small_sweep.bow(), "coarse").laid,
    "Braced": lambda: archerysim.brace(small_sweep.bow(), "coarse"),
    "Drawn": lambda: launch().drawn,
    "DrawCurve": lambda: archerysim.draw(small_sweep.bow(), 5, "coarse"),
    "Flight": lambda: archerysim.fly(launch(), distance="18 m"),
    "SeenAt": lambda: archerysim.seen_at(launch(), ("1 m", "2 m")),
    "BareDifference": lambda: archerysim.bare_difference(launch(), "18 m"),
    "ZeroAttackReading": lambda: archerysim.zero_attack_reading(built(), "coarse"),
    "TogetherReading": lambda: archerysim.together_reading(built(), "coarse"),
    "Tuned": lambda: archerysim.tune(small_sweep.bow(), "no-angle-of-attack", others=False, **HOW),
    "HonestRange": lambda: archerysim.honest_range(small_sweep.bow(), draws=4, uncertainty=SURE, **ALONE),
    "TunedTwo": lambda: archerysim.tune_two(
        small_sweep.bow(), ("nock.locators.reading", "lower_limb.bolt_turns"),
        ("no-angle-of-attack", "no-pitch-rate"), **HOW,
    ),
    "SidewaysTune": lambda: archerysim.sideways_tune(small_sweep.bow(), draws=2, **ALONE),
    "Uncertainty": lambda: archerysim.uncertainty(small_sweep.bow(), SURE, draws=8, indices=False, **QUIET),
    "Flights": lambda: archerysim.flights(small_sweep.bow(), ("6 mm", "8 mm"), **HOW),
    "BareAgainstFletched": lambda: archerysim.bare_against_fletched(
        small_sweep.bow(), distances=("18 m", "30 m"), draws=4, uncertainty=SURE, **ALONE
    ),
    "Gaps": lambda: archerysim.gaps(small_sweep.bow(), ("6 mm", "8 mm"), "2 N", draws=2, uncertainty=SURE, **ALONE),
    "Group": lambda: archerysim.group(small_sweep.bow(), 3, **ALONE),
    "ReadingGroups": lambda: archerysim.group_by_reading(small_sweep.bow(), 3, ("-2 mm", "2 mm"), **ALONE),
    "LocatorGroups": lambda: archerysim.compare_locators(small_sweep.bow(), 3, **ALONE),
    "FirstSetup": lambda: archerysim.first_setup(),
    "MeasureNext": lambda: archerysim.measure_next(small_sweep.bow(), ("arrow.spine",), mesh="coarse", workers=1),
    "CaseSheet": lambda: archerysim.case_sheet(small_sweep.bow(), draws=4, mesh="coarse", workers=1),
    "TwoSetups": lambda: archerysim.compare(
        small_sweep.bow(), small_sweep.bow().replace({"arrow.point_mass": "95 gr"}), mesh="coarse"
    ),
    "BenchChange": lambda: archerysim.change(small_sweep.bow(), "swap limbs", **HOW),
    "LimbsCompared": lambda: archerysim.limbs_compared(archerysim.fit(small_sweep.bow(), "coarse").launch(trace=True)),
    "EvenTiller": lambda: archerysim.even_tiller(small_sweep.bow(), split="3 mm", by="bolts", **HOW),
    "LimbDesign": lambda: archerysim.limb_design(stave(), draw_weight="32 lb", mesh="coarse"),
    "Tillering": lambda: archerysim.tillering(stave(), draw_weight="32 lb", stages=2, even="30 %", **HOW),
    "TimedTiller": lambda: archerysim.timed_tiller(small_sweep.bow(), **HOW),
    "BenchMap": lambda: archerysim.bench_map(
        small_sweep.bow(), splits="2 mm, 5 mm, 8 mm", values="4 mm, 6 mm, 8 mm", **ALONE
    ),
    "LetDown": lambda: archerysim.let_down(small_sweep.bow(), **HOW),
    "AfterShot": lambda: archerysim.after_shot(small_sweep.bow(), **HOW),
    "Problem": asked,
    "Evaluated": lambda: asked().evaluate([[8.0, 90.0], [9.0, 90.0]]),
    "Derivatives": lambda: asked().derivatives(),
    "Indices": lambda: asked().indices(4),
    "Explained": lambda: archerysim.explain(small_sweep.bow(), **HOW),
    "Lesson": lambda: archerysim.lesson(small_sweep.bow(), shots=40, mesh="coarse", workers=1),
    "DataCompared": lambda: archerysim.compare_data(small_sweep.bow(), DATA, **HOW),
    "OwnFit": lambda: archerysim.fit_data(small_sweep.bow(), DATA, ("limbs.mass",), **HOW),
    "Journal": lambda: archerysim.read_journal(small_sweep.bow(), noted_cases.notes(noted_cases.group(0.05))),
    "Diagnosis": lambda: archerysim.diagnose(
        small_sweep.bow(), noted_cases.notes(noted_cases.group(0.05)), further=False, **QUIET
    ),
}  # fmt: skip


def shared(make: Any) -> Any:
    """One of a kind, looked at in many ways, from bows that those of other kinds have fitted."""

    @cache
    def made() -> Any:
        with bows_shared():
            return make()

    return made


RESULTS = {name: shared(make) for name, make in MAKERS.items()}


def test_none_is_left_out() -> None:
    public = {name for name in archerysim.__all__ if is_dataclass(getattr(archerysim, name))}
    assert public - set(RESULTS) == {
        "Mesh",
        "Observable",
        "FittedBow",
        "DrawForce",
        "Speeds",
        "Track",
        "OwnData",
        "Scatter",
    }  # what is given, not found


@pytest.mark.parametrize("name", RESULTS)
def test_a_result_is_short_frozen_and_equal_to_its_like(name: str) -> None:
    found = RESULTS[name]()
    shown = repr(found)
    assert shown.startswith(name)
    assert len(shown.splitlines()) <= 10
    assert len(shown) <= 1000
    assert found == replace(found)
    assert found != "something else"
    first = next(one.name for one in fields(found) if one.compare)
    with pytest.raises(AttributeError):
        setattr(found, first, None)
    assert found != replace(found, **{first: "another"})


def test_the_same_shot_is_equal() -> None:
    again = archerysim.shoot(small_sweep.bow(), "coarse")
    assert again == launch()
    assert archerysim.fly(again, distance="18 m") == archerysim.fly(launch(), distance="18 m")
    assert again != archerysim.shoot(small_sweep.bow(), "coarse", trace=False)


def test_a_number_of_an_array_makes_a_difference() -> None:
    curve = archerysim.draw(small_sweep.bow(), 5, "coarse")
    other = curve.force.copy()
    other[2] = np.nextafter(other[2], 0.0)
    assert curve == replace(curve, force=curve.force.copy())
    assert curve != replace(curve, force=other)


def test_missing_numbers_are_equal() -> None:
    nan = float("nan")
    assert same({"a": (nan, np.array([1.0, nan]))}, {"a": (float("nan"), np.array([1.0, nan]))})
    assert not same([1.0, nan], [1.0, 2.0])
    assert not same(1, 1.0)
    assert same(np.array(["a"]), np.array(["a"]))


def test_units_stand_beside_the_numbers() -> None:
    assert f"  clear.angle_of_attack  {launch().clear.angle_of_attack:.5g} deg\n" in repr(launch())
    time = launch().traced().time
    assert f"  time        {len(time)} values, 0 to {time[-1]:.5g} s\n" in repr(launch().trace)


def test_words_of_a_value() -> None:
    @dataclass(frozen=True)
    class Found:
        few: Annotated[dict[str, Any], Reported("mm")]
        range: Annotated[tuple[float, float], Reported("mm")] = (4.0, 12.0)
        size: Annotated[np.ndarray, Reported("m")] = field(default_factory=lambda: np.full((2, 3), np.nan))
        many: tuple[str, str] = ("x" * 60, "y" * 60)
        nothing: Annotated[float | None, Reported("mm")] = None

    assert summary(
        Found({"a": 1.0, "b": (2.0, float("nan"))}), ("nothing", "few", "range", "many", "size")
    ).splitlines() == [
        "Found",
        "  nothing  none",
        "  few      a: 1, b: 2, none mm",
        "  range    4, 12 mm",
        f"  many     {'x' * 60}, {'y' * 15}...",
        "  size     2 x 3 values m",
    ]
