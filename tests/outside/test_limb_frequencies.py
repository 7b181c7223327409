"""Natural frequencies of tapered recurved limbs against finite elements that share nothing with the library.

Straight frame elements (Euler-Bernoulli bending with cubic shapes, stretching with straight ones), consistent mass,
stiffness and mass along an element by Gauss' rule with four points; numpy alone. The limb's line is integrated from its
curvature here, its sections are computed here. What the elements miss is shown first.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import Any, NamedTuple

import numpy as np
import pytest

from archerysim.equipment import filled
from archerysim.equipment.limbs.materials import MATERIALS
from tests.support.mechanics.beams_and_strings import (
    assert_order_2,
    clamped_limb,
    frequencies_in_plane,
    richardson,
)
from tests.support.shot.example_bows import measured

Along = Callable[[np.ndarray], np.ndarray]
GAUSS, WEIGHTS = np.polynomial.legendre.leggauss(4)
COUNT = 4
CELLS = (24, 48, 96)
ELEMENTS = 1e-4  # what 256 elements miss at most
TABLE = 1e-4  # between 65 places the library's stiffness runs in straight lines


class Beam(NamedTuple):
    """A clamped limb as functions of the share of its length."""

    length: float
    bending: Along
    along: float
    mass: Along
    curvature: Along
    tip_mass: float


def elements(beam: Beam, count: int) -> np.ndarray:
    """Lowest angular frequencies [rad/s]."""
    s, places = line(beam, count)
    size = 3 * (count + 1)
    stiffness, mass = np.zeros((2, size, size))
    for k in range(count):
        dx, dy = places[k + 1] - places[k]
        length = float(np.hypot(dx, dy))
        c, d = dx / length, dy / length
        turn = np.kron(np.eye(2), np.array([[c, d, 0.0], [-d, c, 0.0], [0.0, 0.0, 1.0]]))
        at = s[k] + (s[k + 1] - s[k]) * 0.5 * (1.0 + GAUSS)
        k_own, m_own = element(length, beam.bending(at), beam.along, beam.mass(at))
        here = slice(3 * k, 3 * k + 6)
        stiffness[here, here] += turn.T @ k_own @ turn
        mass[here, here] += turn.T @ m_own @ turn
    mass[-3, -3] += beam.tip_mass
    mass[-2, -2] += beam.tip_mass
    stiffness, mass = stiffness[3:, 3:], mass[3:, 3:]  # clamped
    lower = np.linalg.inv(np.linalg.cholesky(mass))
    return np.sqrt(np.linalg.eigvalsh(lower @ stiffness @ lower.T)[:COUNT])


def element(length: float, bending: np.ndarray, along: float, heavy: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Stiffness and mass of one element, its degrees of freedom u, v, turn at either end."""
    k, m = np.zeros((2, 6, 6))
    for g, weight, stiff, mu in zip(GAUSS, WEIGHTS, bending, heavy, strict=True):
        r = 0.5 * (1.0 + g)
        by = 0.5 * length * weight
        stretch = np.array([-1.0, 0.0, 0.0, 1.0, 0.0, 0.0]) / length
        bend = np.array([
            0.0, (-6.0 + 12.0 * r) / length**2, (-4.0 + 6.0 * r) / length,
            0.0, (6.0 - 12.0 * r) / length**2, (-2.0 + 6.0 * r) / length,
        ])  # fmt: skip
        u = np.array([1.0 - r, 0.0, 0.0, r, 0.0, 0.0])
        v = np.array([
            0.0, 1.0 - 3.0 * r**2 + 2.0 * r**3, length * (r - 2.0 * r**2 + r**3),
            0.0, 3.0 * r**2 - 2.0 * r**3, length * (r**3 - r**2),
        ])  # fmt: skip
        k += by * (along * np.outer(stretch, stretch) + stiff * np.outer(bend, bend))
        m += by * mu * (np.outer(u, u) + np.outer(v, v))
    return k, m


def line(beam: Beam, count: int, fine: int = 64) -> tuple[np.ndarray, np.ndarray]:
    """Ends of the elements: shares of the length, and places on the curved line."""
    s = np.linspace(0.0, 1.0, count * fine + 1)
    middle = 0.5 * (s[1:] + s[:-1])
    step = beam.length / (count * fine)
    turned = np.cumsum(step * beam.curvature(middle))
    heading = turned - 0.5 * step * beam.curvature(middle)
    places = np.concatenate(
        (np.zeros((1, 2)), np.cumsum(step * np.array([np.cos(heading), np.sin(heading)]), axis=1).T)
    )
    return s[::fine], places[::fine]


