"""Reading groups as printed and as drawn."""

from __future__ import annotations

import dataclasses
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from archerysim.shot.bare import CAUTION
from archerysim.show.notes import diagnosis, diagnosis_table
from archerysim.show.style import new_figure, save_figure
from archerysim.study.diagnose import Diagnosis, diagnose
from tests.shot.examples import built
from tests.study.noted_cases import LOW, MESH, expected, group, notes


@cache
def found() -> Diagnosis:
    some = notes(group(0.08, reading=LOW), group(-0.3, wind="4 m/s"), group(-0.06, bare_bad=(0.4,)), group(-0.06))
    return diagnose(built("club-outdoor", MESH), some, expected=expected(), further=False, mesh=MESH)


def test_table_tells_the_move_first_and_the_caution_with_it() -> None:
    text = diagnosis_table(found())
    assert " ".join(CAUTION.split()) in " ".join(text.replace("!", " ").split())
    assert text.index("locators DOWN") < text.index("The groups") < text.index("What the groups speak for")
    for part in ("repeat in calm", "underside", "top of the nock", "axis above square", "8.0 mm (5/16 in)", "%", " cm"):
        assert part in text
    assert "safe" not in text
    assert max(len(line) for line in text.splitlines()) <= 132


def test_table_has_the_bow_s_own_warnings_before_the_move() -> None:
    text = diagnosis_table(found())
    first = found().warnings[0][:40]
    assert text.index("Warnings") < text.index(first) < text.index("The move")
    calm = dataclasses.replace(found(), warnings=())
    assert "Warnings" not in diagnosis_table(calm)


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
    assert "no advice" in figure.axes[0].get_title(loc="left")
    assert len(figure.axes) == 1


def test_picture_where_contact_is_suspected_has_room_for_the_move(tmp_path: Path) -> None:
    some = diagnose(
        built("club-outdoor", MESH), notes(group(-0.8)), expected=expected(), further=False, mesh=MESH
    )  # fmt: skip
    assert some.causes == ()
    figure = diagnosis(some)
    (ax,) = figure.axes
    assert some.move is not None
    assert ax.get_xlim()[1] > 1e3 * some.move.to
    save_figure(figure, tmp_path / "contact.png")


def test_picture_shows_groups_model_move_and_profiles() -> None:
    figure = diagnosis(found())
    main, *small = figure.axes
    gids = {line.get_gid() for line in main.get_lines()}
    assert {"model 18 m", "now"} <= gids
    assert len(main.containers) == 4  # the group in wind is drawn too, hollow
    assert len(small) == len(found().causes) == 5
    curve = next(line for line in main.get_lines() if line.get_gid() == "model 18 m")
    assert np.all(np.diff(curve.get_ydata()) < 0.0)  # bare shafts land lower for a higher reading
    assert "reading" in main.get_xlabel()
    assert "[cm]" in main.get_ylabel()
    for ax, told in zip(small, found().causes, strict=True):
        line = next(one for one in ax.get_lines() if one.get_gid() == told.cause.name)
        x, y = (np.asarray(values) for values in line.get_data())
        assert x[np.argmin(y)] == pytest.approx(told.value)
        assert f"[{told.cause.unit}]" == ax.get_xlabel()
    assert CAUTION[:20] in figure.get_supxlabel()


def test_picture_goes_into_the_figure_given() -> None:
    figure = new_figure(14.0)
    assert diagnosis(found(), figure) is figure
