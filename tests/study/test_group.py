"""Groups: seeded, the same for any number of workers, zero without scatter, as wide as the scatter."""

from __future__ import annotations

import math
from functools import cache
from typing import Any

import numpy as np
import pytest

from archerysim.equipment import SetupError
from archerysim.shot.flight.fly import flown
from archerysim.shot.flight.range_cautions import CAUTION
from archerysim.shot.warnings import NONE
from archerysim.study.groups.compare import LocatorGroups, ReadingGroups, compare_locators, group_by_reading
from archerysim.study.groups.group import AT_CLEAR, Group, group
from archerysim.study.groups.scatter import NO_SCATTER, Scatter
from archerysim.study.tuning.zero_attack import zero_attack_reading
from tests.support.shot.example_bows import built, changed

MESH = "coarse"
NUMBERS = ("fletched", "bare", *AT_CLEAR)


@cache
def shot_group(n: int = 8, workers: int = 1, size: float = 1.0, seed: int = 0) -> Group:
    return group(
        built("club-outdoor", MESH), n, scatter=Scatter().times(size), workers=workers, seed=seed, mesh=MESH,
        progress=False,
    )  # fmt: skip


@cache
def by_reading() -> ReadingGroups:
    return group_by_reading(
        built("club-outdoor", MESH), 4, ("-2 mm", "0 mm", "2 mm", "60 mm"), workers=1, mesh=MESH, progress=False
    )


@cache
def compared() -> LocatorGroups:
    return compare_locators(built("club-outdoor", MESH), 6, workers=1, mesh=MESH, progress=False)


def test_workers_do_not_change_a_bit() -> None:
    one, two = shot_group(), shot_group(workers=2)
    for name in NUMBERS:
        np.testing.assert_array_equal(getattr(one, name), getattr(two, name))
    assert one.warnings == two.warnings
    assert one.elevation == two.elevation


def test_seeds_and_sizes_of_groups() -> None:
    other = shot_group(seed=1)
    assert not np.isin(other.fletched, shot_group().fletched).any()
    np.testing.assert_array_equal(shot_group(3).fletched, shot_group().fletched[:3])


def test_no_scatter_no_group() -> None:
    still = group(built("club-outdoor", MESH), 3, scatter=NO_SCATTER, mesh=MESH, progress=False)
    for name in NUMBERS:
        assert still.spread(name).full == 0.0
    assert abs(still.fletched[0]) < 1e-4  # [cm]: the sight
    assert still.bare[0] == still.bare_nominal
    assert still.pitch[0] == still.nominal.clear.pitch


def test_twice_a_small_scatter_is_twice_the_group() -> None:
    """Heights jump by some 0.003 cm where a contact ends a time step later; the rest is linear."""
    small, twice = shot_group(6, size=0.1), shot_group(6, size=0.2)
    assert twice.spread("speed").deviation == pytest.approx(2.0 * small.spread("speed").deviation, rel=1e-3)
    for name in ("fletched", "bare"):
        found, half = twice.spread(name).deviation, small.spread(name).deviation
        assert half > 0.05
        assert found == pytest.approx(2.0 * half, abs=2 * 0.003), name


def test_a_shot_is_that_of_its_inputs() -> None:
    found = shot_group()
    k = 5
    launch = changed(built("club-outdoor", MESH), MESH, **{p: v[k].tolist() for p, v in found.drawn.items()})
    assert found.pitch[k] == launch.clear.pitch
    aim = {"elevation": math.radians(found.elevation), "windage": math.radians(found.windage)}
    for name, fletched in (("fletched", True), ("bare", False)):
        flight = flown(launch, distance=18.0, fletched=fletched, **aim)
        assert getattr(found, name)[k] == flight.impact_height / 0.01  # in cm, divided as there


def test_a_longer_draw_strikes_higher() -> None:
    """Common practice: overdrawn arrows are faster and go high."""
    alone = group(
        built("club-outdoor", MESH),
        6,
        scatter=Scatter("3 mm", 0.0, "0 ms", "0 N m", "0 N"),
        workers=1,
        mesh=MESH,
        progress=False,
    )
    order = np.argsort(alone.drawn["archer.draw_length"])
    assert (np.diff(alone.speed[order]) > 0.0).all()
    assert (np.diff(alone.fletched[order]) > 0.0).all()


def test_a_failed_shot_keeps_its_place_and_its_reason() -> None:
    short = built("club-outdoor", MESH).replace(**{"arrow.length": "26.26 in"})  # just reaches the rest
    found = group(short, 6, scatter=Scatter("10 mm", 0.0, "0 ms", "0 N m", "0 N"), workers=1, mesh=MESH, progress=False)
    assert 0 < found.failed < 6
    for reason, height, draw in zip(found.reasons, found.fletched, found.drawn["archer.draw_length"], strict=True):
        assert bool(reason) == np.isnan(height)
        if reason:
            assert "does not reach the rest" in reason
            assert draw > short.archer.draw_length
    assert found.spread("fletched").count == 6 - found.failed


def test_warnings_and_caution() -> None:
    found = shot_group()
    assert found.warnings == (CAUTION, NONE)
    heavy = built("club-outdoor", MESH).replace(**{"limits.longest_draw": "28.02 in"})
    told = group(heavy, 8, workers=1, mesh=MESH, progress=False).warnings
    over = int((found.drawn["archer.draw_length"] > 28.02 * 0.0254).sum())
    assert 0 < over < 8
    assert any("over the maker's" in one and one.endswith(f"(at {over} of 8 shots)") for one in told)
    assert NONE not in told


