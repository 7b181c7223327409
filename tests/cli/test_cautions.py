"""Cautions in every command: more draw weight than the file's, juniors, far flights, limbs that were changed."""

from __future__ import annotations

from pathlib import Path

import pytest

from archerysim.equipment.cautions import BOLTS, SCRAPING
from archerysim.shot.draw_weight import COACH
from archerysim.shot.flight.range_cautions import CAUTION, FAR_BARE, FAR_BUTT, JUNIORS
from archerysim.shot.warnings import NONE
from tests.support.cli.run_commands import here, once
from tests.support.shot.example_bows import path_of

Capture = pytest.CaptureFixture[str]
COARSE = ("--mesh", "coarse")
READING = "nock.locators.reading"
SURE = ("--known-to", "nock.slope=1 deg", "--workers", "1", "--hold", "refit")  # changes as built are refused there
GROUP = (
    "--at", "18 m", "--reading", "8 mm", "--bare", "-9 -12 -7 cm", "--fletched", "1 0 -2 cm", "--workers", "1",
    "--planes", "1",
)  # fmt: skip
COMMANDS: dict[str, tuple[str | Path, ...]] = {
    "check": (), "brace": (), "draw": ("--points", "3"), "strain": (), "shoot": (), "explain": (),
    "sweep": ("--over", f"{READING}=6 mm:8 mm:2 mm"), "fly": ("--distance", "18 m"),
    "tune": ("--aim", "no-angle-of-attack", "--no-range"),
    "sideways": ("--draws", "2", "--workers", "1"), "group": ("--shots", "3", "--workers", "1"), "read-group": GROUP,
    "flights": ("--readings", "6 mm, 8 mm"), "sensitivity": SURE, "uncertainty": (*SURE, "--draws", "2"),
    "bare-shaft": (*SURE, "--draws", "2", "--distance", "18 m", "--readings", "6 mm, 8 mm"),
}  # fmt: skip
FLYING = ("fly", "flights", "tune", "group", "read-group", "sensitivity", "uncertainty", "bare-shaft", "sideways")
MAY_TOUCH = "bows that this one may be"  # of sideways: some of the bows that it draws
MORE = "More draw weight than the bow as given"
BY_ITSELF = ("check", "strain", "shoot", "sweep", "tune", "group", "uncertainty")  # different in kind


def ran(capsys: Capture, command: str, name: str, *more: str, options: tuple[str | Path, ...] | None = None) -> str:
    """What a command prints, in one line."""
    sets = [part for one in more for part in ("--set", one)]
    given = COMMANDS[command] if options is None else options
    done = once(capsys, command, path_of(name), *given, *sets, *COARSE)
    assert done.status == 0, done.err
    return done.out


@pytest.mark.parametrize("command", COMMANDS)
def test_more_draw_weight_than_the_file_s_is_said(command: str, capsys: Capture) -> None:
    out = " ".join(ran(capsys, command, "club-outdoor", "archer.draw_length=29 in", "arrow.length=30 in").split())
    assert out.count(MORE) == 1
    assert "instead of 34.0 lbf" in out
    assert "Pain means stop" in out


@pytest.mark.parametrize("command", BY_ITSELF)
def test_a_file_with_its_bolts_turned_since_it_was_measured_says_so(
    command: str, capsys: Capture, tmp_path: Path
) -> None:
    text = path_of("club-outdoor").read_text(encoding="utf-8")
    file = tmp_path / "turned.toml"
    file.write_text(text.replace("[limbs]\n", '[limbs]\nbolt_turns = "1 turn"\n', 1), encoding="utf-8")
    done = here(capsys, command, file, *COMMANDS[command], *COARSE)
    assert done.status == 0, done.err
    assert " ".join(done.out.split()).count("More draw weight than the bow as measured") == 1


@pytest.mark.parametrize("command", COMMANDS)
def test_as_the_file_stands_nothing_is_warned_of(command: str, capsys: Capture) -> None:
    out = ran(capsys, command, "club-outdoor")
    told = [line for line in out.splitlines() if line.startswith("  ! ") and MAY_TOUCH not in line]
    wanted = [CAUTION, NONE] if command in FLYING else [NONE]
    assert [one[:40] for one in told] == [f"  ! {one}"[:40] for one in wanted]


