"""What of the limbs moves: a butt's mass stands with the riser, and a measured speed tells how much it is."""

from __future__ import annotations

import pickle
import re
from functools import cache

import numpy as np
import pytest

from archerysim.equipment import Setup, SetupError, filled, filled_as_built
from archerysim.equipment.arrow import total_mass
from archerysim.equipment.typical import string_mass
from archerysim.shot.arrays.build import lean
from archerysim.shot.fitted_bow import FittedBow
from tests.support.shot.example_bows import measured

MESH = "coarse"
BUTT = {"limbs.butt": 0.09, "limbs.butt_mass": 0.04}
SAME = 1e-6  # of masses found from a speed, relative


def setup(**changes: float | None) -> Setup:
    return measured("club-outdoor").with_si(**changes)


@cache
def bow(*changes: tuple[str, float | None], planes: int = 2) -> FittedBow:
    return FittedBow.of(setup(**dict(changes)), MESH, planes=planes)


def with_butt(**more: float | None) -> FittedBow:
    return bow(*{**BUTT, **more}.items())


def all_of(one: FittedBow) -> np.ndarray:
    """Mass [kg], first moments [kg m] and moment of inertia about the pivot [kg m2] of riser, limbs and string."""
    braced, frame = one.braced, one.braced.frame
    mass = braced.chain.mass * (braced.chain.inverse_mass > 0.0)
    bow_only = slice(0, braced.marks.tail)
    m, x, y = mass[bow_only], braced.x[bow_only], braced.y[bow_only]
    rigid = frame.mass * np.array([1.0, frame.cx, frame.cy, frame.cx**2 + frame.cy**2])
    rigid[3] += frame.inertia
    return rigid + np.array([m.sum(), m @ x, m @ y, m @ (x**2 + y**2)])


def pocket(one: FittedBow) -> np.ndarray:
    """The same of the butts, each summed over short pieces along the pocket."""
    full = filled_as_built(one.setup)
    back = 0.09 * (np.arange(2000) + 0.5) / 2000
    each = np.full(2000, 0.04 / 2000)
    total = np.zeros(4)
    for limb, root_x, root_y, side in (
        (full.upper_limb, full.riser.upper_root_x, full.riser.upper_root_y, 1.0),
        (full.lower_limb, full.riser.lower_root_x, full.riser.lower_root_y, -1.0),
    ):
        x, y = root_x - back * np.sin(lean(limb)), root_y - side * back * np.cos(lean(limb))
        total += np.array([each.sum(), each @ x, each @ y, each @ (x**2 + y**2)])
    return total


def test_the_butts_stand_with_the_riser() -> None:
    """Mass, first moments and inertia: those of a bow whose limbs have no butts, and its butts'."""
    bare = bow(("limbs.butt", 0.0), ("limbs.mass", 0.125))
    one = with_butt()
    np.testing.assert_allclose(all_of(one), all_of(bare) + pocket(one), rtol=1e-6)
    frames = [each.braced.frame for each in (one, bare)]
    assert frames[0].mass - frames[1].mass == pytest.approx(0.08, rel=1e-12)


@pytest.mark.parametrize("butt", [0.0, 0.09])
def test_no_mass_is_lost(butt: float) -> None:
    """Riser, rods, both limbs with their tips, string and locators: all that a scale would show."""
    one = bow(("limbs.butt", butt))
    full = filled_as_built(one.setup)
    rods = sum(rod.rod_mass + rod.end_mass for rod in full.riser.rods)
    locators = full.nock.locators.upper_mass + full.nock.locators.lower_mass
    whole = full.riser.mass + rods + 2.0 * (0.165 + full.upper_limb.tip_mass) + string_mass(full) + locators
    assert all_of(one)[0] == pytest.approx(whole, rel=1e-9)


def test_less_that_moves_is_faster_and_its_virtual_mass_less() -> None:
    slow, fast = bow(("limbs.butt", 0.0)).launch(), with_butt().launch()
    assert fast.stored_energy == pytest.approx(slow.stored_energy, rel=1e-3)
    assert fast.clear.speed > 1.02 * slow.clear.speed
    assert fast.virtual_mass < slow.virtual_mass - 1.0
    mass = total_mass(filled(fast.setup).arrow)
    assert 0.5 * (mass + 1e-3 * fast.virtual_mass) * fast.clear.speed**2 == pytest.approx(fast.stored_energy, rel=1e-9)
    assert abs(fast.clear.energy.residual) < 1e-4 * fast.stored_energy


def test_a_measured_speed_finds_the_moving_mass() -> None:
    """Shot with butts of 40 g; from that speed, and nothing about the butt's mass, the same comes out again."""
    speed = with_butt().launch().clear.speed
    found = bow(("limbs.butt", 0.09), ("bow.arrow_speed", speed))
    full = filled(found.setup)
    for limb in (full.upper_limb, full.lower_limb):
        assert limb.butt_mass == pytest.approx(0.04, rel=SAME)
        assert limb.mass == pytest.approx(0.165, rel=1e-12)
    start = filled(setup(**{"limbs.butt": 0.09})).upper_limb
    assert found.moving_factor == pytest.approx(0.125 / (start.mass - start.butt_mass), rel=SAME)
    met = found.met[-1]
    assert (met.path, met.wanted) == ("bow.arrow_speed", speed)
    assert abs(met.miss) < 1e-8 * speed
    assert found.launch().clear.speed == met.found
    assert found.launch().clear.pitch == pytest.approx(with_butt().launch().clear.pitch, abs=1e-5)
    assert found.setup.bow.arrow_speed is None
    assert pickle.loads(pickle.dumps(found)).moving_factor == found.moving_factor


