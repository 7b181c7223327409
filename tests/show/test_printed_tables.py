"""Results as text: every number that is asked for, in both systems of units, warnings last."""

from __future__ import annotations

import dataclasses
import re

import numpy as np
import pytest

import archerysim
from archerysim.equipment import Setup, filled, sources
from archerysim.shot.launch import Launch
from archerysim.shot.shoot import DrawCurve
from archerysim.shot.warnings import NONE
from archerysim.show.shots.check_table import BOTH_PLANES, SIDEWAYS
from archerysim.show.shots.table import (
    brace_table,
    check_table,
    draw_table,
    energy_table,
    launch_table,
)
from archerysim.show.sweeps.table import sweep_table, zero_places
from archerysim.show.text import columns, number
from tests.show.test_sweep_picture import LOUD
from tests.support.shot.example_bows import path_of
from tests.support.show.made_sweeps import made_sweep


def row(text: str, name: str) -> str:
    """The only line that begins with a name, the name taken off."""
    (found,) = [line for line in text.splitlines() if re.match(rf"\s*{re.escape(name)}\s\s", line)]
    return found.strip().removeprefix(name).strip()


def names_of(block: str) -> list[str]:
    """The names at the beginning of a block's lines."""
    return [line.split()[0] for line in block.splitlines() if line[2] != " "]


def last_section(text: str) -> str:
    return text.split("\n\n")[-1]


def test_launch_table(launch: Launch) -> None:
    text = launch_table(launch)
    s, c = launch.separation, launch.clear
    times = row(text, "time after the release begins").split()
    assert times == [f"{1e3 * s.time:.2f}", "ms", f"{1e3 * c.time:.2f}", "ms"]
    assert f"{s.speed:.2f} m/s ({s.speed / 0.3048:.1f} fps)" in row(text, "speed along the aim line")
    for name, field, unit in (
        ("pitch, nose up +", "pitch", "deg"),
        ("in the bow's axes", "pitch_to_bow", "deg"),
        ("pitch rate, nose up +", "pitch_rate", "rad/s"),
        ("vertical velocity, up +", "vertical_velocity", "m/s"),
        ("angle of attack, nose up +", "angle_of_attack", "deg"),
    ):
        expected = [f"{getattr(m, field):+.3f}" for m in (s, c)]
        assert row(text, name).split() == [expected[0], unit, expected[1], unit]
    assert row(text, "reading, underside of the nock") == "8.0 mm (5/16 in)"
    assert row(text, "reading, top of the nock") == "13.8 mm (9/16 in)"
    assert row(text, "nock axis above square").startswith("8.2 mm (5/16 in)")
    assert row(text, "brace height") == "220.0 mm (8.66 in)"
    assert row(text, "force on the fingers") == "151.2 N (34.0 lbf)"
    assert "ft lb" in row(text, "stored energy")
    assert row(text, "aim angle, nose up +") == f"{launch.aim_angle:+.3f} deg: aim line in the bow's axes"
    on = text.index("On the way\n")
    assert text[on:].splitlines()[1:4] == [f"  {'; '.join(launch.events)}", "", "Warnings"]
    assert "On the way" not in launch_table(dataclasses.replace(launch, events=()))


def test_the_rest_of_a_shot_in_one_plane(flat: Launch) -> None:
    text = launch_table(flat)
    assert flat.rest_left_at > flat.second_strike_at  # this shaft leaves the rest twice while that supports it
    for name, time, travel, deep in (
        ("rest left again", flat.rest_left_at, flat.rest_left_travel, ""),
        ("second strike", flat.second_strike_at, flat.second_strike_travel,
         f", {flat.second_strike_depth:.2f} mm deep"),
    ):  # fmt: skip
        at = f"{1e3 * time:.2f} ms after the release begins, {travel:.1f} mm of travel"
        assert row(text, name) == at + deep
    assert row(text, "suppressed strike, how deep") == f"{flat.suppressed_strike:.1f} mm"
    assert len(flat.events) == 2
    assert "; ".join(flat.events) in text
    assert "ideways" not in text
    assert "side support" not in text


