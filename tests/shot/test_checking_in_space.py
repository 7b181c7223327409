"""SciPy's integrator and the compiled stepper tell the same shot in both planes."""

from __future__ import annotations

import numpy as np
import pytest

from archerysim.equipment import filled
from archerysim.mechanics.release.layout import CLEAR, SEPARATION
from archerysim.shot.arrays.mesh import mesh_of
from archerysim.shot.release.release import loose
from archerysim.shot.release.scipy_check import check
from archerysim.shot.statics.brace import brace_with_string
from archerysim.shot.statics.draw import draw_to, full_draw_x
from tests.support.shot.example_bows import built

MESH = "coarse"
# what is shot, its changes, and whether the shaft strikes the arm
CASES: dict[str, tuple[str, dict[str, str], bool]] = {
    "sprung support": ("club-outdoor", {}, False),
    "plate, tail that touches": ("longbow", {"archer.side_roll": "3 deg"}, False),
    "arm that folds, cant, hold": ("junior", {
        "archer.side_roll": "6 deg", "rest.fold_force": "0.5 N", "rest.reach": "8 mm", "archer.cant": "20 deg",
        "archer.side_hold": "-3 mm",
    }, True),
}  # fmt: skip


@pytest.mark.parametrize("case", CASES)
def test_the_two_agree(case: str) -> None:
    """At our own step: both times to a tenth of a microsecond, the arrow's nodes to the way it goes in that."""
    name, changes, struck = CASES[case]
    full = filled(built(name, MESH).replace(changes))
    braced = brace_with_string(full, full.number("string.length"), mesh_of(MESH))
    drawing, drawn = draw_to(full, braced, full_draw_x(full))
    ours, theirs = loose(drawing, drawn, planes=2), check(drawing, drawn, rtol=1e-6, atol=1e-8, planes=2)
    assert ours.sideways is not None
    assert bool(ours.sideways.notes.arm_strikes) is struck
    assert bool(ours.sideways.notes.tail_force) is ("tail" in case)
    tail = drawing.bow_marks.tail
    assert ours.moments[SEPARATION].time == pytest.approx(theirs.separation_time, abs=1e-7)
    assert ours.moments[CLEAR].time == pytest.approx(theirs.clear_time, abs=1e-7)
    for k, other in enumerate((theirs.separation, theirs.clear)):
        np.testing.assert_allclose(ours.states[k][:2, tail:], other[:2, tail:], atol=5e-6)
        np.testing.assert_allclose(ours.sideways.states[k][0, tail:], other[4, tail:], atol=3e-6)
