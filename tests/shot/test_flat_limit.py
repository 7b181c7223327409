"""Nothing that moves it sideways: the shot in both planes is the one in the bow's plane, its rest never let go."""

from __future__ import annotations

import numpy as np
import pytest

from archerysim.mechanics.release.layout import MOMENT
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.launch import Launch
from archerysim.shot.release.release import loose
from archerysim.shot.statics.brace import brace_to_height
from archerysim.shot.statics.draw import draw_to
from tests.support.shot.example_bows import NAMES, measured
from tests.support.shot.reference_case import BRACE_HEIGHT, THROAT_X, mesh_with, reference
from tests.support.shot.reference_in_space import shot_in_space, sideways

EVEN = {"archer.side_roll": "0 deg", "side.offset": "0 mm"}
SIDEWAYS = {"sideways_velocity", "yaw", "yaw_rate", "side_angle_of_attack", "nock_z", "centre_z"}


@pytest.mark.parametrize("preload", [0.0, 2.0])
@pytest.mark.parametrize("kind", ["arm", "shelf"])
def test_the_reference_case(preload: float, kind: str) -> None:
    """All places and velocities, the account and the notes to rounding; z is zero to the bit."""
    done = shot_in_space(
        archer__side_roll=0.0, side__offset=0.0, side__preload=preload, rest__kind=kind, cells=24, rows=500
    )
    setup = reference()
    setup.rest.unlimited_support = True
    drawing, drawn = draw_to(setup, brace_to_height(setup, BRACE_HEIGHT, mesh_with(24)), THROAT_X)
    flat, space = loose(drawing, drawn, rows=500), done.loosed
    assert space.dt == flat.dt
    assert space.notes.steps == flat.notes.steps
    for name in ("x", "y", "vx", "vy"):
        k = ("x", "y", "vx", "vy").index(name)
        np.testing.assert_allclose(space.states[:, k], flat.states[:, k], atol=1e-12 if k < 2 else 1e-8)
    for name in MOMENT.names or ():
        np.testing.assert_allclose(space.moments[name], flat.moments[name], rtol=1e-9, atol=1e-10)
    for name in flat.trace.dtype.names or ():
        np.testing.assert_allclose(space.trace[name], flat.trace[name], rtol=1e-8, atol=1e-7)
    assert not sideways(done).states.any()
    assert sideways(done).notes.touches == 0
    assert sideways(done).notes.arm_strikes == 0


@pytest.mark.parametrize("name", NAMES)
def test_the_examples(name: str) -> None:
    """What is told of the arrow at both moments, to rounding; sideways nothing."""
    space = FittedBow.of(measured(name), planes=2).with_changes(EVEN).launch()
    flat = FittedBow.of(measured(name), planes=1).with_changes({"rest.unlimited_support": True}).launch()
    assert isinstance(space, Launch)
    for ours, theirs in ((space.separation, flat.separation), (space.clear, flat.clear)):
        for key, value in vars(theirs).items():
            if key in SIDEWAYS or key.startswith("side_bend"):
                assert getattr(ours, key) == 0.0
            elif key != "energy":
                assert getattr(ours, key) == pytest.approx(value, rel=1e-8, abs=1e-8)
        assert ours.energy.table() == pytest.approx(theirs.energy.table(), rel=1e-8, abs=1e-8)
    assert np.isnan(space.passage.arm_left_at)
    assert space.passage.side_touches == 0.0
