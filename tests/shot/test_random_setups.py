"""2,000 random measured bows inside the trade's ranges: fitted, braced and drawn; none fails silently."""

from __future__ import annotations

import numpy as np
import pytest

from archerysim.equipment import SetupError, filled
from archerysim.errors import ShotError
from archerysim.shot.arrays.mesh import MESHES
from archerysim.shot.statics.brace import brace_with_string
from archerysim.shot.statics.draw import TRADE, draw_to, full_draw_x
from archerysim.shot.statics.fit import fit
from tests.support.equipment.random_setups import random_setup
from tests.support.shot.residual_forces import CONVERGED, braced_residual, drawn_residual, least_tension

BATCHES, EACH = 8, 250
REFUSED = 0.01
MEASURED = 1e-6  # relative


@pytest.mark.parametrize("batch", range(BATCHES))
def test_fit_brace_and_draw(batch: int) -> None:
    rng = np.random.default_rng([68, batch])
    refused = []
    for _ in range(EACH):
        setup = random_setup(rng)
        try:
            built = fit(setup).setup
            full = filled(built)
            braced = brace_with_string(full, full.number("string.length"), MESHES["default"])
            _, drawn = draw_to(full, braced, full_draw_x(full))
        except (SetupError, ShotError) as error:
            refused.append(str(error))
            continue
        bow = setup.bow
        found = (braced.brace_height, braced.upper_tiller, braced.lower_tiller, drawn.weight)
        wanted = (bow.brace_height, bow.upper_tiller, bow.lower_tiller, bow.draw_weight)
        assert full_draw_x(full) == TRADE - bow.draw_weight_at
        np.testing.assert_allclose(found, wanted, rtol=MEASURED)
        assert braced.reading == pytest.approx(setup.nock.locators.reading, abs=1e-7)
        for x, y in ((braced.x, braced.y), (drawn.x, drawn.y)):
            assert np.isfinite(x).all()
            assert np.isfinite(y).all()
            assert least_tension(braced, x, y) > 0.0
        assert braced_residual(full, braced) < CONVERGED
        assert drawn_residual(full, braced, drawn) < CONVERGED
        assert drawn.rest_force > 0.0
    assert all(len(reason.split()) > 5 for reason in refused)  # sentences
    assert len(refused) < REFUSED * EACH, refused
