"""Curved bows braced by the library and by the second way, which finds the string's way otherwise."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from scipy.optimize import minimize

from archerysim.equipment import filled
from archerysim.errors import ShotError
from archerysim.shot.arrays.mesh import mesh_of
from archerysim.shot.statics import bracing
from archerysim.shot.statics.fit import fit
from archerysim.shot.statics.stability import tips_over
from archerysim.status import UNSTABLE
from tests.outside.test_stability import ELASTICA, HEIGHT, LEAN, recurve
from tests.random_bows.second_way import TwoLimbs, braced_with
from tests.random_bows.shooting import braced_by_energy
from tests.support.equipment.random_setups import random_setup

# curvature of the outer part [1/m], where it begins, and whether it is there at once
BOWS = [
    (4.0, 0.6, False),
    (6.0, 0.55, True),
    (7.0, 0.65, True),
    (8.0, 0.6, False),
    (9.0, 0.7, True),
    (10.0, 0.6, False),
]


def curved(index: int) -> Any:
    """One of a dozen measured bows, every other with a lower limb that is longer."""
    rng = np.random.default_rng([11, index])
    tip, begin, at_once = BOWS[index % len(BOWS)]
    at = (0.0, begin, begin + 0.08, 1.0) if at_once else (0.0, begin, 1.0)
    setup = random_setup(rng)
    changes: dict[str, Any] = {
        "limbs.at": at,
        "limbs.natural_curvature": (0.0, 0.0, *(tip,) * (len(at) - 2)),
        "limbs.bending_stiffness": tuple(1.0 - 0.765 * place for place in at),
    }
    if index % 2:
        length = float(filled(setup).lower_limb.length or 0.0)
        changes |= {"upper_limb.length": length, "lower_limb.length": 1.03 * length}
    return setup.with_si(**changes)


@pytest.mark.parametrize("index", [0, 2, 3, 4, 7, 11])  # one of each of `BOWS`; 1 and 5 do not stay braced, or barely
def test_brace_height_split_and_tension(index: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """With the library's string and pockets.

    Halved cells move heights by 0.1 mm, the tension by 0.1 %, and the split of those that are near tipping by 1 mm.
    """
    stiff = {"limbs.axial_stiffness": 1e7}  # the second way's limbs do not shorten
    full: Any = filled(fit(curved(index).with_si(**stiff)).setup)
    leans, length = (full.upper_limb.pocket_angle, full.lower_limb.pocket_angle), full.string.length
    monkeypatch.setattr(bracing, "GRAVITY", 0.0)  # nor do they weigh anything
    angles = None
    for cells in (40, 80):
        limbs = TwoLimbs.of(full, None, 1.0, leans, cells)
        angles = braced_with(limbs, length) if angles is None else limbs.settled(np.repeat(angles, 2), length)
        assert angles is not None
    assert limbs.least_stiffness(angles, length) > 0.0
    bow = bracing.Bracing(full, length, leans, mesh_of("fine"))
    bow.stand(limbs.measures(angles)[0], 0.0)
    bow.scale(length)
    bow.newton(0)
    assert not tips_over(bow.chain, bow.marks, bow.x, bow.y)
    height, upper, lower = bow.measures()
    assert (height, upper - lower) == (
        pytest.approx(limbs.measures(angles)[0], abs=1e-4), pytest.approx(limbs.measures(angles)[1], abs=4e-4)
    )  # fmt: skip
    assert bow.tension() == pytest.approx(limbs.tension(angles, length), rel=1e-3)


def test_a_bow_that_neither_can_brace() -> None:
    with pytest.raises(ShotError) as caught:
        fit(curved(1))
    assert caught.value.status == UNSTABLE
    assert not braced_by_energy(curved(1))


def test_the_second_way_s_derivatives() -> None:
    """Gradient and Hessian of its energy, weight and contact included, by differences."""
    full: Any = filled(fit(curved(7)).setup)
    leans = (full.upper_limb.pocket_angle, full.lower_limb.pocket_angle)
    limbs = TwoLimbs.of(full, None, 1.0, leans, 20, weight=True)
    angles = limbs.bent_back(1.0) + np.random.default_rng(1).uniform(-1e-3, 1e-3, 40)
    assert limbs.touched(angles).min() > 0.03
    length, step = 0.998 * limbs.length(angles), 1e-6
    _, gradient, hessian = limbs.energy(angles, length)
    ways = [(limbs.energy(angles + v, length), limbs.energy(angles - v, length)) for v in step * np.eye(40)]
    slope = np.array([(one[0] - other[0]) / (2.0 * step) for one, other in ways])
    second = np.array([(one[1] - other[1]) / (2.0 * step) for one, other in ways])
    assert np.abs(gradient - slope).max() < 1e-6 * np.abs(slope).max()
    assert np.abs(hessian - second).max() < 1e-6 * np.abs(second).max()


def alike(limbs: TwoLimbs, angles: np.ndarray, length: float) -> np.ndarray:
    """The least energy of equal limbs that stay alike, from the angles of one: where others would tip over too."""

    def energy(half: np.ndarray) -> tuple[float, np.ndarray]:
        total, gradient, _ = limbs.energy(np.tile(half, 2), length)
        return total, gradient.reshape(2, -1).sum(axis=0)

    def hessian(half: np.ndarray) -> np.ndarray:
        n = half.size
        return limbs.energy(np.tile(half, 2), length)[2].reshape(2, n, 2, n).sum(axis=(0, 2))

    return np.asarray(minimize(energy, angles, jac=True, hess=hessian, method="trust-exact", options={"gtol": 1e-9}).x)


@pytest.mark.parametrize(
    ("tip", "touches"),  # without contact a bow of 12 1/m runs away even with both limbs kept alike
    [(tip, touches) for tip in ELASTICA for touches in (True, False) if touches or tip < 12.0],
)
def test_stable_where_the_elastica_says_so(tip: float, touches: bool) -> None:
    """Bows of `tests.outside.test_stability`: with the string on the limb all of them, with it at the tips only not."""
    setup: Any = recurve(tip)
    roots = {f"riser.{side}_root_x": getattr(setup.riser, f"{side}_root_x") for side in ("upper", "lower")}
    setup.get = (roots | {"bow.stiffness_ratio": 1.0}).get
    limbs = TwoLimbs.of(setup, None, 1.0, (LEAN, LEAN))
    limbs.touches = touches
    shapes = [limbs.bent_back(bend) for bend in np.linspace(0.0, 2.0, 201)]
    half = min(shapes, key=lambda angles: abs(limbs.measures(angles)[0] - HEIGHT))[: limbs.count]
    length = limbs.length(np.tile(half, 2))
    for _ in range(30):  # by how height falls with length, some 0.8 m/m
        half = alike(limbs, half, length)
        off = limbs.measures(np.tile(half, 2))[0] - HEIGHT
        if abs(off) < 1e-6:
            break
        length += 1.2 * off
    assert abs(off) < 1e-6
    assert (limbs.least_stiffness(np.tile(half, 2), length) > 0.0) is (touches or ELASTICA[tip] > 0.0)
