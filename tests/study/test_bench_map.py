"""Maps over tiller split: each point is a shot of its own, directions, a bow upside down, gaps, the command."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

import archerysim
from archerysim import BenchMap, SetupError
from archerysim.show.bench.map_plot import bench_map as draw_map
from archerysim.show.bench.map_table import map_table
from archerysim.study.bench.bench_map import crossed, window_of
from tests.support.even_bow import even_bow


@cache
def club() -> archerysim.FittedBow:
    setup = archerysim.load("examples/club-outdoor.toml")
    return archerysim.FittedBow.of(setup, "coarse", planes=1)


@cache
def mapped(against: str = "reading", splits: str = "1 mm:9 mm:4 mm", values: str = "2 mm:8 mm:2 mm") -> BenchMap:
    return archerysim.bench_map(club(), against, splits=splits, values=values, workers=1)


def test_a_point_is_the_shot_of_that_split_and_reading() -> None:
    found, bow = mapped(), club()
    turned = bow.with_changes({"upper_limb.bolt_turns": "-0.425 turn", "lower_limb.bolt_turns": "0.425 turn"},
                              "brace height")  # fmt: skip
    near = turned.at_reading("4 mm")
    split = near.upper_tiller - near.lower_tiller
    assert split == pytest.approx(9.0, abs=0.2)
    assert near.clear.pitch == pytest.approx(
        np.interp(split, found.splits, found.of("pitch")[:, 1]), abs=0.005
    )  # straight between two splits
    today = bow.at_reading("6 mm")
    assert found.of("angle_of_attack")[1, 2] == pytest.approx(today.clear.angle_of_attack, abs=0.002)
    gap = archerysim.bare_difference(today, "18 m").swing
    assert found.of("bare_above")[1, 2] == pytest.approx(1e3 * gap, abs=1.0)
    assert found.splits == pytest.approx([1.0, 5.0, 9.0], abs=0.02)


def test_directions() -> None:
    """Locators up: nose down, bare shafts down (common practice). A larger split: the locators go down (computed)."""
    found = mapped()
    for name in ("pitch", "angle_of_attack", "bare_above"):
        assert (np.diff(found.of(name), axis=1) < 0.0).all()
    assert (np.diff(found.best) < 0.0).all()
    assert found.slope < 0.0
    assert (found.window[:, 0] < found.best).all()
    assert (found.best < found.window[:, 1]).all()


def test_the_line_is_where_fresh_searches_find_it() -> None:
    found = mapped(values="2 mm:8 mm:1 mm")
    searched = archerysim.together_reading(club()).reading
    assert np.interp(found.today_at[1], found.splits, found.best) == pytest.approx(searched, abs=0.05)
    assert 0.0 < found.error < 0.1


def test_a_bow_upside_down_mirrors_the_map() -> None:
    """Split and reading of the other sign: pitch of the other sign, but for what gravity and the rest make of it."""
    even = archerysim.FittedBow.of(even_bow(), "coarse", planes=1)
    found = archerysim.bench_map(even, splits="-7 mm:9 mm:4 mm", values="-4.15 mm:3.85 mm:4 mm", workers=1)
    for name in ("pitch", "pitch_rate", "angle_of_attack"):
        one = found.of(name)
        other = one[::-1, ::-1]
        wide = np.ptp(one)
        assert np.abs(one + other).max() < 0.3 * wide, name
        assert np.abs(one - other).max() > 0.9 * wide, name


def test_against_fingers_and_crawl_the_reading_is_held() -> None:
    shares = mapped("finger share", values="0.1, 0.3, 0.45")
    assert shares.across.today(club()) == pytest.approx(0.3)
    assert shares.of("pitch")[1, 1] == pytest.approx(club().launch().clear.pitch, abs=0.002)
    crawled = mapped("crawl", values="0 mm, 10 mm, 20 mm")
    assert crawled.of("pitch")[1, 0] == pytest.approx(club().launch().clear.pitch, abs=0.002)
    more = club().launch({"archer.crawl": "20 mm"})
    assert crawled.of("pitch")[1, 2] == pytest.approx(more.clear.pitch, abs=0.005)


def test_points_without_a_shot_are_gaps_with_their_reason() -> None:
    found = mapped("crawl", splits="3 mm:7 mm:2 mm", values="0 mm, 40 mm, 200 mm")  # 150 mm are allowed
    lost = np.isnan(found.of("pitch"))
    assert lost.any()
    assert not lost.all()
    assert set(found.reasons) == {tuple(place) for place in np.argwhere(lost).tolist()}
    assert all(found.reasons.values())


def test_two_workers_find_the_same() -> None:
    one = mapped()
    two = archerysim.bench_map(club(), splits="1 mm:9 mm:4 mm", values="2 mm:8 mm:2 mm", workers=2)
    assert np.array_equal(one.values, two.values)


def test_where_values_cross() -> None:
    at = np.array([0.0, 1.0, 2.0])
    assert crossed(at, np.array([1.0, 0.5, -0.5])) == pytest.approx(1.5)
    assert np.isnan(crossed(at, np.array([1.0, 0.5, 0.2])))
    assert np.isnan(crossed(at, np.array([1.0, np.nan, -0.5])))
    assert window_of(at, np.array([1.0, 0.0, -1.0]), 0.5) == pytest.approx((0.5, 1.5))
    assert np.isnan(window_of(at, np.array([0.3, 0.0, -1.0]), 0.5)[0])


def test_a_line_that_turns_back_is_told_and_has_no_slope() -> None:
    """As over the crawl of a barebow: at some splits bare and fletched come together twice."""
    found = mapped()
    values = found.values.copy()
    values[3] = [[-20.0, 10.0, 5.0, -10.0], [-9.0, 3.0, 2.0, -4.0], [-9.0, -5.0, -4.0, -8.0]]
    turning = replace(found, values=values, best=np.array([3.0, 3.5, np.nan]))
    assert turning.twice == 2
    assert np.isnan(turning.slope)
    text = " ".join(map_table(turning).split())
    assert "At 2 of the splits they come together twice" in text
    assert "One millimetre more split" not in text
    assert found.twice == 0


def test_the_key_names_what_is_drawn() -> None:
    found = mapped()
    low = replace(found, values=np.where(np.arange(4)[:, None, None] == 3, -400.0, found.values))
    for one, line in ((found, True), (low, False)):
        figure = draw_map(one)
        words = [text.get_text() for key in figure.legends for text in key.get_texts()]
        assert any("together at" in text for text in words) is line
        assert any("of each other" in text for text in words) is line
        assert "today" in words
        assert "tiller split and reading" in figure.get_suptitle()


@pytest.mark.parametrize(
    ("how", "message"),
    [
        ({"against": "wind"}, "'wind' is not known"),
        ({"splits": "-90 mm:90 mm:5 mm"}, "is not within what the bolts can do"),
        ({"splits": "3 mm, 2 mm, 1 mm"}, "do not all rise"),
        ({"against": "finger share", "values": "0.1, 0.3, 0.9"}, "leaves the ring finger -0.4"),
        ({"splits": "0 mm:9 mm:0.001 mm"}, "are more than 20,000"),
    ],
)
def test_what_is_refused(how: dict[str, str], message: str) -> None:
    with pytest.raises(SetupError, match=message):
        archerysim.bench_map(club(), **how)  # type: ignore[arg-type]


def test_through_the_command_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from archerysim.cli.main import main

    table, picture = tmp_path / "map.csv", tmp_path / "map.png"
    command = ["map", "examples/club-outdoor.toml", "--mesh", "coarse", "--planes", "1", "--splits", "1 mm:9 mm:4 mm",
               "--values", "2 mm:8 mm:2 mm", "--workers", "1"]  # fmt: skip
    assert main([*command, "--out", str(table), "--plot", str(picture)]) == 0
    out = capsys.readouterr().out
    assert "12 of 12 points shot" in out
    assert "One millimetre more split moves where they come together by -0." in out
    assert "Bolts turned" in out
    rows = table.read_text().splitlines()
    assert rows[0] == (
        "tiller split [mm],reading [mm],pitch [deg],pitch rate [rad/s],angle of attack [deg],bare above [mm],reason"
    )
    assert len(rows) == 13
    assert picture.stat().st_size > 20_000
    assert main([*command, "--out", str(tmp_path / "map.nc")]) == 0
