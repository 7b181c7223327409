"""Left and right by the command line: what a change does, all of it on demand; columns of a sweep by name."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from archerysim.study.sweeps.table_file import read
from tests.support.cli.run_commands import here
from tests.support.shot.example_bows import fitted, path_of

Capture = pytest.CaptureFixture[str]
COARSE = ("--mesh", "coarse")
SPINE = ("--over", "arrow.spine=0.6 in, 0.7 in, 0.8 in")
BLOCK = "Sideways at clear, against the bow before the changes\n"


def test_one_shot_says_why_left_and_right_are_not_told_and_tells_them_on_demand(capsys: Capture) -> None:
    path, clear = path_of("club-outdoor"), fitted("club-outdoor", "coarse").launch().clear
    plain, everything = (here(capsys, "shoot", path, *COARSE, *more).out for more in ((), ("--all",)))
    assert plain.count("--all") == 1
    assert "yaw" not in plain
    assert BLOCK not in plain
    assert re.search(rf"yaw, nose left \+ .*{re.escape(f'{clear.yaw:+.3f}')} deg\n", everything)
    assert "--all" not in everything


def test_a_change_is_told_against_the_file_s_bow(capsys: Capture) -> None:
    changes = {"side.preload": "0 N"}
    bow = fitted("club-outdoor", "coarse")
    turned = bow.launch(changes).clear.side_angle_of_attack - bow.launch().clear.side_angle_of_attack
    assert turned < -0.05  # common practice: a softer side support sends bare shafts towards the window
    out = here(capsys, "shoot", path_of("club-outdoor"), "--set", "side.preload=0 N", *COARSE, "--all").out
    assert f"side angle of attack  turns {-turned:.2f} deg to the right\n" in out.split(BLOCK)[1]
    first = " ".join(here(capsys, "shoot", path_of("club-outdoor"), "--set", "side.preload=0 N", *COARSE).out.split())
    assert f"side angle of attack turns {-turned:.2f} deg to the right, against the bow before" in first
    left = ("--set", "side.preload=0 N", "--set", "archer.handed=left")
    out = here(capsys, "shoot", path_of("club-outdoor"), *left, *COARSE, "--all").out
    assert f"side angle of attack  turns {-turned:.2f} deg to the left\n" in out.split(BLOCK)[1]


def test_the_flat_shot_says_nothing_of_left_and_right(capsys: Capture) -> None:
    path, flat = path_of("club-outdoor"), (*COARSE, "--planes", "1")
    for more in ((), ("--all",), ("--set", "arrow.spine=0.6 in")):
        out = here(capsys, "shoot", path, *flat, *more).out
        assert "ideways" not in out
        assert "Left and right" not in out
        assert ("second strike" in out) is (more == ("--all",))


def test_columns_of_a_sweep_are_told_and_drawn_by_name(capsys: Capture, tmp_path: Path) -> None:
    picture, table = tmp_path / "sweep.svg", tmp_path / "sweep.csv"
    shown = ("--show", "side_angle_of_attack", "--show", "arm_left_travel")
    done = here(capsys, "sweep", path_of("club-outdoor"), *SPINE, *shown, *COARSE, "--plot", picture, "--out", table)
    assert (done.status, done.err) == (0, "")
    data = read(table)
    attack = data.side_angle_of_attack.sel(moment="clear").values
    below = done.out.split("What else changes\n")[1].split("\n\n")[0]
    rows = [line.split()[-2:] for line in below.splitlines() if re.match(r"  0\.\d in ", line)]
    assert rows == [
        [f"{one - attack[1]:+.3f}", f"{travel:.3f}"]
        for one, travel in zip(attack, data.arm_left_travel.values, strict=True)
    ]
    drawn = picture.read_text()
    assert "side angle of attack, nose out +" in drawn
    assert "arm left travel" in drawn
    assert "vertical velocity" not in drawn


def test_what_is_named_besides_the_bow_s_usual_columns_alone_changes(capsys: Capture) -> None:
    plain = here(capsys, "sweep", path_of("club-outdoor"), *SPINE, *COARSE).out
    more = here(capsys, "sweep", path_of("club-outdoor"), *SPINE, *COARSE, "--show", "tail_past_at").out
    assert plain.split("What else")[0] == more.split("What else")[0]
    assert "tail past at" in more


def test_a_column_that_no_sweep_has_is_refused_before_anything_is_shot(capsys: Capture) -> None:
    done = here(capsys, "sweep", path_of("club-outdoor"), "--over", "arrow.spine=0 in", "--show", "wind")
    assert done.status == 2
    assert "a sweep has no column 'wind'; give one of " in done.err
    assert "side_angle_of_attack" in done.err
