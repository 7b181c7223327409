"""A laminated bow, fitted and strained: each lamination against its own limit, the fit's common factor."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

import archerysim
from archerysim.equipment import filled
from archerysim.show.csv import write_sections

LONGBOW = archerysim.load("examples/longbow.toml")
STRIP = {"material": "unidirectional glass", "thickness": "0.7 mm"}
CORE = {"material": "maple", "thickness": "8 mm", "taper": 0.003}
FACED = LONGBOW.replace({"limbs.laminations": [STRIP, CORE, STRIP], "limbs.thickness": None, "limbs.material": None})


def test_the_fit_finds_one_factor_for_all() -> None:
    bow = archerysim.fit(FACED)
    before, after = filled(FACED).upper_limb, filled(bow.setup).upper_limb
    factor = after.modulus / before.modulus
    assert after.bending_stiffness == pytest.approx([factor * one for one in before.bending_stiffness], rel=1e-12)
    assert after.laminations == before.laminations
    for met in bow.met:
        assert met.found == pytest.approx(met.wanted, rel=1e-4)
    thick = FACED.replace({"limbs.laminations.0.thickness": "1.5 mm"})
    assert any("width and laminations fit the measured bow" in one for one in archerysim.fit(thick).remarks)


def test_a_core_is_held_to_the_limit_of_its_own_wood() -> None:
    """Glass bears more than maple: the core's outer fibres come nearest to their limit, strained in between."""
    found = archerysim.strain_along(FACED)
    most = np.abs(found.back[0]).max(), np.abs(found.belly[0]).max()
    limb = found.strain[0]
    assert (limb.side, limb.usual_for, limb.limit) == ("lamination 2", "maple", 0.0087)
    assert limb.largest < max(most)
    stiff = FACED.replace({"limbs.laminations.0.strain_limit": 0.001})
    assert archerysim.strain_along(stiff).strain[0].side in ("back", "lamination 1")
    assert any("back is strained by" in one for one in archerysim.strain_along(stiff).warnings)
    own = archerysim.strain_along(FACED.replace({"limbs.strain_limit": 0.012})).strain[0]
    assert (own.side, own.limit, own.usual_for) == ("belly", 0.012, "")
    assert own.largest == pytest.approx(max(most), rel=0.01)


def test_strain_runs_straight_through_the_section() -> None:
    """Plane sections: a strip of the same stiff material all through is strained as the solid limb."""
    solid = LONGBOW.replace({"limbs.modulus": "9.3 GPa"})
    half = [{"material": "yew", "thickness": [f"{500 * one!r} mm" for one in LONGBOW.upper_limb.thickness or ()]}] * 2
    halves = LONGBOW.replace({"limbs.laminations": half, "limbs.thickness": None, "limbs.material": None})
    one, other = archerysim.strain_along(solid), archerysim.strain_along(halves)
    for name in ("back", "belly", "curvature"):
        np.testing.assert_allclose(getattr(other, name), getattr(one, name), rtol=1e-6, atol=1e-9)
    assert other.strain[0].largest == pytest.approx(one.strain[0].largest, rel=1e-6)


def test_sections_written_are_read_as_the_same_limb(tmp_path: Path) -> None:
    write_sections(LONGBOW, "upper", tmp_path / "limb.csv")
    lines = [one for one in LONGBOW.to_toml().splitlines() if not one.startswith(("stations", "width", "thickness"))]
    lines.insert(lines.index("[limbs]") + 1, 'sections = "limb.csv"')
    (tmp_path / "bow.toml").write_text("\n".join(lines))
    again = archerysim.load(tmp_path / "bow.toml").upper_limb
    for name in ("stations", "width", "thickness"):
        assert getattr(again, name) == pytest.approx(getattr(LONGBOW.upper_limb, name), rel=1e-12)
    assert all(low < high for low, high in pairwise(again.stations or ()))
    with pytest.raises(archerysim.SetupError, match=r"upper_limb\.width: not given: there are no sections"):
        write_sections(archerysim.load("examples/club-outdoor.toml"), "upper", tmp_path / "none.csv")
