"""To what the fit lays the difference of the tillers: the pockets, the limbs' stiffness, or both."""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import pytest

from archerysim.equipment import Setup, SetupError, filled
from archerysim.shot.arrays.mesh import MESHES
from archerysim.shot.statics import fit as fitting
from archerysim.shot.statics.brace import brace_with_string
from archerysim.shot.statics.fit import Fit, fit
from tests.support.shot.example_bows import measured

MESH = "coarse"
HOW = ("pockets", "stiffness", "both")
CURVED = {
    "limbs.at": (0.0, 0.6, 0.68, 1.0), "limbs.natural_curvature": (0.0, 0.0, 4.0, 4.0), "bow.pocket_angle": 0.06,
}  # fmt: skip
SHAPED = {
    "limbs.width": ("42 mm", "16 mm"), "limbs.thickness": ("8 mm", "5 mm"), "limbs.modulus": "30 GPa",
}  # fmt: skip
BOWS: dict[str, tuple[str, dict[str, Any]]] = {
    "club": ("club-outdoor", {}), "curved": ("club-outdoor", CURVED), "shaped": ("junior", SHAPED),
    "unlike": ("barebow", {"upper_limb.length": 0.56, "lower_limb.length": 0.53}),
}  # fmt: skip


def setup(bow: str, how: str | None = None) -> Setup:
    name, changes = BOWS[bow]
    return measured(name).with_si(**changes, **{"bow.split_from": how})


@cache
def found(bow: str, how: str) -> Fit:
    return fit(setup(bow, how), MESH)


def stiffness(one: Fit) -> float:
    """The upper limb's over the lower's, of the bow as built."""
    full = filled(one.setup)
    upper, lower = (np.array(limb.bending_stiffness) for limb in (full.upper_limb, full.lower_limb))
    assert upper / lower == pytest.approx(float((upper / lower)[0]), rel=1e-12)
    return float((upper / lower)[0])


def leaning(one: Fit) -> float:
    """How far the upper pocket leans forward of the lower [rad]."""
    upper, lower = one.setup.upper_limb.pocket_angle, one.setup.lower_limb.pocket_angle
    assert upper is not None
    assert lower is not None
    return upper - lower


@pytest.mark.parametrize("how", HOW)
@pytest.mark.parametrize("bow", BOWS)
def test_the_same_measures_by_each(bow: str, how: str) -> None:
    """Braced anew from its file, the bow has brace height and tillers; its pockets and stiffness are what is told."""
    one = found(bow, how)
    full = filled(one.setup)
    braced = brace_with_string(full, full.number("string.length"), MESHES[MESH])
    given = setup(bow).bow
    np.testing.assert_allclose(
        (braced.brace_height, braced.upper_tiller, braced.lower_tiller),
        (given.brace_height, given.upper_tiller, given.lower_tiller), rtol=1e-6,
    )  # fmt: skip
    assert one.laid is not None
    assert one.laid.split_from == how
    assert one.laid.found == (how != "pockets")
    assert leaning(one) == pytest.approx(one.laid.pockets, abs=1e-15)
    assert stiffness(one) == pytest.approx(one.laid.stiffness_ratio, rel=1e-12)


@pytest.mark.parametrize("bow", BOWS)
def test_what_each_finds(bow: str) -> None:
    pockets, limbs, both = (found(bow, how) for how in HOW)
    assert stiffness(pockets) == pytest.approx(1.0, rel=1e-12)
    assert leaning(limbs) == pytest.approx(0.0, abs=1e-15)
    assert leaning(both) == pytest.approx(0.5 * leaning(pockets), rel=1e-12)
    assert 0.0 < np.log(stiffness(both)) / np.log(stiffness(limbs)) < 1.0
    # as far forward as a pocket that leans more: a stiffer limb
    assert np.sign(leaning(pockets)) == np.sign(np.log(stiffness(limbs)))


