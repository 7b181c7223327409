"""Shots that have no answer: each raises a ShotError with its status, its stage and what to do."""

from __future__ import annotations

import numpy as np
import pytest

from archerysim import status
from archerysim.equipment import filled
from archerysim.errors import LOST_FLIGHT, REMEDY, SHORT_ARROW, TWO_BOWS, ShotError
from archerysim.shot.arrays.mesh import MESHES
from archerysim.shot.release.release import loose
from archerysim.shot.shoot import brace, draw, shoot
from archerysim.shot.statics.brace import brace_with_string
from archerysim.shot.statics.draw import draw_to, full_draw_x
from archerysim.shot.statics.fit import fit
from tests.support.shot.example_bows import built, changed, measured


def test_every_status_has_a_remedy() -> None:
    codes = {value for name, value in vars(status).items() if name.isupper()} - {status.OK}
    assert set(REMEDY) == codes | {SHORT_ARROW, TWO_BOWS, LOST_FLIGHT}
    for text in REMEDY.values():
        assert len(text.split()) > 6


def test_message() -> None:
    error = ShotError("draw", status.OFF_REST, "at 711 mm")
    assert error.stage == "draw"
    assert error.status == status.OFF_REST
    assert str(error).startswith("draw: at full draw")
    assert str(error).endswith("(at 711 mm)")


def test_time_cap() -> None:
    full = filled(built("club-outdoor"))
    braced = brace_with_string(full, full.number("string.length"), MESHES["default"])
    drawing, drawn = draw_to(full, braced, full_draw_x(full))
    with pytest.raises(ShotError, match="not clear in the time allowed") as caught:
        loose(drawing, drawn, cap=1e-3)
    assert caught.value.status == status.TIME_CAP
    assert caught.value.stage == "release"


def test_the_cap_leaves_a_slow_arrow_time() -> None:
    """The heaviest arrow on the lightest example is clear in half the time allowed."""
    heavy = changed(built("junior"), arrow__point_mass="600 gr", arrow__mass_per_length="40 gr/in")
    assert heavy.clear.time < 0.125


@pytest.mark.parametrize("longer", [0.0, 0.01])
def test_draw_shorter_than_brace(longer: float) -> None:
    full = filled(built("club-outdoor"))
    braced = brace_with_string(full, full.number("string.length"), MESHES["default"])
    with pytest.raises(ShotError, match="shorter than the brace height") as caught:
        draw_to(full, braced, -braced.brace_height + longer)
    assert caught.value.stage == "draw"


def test_draw_shorter_than_brace_from_a_setup() -> None:
    high = measured("junior").replace(**{
        "bow.brace_height": "335 mm", "bow.upper_tiller": "310 mm", "bow.lower_tiller": "307 mm",
        "bow.draw_weight_at": "15 in", "archer.draw_length": "15 in",
    })  # fmt: skip
    for job in (draw, shoot):
        with pytest.raises(ShotError, match="shorter than the brace height"):
            job(high)


@pytest.mark.parametrize("finger", [1, 2])
def test_arrow_lifted_off_the_rest(finger: int) -> None:
    """The whole load on one finger below a nock that holds the string hard on a sloped floor."""
    shares = [0.0, 0.0, 0.0]
    shares[finger] = 1.0
    straight = fit(measured("club-outdoor").replace(**{"limbs.shape": "straight"})).setup
    with pytest.raises(ShotError, match="lifts the arrow off the rest; move load from one finger") as caught:
        changed(
            straight, archer__finger_shares=shares, nock__grip="50 N", nock__floor="5.8 mm",
            nock__slope="30 deg", arrow__point_mass="2 g",
        )  # fmt: skip
    assert caught.value.status == status.OFF_REST


def test_the_same_nock_with_the_load_above_lies_on_its_rest() -> None:
    done = changed(
        built("club-outdoor"), archer__finger_shares=(1.0, 0.0, 0.0), nock__grip="50 N", nock__floor="5.8 mm",
        nock__slope="30 deg", arrow__point_mass="2 g",
    )  # fmt: skip
    assert done.drawn.rest_force > 0.0


@pytest.mark.parametrize("length", [0.7, 1.8, 2.2])
def test_a_string_far_too_long_or_short_is_refused(length: float) -> None:
    with pytest.raises(ShotError) as caught:
        brace(built("club-outdoor").with_si(**{"string.length": length}))
    assert caught.value.stage == "brace"


def test_a_shaft_too_short_for_the_draw() -> None:
    with pytest.raises(ShotError, match="does not reach the rest at full draw") as caught:
        changed(built("club-outdoor"), arrow__length="26 in")
    assert caught.value.status == SHORT_ARROW


def test_nothing_refused_is_a_number() -> None:
    """An error carries no launch: what a caller gets is an exception, never NaN."""
    done = changed(built("junior"))
    for moment in (done.separation, done.clear):
        assert all(np.isfinite(v) for v in vars(moment).values() if isinstance(v, float))


@pytest.mark.parametrize("length", ["1.75 m", "2.2 m"])
def test_a_string_too_long_is_slack_and_says_so(length: str) -> None:
    with pytest.raises(ShotError, match=r"the string is slack; shorten string.length") as caught:
        brace(built("club-outdoor").with_si(**{"string.length": length}))
    assert caught.value.status == status.SLACK_STRING
