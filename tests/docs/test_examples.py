"""The examples: the bows of which limbs are told in tables. The scripts are run by the tests of their stories."""

from __future__ import annotations

import pytest

import archerysim
from archerysim.equipment.typical import oddities
from archerysim.shot.warnings import NONE
from tests.support.shot.example_bows import path_of


def test_the_longbow_is_a_usual_one() -> None:
    """Tables and draw weight agree about the wood, no value is odd, and its limbs bear less than yew usually does."""
    bow = archerysim.fit(archerysim.load(path_of("longbow")))
    assert bow.remarks == ()
    assert oddities(bow.given) == []
    launch = archerysim.shoot(bow, trace=False)
    assert launch.warnings == (NONE,)
    assert 40.0 < launch.clear.speed < 50.0  # [m/s], some 11 grains a pound: common practice
    flat = archerysim.shoot(bow, trace=False, planes=1)
    assert abs(flat.clear.angle_of_attack) < 0.2
    assert -0.3 < launch.clear.angle_of_attack < flat.clear.angle_of_attack  # a shelf without end turns it nose down
    along = archerysim.strain_along(bow)
    for one in along.strain:
        assert 0.007 < one.largest < 0.009  # usual for a wooden bow [judgement]
        assert one.limit is not None
        assert one.largest < one.limit
    working = along.from_root[0] < 0.5
    assert abs(along.belly[:, 1, working]).min() > 0.85 * abs(along.belly[:, 1, working]).max()  # all of a limb works


@pytest.mark.parametrize(("name", "strained"), [("flatbow", 0.009), ("training-bow", 0.0075)])
def test_bows_for_the_bench_pass_no_limit(name: str, strained: float) -> None:
    """Tables, laminations and draw weight agree; it braces, draws and shoots; its one fault is the lower limb."""
    bow = archerysim.fit(archerysim.load(path_of(name)))
    assert bow.setup.invented
    assert bow.remarks == ()
    launch = archerysim.shoot(bow, trace=True)
    assert launch.limits_passed == ()
    assert launch.warnings[-1] == NONE
    assert all("drawn so far" in one for one in launch.warnings[:-1])  # hickory comes near its usual limit, and says so
    assert 40.0 < launch.clear.speed < 50.0
    assert any("tiller split" in one.words for one in oddities(bow.given))  # too much of it
    for one in archerysim.strain_along(bow).strain:
        assert one.limit is not None
        assert one.largest < min(strained, one.limit)
    full = archerysim.filled(bow.setup)
    at = full.lower_limb.at[2:4]
    for low, high, place in zip(
        full.upper_limb.bending_stiffness[2:4], full.lower_limb.bending_stiffness[2:4], at, strict=True
    ):
        assert high > 1.02 * low, place


def test_a_stave_bends_too_little_where_its_story_says() -> None:
    along = archerysim.strain_along(archerysim.load(path_of("flatbow")))
    upper, lower = along.curvature[:, 1]
    at = along.from_root[1]
    flat = (at > 0.15) & (at < 0.42)
    assert (lower[flat] < 0.8 * upper[flat]).all()
    assert lower[flat].max() < min(lower[at < 0.08].min(), lower[(at > 0.48) & (at < 0.55)].min())