def test_a_rest_that_is_left_after_the_second_strike_is_left_again(flat: Launch) -> None:
    for name, later in (("rest left again", 1.0), ("rest left", -1.0)):
        text = launch_table(dataclasses.replace(flat, rest_left_at=flat.second_strike_at + 1e-3 * later))
        assert row(text, name).startswith(f"{1e3 * flat.second_strike_at + later:.2f} ms")


def test_a_strike_that_did_not_happen_is_a_dash(flat: Launch) -> None:
    nan = float("nan")
    none = launch_table(dataclasses.replace(
        flat, rest_left_at=nan, rest_left_travel=nan, second_strike_at=nan, second_strike_travel=nan,
        second_strike_depth=nan, suppressed_strike=nan,
    ))  # fmt: skip
    for name in ("rest left", "second strike", "suppressed strike, how deep"):
        assert row(none, name) == "-"


def test_warnings_stand_last(launch: Launch, drawn: DrawCurve) -> None:
    loud = ("DO NOT SHOOT: the arrow is too light.", "The nock loses the string early.")
    for text in (
        launch_table(dataclasses.replace(launch, warnings=loud)),
        draw_table(dataclasses.replace(drawn, warnings=loud)),
    ):
        assert last_section(text).splitlines() == ["Warnings", *(f"  ! {one}" for one in loud)]


def test_energy_table_adds_up(launch: Launch, flat: Launch) -> None:
    for one in (launch, flat):
        text = energy_table(one)
        rows = [re.findall(r"(-?\d+\.\d+) J", line) for line in text.splitlines()]
        numbers = np.array([[float(v) for v in values] for values in rows if values])
        np.testing.assert_allclose(numbers[1:].sum(axis=0), numbers[0], atol=0.01)
        assert "-0.0 %" not in text


SIDEWAYS_ROWS = {
    "lost_side_support": "lost at the side support", "lost_groove": "lost in the nock's groove, sideways",
    "lost_tips": "lost in the limbs' tips, sideways", "lost_folding": "lost to an arm that folds away",
}  # fmt: skip


def test_energy_lost_sideways_is_told_where_there_is_any(launch: Launch, flat: Launch) -> None:
    assert not any(words in energy_table(flat) for words in SIDEWAYS_ROWS.values())
    for name, words in SIDEWAYS_ROWS.items():
        for before, lost, seen in (
            (0.0, 0.0004, False),
            (0.0, 0.0006, True),
            (0.0006, 0.0, True),
            (0.0, -0.0006, True),
        ):
            moments = {
                at: dataclasses.replace(moment, energy=dataclasses.replace(moment.energy, **{name: value}))
                for at, moment, value in (("separation", launch.separation, before), ("clear", launch.clear, lost))
            }
            assert (words in energy_table(dataclasses.replace(launch, **moments))) is seen, name
    ended = "left in the rest when its support ended"  # in both planes the shaft leaves the rest by itself
    assert ended in energy_table(flat)
    assert ended not in energy_table(launch)


def test_brace_table(setup: Setup) -> None:
    fitted = archerysim.fit(setup)
    text = brace_table(fitted)
    assert row(text, "tiller split, upper minus lower") == "+5.0 mm (+0.20 in)"
    assert row(text, "draw weight").endswith("+0.0000 N")
    assert "string, unloaded" in text
    assert last_section(text).startswith("Warnings")
    built = brace_table(archerysim.fit(fitted.setup))
    assert "The fit" not in built


def test_draw_table(drawn: DrawCurve) -> None:
    text = draw_table(drawn)
    assert drawn.kept_by_limbs > 0.0  # so that letting down stands beside drawing
    for x, f, d, k in zip(drawn.draw_length, drawn.force, drawn.let_down, drawn.stiffness, strict=True):
        rise = k / (4.4482216 / 0.0254)
        shown = (
            rf"{x / 0.0254:.2f} in +{1e3 * x:.0f} mm +{f / 4.4482216:.2f} lbf +{f:.1f} N +{d:.1f} N +{rise:.2f} lb/in"
        )
        assert re.search(shown, text)
    assert "At full draw 711.2 mm (28.00 in): 151.2 N (34.0 lbf)" in text


