"""What is told of a string that lies on its limbs: where at brace, till which draw, when and how in the shot."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from archerysim import status
from archerysim.errors import ShotError
from archerysim.mechanics.arrays import LOWER, UPPER, Wrap
from archerysim.mechanics.forces.wrap import belly_line, belly_piece
from archerysim.shot.arrays.wraps import string_line
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.launch import Launch
from archerysim.shot.release.release import FRAMES, loose
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
    """The slap takes nothing: a taut string that rolls on to the belly comes down on it at rest, piece by piece."""
    for moment in (bow().launch().separation, bow().launch().clear):
        assert abs(moment.energy.residual) < 1e-4 * moment.energy.stored
    half = replace(bow(), step_factor=0.5).launch().clear.energy
    assert abs(half.residual) < 3e-5 * half.stored


def test_straight_limbs_have_none_of_it() -> None:
    straight = bow(False)
    assert straight.braced.lying == (0.0, 0.0)
    assert straight.braced.loaded_length == straight.braced.square.span
    launch = straight.launch()
    assert np.isnan([launch.string_on_upper_at, launch.string_on_lower_at]).all()
    assert np.isnan([launch.slap_speed_upper, launch.slap_speed_lower]).all()
    assert np.isnan([launch.slap_force_upper, launch.slap_force_lower]).all()


def end_cell(launch: Launch, wrap: Wrap) -> np.ndarray:
    """At every picture: angle of the end cell off the belly at the tip [rad], length that lies there [m], the string's
    pull [N] and by how much it turns along what lies there [rad]; by the belly as it is drawn."""
    trace, chain = launch.traced(), launch.braced.chain
    out = []
    for x, y in zip(trace.frame_x, trace.frame_y, strict=True):
        line = np.empty((2, 101))
        belly_line(wrap, x.copy(), y.copy(), *np.empty((2, wrap.reach + 2)), *line)
        belly = np.array(belly_piece(wrap, x, y, 1)).reshape(3, 2)
        string = np.array([x[wrap.string], y[wrap.string]])
        along, away = belly[1] - belly[0], string - belly[0]
        off = wrap.side * np.arctan2(away[0] * along[1] - away[1] * along[0], away @ along)
        free = string - line[:, -1]
        lies = float(np.hypot(*np.diff(line, axis=1)).sum())
        longer = lies + np.hypot(*free) - chain.rest_length[wrap.cell]
        turn = np.arccos(min(free @ along / (np.hypot(*free) * np.hypot(*along)), 1.0)) if lies > 0.0 else 0.0
        out.append((off, lies, float(wrap.stretch[0]) * max(longer, 0.0), turn))
    return np.array(out)


@pytest.mark.parametrize("limb", ["upper", "lower"])
def test_the_slap_is_that_of_the_pictures(limb: str) -> None:
    """Its speed by differences of the angle, its force by pull and turn, both worked out once more."""
    launch = bow().launch(trace=True)
    chain = launch.braced.chain
    off, lies, pull, turn = end_cell(launch, chain.above if limb == "upper" else chain.below).T
    time = launch.traced().frame_time
    down = int(np.flatnonzero(lies > 0.0)[0])
    assert time[down] == getattr(launch, f"string_on_{limb}_at")
    assert off[down - 1] >= 0.0 > off[down]
    rate = (off[down - 1] - off[down]) / (time[down] - time[down - 1])
    assert getattr(launch, f"slap_speed_{limb}") == pytest.approx(0.5 * rate * lies.max(), rel=1e-3)
    assert getattr(launch, f"slap_force_{limb}") == pytest.approx((2.0 * pull * np.sin(0.5 * turn)).max(), rel=1e-3)
    assert 1.0 < getattr(launch, f"slap_speed_{limb}") < 6.0
    assert 200.0 < getattr(launch, f"slap_force_{limb}") < 800.0
    assert getattr(launch.timeline, f"string_on_{limb}") == time[down]


def test_the_slap_depends_little_on_mesh_and_looks() -> None:
    """Speed within 5 %, force within 3 % of those on twice the cells, looked at four times as often."""
    launch = bow().launch()
    finer = FittedBow.of(measured("club-outdoor").with_si(**RECURVE), "default").launch()
    often = loose(finer.drawing, finer.drawn, frames=4 * FRAMES, planes=2).slaps
    for limb, name in ((UPPER, "upper"), (LOWER, "lower")):
        speed = 0.5 * often[limb].rate * often[limb].lying
        assert getattr(launch, f"slap_speed_{name}") == pytest.approx(speed, rel=0.05)
        assert getattr(launch, f"slap_force_{name}") == pytest.approx(often[limb].press, rel=0.03)


def test_a_string_that_lies_on_more_than_its_end_cell_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """The limb is looked at over three nodes only, fewer than the string lies on."""
    monkeypatch.setattr("archerysim.shot.arrays.build.wrap_reach", lambda limb, cells: 3)
    with pytest.raises(ShotError, match="lies along more of a limb") as caught:
        _ = FittedBow.of(measured("club-outdoor").with_si(**RECURVE), "default").braced
    assert caught.value.status == status.LIES_TOO_FAR
