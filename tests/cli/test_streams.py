"""What is printed, where it cannot be printed as it is, or at all: one line, an exit status, no traceback."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.support.cli.run_commands import ROOT
from tests.support.shot.example_bows import path_of

BRACE = [sys.executable, "-m", "archerysim", "brace", str(path_of("junior")), "--mesh", "coarse"]
full = pytest.mark.skipif(not os.path.exists("/dev/full"), reason="no device that is always full")
FULL = "archerysim: the output cannot be written (No space left on device). Make room, or send it elsewhere.\n"


def environment(**more: str) -> dict[str, str]:
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("PYTHONIO", "PYTHONUNBUF"))}
    return kept | more


@pytest.mark.parametrize("variables", [{"PYTHONIOENCODING": "ascii"}, {"PYTHONIOENCODING": "cp1252"}])
def test_letters_that_the_output_has_not_are_question_marks(variables: dict[str, str], tmp_path: Path) -> None:
    path = tmp_path / "bow.toml"
    text = path_of("junior").read_text(encoding="utf-8")
    path.write_text(text.replace('name = "', 'name = "弓 '), encoding="utf-8")
    done = subprocess.run(
        [*BRACE[:4], path, *BRACE[5:]], cwd=ROOT, env=environment(**variables), capture_output=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith(b"? ")
    assert b"Traceback" not in done.stderr


@full
@pytest.mark.parametrize("unbuffered", [True, False])
def test_a_full_place_to_print_to(unbuffered: bool) -> None:
    with open("/dev/full", "w") as nowhere:
        done = subprocess.run(
            BRACE, cwd=ROOT, env=environment(**({"PYTHONUNBUFFERED": "1"} if unbuffered else {})), stdout=nowhere,
            stderr=subprocess.PIPE, text=True, check=False,
        )  # fmt: skip
    assert done.stderr == FULL
    assert done.returncode == 2


@full
def test_a_full_place_for_help() -> None:
    with open("/dev/full", "w") as nowhere:
        done = subprocess.run(
            [*BRACE[:3], "--help"], cwd=ROOT, env=environment(), stdout=nowhere, stderr=subprocess.PIPE, text=True,
            check=False,
        )  # fmt: skip
    assert done.stderr == FULL
    assert done.returncode == 2


@full
def test_a_full_place_for_errors() -> None:
    with open("/dev/full", "w") as nowhere:
        done = subprocess.run(
            [*BRACE[:4], "none.toml"], cwd=ROOT, env=environment(), stdout=subprocess.PIPE, stderr=nowhere, text=True,
            check=False,
        )  # fmt: skip
    assert done.returncode == 2
    assert done.stdout == ""


@pytest.mark.skipif(os.name != "posix", reason="pipes of POSIX")
@pytest.mark.parametrize("unbuffered", [True, False])
def test_a_reader_that_has_gone_away_is_no_failure(unbuffered: bool) -> None:
    read, write = os.pipe()
    os.close(read)
    with os.fdopen(write, "w") as gone:
        done = subprocess.run(
            BRACE, cwd=ROOT, env=environment(**({"PYTHONUNBUFFERED": "1"} if unbuffered else {})), stdout=gone,
            stderr=subprocess.PIPE, text=True, check=False,
        )  # fmt: skip
    assert done.stderr == ""
    assert done.returncode == 0


@pytest.mark.parametrize("name", ["none\x1b[31m.toml", "none\u202e.toml", "a\nb.toml"])
def test_what_steers_a_terminal_is_not_repeated(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    from tests.support.cli.run_commands import here

    done = here(capsys, "check", name)
    assert done.status == 2
    assert done.err[:-1].isprintable()
    assert "cannot be read" in done.err


@pytest.mark.skipif(os.name != "posix", reason="folders of POSIX")
def test_no_place_for_the_fonts_of_pictures_is_no_matter(tmp_path: Path) -> None:
    nowhere = dict.fromkeys(("HOME", "XDG_CONFIG_HOME", "XDG_CACHE_HOME"), "/dev/null/none")
    command = [*BRACE[:3], "draw", *BRACE[4:], "--plot", str(tmp_path / "curve.png")]
    done = subprocess.run(
        command, cwd=ROOT, env=environment(ARCHERYSIM_CACHE=os.environ.get("ARCHERYSIM_CACHE") or _cache(), **nowhere),
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0
    assert done.stderr == ""
    assert (tmp_path / "curve.png").stat().st_size > 0


def _cache() -> str:
    """Where this process keeps its kernels."""
    from archerysim.shot.warm_up import folder

    return str(Path(folder()).parents[1])