def test_check_table_names_every_value_with_its_source(setup: Setup) -> None:
    text = check_table(setup)
    for path, source in sources(setup).items():
        table, _, name = path.rpartition(".")
        heading = f"[{table or 'setup'}]"
        if path.replace("upper_limb", "limbs").replace("lower_limb", "limbs") in SIDEWAYS:
            heading, name = BOTH_PLANES, path if "limb" not in table else f"limbs.{name}"
        block = text.split(f"{heading}\n")[1].split("\n\n")[0]
        entry = re.search(rf"^  {name} .*(?:\n {{10,}}.*)*", block, re.MULTILINE)
        assert entry is not None, path
        if not path.endswith("bending_stiffness"):
            assert source.kind in entry.group(), path
    assert "found by the fit" in text.split("[string]")[1].split("\n\n")[0]
    assert row(text, "reading, underside of the nock") == "8.0 mm (5/16 in)"
    assert row(text, "mass for each pound of draw weight") == "8.6 grains per pound"
    assert row(text, "front of centre").endswith("%")
    assert row(text, "stored energy").startswith("39.")
    assert last_section(text) == f"Warnings\n  ! {NONE}"


def test_check_table_tells_the_side_apart_and_limbs_alike_once(setup: Setup) -> None:
    """Paths in full, a value that is given too; the two limbs' where they differ."""
    block = check_table(setup).split(f"{BOTH_PLANES}\n")[1].split("\n\n")[0]
    assert names_of(block) == [path for path in SIDEWAYS if not path.startswith(("upper_limb.", "lower_limb."))]
    assert "[side]" not in check_table(setup)
    changes = {"upper_limb.side_stiffness": "900 N/m", "side.offset": "-6 mm"}
    other = check_table(setup.replace(changes)).split(f"{BOTH_PLANES}\n")[1].split("\n\n")[0]
    assert re.search(r"^  upper_limb.side_stiffness +900 N/m +given$", other, re.MULTILINE)
    assert re.search(r"^  lower_limb.side_stiffness +998.2 N/m\n +derived: from bow.draw_weight", other, re.MULTILINE)
    assert "limbs.side_stiffness" not in names_of(other)
    assert "limbs.side_mass" in names_of(other)
    assert re.search(r"^  side.offset +\(!\) -6 mm \(-0.2362 in\) +given$", other, re.MULTILINE)


def test_check_table_flags_the_odd(setup: Setup) -> None:
    text = check_table(setup.replace(**{"limbs.mass": "310 g", "nock.floor": "2 mm"}))
    assert re.search(r"^  floor +\(!\) 2 mm", text, re.MULTILINE)
    assert "mass of the upper limb 310 g is outside 130 to 200 g" in text
    above = text.split("Outside what is typical\n")[1].split("\n\n")[0]
    assert above.count("(!)") == 3  # both limbs and the floor
    assert text.rstrip().split("\n\n")[-2] == f"Odd here\n{above}"
    assert last_section(text).startswith("Warnings")
    plain = check_table(setup)
    assert "Outside what is typical\n  nothing" in plain
    assert "Odd here" not in plain


def test_check_table_of_a_built_bow_has_no_fit(built: Setup) -> None:
    text = check_table(built)
    assert "found by the fit" not in text
    assert "The fit" not in text
    assert row(text, "brace height").startswith("220.0 mm")
    assert filled(built).string.length is not None


def test_sweep_table() -> None:
    text = sweep_table(made_sweep(failed=(3,), events={0: "one", 1: "one; two"}))
    lines = text.splitlines()
    (four,) = [line for line in lines if line.startswith("  4 mm (3/16 in)")]
    assert re.split(r"  +", four.strip()) == [
        "4 mm (3/16 in)", "9.8 mm", "+1.500", "+0.900", "+0.750", "+0.450", "+0.750", "+0.450", "+0.750", "+0.450", "a",
    ]  # fmt: skip
    (six,) = [line for line in lines if line.startswith("  6 mm")]
    assert six.endswith(" ab")
    (ten,) = [line for line in lines if line.startswith("  10 mm (3/8 in) ")]
    assert re.split(r"  +", ten.strip())[2:] == ["-"] * 8
    assert "  10 mm: draw: no such shape" in lines
    assert {"  a: one", "  b: two"} <= set(lines)
    for unit in ("[deg]", "[rad/s]", "[m/s]"):
        assert unit in text
    assert last_section(text) == "Warnings\n  ! Light arrow: 5.5 grains per pound. (at 4 of 4 points)"