def test_limbs_that_were_not_weighed_keep_their_butts() -> None:
    usual = filled(setup(**{"limbs.mass": None, "limbs.butt": 0.09})).upper_limb
    speed = bow(("limbs.butt", 0.0)).launch().clear.speed  # slower than with any butt
    found = bow(("limbs.mass", None), ("limbs.butt", 0.09), ("bow.arrow_speed", 0.98 * speed))
    limb = filled(found.setup).upper_limb
    assert limb.butt_mass == usual.butt_mass
    assert found.moving_factor > 1.2
    assert limb.mass - limb.butt_mass == pytest.approx(found.moving_factor * (usual.mass - usual.butt_mass), rel=1e-12)


def test_limbs_of_known_density_get_another() -> None:
    shaped = {
        "limbs.mass": None, "limbs.width": (0.042, 0.018), "limbs.thickness": (0.0085, 0.0055),
        "limbs.modulus": 30e9, "limbs.density": 900.0, "limbs.butt": 0.06,
    }  # fmt: skip
    usual = FittedBow.of(setup(**shaped), MESH)
    speed = usual.launch().clear.speed
    found = FittedBow.of(setup(**shaped, **{"bow.arrow_speed": 1.01 * speed}), MESH)
    assert found.moving_factor < 1.0
    assert found.setup.upper_limb.density == pytest.approx(found.moving_factor * 900.0, rel=1e-12)
    assert filled(found.setup).upper_limb.butt_mass == pytest.approx(filled(usual.setup).upper_limb.butt_mass, rel=1e-9)
    assert found.launch().clear.speed == pytest.approx(1.01 * speed, rel=1e-7)


def test_the_speed_is_that_with_the_bolts_as_they_stood() -> None:
    speed = with_butt().launch().clear.speed
    turned = bow(("limbs.butt", 0.09), ("limbs.bolt_turns", 1.0), ("bow.arrow_speed", speed))
    assert filled(turned.setup).upper_limb.butt_mass == pytest.approx(0.04, rel=SAME)
    assert turned.launch().clear.speed > 1.005 * speed


def test_another_arrow_is_shot_by_the_same_limbs() -> None:
    """A change of the bow as built keeps what was found; one of the speed itself has the bow fitted anew."""
    found = bow(("limbs.butt", 0.09), ("bow.arrow_speed", with_butt().launch().clear.speed))
    heavy = found.with_changes({"arrow.point_mass": "150 gr"})
    assert heavy.setup.upper_limb == found.setup.upper_limb
    assert heavy.launch().clear.speed < found.launch().clear.speed
    faster = found.with_changes({"bow.arrow_speed": (1.01 * found.met[-1].wanted, "m/s")})
    assert faster.edits[-1].refitted
    assert faster.moving_factor < found.moving_factor


@pytest.mark.parametrize("planes", [1, 2])
def test_a_speed_out_of_reach_is_refused_with_those_within(planes: int) -> None:
    """They are the speeds with all of each limb moving, and with the least that the fit tries."""
    told = []
    for speed in (30.0, 80.0):
        with pytest.raises(SetupError, match=r"bow.arrow_speed: this bow cannot shoot this arrow with") as caught:
            bow(("limbs.butt", 0.09), ("bow.arrow_speed", speed), planes=planes)
        found = re.search(r"leaves ([\d.]+) m/s \(all of the weighed limbs moving\) to ([\d.]+) m/s", str(caught.value))
        assert found
        told.append([float(one) for one in found.groups()])
    assert told[0] == told[1]
    assert told[0][0] == pytest.approx(bow(("limbs.butt", 0.0), planes=planes).launch().clear.speed, abs=0.006)
    inside = bow(("limbs.butt", 0.09), ("bow.arrow_speed", told[0][1] - 0.01), planes=planes)
    most = 0.31 if planes == 1 else 0.3 + 1.3 * 0.015  # some 1.3 for 1 m/s, of a speed told to a hundredth
    assert 0.3 < inside.moving_factor < most


@pytest.mark.parametrize(("name", "value"), [("balance", 0.28), ("butt_mass", 0.04)])
def test_one_number_too_many(name: str, value: float) -> None:
    with pytest.raises(SetupError, match=f"upper_limb.{name}: is one number too many beside bow.arrow_speed"):
        bow((f"limbs.{name}", value), ("limbs.butt", 0.09), ("bow.arrow_speed", 50.0))


def test_a_balance_point_is_a_butt_s_mass_on_the_bow_as_built() -> None:
    """A weight on the tip then leaves the butt as it is."""
    given = setup(**{"limbs.butt": 0.09, "limbs.balance": 0.27})
    found = FittedBow.of(given, MESH)
    first, then = filled(given).upper_limb, filled(found.setup).upper_limb
    assert then.mass_per_length == first.mass_per_length
    assert (then.butt_mass, then.mass) == (pytest.approx(first.butt_mass, rel=1e-9), pytest.approx(0.165, rel=1e-9))
    assert found.setup.upper_limb.balance is None
    heavier = found.with_changes({"limbs.tip_mass": "6 g"})
    assert filled(heavier.setup).upper_limb.butt_mass == then.butt_mass
    assert heavier.launch().clear.speed < found.launch().clear.speed
