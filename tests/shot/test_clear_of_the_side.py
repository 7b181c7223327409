"""The arrow is clear when its tail is past the side support too, wherever that stands."""

from __future__ import annotations

import pytest

from tests.support.shot.example_bows import fitted


@pytest.mark.parametrize("forward", [0.0, 30.0, 60.0, 80.0])
def test_the_tail_is_past_before_the_arrow_is_clear(forward: float) -> None:
    launch = fitted("club-outdoor").launch({"side.forward": f"{forward} mm"})
    assert launch.passage.tail_past_at < launch.clear.time
    lean_and_aim = 1e-3  # [m] by which places along the aim line differ from those along the riser's x
    assert launch.clear.nock_x == pytest.approx(max(0.05, 1e-3 * forward + 0.005), abs=2.0 * lean_and_aim)
