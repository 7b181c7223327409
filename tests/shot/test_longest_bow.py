"""The longest bow: 96 in, by its length, its string's and its limbs' within all ranges."""

from __future__ import annotations

import pytest

from archerysim.equipment import SetupError, filled, loads
from archerysim.shot.fitted_bow import FittedBow

LONG = """
name = "long self bow"
category = "traditional"
form = "measured"
[bow]
length = "96 in"
brace_height = "165 mm"
upper_tiller = "150 mm"
lower_tiller = "146 mm"
draw_weight = "60 lbf"
pocket_angle = "0 deg"
[riser]
length = "6 in"
mass = "0.25 kg"
[limbs]
mass = "330 g"
[string]
material = "linen"
strands = 60
[nock.locators]
reading = "8 mm"
[arrow]
length = "800 mm"
diameter = "8.5 mm"
spine = "0.4 in"
mass_per_length = "12 gr/in"
point_mass = "160 gr"
[archer]
draw_length = "30 in"
"""


def test_a_bow_of_96_in_shoots() -> None:
    setup = loads(LONG)
    assert 1.1 < filled(setup).upper_limb.length < 1.4
    bow = FittedBow.of(setup, "coarse")
    assert 2.2 < (bow.setup.string.length or 0.0) < 2.5  # some 3 in shorter than the bow [common practice]
    assert bow.drawn_to("28 in").drawn.weight == pytest.approx(60 * 4.4482216152605, rel=1e-6)
    assert bow.statics.drawn.weight > bow.drawn_to("28 in").drawn.weight  # the archer draws 30 in
    launch = bow.launch()
    assert 35.0 < launch.clear.speed < 60.0
    assert launch.clear.time > 0.0
    with pytest.raises(SetupError, match=r"bow\.length: \"97 in\" is outside the allowed range 36 in to 96 in"):
        setup.replace({"bow.length": "97 in"})
