"""Forces that begin or end within a step act for their share of it."""

from __future__ import annotations

import numpy as np
import pytest

from archerysim.mechanics.forces.contact import share_after
from archerysim.mechanics.forces.rest import rest_force
from archerysim.mechanics.forces.throat import locator_force
from archerysim.shot.arrays.build import make_support, make_throat
from tests.support.shot.reference_case import reference, set_locators


@pytest.mark.parametrize("begin", np.linspace(-0.031, 0.029, 7))
def test_the_steps_shares_add_up_to_the_time_beyond(begin: float) -> None:
    """Wherever the steps fall."""
    step, speed = 0.01, 3.0
    times = step * np.arange(40)
    place = speed * (times - 0.2) + begin
    shares = [share_after(p, speed * step) for p in place]
    beyond = times[-1] + 0.5 * step - (0.2 - begin / speed)
    assert step * sum(shares) == pytest.approx(beyond, rel=1e-12)
    assert sum(0.0 < s < 1.0 for s in shares) <= 1


@pytest.mark.parametrize("stride", [0.0, -0.1])
def test_without_a_stride_only_now_counts(stride: float) -> None:
    assert share_after(1e-12, stride) == 1.0
    assert share_after(0.0, stride) == share_after(-1e-12, stride) == 0.0


def test_rest() -> None:
    su = make_support(reference())
    assert rest_force(su, 1e-4, 0.2) == pytest.approx(su.stiffness * 1e-4 + su.damping * 0.2)
    assert rest_force(su, -1e-9, 0.2) == 0.0
    # touched for the second half of the step about now
    assert rest_force(su, 0.0, 0.2, 1e-5) == pytest.approx(0.5 * su.damping * 0.2)
    assert rest_force(su, -1.01e-6, 0.2, 1e-5) == 0.0
    # parting: as the law has it, whatever the step
    assert rest_force(su, 1e-4, -0.1, 1e-3) == rest_force(su, 1e-4, -0.1)


@pytest.mark.parametrize("below", [True, False])
def test_one_locator_without_play(below: bool) -> None:
    """The damper's share begins before the touch as well, on whichever side."""
    nock = reference().nock
    set_locators(nock, upper_present=not below, lower_present=below)
    th, side = make_throat(nock), 1.0 if below else -1.0
    step, rate = 1e-5, 0.1
    half, quarter = (locator_force(th, side * s, side * rate, step)[0] for s in (0.0, -0.25 * step * rate))
    assert side * half == pytest.approx(0.5 * th.locator_loss * rate)
    assert side * quarter == pytest.approx(0.25 * th.locator_loss * rate)
    assert locator_force(th, -side * 1e-4, -side * rate, step) == (0.0, 0.0)


def test_locators_with_play() -> None:
    nock = reference().nock
    set_locators(nock, gap=1e-3)
    th = make_throat(nock)
    for side in (1.0, -1.0):
        pushed = locator_force(th, side * 0.6e-3, side * 0.1, 1e-6)[0]
        assert side * pushed == pytest.approx(th.locator_stiffness * 1e-4 + th.locator_loss * 0.1)
        assert locator_force(th, side * 0.5e-3, side * 0.1)[0] == 0.0
        half = locator_force(th, side * 0.5e-3, side * 0.1, 1e-6)[0]
        assert side * half == pytest.approx(0.5 * th.locator_loss * 0.1)
        assert locator_force(th, side * 0.5e-3, -side * 0.1, 1e-6) == (0.0, 0.0)
