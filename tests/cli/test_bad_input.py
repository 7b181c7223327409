"""Bad input: exit status 2, one line that says what to do, nothing written and no traceback."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.support.cli.run_commands import here, outside
from tests.support.shot.example_bows import READING, path_of

BOW, OTHER = str(path_of("club-outdoor")), str(path_of("junior"))
SWEEP = ("sweep", BOW, "--mesh", "coarse", "--over", f"{READING}=4:6:1 mm")
Capture = pytest.CaptureFixture[str]

CASES: dict[str, tuple[tuple[str, ...], str]] = {
    "no such file": (("check", "none.toml"), "none.toml cannot be read"),
    "no name": (("check", ""), "'' cannot be read"),
    "a folder": (("check", "."), "cannot be read"),
    "unknown key": (("shoot", BOW, "--set", "nock.locators.readin=9 mm"), f'Did you mean "{READING}"?'),
    "wrong unit": (("shoot", BOW, "--set", f"{READING}=9 kg"), 'the unit "kg" does not fit'),
    "no unit": (("shoot", BOW, "--set", f"{READING}=9"), "9 has no unit"),
    "out of range": (("brace", BOW, "--set", "arrow.length=20 cm"), "outside the allowed range 400 mm to 1000 mm"),
    "not a number": (("draw", BOW, "--set", f"{READING}=nan mm"), READING),
    "contradiction": (("check", BOW, "--set", "string.length=1640 mm", "--hold", "refit"), "string.length"),
    "held and changed": (("check", BOW, "--set", "string.length=1640 mm", "--hold", "brace-height"), "string.length"),
    "hold not known": (("shoot", BOW, "--set", f"{READING}=8 mm", "--hold", "tiller"), "is not known"),
    "no shot": (("shoot", BOW, "--set", "archer.draw_length=15 in", "--set", "bow.brace_height=340 mm"), ""),
    "range without a step": (("sweep", BOW, "--over", f"{READING}=4 mm:6 mm"), "Write start:stop:step"),
    "step the wrong way": (("sweep", BOW, "--over", f"{READING}=4 mm:6 mm:-1 mm"), "sign of stop minus start"),
    "range without a unit": (("sweep", BOW, "--over", f"{READING}=4:6:1"), "4 has no unit"),
    "unknown path to sweep": (("sweep", BOW, "--over", "nock.reading=4:6:1 mm"), f'Did you mean "{READING}"?'),
    "unknown hold": ((*SWEEP, "--hold", "string"), "Use one or more of 'reading', 'brace height', 'refit'"),
    "two holds that exclude each other": ((*SWEEP, "--hold", "refit", "--hold", "reading"), "Give it alone"),
    "no notes": (("read-group", BOW, "none.toml"), "none.toml cannot be read"),
    "a setup for notes": (("read-group", BOW, OTHER), f"unknown name (in {OTHER})"),
    "a unit to a great power": (
        ("shoot", BOW, "--set", "arrow.length=1 m^1000000"),
        'the unit "m^1000000" does not fit',
    ),
    "a power of powers": (("shoot", BOW, "--set", "arrow.length=3 mm^(9^9^9)"), 'the unit "mm^(9^9^9)" does not fit'),
    "range that overflows": (("sweep", BOW, "--over", "string.strands=0:1e308:1e-300"), "holds more than 10,000,000"),
    "range from end to end": (("sweep", BOW, "--over", f"{READING}=-1e308:1e308:1 m"), "holds more than 10,000,000"),
    "a name that steers a terminal": (
        ("check", BOW, "--set", "name=a\x1b[31m"),
        "it holds the control character U+001B",
    ),
    "a name of two lines": (("check", BOW, "--set", "name=a\nb"), "it holds a line break"),
    "a store in memory": ((*SWEEP, "--store", ":memory:"), "store: :memory: is not a file name"),
    "a store without a name": ((*SWEEP, "--store", ""), "store: '' is not a file name"),
    "a store that is a folder": ((*SWEEP, "--store", "."), "it is a folder, not a file"),
    "a table without a name": ((*SWEEP, "--out", ""), "out: '': unknown ending"),
    "a picture without a name": ((*SWEEP, "--plot", ""), "plot: '': unknown ending"),
    "no workers": ((*SWEEP, "--workers", "0"), "0 is not a number of processes"),
}


@pytest.mark.parametrize("case", CASES)
def test_one_line(case: str, capsys: Capture) -> None:
    arguments, said = CASES[case]
    done = here(capsys, *arguments)
    assert done.status == 2
    assert done.err.startswith("archerysim: ")
    assert done.err.count("\n") == 1
    assert done.err.endswith("\n")
    assert said in done.err
    assert "Traceback" not in done.err
    assert done.out == ""


FILES: dict[str, tuple[bytes, str]] = {
    "not toml": (b"bow =", "this is not a TOML file"),
    "not text": (b"\xff\xfe\x00bow", "is not UTF-8 text"),
    "empty": (b"", "missing"),
    "unknown key": (b'name = "x"\nnok = 1\n', "nok"),
}


@pytest.mark.parametrize("kind", FILES)
def test_bad_files(kind: str, capsys: Capture, tmp_path: Path) -> None:
    content, said = FILES[kind]
    path = tmp_path / "bow.toml"
    path.write_bytes(content)
    done = here(capsys, "check", path)
    assert done.status == 2
    assert done.err.count("\n") == 1
    assert said in done.err
    assert str(path) in done.err
    assert done.out == ""


@pytest.mark.parametrize("name", ["sweep.xlsx", "sweep", "none/sweep.csv"])
def test_a_sweep_that_could_not_be_kept_is_not_begun(
    name: str, capsys: Capture, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import archerysim.study.sweeps.sweep as study

    def never(*_: object) -> None:
        raise AssertionError("the bow was fitted")

    monkeypatch.setattr(study.FittedBow, "of", never)
    done = here(capsys, *SWEEP, "--out", tmp_path / name)
    assert done.status == 2
    assert done.err.startswith("archerysim: out: ")
    assert done.err.count("\n") == 1
    assert done.out == ""
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("command", ["brace", "draw", "shoot"])
def test_unwritable_out(command: str, capsys: Capture, tmp_path: Path) -> None:
    target = tmp_path / "none" / ("bow.toml" if command == "brace" else "table.csv")
    done = here(capsys, command, path_of("junior"), "--mesh", "coarse", "--out", target)
    assert done.status == 2
    assert done.err.startswith("archerysim: ")
    assert done.err.count("\n") == 1
    assert "cannot be written" in done.err or "is not a folder" in done.err
    assert not list(tmp_path.iterdir())


def test_unknown_kind_of_picture(capsys: Capture, tmp_path: Path) -> None:
    done = here(capsys, "draw", path_of("junior"), "--mesh", "coarse", "--plot", tmp_path / "curve.gif")
    assert done.status == 2
    assert "unknown ending '.gif'. Use .png" in done.err
    assert done.err.count("\n") == 1
    assert not list(tmp_path.iterdir())


def test_a_failed_job_leaves_the_older_file_alone(capsys: Capture, tmp_path: Path) -> None:
    target = tmp_path / "bow.toml"
    target.write_text("older", encoding="utf-8")
    done = here(capsys, "brace", BOW, "--set", "arrow.length=20 cm", "--out", target)
    assert done.status == 2
    assert target.read_text(encoding="utf-8") == "older"


@pytest.mark.parametrize("arguments", [(), ("check",), ("fly", BOW), ("sweep", BOW), ("shoot", BOW, "--mesh", "huge")])
def test_wrong_usage(arguments: tuple[str, ...], capsys: Capture) -> None:
    """What the parser refuses: status 2 and one line."""
    with pytest.raises(SystemExit) as left:
        here(capsys, *arguments)
    assert left.value.code == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.count("\n") == 1
    assert said.err.rstrip().endswith("--help")


def test_as_a_user_sees_it() -> None:
    done = outside("shoot", BOW, "--set", f"{READING}=9 kg")
    assert done.status == 2
    assert done.out == ""
    assert done.err.splitlines()[-1].startswith(f"archerysim: {READING}: ")
    assert "Traceback" not in done.err
