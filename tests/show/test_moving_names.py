"""Names in the moving picture of flights: a colour each, and nothing over anything, however long they are."""

from __future__ import annotations

import dataclasses
import itertools

import pytest
from matplotlib.text import Text

from archerysim.show.motion.flight import flight_scene
from archerysim.show.motion.paint import Painter
from archerysim.show.motion.release import release_scene
from archerysim.show.motion.scene import LETTERS
from archerysim.show.motion.short_names import cut, short
from archerysim.show.text_widths import text_width
from tests.show.test_flights_told_apart import LONG, ten
from tests.support.show.legible_pictures import TOUCHING
from tests.support.show.pages_read_back import FEW
from tests.support.show.shots_in_both_planes import KINDS, sideways_shot

NAMES = {
    "short": ["a", "b", "c"], "the same": ["shaft"] * 3, "the same and long": [LONG] * 3, "wide": ["W" * 80] * 3,
}  # fmt: skip
MIRRORED = ("left-handed", "strikes and touches", "on a shelf")


def assert_names_apart(painter: Painter) -> None:
    """No word with a name in it lies over another; large numbers stand above their small words by design."""
    painter.figure.draw_without_rendering()
    texts = [one for one in painter.figure.findobj(Text) if one.get_visible() and one.get_text().strip()]
    boxes = [(one.get_text(), one.get_window_extent()) for one in texts]
    for (one, box), (other, its) in itertools.combinations(boxes, 2):
        wide, high = min(box.x1, its.x1) - max(box.x0, its.x0), min(box.y1, its.y1) - max(box.y0, its.y0)
        assert min(wide, high) <= TOUCHING or "distance of the point" in (one, other) or "time" in (one, other), (
            one,
            other,
        )
        assert box.x1 <= painter.figure.bbox.x1, one


@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize("count", [1, 3])
@pytest.mark.parametrize("kind", NAMES)
def test_names_lie_over_nothing(kind: str, count: int, mirrored: bool) -> None:
    scene = flight_scene(ten()[1 : 2 * count : 2], names=NAMES[kind][:count], frames=FEW, left_handed=mirrored)
    painter = Painter(scene)
    painter.draw(FEW - 1)
    assert_names_apart(painter)
    words = [one.texts[0] for one in scene.panels[-1].words[-count:]]
    assert len(set(words)) == count
    assert len({one.color for one in scene.panels[-1].lines}) == count


def test_a_bow_s_name_that_is_too_long_is_cut() -> None:
    scene = flight_scene(dataclasses.replace(ten()[0], name=LONG), frames=FEW)
    assert scene.panels[-1].words[0].texts[0].endswith("…: 18 m")
    assert scene.title == f"{LONG}: 18 m"
    assert_names_apart(Painter(scene))


@pytest.mark.parametrize(
    ("kind", "mirrored"), [*((kind, False) for kind in KINDS), *((kind, True) for kind in MIRRORED)]
)
def test_words_of_a_release_lie_over_nothing(kind: str, mirrored: bool) -> None:
    painter = Painter(release_scene(sideways_shot(kind), left_handed=mirrored, frames=FEW))
    for frame in (0, 3, FEW - 1):
        painter.draw(frame)
        assert_names_apart(painter)


def test_cut_names_fit_and_stay_apart() -> None:
    assert cut("fletched", 200.0, LETTERS) == "fletched"
    assert text_width(cut(LONG, 100.0, LETTERS), LETTERS) <= 100.0
    names = short([LONG, LONG, "bare"], 120.0, LETTERS)
    assert len(set(names)) == 3
    assert all(text_width(one, LETTERS) <= 120.0 for one in names)