@pytest.mark.parametrize("command", COMMANDS)
def test_a_junior_above_the_range_comes_first(command: str, capsys: Capture) -> None:
    """23 lb at the junior's own draw."""
    out = ran(capsys, command, "junior", "bow.draw_weight=23 lb", "limits.longest_draw=20 in", f"{READING}=8 mm")
    told = [line for line in out.splitlines() if line.startswith("  ! ")]
    assert told[0].startswith("  ! Draw weight 23.0 lbf is above the 10 to 22 lbf usual for juniors")
    assert told[1].startswith("  ! Draw length")
    if command != "group":  # its table ends with them
        assert out.splitlines()[0 if command != "read-group" else 2] == "Warnings"
    assert COACH not in out
    assert MORE in out


@pytest.mark.parametrize("command", COMMANDS)
def test_a_junior_s_result_names_the_coach_once(command: str, capsys: Capture) -> None:
    out = ran(capsys, command, "junior")
    assert out.count(COACH) == 1
    assert COACH not in ran(capsys, command, "club-outdoor")


def test_fly_says_what_far_shots_need(capsys: Capture) -> None:
    far = " ".join(ran(capsys, "fly", "club-outdoor", options=("--distance", "50 m")).split())
    assert FAR_BUTT in far
    assert FAR_BARE in far
    assert CAUTION not in far
    near = " ".join(ran(capsys, "fly", "club-outdoor", options=("--distance", "30 m")).split())
    assert "30 m:" not in near
    assert CAUTION in near


@pytest.mark.parametrize("command", ["fly", "tune"])
def test_a_junior_s_bare_shaft_stays_at_18_m(command: str, capsys: Capture) -> None:
    quick = ("--no-range",) if command == "tune" else ()
    far = " ".join(ran(capsys, command, "junior", options=("--distance", "20 m", *quick)).split())
    assert JUNIORS in far
    assert JUNIORS not in " ".join(ran(capsys, command, "junior", options=("--distance", "18 m", *quick)).split())


def test_sweeping_to_more_weight_says_so_in_table_and_picture(capsys: Capture, tmp_path: Path) -> None:
    picture = tmp_path / "sweep.svg"
    over = ("--over", "upper_limb.bolt_turns=0 turn:2 turn:1 turn", "--plot", picture)
    out = " ".join(ran(capsys, "sweep", "club-outdoor", options=over).split())
    assert "Pain means stop. (at 2 of 3 points)" in out
    assert f"{BOLTS} (at 2 of 3 points)" in out
    assert "Warnings" not in picture.read_text()
    assert picture.read_text().count("More draw weight") == 1  # letters are paths; the text stands beside as a comment


def test_limbs_of_another_thickness_carry_the_caution_for_scraping(capsys: Capture, tmp_path: Path) -> None:
    text = path_of("club-outdoor").read_text(encoding="utf-8")
    tables = 'width = ["42 mm", "16 mm"]\nthickness = ["8 mm", "5 mm"]\nmodulus = "30 GPa"\nstrain_limit = 0.02\n'
    file = tmp_path / "board.toml"
    file.write_text(text.replace("[limbs]\n", f"[limbs]\n{tables}").replace("root_thickness", "# root_thickness"))
    plain = here(capsys, "check", file, *COARSE).out
    assert SCRAPING in " ".join(plain.split())
    assert plain.count("Scraping") == 1
    assert "strain        upper limb" in plain
    everything = here(capsys, "check", file, *COARSE, "--all").out
    assert everything.count("Scraping") == 1  # beside the field
    assert "strain, upper limb" in everything
    shot = here(capsys, "shoot", file, *COARSE).out
    assert "Scraping" not in shot
    assert "lower limb" in shot
    thinner = here(capsys, "shoot", file, "--set", "lower_limb.thickness.0=7.9 mm", *COARSE).out
    assert SCRAPING in " ".join(thinner.split())
    slimmer = here(capsys, "shoot", file, "--set", "limbs.width.all=0.99 times", *COARSE).out
    assert SCRAPING in " ".join(slimmer.split())
    thicker = here(capsys, "shoot", file, "--set", "lower_limb.thickness.0=8.1 mm", *COARSE).out
    assert "Scraping" not in thicker  # nothing is taken off
    again = here(capsys, "check", file, "--set", "lower_limb.thickness.0=7.9 mm", *COARSE).out
    assert again.count("Scraping") == 1  # as a warning, no more beside the field
    over = ("--over", "upper_limb.thickness.0=7.8 mm:8 mm:0.1 mm")
    swept = here(capsys, "sweep", file, *over, *COARSE)
    assert f"{SCRAPING} (at 2 of 3 points)" in " ".join(swept.out.split())