def test_sweep_table_has_limits_on_top_and_says_at_last_that_none_was_passed() -> None:
    text = sweep_table(made_sweep(warnings=LOUD))
    assert text.startswith("Warnings\n  ! Draw length 29.00 to 30.00 in is over the maker's 28.00 in")
    assert last_section(text) == "Warnings\n  ! Bolts turned: follow the maker. (at 2 of 5 points)"
    calm = sweep_table(made_sweep(warnings={1: LOUD[1]}))
    assert last_section(calm).splitlines() == [
        "Warnings", "  ! Bolts turned: follow the maker. (at 1 of 5 points)", f"  ! {NONE}",
    ]  # fmt: skip


def test_what_happened_at_every_point_is_told_once() -> None:
    text = sweep_table(made_sweep(failed=(3,), events=dict.fromkeys(range(3), "one; two") | {4: "one"}))
    lines = text.splitlines()
    assert "  On the way, at every point: one" in lines
    assert "  a: two" in lines
    (twelve,) = [line for line in lines if line.startswith("  12 mm")]
    assert not twelve.rstrip().endswith("a")


def test_sweep_table_tells_where_the_angle_of_attack_is_zero() -> None:
    assert "zero at reading by the underside 8.5 mm (5/16 in)." in sweep_table(made_sweep())
    assert "does not pass zero" in sweep_table(made_sweep(readings=(1.0, 2.0)))
    assert "zero at" not in sweep_table(made_sweep(others=(0.0, 1.0)))


def test_sweep_table_of_two_parameters_keeps_the_second_whole() -> None:
    readings = tuple(4.0 + 0.1 * k for k in range(60))
    text = sweep_table(made_sweep(readings=readings, others=(0.0, 10.0, 20.0)))
    assert "60 of 180 points" in text
    for crawl in ("0 mm", "10 mm", "20 mm"):
        assert len(re.findall(rf"^  [\d.]+ mm \(.*? in\) +[\d.]+ mm +{crawl} ", text, re.MULTILINE)) == 20


def test_a_sweep_without_warnings_says_what_that_means() -> None:
    data = made_sweep()
    data["warnings"].values[:] = NONE
    assert last_section(sweep_table(data)) == f"Warnings\n  ! {NONE}"


def test_zero_places() -> None:
    x = np.array([0.0, 1.0, 2.0, 3.0, 4.0])
    assert zero_places(x, np.array([1.0, -1.0, -1.0, 3.0, 3.0])) == [0.5, 2.25]
    assert zero_places(x, np.array([1.0, np.nan, -1.0, -2.0, -3.0])) == []
    assert zero_places(x, np.array([1.0, 0.0, -1.0, -2.0, -3.0])) == [1.0]


@pytest.mark.parametrize(
    ("value", "expected"), [(-0.0001, "+0.0 mm"), (0.25, "+0.2 mm"), (-3.0, "-3.0 mm"), (float("nan"), "-")]
)
def test_numbers(value: float, expected: str) -> None:
    assert number(value, "mm", 1, True) == expected


def test_columns() -> None:
    assert columns([("a", "1"), ("bcd", "22")], ("", "n")) == ["        n", "  -------", "  a     1", "  bcd  22"]
    assert columns([]) == []


def test_limits_that_are_passed_stand_on_top() -> None:
    setup = archerysim.load(path_of("club-outdoor")).replace(
        **{"arrow.mass_per_length": "2.2 gr/in", "arrow.point_mass": "40 gr"}
    )
    page = launch_table(archerysim.shoot(setup, "coarse", trace=False))
    assert page.splitlines()[1].startswith("  ! DO NOT SHOOT")
    assert page.count("DO NOT SHOOT") == 1
    assert "tail touches the side support" in page.split("On the way")[1]
    assert NONE not in page


def test_the_fit_is_that_before_the_bolts_were_turned() -> None:
    setup = archerysim.load(path_of("club-outdoor"))
    words = "measured and fitted before the bolts were turned"
    for turned, told in ((setup, False), (setup.replace(**{"lower_limb.bolt_turns": "0.5 turn"}), True)):
        found = archerysim.fit(turned, "coarse")
        assert (words in brace_table(found)) is told
