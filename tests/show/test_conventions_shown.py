"""Pictures of a bow whose file tells readings by the top of the nock: axes, marks and words tell them so."""

from __future__ import annotations

import dataclasses
from functools import cache
from typing import Any

import numpy as np
import pytest

from archerysim import show
from archerysim.equipment import Setup
from archerysim.equipment.readings import CONVENTION, READING, ReadBy
from archerysim.shot.launch import Launch
from archerysim.shot.shoot import shoot
from archerysim.show.motion.flight import flight_scene
from archerysim.show.motion.release import release_scene
from archerysim.study.bare_shaft.flights import Flights, flights
from archerysim.study.bare_shaft.result import BareAgainstFletched
from archerysim.study.groups.compare import ReadingGroups, group_by_reading
from archerysim.study.notes.read_group import Diagnosis, diagnose
from archerysim.study.sweeps.sweep import sweep
from archerysim.study.tuning.tune import tune
from archerysim.study.tuning.tuned import Tuned
from tests.show.test_flight_pictures import words
from tests.study.test_conventions import apart
from tests.support.shot.example_bows import built, measured
from tests.support.show.legible_pictures import assert_legible, line
from tests.support.study.noted_cases import LOW, expected, group, notes

MESH, HEIGHT = "coarse", 5.8


@cache
def top() -> Setup:
    return measured("club-outdoor").replace(**{READING: "13.8 mm", CONVENTION: "top"})


@cache
def launch() -> Launch:
    return shoot(top(), MESH)


@cache
def flown() -> Flights:
    return flights(top(), ["9.8 mm", "13.8 mm"], distance="18 m", mesh=MESH)


@cache
def compared() -> BareAgainstFletched:
    return apart("top")


@cache
def grouped() -> ReadingGroups:
    return group_by_reading(top(), 4, ("-2 mm", "2 mm"), mesh=MESH, workers=1, progress=False)


@cache
def tuned() -> Tuned:
    return tune(top(), "no angle of attack", within=("15 mm", "20 mm"), others=False, mesh=MESH)


@cache
def read() -> Diagnosis:
    """Groups noted by the underside on a bow as built, its diagnosis told by the top."""
    some = notes(group(0.08, reading=LOW), group(-0.06), group(-0.06))
    found = diagnose(built("club-outdoor", MESH), some, expected=expected(), further=False, mesh=MESH)
    return dataclasses.replace(found, by=ReadBy("top", 1e-3 * HEIGHT), by_words="by the top, as in the setup")


def test_the_sweep_s_axis_and_marks() -> None:
    data = sweep(top(), {READING: ["5 mm", "11.8 mm", "15.8 mm"]}, mesh=MESH, workers=1, progress=False)
    figure = show.sweep(data)
    ax = figure.axes[-1]
    assert ax.get_xlabel() == "reading by the top [mm]"
    assert line(ax, "clear").get_xdata() == pytest.approx([5.0, 11.8, 15.8])
    assert line(ax, "today").get_xdata()[0] == pytest.approx(13.8, abs=1e-6)
    assert line(ax, "square").get_xdata()[0] == pytest.approx(HEIGHT - 0.5 * (5.8 - 5.5), abs=1e-6)


def test_bare_against_fletched() -> None:
    figure = show.bare_against_fletched(compared())
    (ax,) = figure.axes
    assert ax.get_xlabel().endswith("by the top [mm]")
    assert line(ax, "bare").get_xdata() == pytest.approx(compared().readings + HEIGHT)
    assert line(ax, "today").get_xdata()[0] == pytest.approx(13.8, abs=1e-6)
    there = compared().together("18 m").median + HEIGHT
    assert f"best {there:.1f} mm" in ax.get_title(loc="left")
    assert "readings to the top of the nock; to its underside: 5.8 mm (1/4 in) less" in words(figure)
    assert "today's reading, 13.8 mm" in words(figure)
    assert_legible(figure)


def card_readings(figure: Any) -> list[list[str]]:
    """What stands above each verdict of a target card."""
    return [[text.get_text() for text in ax.texts if text.get_gid() == "reading"] for ax in figure.axes]


