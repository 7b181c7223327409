"""Mass, balance and stiffness of an arrow."""

from __future__ import annotations

import pytest

from archerysim.equipment import Arrow, Setup, filled
from archerysim.equipment import arrow as shaft

INCH = 0.0254


@pytest.mark.parametrize(("spine", "stiffness"), [(0.400, 6.365), (0.500, 5.092), (0.600, 4.244)])
def test_bending_stiffness_from_spine(spine: float, stiffness: float) -> None:
    # EI = P l^3/(48 d), 1.94 lb on 28 in: ASTM F2031 (load and span second-hand).
    assert shaft.bending_stiffness(spine * INCH) == pytest.approx(stiffness, abs=0.0005)


@pytest.mark.parametrize(
    ("written", "inches"),
    [("700", 0.7), ("0.700", 0.7), ("0.7 in", 0.7), ("17.78 mm", 0.7), ("1200", 1.2), (700, 0.7), ((12.7, "mm"), 0.5)],
)
def test_ways_to_write_a_spine(measured: Setup, written: object, inches: float) -> None:
    assert measured.replace(**{"arrow.spine": written}).arrow.spine == pytest.approx(inches * INCH, rel=1e-14)


def test_wooden_spine_in_pounds_has_the_same_stiffness(measured: Setup) -> None:
    # 26 / deflection in inches under 2 lb on 26 in [memory].
    pounds = 45.0
    deflection = 26 / pounds * INCH
    stiffness = 2 * 4.4482216152605 * (26 * INCH) ** 3 / (48 * deflection)
    spine = measured.replace(**{"arrow.spine": "45 #"}).arrow.spine
    assert shaft.bending_stiffness(spine) == pytest.approx(stiffness, rel=1e-12)


def test_mass_and_balance() -> None:
    arrow = Arrow(
        length=0.72,
        diameter=5.5e-3,
        spine=0.6 * INCH,
        mass_per_length=0.015,
        point_mass=7.8e-3,
        nock_mass=0.9e-3,
    )
    total = 0.72 * 0.015 + 7.8e-3 + 0.9e-3 + 0.7e-3
    moment = 0.72 * 0.015 * 0.36 + 7.8e-3 * 0.72 + 0.7e-3 * 0.06
    assert shaft.total_mass(arrow) == pytest.approx(total)
    assert shaft.balance_point(arrow) == pytest.approx(moment / total)
    assert shaft.front_of_centre(arrow) == pytest.approx(100 * (moment / total - 0.36) / 0.72)


def test_insert_and_point_offset_count() -> None:
    arrow = Arrow(
        length=0.7,
        diameter=6e-3,
        spine=0.012,
        mass_per_length=0.012,
        point_mass=6e-3,
        point_at=-0.01,
        insert_mass=1e-3,
        insert_at=0.02,
        nock_mass=0.0,
        fletching_mass=0.0,
    )
    moment = 0.7 * 0.012 * 0.35 + 6e-3 * 0.71 + 1e-3 * 0.68
    assert shaft.balance_point(arrow) == pytest.approx(moment / (0.7 * 0.012 + 7e-3))


def test_a_bare_even_shaft_balances_in_the_middle() -> None:
    arrow = Arrow(
        length=0.7,
        diameter=6e-3,
        spine=0.012,
        mass_per_length=0.012,
        point_mass=0.0,
        nock_mass=0.0,
        fletching_mass=0.0,
    )
    assert shaft.front_of_centre(arrow) == pytest.approx(0.0, abs=1e-12)


def test_defaults_count_alike_filled_or_not(measured: Setup) -> None:
    assert shaft.total_mass(measured.arrow) == shaft.total_mass(filled(measured).arrow)
    assert shaft.balance_point(measured.arrow) == shaft.balance_point(filled(measured).arrow)


def test_grains_per_pound() -> None:
    assert shaft.grains_per_pound(350 * 64.79891e-6, 35 * 4.4482216152605) == pytest.approx(10.0)
