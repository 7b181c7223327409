"""A picture of a shot or a draw that passes a limit says so at its foot."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from archerysim import show
from archerysim.shot.shoot import draw, shoot
from tests.support.shot.example_bows import measured

MESH = "coarse"
LIGHT = {"arrow.point_mass": "0 gr", "arrow.mass_per_length": "2.5 gr/in"}
PICTURES: dict[str, Callable[[Any], Any]] = {
    "traces": lambda setup: show.traces(shoot(setup, MESH)),
    "throat": lambda setup: show.throat(shoot(setup, MESH)),
    "bow": lambda setup: show.bow(shoot(setup, MESH)).figure,
    "curve": lambda setup: show.curve(draw(setup, 9, MESH)).figure,
}


def foot(figure: Any) -> str:
    return "\n".join(text.get_text() for text in figure.texts if text.get_text().startswith("!"))


@pytest.mark.parametrize("name", PICTURES)
def test_a_limit_that_is_passed_stands_at_the_foot(name: str) -> None:
    plain, light = (PICTURES[name](measured("club-outdoor").replace(**changes)) for changes in ({}, LIGHT))
    assert not foot(plain)
    assert "DO NOT SHOOT" in foot(light)
    assert light.get_figheight() > plain.get_figheight()
    light.draw_without_rendering()
    panels = min(ax.get_tightbbox().y0 for ax in light.axes)
    assert max(text.get_window_extent().y1 for text in light.texts if text.get_text().startswith("!")) < panels