def test_target_card() -> None:
    figure = show.target_card(compared(), readings=([9.8, 13.8], "mm"))
    assert card_readings(figure) == [["reading 9.8 mm (3/8 in)", ""], ["reading 13.8 mm (9/16 in)", "▲ TODAY"]]
    assert "to the top of the nock" in words(figure)
    default = show.target_card(compared())
    assert [told.split(" (")[0] for told, _ in card_readings(default)] == [
        "reading 7.8 mm", "reading 13.8 mm", "reading 17.8 mm",
    ]  # fmt: skip
    by_hand = show.target_card(compared(), readings=([10.8], "mm"))
    same = show.target_card(apart("underside"), readings=([5.0], "mm"))
    assert line(by_hand.axes[0], "bare middle").get_ydata() == pytest.approx(
        line(same.axes[0], "bare middle").get_ydata()
    )


def test_strips_and_flights() -> None:
    figure = show.strips(flown())
    titles = [ax.get_title(loc="left") for ax in figure.axes]
    assert any(title.startswith("reading 13.8 mm (9/16 in), ▲ today") for title in titles)
    assert "readings to the top of the nock" in words(figure)
    fletched = [row.fletched for row in flown().rows]
    assert all(one is not None for one in fletched)
    alone = show.strips(fletched)  # type: ignore[arg-type]
    assert "reading 9.8 mm (3/8 in)" in words(alone) + "".join(ax.get_title(loc="left") for ax in alone.axes)
    assert "readings to the top of the nock" in words(alone)
    assert "reading 9.8 mm (3/8 in) by the top, 18 m" in words(show.flight(fletched[0]))  # type: ignore[arg-type]


def test_groups() -> None:
    figure = show.group_by_reading(grouped())
    for ax in figure.axes:
        assert ax.get_xlabel() == "reading by the top [mm]"
        assert line(ax, "best").get_xdata()[0] == pytest.approx(grouped().best + HEIGHT)
        assert line(ax, "today").get_xdata()[0] == pytest.approx(13.8, abs=1e-6)
    assert "today's reading, 13.8 mm" in words(figure)
    (one, _) = grouped().groups
    assert one is not None
    told = f"reading {one.nominal.reading_top:.1f} mm"
    assert f"{told} (" in words(show.group(one))
    assert "by the top" in words(show.group(one))


def test_the_tune() -> None:
    ax = show.tuned(tuned(), 13.8)
    assert ax.get_xlabel() == "reading, by the top [mm]"
    assert line(ax, "nearest").get_xdata()[0] == pytest.approx(15.0)
    assert line(ax, "today").get_xdata()[0] == 13.8


def test_notes() -> None:
    figure = show.diagnosis(read())
    (ax,) = figure.axes
    assert ax.get_xlabel() == "reading (locator height) by the top [mm]"
    assert line(ax, "today").get_xdata()[0] == pytest.approx(8.0 + HEIGHT)
    curve = read().curves[18.0][0]
    assert line(ax, "model 18 m").get_xdata() == pytest.approx(1e3 * curve + HEIGHT)
    assert "today 13.8 mm" in " ".join(text.get_text() for text in ax.texts)
    assert "by the top, as in the setup" in words(figure)
    from archerysim.show.notes.table import diagnosis_table

    text = diagnosis_table(read(), everything=True)
    assert "10.8 mm" in text
    assert "by the top, as in the setup" in text
    low, high = ax.get_xlim()
    assert low < 5.0 + HEIGHT < high


@pytest.mark.parametrize("convention", ["underside", "top"])
def test_the_square_says_which_one_the_setup_means(convention: str) -> None:
    setup = top() if convention == "top" else measured("club-outdoor")
    ax = show.square(setup)
    told = "\n".join(text.get_text() for text in ax.texts)
    assert f"(the setup gives readings by the {convention})" in told
    before = told[: told.index("(the setup")].strip().splitlines()[-1]
    assert convention in before
    assert_legible(ax.figure)


def test_headings_of_one_shot() -> None:
    told = "reading 13.8 mm (9/16 in) by the top"
    assert told in str(release_scene(launch(), frames=5))
    row = flown().rows[1]
    assert told in str(flight_scene([row.fletched, row.bare], frames=5))


def test_mixed_conventions_are_told_by_the_underside() -> None:
    other = flights(measured("club-outdoor"), ["8 mm"], distance="18 m", mesh=MESH).rows[0].fletched
    mine = flown().rows[1].fletched
    assert other is not None
    assert mine is not None
    figure = show.strips([mine, other])
    assert "readings to the underside of the nock" in words(figure)
    titles = [ax.get_title(loc="left") for ax in figure.axes[1:]]
    assert titles == ["reading 8.0 mm (5/16 in)"] * 2 + ["from above: reading 8.0 mm (5/16 in)"] * 2
    assert np.isfinite(mine.reading)
