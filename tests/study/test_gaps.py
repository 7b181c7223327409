"""Gaps over the reading and over the side support's preload: those of single shots, changes of left and right alone."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from archerysim.equipment import InSi, SetupError, filled
from archerysim.errors import UsageError
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.flight.bare_shaft import Gap, gap_at, leaving_at_sight
from archerysim.study.bare_shaft.gaps import PRELOAD, GapCurve, Gaps, GapsOver, gaps
from archerysim.study.uncertainty.inputs import draws_of, inputs_from, moved_together, quasi_normal
from tests.support.shot.example_bows import fitted, measured

KNOWN = {"archer.side_roll": "3 deg", "side.preload": "20 %", "nock.locators.reading": "0.5 mm"}
CURVES = ("height", "side_by_reading", "height_by_preload", "side_by_preload")


@cache
def found() -> Gaps:
    return gaps(
        measured("club-outdoor"), ["6 mm", "8 mm"], ["0 N", "2 N"], "18 m", draws=4, uncertainty=KNOWN, mesh="coarse",
        workers=1,
    )  # fmt: skip


@cache
def by_hand() -> dict[str, np.ndarray]:
    """Today, two readings and two preloads of the bow as given and of four draws (draw, point)."""
    bow = fitted("club-outdoor", "coarse")
    inputs = inputs_from(bow.given, KNOWN, 2)
    leaving = leaving_at_sight(bow.launch(), 18.0)
    rows: list[list[Gap]] = []
    for amounts in ({}, *draws_of(inputs, quasi_normal(len(inputs), 4, 0))):
        moved = moved_together(bow.given, inputs, amounts)
        drawn = FittedBow.of(moved, bow.mesh, planes=2)
        slip = drawn.reading - bow.reading
        share = filled(moved).side.preload / filled(bow.given).side.preload
        shots = [drawn.launch(), *(drawn.at_reading((mm * 1e-3 + slip, "m")) for mm in (6.0, 8.0))]
        shots += [drawn.launch(InSi({PRELOAD: share * force})) for force in (0.0, 2.0)]
        rows.append([gap_at(one, 18.0, leaving) for one in shots])
    return {name: np.array([[getattr(one, name) for one in row] for row in rows]) for name in ("height", "side")}


def expected(sample: np.ndarray) -> GapCurve:
    low, high = np.quantile(sample[1:], (0.05, 0.95), axis=0)
    return GapCurve(sample[0], low, high)


@pytest.mark.parametrize("name", CURVES)
def test_curves_are_those_of_single_shots(name: str) -> None:
    assert found().struck == found().failed == 0
    height, side = by_hand()["height"], by_hand()["side"]
    samples = {
        "height": height[:, 1:3], "side_by_reading": side[:, 1:3] - side[:, :1],
        "height_by_preload": height[:, 3:] - height[:, :1], "side_by_preload": side[:, 3:] - side[:, :1],
    }  # fmt: skip
    want, got = expected(samples[name]), getattr(found(), name)
    for one in ("value", "low", "high"):
        np.testing.assert_allclose(getattr(got, one), getattr(want, one), atol=1e-6)


def test_today_is_where_nothing_has_changed() -> None:
    for curve in (found().side_by_reading, found().side_by_preload, found().height_by_preload):
        np.testing.assert_allclose([curve.value[1], curve.low[1], curve.high[1]], 0.0, atol=1e-6)
    assert found().today == pytest.approx(8.0)
    assert found().preload_today == 2.0
    assert (found().height.low < found().height.high).all()


def test_a_shot_on_whose_way_something_touches_tells_no_left_or_right(monkeypatch: pytest.MonkeyPatch) -> None:
    def gap(self: GapsOver, shoot: object) -> tuple[float, float, bool]:
        del self, shoot
        seen.append(0)
        k = (len(seen) - 1) % 5
        return float(k), float(k), k == 1  # at the first reading

    seen: list[int] = []
    monkeypatch.setattr(GapsOver, "_gap", gap)
    told = gaps(
        measured("club-outdoor"), ["6 mm", "8 mm"], ["0 N", "2 N"], draws=2, uncertainty=KNOWN, mesh="coarse", workers=1
    )
    assert told.touching[0].tolist() == [True, False]
    assert np.isnan(told.side_by_reading.value).tolist() == [True, False]
    assert np.isnan(told.side_by_reading.low).tolist() == [True, False]
    assert np.isfinite(told.height.value).all()
    assert told.side_by_preload.value.tolist() == [3.0, 4.0]


def test_usual_preloads_begin_at_none_and_a_plate_has_none() -> None:
    bow = measured("club-outdoor").replace(**{"side.preload": "1 N"})
    told = gaps(bow, ["8 mm", "9 mm"], draws=2, uncertainty=KNOWN, mesh="coarse", workers=1)
    assert told.preloads.tolist() == [0.0, 1.0, 2.0, 3.0]
    plate = measured("longbow")
    assert gaps(plate, draws=2, uncertainty={"rest.height": "0.1 mm"}, mesh="coarse", workers=1).preloads.size == 0
    with pytest.raises(SetupError, match="a plate has no spring"):
        gaps(plate, preloads="1 N", mesh="coarse")


def test_one_plane_is_refused_and_a_table_has_units() -> None:
    with pytest.raises(UsageError, match="has no left and right"):
        gaps(measured("club-outdoor"), planes=1, mesh="coarse")
    table = found().to_xarray()
    np.testing.assert_array_equal(table["side_by_preload_high"], found().side_by_preload.high)
    assert table["height_low"].dims == ("reading",)
    assert table["height_low"].attrs["units"] == "m"
