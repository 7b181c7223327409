"""A picture of a changed bow says what was changed and what was held; one of a bow as its file has it does not."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

import pytest

from archerysim import show
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.launch import Launch
from archerysim.shot.shoot import draw, shoot
from archerysim.shot.strain_along import strain_along
from archerysim.show import style
from archerysim.study.explanation.explain import Explained, explain
from tests.support.cli.run_commands import here
from tests.support.shot.example_bows import fitted, path_of
from tests.support.show.legible_pictures import assert_apart, assert_legible

MESH = "coarse"
SHOTS = ("bow", "square", "throat", "traces", "energy", "views", "sideways", "clearance")
OTHERS = ("curve", "limbs", "strain", "explain", "contributions")
CHANGED = "changed: arrow point mass 100 gr; held: nothing else touched"


@cache
def bow(name: str, changed: bool) -> FittedBow:
    found = fitted(name, MESH)
    return found.with_changes({"arrow.point_mass": "100 gr"}) if changed else found


@cache
def shot(changed: bool) -> Launch:
    return shoot(bow("club-outdoor", changed), trace=True)


@cache
def explained(changed: bool) -> Explained:
    return explain(bow("club-outdoor", changed))


def picture(name: str, changed: bool) -> Any:
    one = bow("longbow" if name == "strain" else "club-outdoor", changed)
    if name in SHOTS:
        drawn = getattr(show, name)(shot(changed))
    elif name == "curve":
        drawn = show.curve(draw(one, 9))
    elif name == "limbs":
        drawn = show.limbs(one)
    elif name == "strain":
        drawn = show.strain(strain_along(one))
    else:
        drawn = getattr(show, name)(explained(changed))
    return getattr(drawn, "figure", None) or drawn


def words(figure: Any) -> str:
    return " ".join(figure.get_suptitle().split())


@pytest.mark.parametrize("name", [*SHOTS, *OTHERS])
def test_it_says_what_was_changed_under_its_title(name: str) -> None:
    changed, plain = picture(name, True), picture(name, False)
    assert CHANGED in words(changed)
    assert words(changed).count("changed:") == 1
    assert not words(changed).startswith("changed:")
    assert changed.get_figheight() >= plain.get_figheight()
    everything = " ".join(text.get_text() for ax in plain.axes for text in (*ax.texts, ax.title, ax._left_title))
    assert "changed:" not in words(plain) + everything
    assert_legible(changed)
    assert_apart(changed)


def test_what_stands_there_is_not_said_again() -> None:
    figure = picture("bow", True)
    before = figure.get_suptitle(), figure.get_figheight()
    style.changed(figure, bow("club-outdoor", True).edits)
    assert (figure.get_suptitle(), figure.get_figheight()) == before


@pytest.mark.parametrize(
    "given",
    [
        ("fly", "--distance", "18 m"), ("fly", "--distance", "18 m", "--picture", "strips"),
        ("tune", "--no-range", "--no-others"),
        ("bare-shaft", "--readings", "6, 8 mm", "--draws", "2", "--workers", "1"),
    ],
)  # fmt: skip
def test_pictures_of_commands_say_it(
    given: tuple[str, ...], tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    kept: list[Any] = []
    monkeypatch.setattr(style, "save_figure", lambda drawn, _: kept.append(getattr(drawn, "figure", None) or drawn))
    command, *more = given
    done = here(
        capsys, command, path_of("club-outdoor"), *more, "--set", "arrow.point_mass=100 gr", "--mesh", MESH, "--plot",
        tmp_path / "one.png",
    )  # fmt: skip
    assert done.status == 0, done.err
    (figure,) = kept
    assert CHANGED in words(figure)
    assert_legible(figure)