def table(limb: Any, name: str) -> Along:
    values = getattr(limb, name)
    return lambda share: np.interp(share, limb.at, values)


def curved(limb: Any) -> Along:
    at = limb.curvature_at or limb.at
    return lambda share: np.interp(share, at, limb.natural_curvature)


def recurve() -> tuple[Any, Beam]:
    """The club bow's limb as it is: tables of stiffness and mass, the usual recurve."""
    limb = filled(measured("club-outdoor")).upper_limb
    stiffness = table(limb, "bending_stiffness")
    scale = 20.0 / limb.bending_stiffness[0]  # in form "measured" only its shape is told
    stiff = limb.bending_stiffness
    limb = replaced(limb, bending_stiffness=tuple(scale * one for one in stiff))
    return limb, Beam(
        limb.length, lambda share: scale * stiffness(share), limb.axial_stiffness, table(limb, "mass_per_length"),
        curved(limb), limb.tip_mass,
    )  # fmt: skip


def reflexed() -> tuple[Any, Beam]:
    """A limb of ash by width and thickness, reflexed by heat in its outer half."""
    limb = filled(measured("longbow").replace({
        "limbs.material": "ash", "limbs.natural_curvature": "0, 0, 0.5, 2, 2 1/m",
        "limbs.curvature_at": "0, 0.4, 0.55, 0.7, 1", "limbs.tip_mass": "4 g", "limbs.shape": None,
    })).upper_limb  # fmt: skip
    ash, wide, thick = MATERIALS["ash"], table(limb, "width"), table(limb, "thickness")
    return limb, Beam(
        limb.length, lambda share: ash.modulus.value * wide(share) * thick(share) ** 3 / 12.0, limb.axial_stiffness,
        lambda share: ash.density.value * wide(share) * thick(share), curved(limb), 4e-3,
    )  # fmt: skip


def glued() -> tuple[Any, Beam]:
    """The training bow's recurved limb of glass, maple and glass: faces by the differences of two cubes."""
    limb = filled(measured("training-bow")).lower_limb
    glass, maple, wide = MATERIALS["unidirectional glass"], MATERIALS["maple"], table(limb, "width")

    def core(share: np.ndarray) -> np.ndarray:
        return 4.27e-3 - 0.003 * limb.length * share

    def bending(share: np.ndarray) -> np.ndarray:
        whole, inner = core(share) + 1.4e-3, core(share)
        both = glass.modulus.value * (whole**3 - inner**3) + maple.modulus.value * inner**3
        return wide(share) * both / 12.0

    def heavy(share: np.ndarray) -> np.ndarray:
        return wide(share) * (1.4e-3 * glass.density.value + core(share) * maple.density.value)

    return limb, Beam(limb.length, bending, limb.axial_stiffness, heavy, curved(limb), 3e-3)


def replaced(limb: Any, **fields: Any) -> Any:
    from msgspec import structs

    return structs.replace(limb, **fields)


LIMBS = {"recurve": recurve, "reflexed": reflexed, "glued": glued}


@cache
def by_elements(name: str, count: int) -> np.ndarray:
    return elements(LIMBS[name]()[1], count)


@pytest.mark.parametrize("name", LIMBS)
def test_what_the_elements_miss_is_small(name: str) -> None:
    """And falls at least with the square of their size."""
    coarse, middle, fine = (by_elements(name, count) for count in (64, 128, 256))
    assert fine == pytest.approx(middle, rel=ELEMENTS)
    assert (np.abs(middle - fine) < 0.4 * np.abs(coarse - middle)).all()


def test_the_elements_know_an_even_beam() -> None:
    """1.875104, 4.694091, 7.854757 (Thomson, Theory of Vibration)."""
    one = np.ones_like
    found = elements(Beam(1.0, one, 1e8, one, np.zeros_like, 0.0), 64)
    assert np.sqrt(found[:3]) == pytest.approx((1.875104, 4.694091, 7.854757), rel=1e-6)


@pytest.mark.parametrize("name", LIMBS)
def test_limbs_ring_as_the_elements_say(name: str) -> None:
    limb, _ = LIMBS[name]()
    found = [frequencies_in_plane(*clamped_limb(limb, cells), COUNT) for cells in CELLS]
    assert richardson(found[1], found[2]) == pytest.approx(by_elements(name, 256), rel=TABLE + ELEMENTS)
    assert found[0][:2] == pytest.approx(by_elements(name, 256)[:2], rel=0.01)  # 24 cells: a usual shot's mesh
    assert_order_2([one[0] for one in found], by_elements(name, 256)[0], within=0.2)