def test_a_hand_that_draws_farther_is_no_change_of_the_bow() -> None:
    """Some of the shots are drawn farther than the file says, and with more weight; nobody has changed the bow."""
    found = shot_group()
    assert (found.drawn["archer.draw_length"] > found.setup.archer.draw_length + 2e-3).any()
    assert not any("More draw weight" in one for one in found.warnings)


@pytest.mark.parametrize(
    ("options", "path"),
    [
        ({"n": 1}, "n"), ({"n": 2.5}, "n"), ({"seed": -1}, "seed"), ({"distance": "1 m"}, "distance"),
        ({"workers": 0}, "workers"), ({"workers": "2"}, "workers"), ({"workers": 1.5}, "workers"),
        ({"seed": 1.0}, "seed"), ({"seed": True}, "seed"),
    ],
)  # fmt: skip
def test_bad_requests(options: dict[str, object], path: str) -> None:
    with pytest.raises(SetupError) as caught:
        group(built("club-outdoor", MESH), **{"n": 2, "mesh": MESH, **options})  # type: ignore[arg-type]
    assert caught.value.path == path


def test_by_reading_counts_from_the_reading_of_zero_attack() -> None:
    found = by_reading()
    assert found.best == pytest.approx(zero_attack_reading(built("club-outdoor", MESH), MESH).reading)
    low, middle, high, never = found.groups
    assert low is not None
    assert middle is not None
    assert high is not None
    for one, offset in ((low, -2.0), (middle, 0.0), (high, 2.0)):
        assert one.nominal.reading == pytest.approx(found.best + offset, abs=1e-6)
        np.testing.assert_array_equal(one.drawn["archer.draw_length"], middle.drawn["archer.draw_length"])
    assert abs(middle.nominal.clear.angle_of_attack) < 1e-3
    # a bare shaft lands high with the locator too low, low with it too high
    assert low.bare_nominal > middle.bare_nominal > high.bare_nominal
    assert never is None
    assert "nock.locators.reading" in found.reasons[3]


def test_by_reading_from_a_given_reading() -> None:
    found = group_by_reading(
        built("club-outdoor", MESH), 2, ["0 mm"], best="8 mm", workers=1, mesh=MESH, progress=False
    )
    (one,) = found.groups
    assert one is not None
    assert one.nominal.reading == pytest.approx(8.0)
    assert found.today == pytest.approx(8.0)
    with pytest.raises(SetupError, match="best"):
        group_by_reading(built("club-outdoor", MESH), 2, best="8 kg", mesh=MESH)


@pytest.mark.parametrize("offsets", [[None], None, ["x"], [math.nan]])
def test_bad_offsets(offsets: Any) -> None:
    with pytest.raises(SetupError, match=r"^offsets: "):
        group_by_reading(built("club-outdoor", MESH), 2, offsets, best="8 mm", mesh=MESH)


@pytest.mark.parametrize("fits", [{"a": None}, {"a": "x"}, ["a"], "a"])
def test_bad_fits(fits: Any) -> None:
    with pytest.raises(SetupError, match=r"^fits"):
        compare_locators(built("club-outdoor", MESH), 2, fits, mesh=MESH)


def test_locator_fits_keep_the_lower_one() -> None:
    found = compared()
    assert found.names == ("two, touching", "two, 0.5 mm gap", "lower alone", "upper alone")
    assert found.today == "two, touching"  # as built
    touching, gapped = (c["nock.locators.place"] for c in found.changes[:2])
    assert gapped - touching == pytest.approx(0.25e-3)
    two, gap, lower, upper = found.groups
    assert two is not None
    assert gap is not None
    assert lower is not None
    assert upper is not None
    # which locators are there makes nothing of the draw: with one alone the nock is held until the string moves
    assert lower.nominal.draw_force == pytest.approx(two.nominal.draw_force, rel=1e-4)
    assert gap.nominal.draw_force == pytest.approx(two.nominal.draw_force, rel=1e-4)
    assert upper.nominal.draw_force == pytest.approx(two.nominal.draw_force, rel=1e-4)
    # friction keeps it where it lay; without any it slides, and the launch scatters more (common practice)
    free = compare_locators(
        built("club-outdoor", MESH).replace({"nock.friction": 0.0}), 6, workers=1, mesh=MESH, progress=False
    )
    for name in ("lower alone", "upper alone"):
        assert 1.0 < found.ratio(name, "pitch").value < 0.8 * free.ratio(name, "pitch").value
        assert free.ratio(name, "pitch").value > 1.5
    with pytest.raises(SetupError, match="was not compared"):
        found.ratio("three")


def test_own_fits_compared() -> None:
    fits = {"as it is": {}, "hard": {"nock.locators.stiffness": "1e6 N/m"}}
    found = compare_locators(built("club-outdoor", MESH), 3, fits, workers=1, mesh=MESH, progress=False)
    assert found.names == ("as it is", "hard")
    assert found.today == "as it is"
    assert not any(found.reasons)
    with pytest.raises(SetupError, match="nothing to compare"):
        compare_locators(built("club-outdoor", MESH), 3, {}, mesh=MESH)