@pytest.mark.parametrize("bow", BOWS)
def test_the_ratio_found_and_given_is_the_same_bow(bow: str) -> None:
    """The pockets find nothing that is left to them."""
    first = found(bow, "stiffness")
    again = fit(setup(bow, "both").with_si(**{"bow.stiffness_ratio": stiffness(first)}), MESH)
    assert again.laid is not None
    assert not again.laid.found
    assert leaning(again) == pytest.approx(0.0, abs=1e-7)
    assert again.setup.string.length == pytest.approx(first.setup.string.length, rel=1e-8)
    assert again.stiffness_factor == pytest.approx(first.stiffness_factor, rel=1e-7)


def test_a_larger_upper_tiller_is_a_softer_upper_limb() -> None:
    """Common practice: the limb that is to bend more is left weaker."""
    club = setup("club", "stiffness").with_si(**{"upper_limb.mass": 0.165, "lower_limb.mass": 0.165})
    ratios = [
        stiffness(fit(club.with_si(**{"bow.upper_tiller": 0.190 + split}), MESH)) for split in (0.0, 0.004, 0.008)
    ]
    assert ratios[0] > ratios[1] > ratios[2]
    assert ratios[2] < 1.0


@pytest.mark.parametrize("bow", BOWS)
def test_from_scratch_it_is_the_same(bow: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(fitting, "held_both_ways", lambda throat: False)
    scratch, first = fit(setup(bow, "stiffness"), MESH), found(bow, "stiffness")
    assert stiffness(scratch) == pytest.approx(stiffness(first), rel=1e-7)
    assert scratch.stiffness_factor == pytest.approx(first.stiffness_factor, rel=1e-7)


def test_one_trial_from_scratch_is_enough(monkeypatch: pytest.MonkeyPatch) -> None:
    """The longer way would take twice the time and more."""
    monkeypatch.setattr(fitting, "_from_scratch", None)
    for bow in BOWS:
        assert fit(setup(bow, "stiffness"), MESH).draws <= 2 * found(bow, "pockets").draws


def test_limbs_too_unlike_for_one_piece_are_refused() -> None:
    long = setup("club", "stiffness").with_si(**{"upper_limb.length": 0.75, "lower_limb.length": 0.47})
    assert fit(long.with_si(**{"bow.split_from": "pockets"}), MESH).met
    with pytest.raises(SetupError, match=r"bow\.split_from: .* times as stiff as the lower one, outside 0\.5 to 2"):
        fit(long, MESH)


def test_what_is_taken_without_a_word() -> None:
    club = measured("club-outdoor")
    assert filled(club).get("bow.kind") == "take-down"
    assert filled(club).get("bow.split_from") == "pockets"
    assert filled(club).get("bow.stiffness_ratio") == 1.0
    old = filled(club.replace(category="traditional"))
    assert (old.get("bow.kind"), old.get("bow.split_from")) == ("one piece", "stiffness")
    assert old.get("bow.stiffness_ratio") is None
    given = filled(club.replace(**{"bow.kind": "one piece", "bow.stiffness_ratio": 1.05}))
    assert given.get("bow.split_from") == "both"
    assert filled(club.replace(**{"bow.split_from": "stiffness"})).get("bow.stiffness_ratio") is None


def test_what_contradicts_itself_is_refused() -> None:
    club = measured("club-outdoor")
    with pytest.raises(SetupError, match=r"bow\.stiffness_ratio: given beside bow\.split_from = \"stiffness\""):
        club.replace(**{"bow.split_from": "stiffness", "bow.stiffness_ratio": 1.0})
    with pytest.raises(SetupError, match=r"bow\.split_from: belongs to form = \"measured\""):
        found("club", "pockets").setup.replace(**{"bow.split_from": "pockets"})
    with pytest.raises(SetupError, match=r'bow\.split_from: "limbs" is not known\. .*"pockets", "stiffness", "both"'):
        club.replace(**{"bow.split_from": "limbs"})


def test_a_change_of_it_has_the_bow_fitted_anew() -> None:
    from archerysim.shot.fitted_bow import FittedBow

    bow = FittedBow.of(setup("club"), MESH).with_changes({"bow.split_from": "stiffness"})
    assert bow.edits[0].refitted
    assert bow.laid == found("club", "stiffness").laid
    assert bow.setup == found("club", "stiffness").setup
    assert "both limbs lean alike" in bow.laid.words()
    assert "found by the fit" in bow.laid.words()
