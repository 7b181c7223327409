"""Whole bows: B. W. Kooi's straight-end bow, the identity between its numbers, rigid limbs on springs.

B. W. Kooi, J. Engineering Mathematics 15 (1981) 119-145: inputs and outputs from memory. In his units the draw
|OD|, the draw force and the mass of one limb are one.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from archerysim.shot.arrays.mesh import Mesh
from tests.support.shot.reference_case import shot
from tests.support.shot.textbook_bows import Account, reference_account, shoot, textbook_bow

# the three units
DRAW, FORCE, LIMB = 0.7, 160.0, 1e-3

HALF_ARROW, HALF_STRING = 0.0769, 0.0209


@cache
def kooi(share_at_nock: float | None) -> tuple[float, Account, Account]:
    """The arrow in limb masses, and the shot on the default and on a fine mesh.

    ``share_at_nock`` of the string's mass sits at the nock and the rest at the tips but for 5 % left along
    it; None has it all along the string.
    """
    at = np.array([0.0, 2.0 / 3.0, 1.0])
    taper = np.maximum(1.0 - at, 1.0 / 3.0)
    limb = {
        "length": 1.143 * DRAW, "at": tuple(at), "bending_stiffness": tuple(1.409 * FORCE * DRAW**2 * taper),
        "mass_per_length": tuple(1.575 * LIMB / DRAW * taper), "axial_stiffness": 1e4 * FORCE, "pocket_angle": 0.0,
    }  # fmt: skip
    string = 2.0 * HALF_STRING * LIMB
    points = 0.0 if share_at_nock is None else 0.95 * string
    share = share_at_nock or 0.0
    setup = textbook_bow(
        limb, 0.143 * DRAW, 131.0 * FORCE, string - points, 2.48 * DRAW, 2.0 * HALF_ARROW * LIMB, DRAW,
        mass_at_nock=share * points, mass_at_tip=0.5 * (1.0 - share) * points,
    )  # fmt: skip
    default, fine = (shoot(setup, 0.214 * DRAW, Mesh(n, n, 8, 0.432 / n)) for n in (24, 48))
    return setup.arrow.mass_per_length * setup.arrow.length / LIMB, default, fine


def numbers(account: Account) -> np.ndarray:
    """Static quality q, efficiency, nu = v sqrt(m_limb / (|OD| F)), and the draw force in its unit."""
    q = account.stored / (account.weight * DRAW)
    nu = account.speed * np.sqrt(LIMB / (DRAW * account.weight))
    return np.array([q, account.arrow, nu, account.weight / FORCE])


def test_mass_of_the_straight_end_limb_is_one() -> None:
    """B. W. Kooi's root mass per length and taper belong together."""
    s = np.linspace(0.0, 1.143, 100_001)
    assert np.trapezoid(1.575 * np.maximum(1.0 - s / 1.143, 1.0 / 3.0), s) == pytest.approx(1.0, abs=5e-4)


@pytest.mark.parametrize("share_at_nock", [1.0 / 3.0, None])
def test_straight_end_bow(share_at_nock: float | None) -> None:
    """q 0.407, efficiency 0.765, nu 2.01; draw force one. A string of even mass does as well."""
    _, default, fine = kooi(share_at_nock)
    for found in (numbers(default), (4.0 * numbers(fine) - numbers(default)) / 3.0):
        assert found[0] == pytest.approx(0.407, abs=0.003)
        assert found[1] == pytest.approx(0.765, abs=0.01)
        assert found[2] == pytest.approx(2.01, abs=0.015)
        assert found[3] == pytest.approx(1.0, abs=0.005)


def test_nu_squared_times_arrow_is_quality_times_efficiency() -> None:
    """nu^2 m_a = q eta (B. W. Kooi), m_a half the arrow's mass; eta from the energy of the arrow's nodes, nu
    from the speed of its mass centre. An identity: it holds for any bow and validates none."""
    arrow, default, _ = kooi(None)
    q, efficiency, nu, _ = numbers(default)
    assert nu**2 * 0.5 * arrow == pytest.approx(q * efficiency, rel=1e-4)
    done = shot(0.009, 24)
    account = reference_account(done)
    mass = done.braced.chain.mass[done.braced.marks.tail :].sum()
    draw = -done.drawn.throat_x
    q = account.stored / (account.weight * draw)
    nu_squared = account.speed**2 / (draw * account.weight)
    # the arrow's turning and bending are energy but no speed
    assert nu_squared * 0.5 * mass == pytest.approx(q * account.arrow, rel=2e-3)


def rigid_limbs(stiffness: float, limb: float, string: float) -> Account:
    """Limbs stiff but at the root, 0.52 m long, masses per arrow of 0.02 units; the string's mass is even."""
    cells, unit = 8, 1e-3
    root = 0.5 / cells  # where the root's bend has its compliance
    spring = 60.0 * root * 0.52  # gives 60 N m per radian
    parts = {
        "length": 0.52, "at": (0.0, root, root * 1.0001, 1.0), "bending_stiffness": (spring, spring, 3e3, 3e3),
        "mass_per_length": (limb * unit,) * 4, "axial_stiffness": stiffness, "pocket_angle": 0.1,
    }  # fmt: skip
    setup = textbook_bow(parts, 0.3, stiffness, string * unit, 1.55, 0.02 * unit, 0.67, floor=0.02)
    return shoot(setup, 0.2, Mesh(cells, 24, 8, 0.03))


@pytest.mark.parametrize("limb", [0.05, 0.15, 0.3])
@pytest.mark.parametrize("string", [0.001, 0.004])
def test_efficiency_of_rigid_limbs(limb: float, string: float) -> None:
    """All energy goes to arrow and string: efficiency m_a / (m_a + m_s / 3) for any inertia of the limbs.

    Of the energy that moves at separation; a string that is only very stiff keeps a little (next test).
    """
    account = rigid_limbs(3e6, limb, string)
    ideal = 0.02 / (0.02 + string / 3.0)
    assert account.arrow / (1.0 - account.left) == pytest.approx(ideal, abs=0.012)
    assert account.limbs < 0.015
    assert account.left < 0.05


def test_what_a_stretching_string_keeps_goes_as_its_stiffness_grows() -> None:
    """As the power -2/3: the string is stretched for a time that shrinks as it stiffens."""
    kept = []
    for stiffness in (3e5, 3e6):
        account = rigid_limbs(stiffness, 0.15, 0.004)
        kept.append(account.left + account.limbs)
    assert np.log10(kept[0] / kept[1]) == pytest.approx(2.0 / 3.0, abs=0.1)
    ideal = 0.02 / (0.02 + 0.004 / 3.0)
    assert account.arrow < ideal
    assert account.arrow == pytest.approx(ideal, abs=0.02)
