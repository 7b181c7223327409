"""Reading groups as printed and as drawn."""

from __future__ import annotations

import dataclasses
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from archerysim.shot.flight.range_cautions import CAUTION
from archerysim.shot.warnings import NONE
from archerysim.show.notes.plot import diagnosis
from archerysim.show.notes.table import diagnosis_table
from archerysim.show.style import LOOKS, new_figure, save_figure
from archerysim.study.notes.read_group import Diagnosis, diagnose
from tests.support.shot.example_bows import built
from tests.support.show.legible_pictures import assert_legible, line, lines
from tests.support.study.noted_cases import LOW, MESH, expected, group, notes


@cache
def found() -> Diagnosis:
    some = notes(group(0.08, reading=LOW), group(-0.3, wind="4 m/s"), group(-0.06, bare_bad=(0.4,)), group(-0.06))
    return diagnose(built("club-outdoor", MESH), some, expected=expected(), further=False, mesh=MESH)


def test_table_tells_the_move_first_and_the_caution_with_it() -> None:
    text = diagnosis_table(found(), everything=True)
    assert " ".join(CAUTION.split()) in " ".join(text.replace("!", " ").split())
    assert text.index("Locators DOWN") < text.index("The groups") < text.index("What the groups show")
    for part in (
        "repeat in calm",
        "underside",
        "top of the nock",
        "axis above square",
        "8.0 mm (5/16 in)",
        "%",
        " mm",
        "powder on rest and shelf",
    ):
        assert part in text
    assert "safe" not in text.replace(" ".join(NONE.split()), "")
    assert max(len(line) for line in text.splitlines()) <= 132


def test_table_has_the_bow_s_own_warnings_before_the_move() -> None:
    text = diagnosis_table(found())
    assert found().warnings == (NONE,)
    assert "Warnings" not in text  # the last line says that no limit was passed
    assert text.index("Before shooting") < text.index(NONE)
    told = dataclasses.replace(found(), warnings=("Light arrow: ask its maker.",))
    text = diagnosis_table(told)
    assert text.index("Warnings") < text.index("Light arrow") < text.index("The move")
    assert NONE not in text


def test_table_and_picture_with_an_arrow_far_too_light() -> None:
    light = {"arrow.mass_per_length": "2.2 gr/in", "arrow.point_mass": "40 gr"}
    some = diagnose(built("club-outdoor", MESH).replace(**light), notes(group(-0.06)), mesh=MESH)
    text = diagnosis_table(some)
    assert text.index("DO NOT SHOOT") < text.index("The move")
    assert "locators" not in text.split("The move")[1].split("Before shooting")[0]
    assert "no advice: DO NOT SHOOT" in diagnosis(some).axes[0].get_title(loc="left")


def test_table_without_advice() -> None:
    none = diagnose(built("club-outdoor", MESH), notes(group(0.0, bare=(0.1,))), mesh=MESH)
    text = diagnosis_table(none)
    assert "no advice" in text
    assert "locators" not in text.replace(" ".join(CAUTION.split()), "")
    assert CAUTION[:40] in " ".join(text.split())
    figure = diagnosis(none)
    assert figure.axes[0].get_title(loc="left").count("no advice") == 1
    assert line(figure.axes[0], "today").get_xdata() == pytest.approx([8.0])
    assert len(figure.axes) == 1


def test_picture_where_contact_is_suspected_has_room_for_the_move(tmp_path: Path) -> None:
    some = diagnose(
        built("club-outdoor", MESH), notes(group(-0.5)), expected=expected(), further=False, mesh=MESH
    )  # fmt: skip
    assert some.causes == ()
    figure = diagnosis(some)
    (ax,) = figure.axes
    assert some.move is not None
    assert ax.get_xlim()[1] > 1e3 * some.move.to
    save_figure(figure, tmp_path / "contact.png")


