"""Names are drawn as they stand: what stands between two dollar signs is no formula, and unknown letters are told."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from matplotlib.text import Text

import archerysim
from archerysim import show
from archerysim.equipment import Setup
from archerysim.shot.flight.bare_shaft import BareDifference
from archerysim.shot.launch import Launch
from archerysim.show.motion.paint import Painter
from archerysim.show.motion.release import release_scene
from archerysim.show.style import literal
from archerysim.study.bare_shaft.result import BareAgainstFletched
from archerysim.study.explanation.explain import Explained
from archerysim.study.groups.compare import ReadingGroups
from archerysim.study.measured.data import DrawForce, OwnData
from tests.support.shot.example_bows import built
from tests.support.show.made_sweeps import made_sweep
from tests.support.show.pages_read_back import FEW
from tests.support.study.made_ranges import made_range
from tests.support.study.noted_cases import LOW, expected, group, notes

NAME = r"a $\frac$ b_{ $x$ \$ c"
MESH = "coarse"


@cache
def bow() -> Setup:
    return built("club-outdoor", MESH).replace(name=NAME)


@cache
def launch() -> Launch:
    return archerysim.shoot(bow(), MESH)


@cache
def pair() -> BareDifference:
    return archerysim.bare_difference(launch(), "18 m")


@cache
def explained() -> Explained:
    return archerysim.explain(bow(), mesh=MESH, planes=1)


@cache
def shots() -> Any:
    return archerysim.group(bow(), 4, workers=1, mesh=MESH, progress=False)


def readings() -> ReadingGroups:
    return ReadingGroups(6.7, "no angle of attack at clear", (-2.0, 0.0), (shots(), None), ("", "too high"), 8.0)


def apart() -> BareAgainstFletched:
    heights = np.linspace(0.05, -0.05, 3)[:, None]
    return BareAgainstFletched(
        setup=bow(), readings=np.array([4.0, 8.0, 12.0]), distances=np.array([18.0]), today=8.0, nock_height=5.8,
        taped=True, inputs=(), seed=0, value=heights, drag_and_mass=np.zeros(1), sample=np.stack([heights] * 41),
        sample_drag_and_mass=np.zeros((41, 1)), missing=(), ranges=(made_range(np.full(41, 8.0)),), moves=(None,),
        butts=(None,), sample_side=np.zeros((41, 3, 1)),
    )  # fmt: skip


def noted() -> Any:
    some = notes(group(0.08, reading=LOW), group(-0.06))
    found = expected()
    named = dataclasses.replace(found.bow, setup=bow())
    mine = dataclasses.replace(found, states=(found.states[0]._replace(bow=named),))
    return archerysim.diagnose(bow(), some, expected=mine, further=False, mesh=MESH)


def measured() -> Any:
    draw = DrawForce.with_si((0.4, 0.5, 0.6), (50.0, 90.0, 120.0))
    return archerysim.compare_data(bow(), OwnData(draw), mesh=MESH)


PICTURES: dict[str, Callable[[], Any]] = {
    "traces": lambda: show.traces(launch()),
    "throat": lambda: show.throat(launch()),
    "bow": lambda: show.bow(launch()),
    "energy": lambda: show.energy(launch()),
    "square": lambda: show.square(bow()),
    "curve": lambda: show.curve(archerysim.draw(bow(), 5, MESH)),
    "strain": lambda: show.strain(archerysim.strain_along(bow(), MESH)),
    "flight": lambda: show.flight([pair().fletched, pair().bare]),
    "strips": lambda: show.strips([pair().fletched, pair().bare]),
    "explain": lambda: show.explain(explained()),
    "contributions": lambda: show.contributions(explained()),
    "sweep": lambda: show.sweep(made_sweep(title=f"launch of {NAME}")),
    "sweep over names": lambda: show.sweep(made_sweep(others=(NAME, "no"))),
    "tuned": lambda: show.tuned(archerysim.tune(bow(), "no angle of attack", others=False, mesh=MESH)),
    "group": lambda: show.group(shots()),
    "group by reading": lambda: show.group_by_reading(readings()),
    "bare against fletched": lambda: show.bare_against_fletched(apart()),
    "target card": lambda: show.target_card(apart()),
    "notes": lambda: show.diagnosis(noted()),
    "own data": lambda: show.own_data(measured()),
    "moving": lambda: Painter(release_scene(launch(), frames=FEW)).figure,
}


@pytest.mark.parametrize("kind", PICTURES)
def test_a_name_is_drawn_as_it_stands(kind: str) -> None:
    drawn = PICTURES[kind]()
    figure = getattr(drawn, "figure", None) or drawn
    figure.draw_without_rendering()  # sets every text
    beginning = literal(NAME[:10])
    texts = [text.get_text() for text in figure.findobj(Text) if beginning in text.get_text().replace("\n", " ")]
    assert texts, "the name is not in the picture"
    for text in texts:
        assert text.replace("\n", " ").replace(r"\$", "").count("$") == 0


def test_a_moving_picture_in_a_browser_has_no_escapes(tmp_path: Path) -> None:
    page = show.animate(launch(), tmp_path / "shot.html", frames=FEW)
    assert r"a $\\frac$ b_{ $x$ \\$ c" in page.read_text("utf-8")  # as JSON writes it


def test_letters_that_the_font_has_not_are_named(tmp_path: Path) -> None:
    ax = show.square(bow().replace(name="弓 and 矢"))
    with pytest.warns(UserWarning, match="the picture's font has no 弓矢; an empty box stands for it") as told:
        show.save_figure(ax, tmp_path / "square.png")
    assert len(told) == 1
    assert (tmp_path / "square.png").stat().st_size > 0
