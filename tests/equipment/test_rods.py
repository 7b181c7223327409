"""Rods that bend and limbs with hysteresis, as a file says them."""

from __future__ import annotations

from typing import Any

import pytest

from archerysim.equipment import SetupError, filled, sources
from archerysim.equipment.setup import Setup


@pytest.mark.parametrize(
    ("path", "value", "words"),
    [
        ("riser.rods.0.frequency", "0 Hz", "outside the allowed range 1 Hz to 1000 Hz"),
        ("riser.rods.0.frequency", "2000 Hz", "outside the allowed range 1 Hz to 1000 Hz"),
        ("riser.rods.0.frequency", "50 ms", "riser.rods.0.frequency"),
        ("riser.rods.0.frequency", 20, "has no unit"),
        ("riser.rods.0.damping", 0.6, "outside the allowed range 0 to 0.5"),
        ("riser.rods.0.rigid", "stiff", "riser.rods.0.rigid"),
        ("limbs.hysteresis", "25 %", "outside the allowed range 0 to 0.2"),
        ("upper_limb.hysteresis", -0.01, "outside the allowed range 0 to 0.2"),
    ],
)
def test_bad_values(measured: Setup, path: str, value: Any, words: str) -> None:
    with pytest.raises(SetupError, match=words):
        measured.replace(**{path: value})


def test_frequency_follows_length_and_masses_unless_it_is_given(measured: Setup) -> None:
    here = filled(measured).riser.rods[0].frequency
    longer = measured.replace(**{"riser.rods.0.length": f"{1e3 * 1.1 * measured.riser.rods[0].length} mm"})
    assert filled(longer).riser.rods[0].frequency == pytest.approx(here * 1.1**-1.5, rel=1e-9)
    assert sources(measured)["riser.rods.0.frequency"].kind == "derived"
    given = measured.replace(**{"riser.rods.0.frequency": "18 Hz", "riser.rods.0.length": "1 m"})
    assert filled(given).riser.rods[0].frequency == 18.0
    nothing = measured.replace(**{"riser.rods.0.length": "0 mm"})
    assert filled(nothing).riser.rods[0].frequency == 0.0
    short = measured.replace(**{"riser.rods.0.length": "2 mm"})
    assert filled(short).riser.rods[0].frequency == 0.0  # stiffer than any need be
    assert not filled(short).riser.rods[0].bends


def test_both_limbs_or_one(measured: Setup) -> None:
    both = filled(measured.replace(**{"limbs.hysteresis": "1 %"}))
    assert (both.upper_limb.hysteresis, both.lower_limb.hysteresis) == (0.01, 0.01)
    one = filled(measured.replace(**{"upper_limb.hysteresis": "1 %"}))
    assert one.upper_limb.hysteresis == 0.01 != one.lower_limb.hysteresis