def test_picture_shows_groups_model_move_and_profiles() -> None:
    figure = diagnosis(found(), profiles=True)
    main, *small = figure.axes
    gids = {one.get_gid() for one in main.get_lines()}
    assert {"model 18 m", "today"} <= gids
    assert len(main.containers) == 4  # the group in wind is drawn too, hollow
    assert len(small) == len(found().causes) == len(expected().causes)
    curve = line(main, "model 18 m")
    assert curve.get_ydata()[-1] < curve.get_ydata()[0]  # bare shafts land lower for a higher reading
    assert "reading" in main.get_xlabel()
    assert "underside" in main.get_xlabel()
    assert "[mm]" in main.get_ylabel()
    assert found().answer is not None
    for ax, told, best in zip(small, found().causes, found().answer.z, strict=True):  # type: ignore[union-attr]
        x, y = (np.asarray(values) for values in line(ax, told.cause.name).get_data())
        assert x[np.argmin(y)] == pytest.approx(told.cause.value(float(best)))
        assert f"[{told.cause.unit}]" == ax.get_xlabel()
    assert any(CAUTION[:20] in text.get_text() for text in figure.texts)
    assert_legible(figure)


def test_picture_is_that_of_bare_shafts_in_plain_words() -> None:
    figure = diagnosis(found())
    (ax,) = figure.axes
    title = ax.get_title(loc="left")
    assert title.startswith("club recurve, outdoor: bare shafts at 18 m")
    assert " ".join(found().move.words.split()) in " ".join(title.split())  # type: ignore[union-attr]
    assert line(ax, "model 18 m").get_color() == LOOKS["bare"].color
    used = [one for one in found().groups if one.used]
    middles = {f"group {one.index + 1}": lines(ax, f"group {one.index + 1}")[0] for one in used}
    for one in used:
        assert middles[f"group {one.index + 1}"].get_color() == LOOKS["bare"].color
        assert middles[f"group {one.index + 1}"].get_ydata()[0] == pytest.approx(1e3 * one.difference)
    assert line(ax, "today").get_marker() == "^"
    assert line(ax, "today").get_xdata() == pytest.approx([8.0])
    words = [text.get_text() for legend in figure.legends for text in legend.get_texts()]
    assert words == [
        "your groups, with their 90 % range", "what the model expects with your hands",
        "good: where drag alone puts it, down to slightly low", "not used",
    ]  # fmt: skip
    assert_legible(figure)


def test_two_distances_in_one_legend() -> None:
    some = diagnose(
        built("club-outdoor", MESH), notes(group(0.05, distance="30 m"), group(0.03)), expected=expected(),
        further=False, mesh=MESH,
    )  # fmt: skip
    figure = diagnosis(some)
    words = [text.get_text() for legend in figure.legends for text in legend.get_texts()]
    assert [one.partition(":")[0] for one in words[:2]] == ["at 18 m", "at 30 m"]
    assert "bare shafts at 18 m and 30 m" in figure.axes[0].get_title(loc="left")
    assert_legible(figure)


def test_ends_at_one_reading_stand_beside_one_another() -> None:
    ax = diagnosis(found()).axes[0]
    same = [one for one in found().groups if one.reading == pytest.approx(0.008)]
    places = [lines(ax, f"group {one.index + 1}")[0].get_xdata()[0] for one in same]
    assert len(same) == 3
    assert np.mean(places) == pytest.approx(8.0)
    assert np.diff(places) == pytest.approx([0.3, 0.3])
    assert "two ends" in {text.get_text() for text in ax.texts}


def test_picture_goes_into_the_figure_given() -> None:
    figure = new_figure(14.0)
    assert diagnosis(found(), figure) is figure


def test_what_to_do_now_stands_in_few_lines() -> None:
    text = diagnosis_table(found())
    assert "What the groups show" not in text
    answer = text.split("The move\n")[1].split("Before shooting")[0].strip().splitlines()
    assert len(answer) <= 12
    assert answer[0].strip().startswith("Locators DOWN")
    assert "8.0 mm (5/16 in) to " in text
    assert "Next: shoot 2 ends of three bare and six fletched shafts at 18 m" in " ".join(text.split())
