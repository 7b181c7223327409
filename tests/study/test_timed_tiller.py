"""Static and dynamic tiller: directions, a bow that is its own mirror image, what has no answer, the command."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest

import archerysim
from archerysim import SetupError, TimedTiller
from archerysim.shot.nock_way import nock_way, ways_home
from archerysim.study.bench.opposite_bolts import opposite_bolts
from tests.support.even_bow import even_bow

NAMES = ("same_work", "home_together", "level_slowly", "level_shot", "level_end")
BOWS = ("club-outdoor", "barebow", "longbow", "junior")


@cache
def fitted(name: str) -> archerysim.FittedBow:
    bow = archerysim.fit(archerysim.load(f"examples/{name}.toml"), mesh="coarse")
    return archerysim.FittedBow.of(bow, planes=1)


@cache
def timed(name: str) -> TimedTiller:
    return archerysim.timed_tiller(fitted(name))


@cache
def even() -> TimedTiller:
    return archerysim.timed_tiller(even_bow(), mesh="coarse", planes=1)


@pytest.mark.parametrize("name", BOWS)
def test_a_larger_split_by_bolts_lays_work_on_the_lower_limb_by_stiffness_on_the_upper(name: str) -> None:
    """The lower bolt in, the upper one out: the lower limb is bent more. A weaker upper limb bends more (mechanics)."""
    found = timed(name)
    assert (np.diff(found.splits) > 0.0).all()
    more = 1.0 if found.by == "stiffness of the limbs" else -1.0
    assert (more * np.diff(found.measures[NAMES.index("same_work")]) > 0.0).all()


@pytest.mark.parametrize("name", BOWS)
def test_a_larger_split_brings_the_upper_tip_home_earlier_beside_the_lower(name: str) -> None:
    """Each tip is timed from its place at brace: the larger an upper tiller, the further back that is (computed)."""
    row = timed(name).measures[NAMES.index("home_together")]
    assert (np.diff(row[np.isfinite(row)]) < 0.0).all()


@pytest.mark.parametrize("name", BOWS)
def test_a_split_that_is_found_does_what_was_asked_with_reading_and_brace_height_held(name: str) -> None:
    found = timed(name)
    for aim, one in zip(found.aims, found.answers, strict=True):
        if one.launch is None:
            assert np.isnan(one.split)
            assert one.reason.startswith("Nothing that the")
            continue
        row = found.measures[NAMES.index(aim.name)]
        size = np.ptp(row[np.isfinite(row)])
        fresh = archerysim.limbs_compared(one.launch)
        assert one.launch.reading == pytest.approx(found.today.reading, abs=1e-6)
        assert one.launch.brace_height == pytest.approx(found.today.brace_height, abs=1e-4)
        left = {
            "same_work": 100 * (fresh.upper_share - 0.5), "home_together": 1e3 * fresh.lower_ahead,
            "level_shot": 1e3 * nock_way(one.launch).rise[-1],
        }  # fmt: skip
        assert abs(left.get(aim.name, 0.0)) < 0.01 * size


def test_static_and_dynamic_splits_differ_and_by_how_much_is_told() -> None:
    found = timed("junior")
    assert found.limbs_apart == found.answer("home_together").split - found.answer("same_work").split
    assert abs(found.limbs_apart) > 5.0
    assert abs(found.nock_apart) > 0.3


def test_on_a_bow_that_is_its_own_mirror_image_all_are_one_split() -> None:
    """But for gravity, which makes the limbs of an even bow read 1 mm apart, and the rest, which pushes up."""
    found = even()
    today = found.split_today
    assert abs(today) < 1.2
    for one in found.answers[:4]:
        assert abs(one.split - today) < 2.5, one.aim
    assert np.abs(found.measures[NAMES.index("level_end")]).max() < 0.1  # [deg], and hardly told by the split


def test_an_even_bow_turned_upside_down_swaps_what_both_limbs_do() -> None:
    """Bolts the other way: each measure changes its sign, but for what gravity and the rest make of an even bow."""
    row = even().measures
    for k in range(len(NAMES) - 1):
        one, other = row[k], row[k, ::-1]
        both = np.isfinite(one) & np.isfinite(other)
        both[2:7] = False  # about the middle, where an even bow's own millimetre counts
        assert both.sum() >= 2
        assert (np.abs(one + other)[both] < 0.5 * np.abs(one - other)[both]).all(), NAMES[k]


def test_fingers_turned_upside_down_swap_the_limbs_times() -> None:
    bolts = [opposite_bolts(archerysim.FittedBow.of(even_bow(shares), "coarse", planes=1)) for shares in (
        (0.4, 0.5, 0.1), (0.1, 0.5, 0.4),
    )]  # fmt: skip
    up, down = (
        archerysim.limbs_compared(one.turned(turns, ("brace height", "reading")).launch(trace=True))
        for one, turns in zip(bolts, (0.5, -0.5), strict=True)
    )
    assert up.upper_home_at == pytest.approx(down.lower_home_at, abs=0.15e-3)
    assert up.lower_home_at == pytest.approx(down.upper_home_at, abs=0.15e-3)
    assert abs(up.lower_ahead) > 0.3e-3
    assert up.upper_share == pytest.approx(1.0 - down.upper_share, abs=0.004)


def test_ways_home_end_where_the_limbs_are_said_to_be_home() -> None:
    launch = fitted("club-outdoor").launch(trace=True)
    ways, limbs = ways_home(launch), archerysim.limbs_compared(launch)
    assert np.interp(limbs.upper_home_at, ways.time, ways.upper) == pytest.approx(0.0, abs=1e-9)
    assert np.interp(limbs.lower_home_at, ways.time, ways.lower) == pytest.approx(0.0, abs=1e-9)
    assert ways.upper[0] > 0.1


def test_a_split_by_its_bolts_is_the_split_that_is_then_read() -> None:
    for name in BOWS:
        bolts = opposite_bolts(fitted(name))
        for split in np.linspace(*bolts.splits, 6):
            braced = bolts.turned(bolts.turns_for(float(split))).braced
            assert braced.upper_tiller - braced.lower_tiller == pytest.approx(split, abs=2e-5)
        with pytest.raises(SetupError, match=r"is not within what the (bolts|stiffness of the limbs) can do"):
            bolts.turns_for(bolts.splits[1] + 0.001)


def test_the_makers_turns_are_kept() -> None:
    setup = archerysim.load("examples/club-outdoor.toml").replace({"limits.most_bolt_turns": "1 turn"})
    bow = archerysim.FittedBow.of(setup, "coarse", planes=1)
    assert opposite_bolts(bow).travel == (-1.0, 1.0)
    turned = bow.with_changes({"lower_limb.bolt_turns": "0.75 turn"})
    assert opposite_bolts(turned).travel == pytest.approx((-1.0, 0.25))
    with pytest.raises(SetupError, match="which leaves no travel"):
        opposite_bolts(bow.with_changes({"lower_limb.bolt_turns": "1 turn"}))
    with pytest.raises(SetupError, match="no travel of a bolt"):
        opposite_bolts(bow, "-1 turn")


def test_through_the_command_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from archerysim.cli.main import main

    table, picture = tmp_path / "timed.nc", tmp_path / "timed.png"
    assert main([
        "timed-tiller", "examples/club-outdoor.toml", "--mesh", "coarse", "--planes", "1", "--within", "1 turn",
        "--out", str(table), "--plot", str(picture),
    ]) == 0  # fmt: skip
    out = capsys.readouterr().out
    assert "both tips come home together (in the shot)" in out
    assert "Nothing that the bolts can do brings it about: the upper limb's share" in out
    assert "Bolts turned" in out
    assert table.stat().st_size > 1000
    assert picture.stat().st_size > 20_000
