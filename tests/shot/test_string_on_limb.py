"""What is told of a string that lies on its limbs: where at brace, till which draw, when in the shot."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from archerysim import status
from archerysim.errors import ShotError
from archerysim.shot.arrays.wraps import string_line
from archerysim.shot.fitted_bow import FittedBow
from tests.support.shot.example_bows import measured

MESH = "coarse"
RECURVE = {
    "limbs.at": (0.0, 0.6, 0.68, 1.0),
    "limbs.bending_stiffness": (1.0, 0.541, 0.48, 0.235),
    "limbs.natural_curvature": (0.0, 0.0, 6.0, 6.0),
    "bow.pocket_angle": np.radians(2.0),
}


@cache
def bow(curved: bool = True) -> FittedBow:
    setup = measured("club-outdoor")
    return FittedBow.of(setup.with_si(**RECURVE) if curved else setup.replace(**{"limbs.shape": "straight"}), MESH)


def test_at_brace_it_lies_on_both_limbs_and_its_line_is_as_long_as_it_says() -> None:
    braced = bow().braced
    upper, lower = braced.lying
    assert 0.03 < upper < 0.10
    assert 0.03 < lower < 0.10
    line = string_line(braced.chain, braced.marks, np.column_stack((braced.x, braced.y)))
    assert float(np.hypot(*np.diff(line, axis=0).T).sum()) == pytest.approx(braced.loaded_length, abs=2e-4)


def test_it_leaves_the_limbs_in_the_draw_and_comes_down_on_them_in_the_shot() -> None:
    curve = bow().draw_curve(25)
    assert (np.diff(curve.lying, axis=0) <= 1e-9).all()  # less and less
    for leaves in curve.string_leaves_at:
        assert curve.draw_length[0] < leaves < curve.draw_length[-1]
    launch = bow().launch()
    for down in (launch.string_on_upper_at, launch.string_on_lower_at):
        assert 0.0 < down < launch.separation.time
    traced = bow().launch(trace=True)
    assert (traced.string_on_upper_at, traced.string_on_lower_at) == (
        launch.string_on_upper_at, launch.string_on_lower_at
    )  # fmt: skip


def test_the_energy_account_closes_with_the_string_on_the_limbs() -> None:
    energy = bow().launch().clear.energy
    assert abs(energy.residual) < 1e-3 * energy.stored


def test_straight_limbs_have_none_of_it() -> None:
    straight = bow(False)
    assert straight.braced.lying == (0.0, 0.0)
    assert straight.braced.loaded_length == straight.braced.square.span
    launch = straight.launch()
    assert np.isnan([launch.string_on_upper_at, launch.string_on_lower_at]).all()


def test_a_string_that_lies_on_more_than_its_end_cell_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """The limb is looked at over three nodes only, fewer than the string lies on."""
    monkeypatch.setattr("archerysim.shot.arrays.build.wrap_reach", lambda limb, cells: 3)
    with pytest.raises(ShotError, match="lies on more of a limb") as caught:
        _ = FittedBow.of(measured("club-outdoor").with_si(**RECURVE), "default").braced
    assert caught.value.status == status.LIES_TOO_FAR
