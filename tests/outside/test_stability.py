"""Recurves whose string meets the limb at the tip only: how soon they no longer stay braced.

Exact elastica, computed by another program for this bow: root (-24, 297.5) mm, limb 620 mm, lean 12 deg, EI 29 to
6.8 N m2 straight between, natural curvature rising linearly from zero at 60 % of the length to the value at the tip,
string EA 7e4 N, brace height 220 mm.
"""

from __future__ import annotations

import numpy as np
import pytest

from archerysim import status
from archerysim.errors import ShotError
from archerysim.mechanics.statics.tangent import chain_tangent
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.statics.brace import Bracing, brace_to_height
from archerysim.shot.statics.stability import tips_over
from tests.support.mechanics.dense_matrices import blocks_for, dense, empty_matrix
from tests.support.shot.textbook_bows import textbook_bow

LEAN = np.radians(12.0)
HEIGHT = 0.220
# curvature at the tip [1/m]: stiffness with which the string's middle resists being pushed along the string [N/m]
ELASTICA = {0.0: 864.0, 4.0: 561.0, 6.0: 341.0, 8.0: 43.0, 9.0: -150.0, 12.0: -1052.0}
STAYS = [tip for tip, stiffness in ELASTICA.items() if stiffness > 0.0]


def recurve(tip: float) -> object:
    limb = {
        "length": 0.62, "at": (0.0, 0.6, 1.0), "bending_stiffness": (29.0, 29.0 - 0.6 * 22.2, 6.8),
        "mass_per_length": (1e-5, 1e-5, 1e-5), "axial_stiffness": 3e6, "pocket_angle": LEAN,
    }  # fmt: skip
    setup = textbook_bow(limb, 0.2975, 7e4, 1e-5, 1.64, 1e-6, 0.65)
    setup.riser.upper_root_x = setup.riser.lower_root_x = -0.024
    for one in (setup.upper_limb, setup.lower_limb):
        one.natural_curvature = (0.0, 0.0, tip)
    return setup


def braced(tip: float, cells: int) -> Bracing:
    """As Newton's method finds it, stable or not: equal limbs have an equilibrium that is as equal."""
    bow = Bracing(recurve(tip), 1.64, (LEAN, LEAN), Mesh.of(cells))
    bow.stand(HEIGHT, 0.0)
    return bow


def stiffness_along(bow: Bracing) -> float:
    """Of the string's middle against being pushed along the string, everything else free [N/m]."""
    parts = empty_matrix(bow.grid)
    chain_tangent(bow.chain, bow.grid, bow.x, bow.y, 0.0, parts, blocks_for(bow.x.size))
    matrix = dense(bow.grid, parts)
    middle = int(np.abs(bow.place).argmin()) + bow.marks.tip_u
    push = np.zeros(len(matrix))
    push[bow.grid.place[middle] + 1] = 1.0
    return float(1.0 / (push @ np.linalg.solve(matrix, push)))


@pytest.mark.parametrize("tip", ELASTICA)
def test_stiffness_along_the_string(tip: float) -> None:
    coarse, fine = (stiffness_along(braced(tip, cells)) for cells in (48, 96))
    exact = fine + (fine - coarse) / 3.0
    assert exact == pytest.approx(ELASTICA[tip], abs=1.5)
    assert abs(fine - exact) < abs(coarse - exact)


@pytest.mark.parametrize("tip", ELASTICA)
def test_a_bow_that_would_tip_over_is_refused(tip: float) -> None:
    bow = braced(tip, 24)
    assert tips_over(bow.chain, bow.marks, bow.x, bow.y) is (tip not in STAYS)
    if tip in STAYS:
        assert brace_to_height(recurve(tip), HEIGHT, Mesh()).brace_height == pytest.approx(HEIGHT)
        return
    with pytest.raises(ShotError, match="limbs would tip") as caught:
        brace_to_height(recurve(tip), HEIGHT, Mesh())
    assert caught.value.status == status.UNSTABLE
