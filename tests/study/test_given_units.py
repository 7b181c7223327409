"""Arguments of the public functions that have a dimension: each with its unit, none without."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

import archerysim
from archerysim import SetupError, show
from tests.support.shot.example_bows import built, measured, shot

MESH = "coarse"
READING = "nock.locators.reading"
CALLS: dict[str, Callable[[], Any]] = {
    "distance": lambda: archerysim.fly(shot("junior", mesh=MESH), distance=18.0),
    "elevation": lambda: archerysim.fly(shot("junior", mesh=MESH), distance="18 m", elevation=2.0),
    "target_height": lambda: archerysim.fly(shot("junior", mesh=MESH), distance="18 m", target_height=0.0),
    "ground": lambda: archerysim.fly(shot("junior", mesh=MESH), distance="18 m", ground=-1.4),
    "distance ": lambda: archerysim.bare_difference(shot("junior", mesh=MESH), 18.0),
    "distance  ": lambda: archerysim.group(built("junior", MESH), 2, distance=18.0, mesh=MESH),
    "distance   ": lambda: archerysim.together_reading(built("junior", MESH), MESH, distance=18.0),
    "first": lambda: archerysim.zero_attack_reading(built("junior", MESH), MESH, (0.005, 0.009)),
    "offsets": lambda: archerysim.group_by_reading(built("junior", MESH), 2, (0.0,), mesh=MESH),
    "best": lambda: archerysim.group_by_reading(built("junior", MESH), 2, ("0 mm",), best=0.008, mesh=MESH),
    "gap": lambda: archerysim.compare_locators(built("junior", MESH), 2, gap=5e-4, mesh=MESH),
    "within": lambda: archerysim.tune(built("junior", MESH), within=(0.0, 0.01), mesh=MESH),
    "size": lambda: archerysim.tune(built("junior", MESH), size=5.0, mesh=MESH),
    "crawls": lambda: archerysim.tune(built("junior", MESH), crawls=(0.02,), mesh=MESH),
    "distance    ": lambda: archerysim.tune(built("junior", MESH), distance=18.0, mesh=MESH),
    "scatter.draw_length": lambda: archerysim.Scatter(draw_length=0.003),
    READING: lambda: archerysim.sensitivity(measured("junior"), {READING: 0.0005}, mesh=MESH),
    f"{READING} ": lambda: archerysim.flights(built("junior", MESH), [0.004, 0.008], mesh=MESH),
    "distances": lambda: archerysim.bare_against_fletched(built("junior", MESH), None, (18.0,), mesh=MESH),
    "errors.speeds": lambda: archerysim.compare_data(
        built("junior", MESH), archerysim.OwnData(speeds=archerysim.Speeds((20, "g"), (50, "m/s"))),
        errors={"speeds": 0.5}, mesh=MESH,
    ),
    "speed": lambda: archerysim.Speeds((20, "g"), (50.0,)),
    "at": lambda: show.throat(archerysim.shoot(built("junior", MESH), MESH), at=[0.001]),
}  # fmt: skip


@pytest.mark.parametrize("path", CALLS)
def test_a_number_alone_is_refused_with_what_to_write(path: str) -> None:
    with pytest.raises(SetupError, match=r"has no unit.* for example") as caught:
        CALLS[path]()
    assert caught.value.path == path.strip()


def test_what_was_measured_carries_its_unit() -> None:
    data = archerysim.DrawForce(([20, 28], "in"), ("15 lbf", "34 lbf"))
    assert data == archerysim.DrawForce.with_si((0.508, 0.7112), data.force)
    assert data.force == pytest.approx((15 * 4.4482216152605, 34 * 4.4482216152605), rel=1e-15)
    track = archerysim.Track(([0.0, 1.0], "ms"), nock_y=([5.0, float("nan")], "mm"))
    assert track.nock_y[0] == 0.005
    assert track.nock_y[1] != track.nock_y[1]
    with pytest.raises(SetupError, match='"80 in" is outside the allowed range'):
        archerysim.DrawForce(("80 in",), ("15 lbf",))
    with pytest.raises(SetupError, match="weight: is not a column known here"):
        archerysim.DrawForce.with_si(draw_length=(0.5,), weight=(3.0,))
