"""SciPy's integrator and the compiled stepper tell the same shot."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from archerysim.equipment import filled
from archerysim.errors import ShotError
from archerysim.mechanics.release.layout import CLEAR
from archerysim.shot.arrays.mesh import mesh_of
from archerysim.shot.release import scipy_check as checking
from archerysim.shot.release.release import loose
from archerysim.shot.release.scipy_check import Checked, check
from archerysim.shot.statics.brace import brace_with_string
from archerysim.shot.statics.draw import Drawing, draw_to, full_draw_x
from archerysim.shot.statics.drawn import Drawn
from archerysim.status import TIME_CAP
from tests.support.shot.example_bows import built

MESH = "coarse"
NAMES = ("club-outdoor", "junior")  # with rods and without; a barebow with friction, below


@cache
def ready(name: str) -> tuple[Drawing, Drawn]:
    full = filled(built(name, MESH))
    braced = brace_with_string(full, full.number("string.length"), mesh_of(MESH))
    return draw_to(full, braced, full_draw_x(full))


@cache
def by_scipy(name: str) -> Checked:
    return check(*ready(name), rtol=1e-9, atol=1e-11)


@pytest.mark.parametrize("name", NAMES)
def test_the_two_agree(name: str) -> None:
    """At our own step: both times to a tenth of a microsecond, the arrow's nodes to the way it goes in that."""
    drawing, drawn = ready(name)
    ours, theirs = loose(drawing, drawn), by_scipy(name)
    tail = drawing.bow_marks.tail
    assert ours.moments[0].time == pytest.approx(theirs.separation_time, abs=1e-7)
    assert ours.moments[1].time == pytest.approx(theirs.clear_time, abs=1e-7)
    for state, other in zip(ours.states, (theirs.separation, theirs.clear), strict=True):
        np.testing.assert_allclose(state[:2, tail:], other[:2, tail:], atol=5e-6)


def test_the_two_agree_with_friction_and_a_pinch() -> None:
    """The nock has play: the string sticks and slips on its floor, which SciPy's integrator is told within 2 us."""
    setup = built("barebow", MESH).replace({"nock.friction": 0.1, "nock.locators.gap": "1 mm", "archer.pinch": "2 N"})
    full = filled(setup)
    drawing, drawn = draw_to(
        full, brace_with_string(full, full.number("string.length"), mesh_of(MESH)), full_draw_x(full)
    )
    ours, theirs = loose(drawing, drawn), check(drawing, drawn, rtol=1e-7, atol=1e-9)
    tail = drawing.bow_marks.tail
    assert ours.moments[CLEAR].friction > 1e-6
    assert ours.moments[0].time == pytest.approx(theirs.separation_time, abs=1e-7)
    assert ours.moments[1].time == pytest.approx(theirs.clear_time, abs=1e-7)
    for state, other in zip(ours.states, (theirs.separation, theirs.clear), strict=True):
        np.testing.assert_allclose(state[:2, tail:], other[:2, tail:], atol=5e-6)


def test_an_arrow_that_is_never_clear(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(checking, "CAP", 1e-3)
    with pytest.raises(ShotError, match="not clear in the time allowed") as caught:
        check(*ready("junior"), rtol=1e-3, atol=1e-5)
    assert caught.value.status == TIME_CAP


@pytest.mark.parametrize("name", NAMES)
def test_contacts_that_open_and_close_within_a_step(name: str) -> None:
    """The arrow's places at clear, over nine steps up to a fifth shorter: off by under 0.1 um."""
    drawing, drawn = ready(name)
    tail = drawing.bow_marks.tail
    exact = by_scipy(name).clear[:2, tail:]
    off = [
        loose(drawing, drawn, step_factor=factor).states[1][:2, tail:] - exact for factor in np.linspace(0.8, 1.0, 9)
    ]
    assert np.sqrt(np.mean(np.square(off))) < 1e-7
