"""The examples: the bow of which limbs are told in tables. The scripts are run by the tests of their stories."""

from __future__ import annotations

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
