"""A general-purpose multibody engine shoots the same bow and arrow; docs/second-opinion.md has the whole table."""

from __future__ import annotations

import numpy as np
import pytest

pytest.importorskip("mujoco", reason="the multibody engine is not installed: pip install archerysim[outside]")

from tests.outside.engine import compare, table
from tests.outside.engine.compare import Pair, gap, pair

SHOTS = [(4.0, 0.0, 0.0), (12.0, 0.0, 0.5), (8.0, 5.0, 0.0), (12.0, 5.0, 0.5)]


@pytest.fixture(scope="module", params=SHOTS, ids=lambda shot: "{:g} mm, {:g} deg, {:g} turns".format(*shot))
def both(request: pytest.FixtureRequest) -> Pair:
    return pair(*request.param)


@pytest.mark.parametrize("moment", ["separation", "clear"])
def test_both_say_how_the_arrow_leaves(both: Pair, moment: str) -> None:
    apart = gap(getattr(both.ours, moment), getattr(both.theirs, moment))
    assert abs(apart.speed) < compare.MOST_SPEED
    assert abs(apart.vertical_velocity) < compare.MOST_VERTICAL
    assert abs(apart.pitch) < compare.MOST_PITCH


def test_both_hold_the_same_bow(both: Pair) -> None:
    """Statics: the engine stands still where it is let go, and there it is drawn as ours is."""
    assert both.theirs.first_acceleration < 0.1
    assert both.bare.residual < 1e-5
    assert both.drawn.residual < 1e-5
    assert both.bare.brace_height == pytest.approx(1e-3 * both.ours.brace_height, abs=1e-4)
    assert both.throat == pytest.approx(both.ours.braced.throat, abs=2e-5)
    assert np.hypot(*both.drawn.force) == pytest.approx(both.ours.draw_force, rel=2.5e-3)
    assert np.degrees(both.drawn.line) == pytest.approx(both.ours.aim_angle, abs=0.01)


def test_slope_and_height_matter_more_than_the_programs_differ() -> None:
    """The agreement says something: what is varied moves the pitch by far more than the tolerance."""
    pitches = [pair(*shot).theirs.clear.pitch for shot in SHOTS]
    assert min(abs(a - b) for i, a in enumerate(pitches) for b in pitches[:i]) > 3.0 * compare.MOST_PITCH


@pytest.mark.parametrize("shot", SHOTS)
def test_the_page_says_so(shot: tuple[float, float, float]) -> None:
    assert table.stands(table.sweep_row(*shot))
