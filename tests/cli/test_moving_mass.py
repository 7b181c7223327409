"""A measured speed in the file, from check to shot: what moves is found, told, and refused where it cannot be."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.support.cli.run_commands import here
from tests.support.shot.example_bows import path_of

COARSE = ("--mesh", "coarse")
Capture = pytest.CaptureFixture[str]


@pytest.fixture
def file(tmp_path: Path) -> Path:
    """The outdoor club bow, its limbs' butts measured, and its arrow on a chronograph."""
    text = path_of("club-outdoor").read_text(encoding="utf-8")
    text = text.replace('draw_weight = "34 lb"', 'arrow_speed = "183 fps"\ndraw_weight = "34 lb"')
    text = text.replace('mass = "165 g" ', 'butt = "90 mm"\nmass = "165 g" ')
    path = tmp_path / "bow.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_from_check_to_shot(file: Path, capsys: Capture) -> None:
    checked = here(capsys, "check", file, "--all").out
    assert "arrow_speed" in checked
    assert "balance" in checked
    braced = here(capsys, "brace", file, *COARSE, "--all").out
    assert "arrow speed   55.78 m/s (183.0 fps)" in braced
    assert "both limbs' moving mass times" in braced
    assert "g in the pocket" in " ".join(braced.split())
    shot = here(capsys, "shoot", file, *COARSE, "--all")
    assert (shot.status, shot.err) == (0, "")
    assert "55.78 m/s (183.0 fps)" in shot.out
    assert "virtual mass" in shot.out


def test_a_speed_set_beside_the_file(file: Path, capsys: Capture) -> None:
    out = here(capsys, "shoot", file, "--set", "bow.arrow_speed=56.5 m/s", *COARSE).out
    assert "bow arrow speed 56.5 m/s; fitted anew" in " ".join(out.split())
    assert "56.50 m/s" in out


def test_a_speed_out_of_reach(file: Path, capsys: Capture) -> None:
    done = here(capsys, "shoot", file, "--set", "bow.arrow_speed=70 m/s", *COARSE)
    assert done.status != 0
    assert "bow.arrow_speed: this bow cannot shoot this arrow with 70 m/s" in " ".join(done.err.split())
    assert "Traceback" not in done.err
