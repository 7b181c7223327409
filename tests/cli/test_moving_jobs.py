"""animate, flight-path and target on the command line: files, words, a left-handed archer's mirror, bad input."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from archerysim.cli.main import main
from archerysim.shot.flight.bare_shaft import bare_difference
from archerysim.shot.flight.range_cautions import CAUTION
from archerysim.show.motion.texts import said
from archerysim.study.notes.group_means import SCATTER
from tests.support.cli.run_commands import Ran, here
from tests.support.shot.example_bows import path_of, shot
from tests.support.show.pages_read_back import numbers, points

FILE = path_of("club-outdoor")
COARSE = ("--mesh", "coarse")
SOFTER = ("--set", "side.preload=3 N")
DRAWS = ("--draws", "8", "--workers", "1")
SHOWN = {"animate": ("upper limb", "string", "arrow"), "flight-path": ("shaft, fletched", "shaft, bare")}
MIRRORED = re.compile(r"  mirrored[^\n]*\n(   [^\n]*\n)*")
Capture = pytest.CaptureFixture[str]


def flat(text: str) -> str:
    return " ".join(text.split())


def swapped(text: str) -> str:
    """With left and right exchanged."""
    return re.sub(r"\b(left|right)\b", lambda found: {"left": "right", "right": "left"}[found[1]], text)


def left_handed(folder: Path) -> Path:
    """The same bow, its file saying that the archer is left-handed."""
    text = FILE.read_text(encoding="utf-8")
    assert text.count("[archer]\n") == 1
    file = folder / "left.toml"
    file.write_text(text.replace("[archer]\n", '[archer]\nhanded = "left"\n'), encoding="utf-8")
    return file


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("moving")


@pytest.mark.parametrize("command", SHOWN)
def test_a_page_is_written_and_told(command: str, folder: Path, capsys: Capture) -> None:
    page = folder / f"{command}.html"
    done = here(capsys, command, FILE, "-o", page, "--frames", "12", *COARSE)
    assert (done.status, done.err) == (0, "")
    assert done.out.startswith(f"Written: {page}. It opens in any browser, without a network.\n")
    assert "left-handed" not in done.out
    assert len(numbers(page)["time"]) == 12


def test_animate_tells_when_and_how_the_arrow_leaves(folder: Path, capsys: Capture) -> None:
    out = flat(here(capsys, "animate", FILE, "-o", folder / "a.html", *COARSE).out)
    launch = shot("club-outdoor", mesh="coarse")
    assert f"clear after {1e3 * launch.clear.time:.1f} ms, at {launch.clear.speed:.2f} m/s" in out
    assert f"off the string after {1e3 * launch.separation.time:.1f} ms" in out
    assert "only changes are given" in out
    *_, before, last = numbers(folder / "a.html")["time"]
    assert 0.0 <= 1e3 * launch.clear.time - last < last - before  # the last picture that the shot keeps


@pytest.mark.parametrize("command", SHOWN)
def test_a_left_handed_archer_s_picture_is_the_mirror(command: str, folder: Path, capsys: Capture) -> None:
    ran: list[Ran] = []
    pages = [folder / f"{command}-{which}.html" for which in ("right", "asked", "file")]
    for page, file, more in zip(
        pages, (FILE, FILE, left_handed(folder)), ((), ("--left-handed",), ()), strict=True
    ):  # fmt: skip
        ran.append(here(capsys, command, file, "-o", page, "--frames", "9", *SOFTER, *COARSE, *more))
    right, left, by_file = (one.out.split("\n", 1)[1] for one in ran)
    assert left == by_file  # asked for, or said by the file
    assert flat(said("mirrored")) in flat(left)
    assert said("mirrored") not in flat(right)
    mine, other, same = (numbers(page) for page in pages)
    assert other == same
    for name in SHOWN[command]:
        np.testing.assert_array_equal(points(other, name), points(mine, name) * [-1.0, 1.0])
    for one, its in zip(mine["panels"], other["panels"], strict=True):
        assert its["w"][2:] == one["w"][2:]
        assert its["told"] == one["told"]
        assert swapped(" ".join(its["title"])) == " ".join(one["title"])
    if command == "animate":
        assert swapped(flat(MIRRORED.sub("", left))) == flat(right)
        assert "to the left" in right


def test_target_is_mirrored_left_and_right_alone(folder: Path, capsys: Capture) -> None:
    right, left, by_file = (
        here(capsys, "target", file, *SOFTER, *DRAWS, *COARSE, *more).out
        for file, more in ((FILE, ()), (FILE, ("--left-handed",)), (left_handed(folder), ()))
    )
    assert left == by_file
    assert flat(said("mirrored")) in flat(left)
    assert "the changes move the bare shaft" in right
    lines = [flat(one) for one in (MIRRORED.sub("", left), right)]
    for alike in ("left or right", "left and right"):  # both ways: no mirror
        lines = [one.replace(alike, "both ways") for one in lines]
    assert swapped(lines[0]) == lines[1]
    assert lines[0] != lines[1]


def test_target_tells_places_in_true_size(folder: Path, capsys: Capture) -> None:
    card = folder / "card.png"
    done = here(capsys, "target", FILE, "--distance", "18 m", "--face", "60 cm", *DRAWS, *COARSE, "--plot", card)
    assert (done.status, done.err) == (0, "")
    out = flat(done.out)
    apart = 1e2 * bare_difference(shot("club-outdoor", mesh="coarse"), "18 m").height
    assert apart < 0.0
    assert "the target at 18 m, face 60.0 cm (23.6 in) across" in out
    assert f"by the file {-apart:.1f} cm ({-apart / 2.54:.1f} in) below" in out
    assert f"within {1e2 * 1.645 * SCATTER * 18.0:.1f} cm" in out
    assert "only changes are given" in out
    assert "to which side is not known before groups are shot" in out
    assert flat(CAUTION) in out
    found = re.search(r"Printed 16\.0 cm \(6\.3 in\) wide, the picture is 1 : ([\d.]+), and the face ([\d.]+) cm", out)
    assert found
    assert float(found[1]) * float(found[2]) == pytest.approx(60.0, rel=0.02)
    with Image.open(card) as picture:
        assert picture.size[0] > 1000


def test_target_off_the_face_is_said(capsys: Capture) -> None:
    out = flat(here(capsys, "target", FILE, "--set", "nock.locators.reading=15 mm", *DRAWS, *COARSE).out)
    assert "off the face, whose edge is 20.0 cm (7.9 in) from its centre" in out


@pytest.mark.parametrize(("ending", "kind"), [("gif", "GIF"), ("png", "PNG")])
def test_flight_path_moves_or_stands_still(ending: str, kind: str, folder: Path, capsys: Capture) -> None:
    file = folder / f"path.{ending}"
    few = ("--frames", "3", "--slow", "20") if ending == "gif" else ()
    done = here(capsys, "flight-path", FILE, "-o", file, *few, *COARSE)
    assert (done.status, done.err) == (0, "")
    assert done.out.startswith(f"Written: {file}.\n")
    with Image.open(file) as picture:
        assert picture.format == kind
        assert getattr(picture, "n_frames", 1) == (3 if few else 1)


@pytest.mark.parametrize("which", ["fletched", "bare"])
def test_flight_path_of_several_readings(which: str, folder: Path, capsys: Capture) -> None:
    page = folder / f"several-{which}.html"
    done = here(
        capsys,
        "flight-path",
        FILE,
        "-o",
        page,
        "--readings",
        "6 mm:10 mm:4 mm",
        "--which",
        which,
        "--frames",
        "5",
        *COARSE,
    )
    assert done.status == 0
    names = [one["t"] for one in numbers(page)["panels"][0]["keys"][:2]]
    assert names == [f"{which}, reading 6.0 mm (1/4 in)", f"{which}, reading 10.0 mm (3/8 in)"]
    assert re.search(r"\n  6\.0 .*\n  10\.0 ", done.out)


CASES: dict[str, tuple[tuple[str, ...], str]] = {
    "animate, ending": (("animate", "x.txt"), "out: 'x.txt': unknown ending '.txt'. Use .html or .gif or .mp4"),
    "animate, frames": (("animate", "x.html", "--frames", "1"), "frames: 1 is not a number of pictures. Give a whole"),
    "animate, slow": (("animate", "x.html", "--slow", "0.5"), "slow: 0.5 is outside the allowed range 1 to 100000"),
    "path, ending": (("flight-path", "x.txt"), "Use .html or .gif or .mp4 or .png"),
    "path, still frames": (("flight-path", "x.png", "--frames", "9"), "frames: 'x.png' is a still picture. Leave it"),
    "path, many": (
        ("flight-path", "x.gif", "--readings", "4 mm:8 mm:1 mm"),
        "readings: 5 in a moving picture. Give 3 at most, or write a still picture (.png)",
    ),
    "path, distance": (("flight-path", "x.gif", "--distance", "18"), "distance: 18 has no unit"),
    "path, folder": (("flight-path", "no/such/x.gif"), "cannot be written"),
}  # fmt: skip


@pytest.mark.parametrize("case", CASES)
def test_one_line_and_nothing_written(
    case: str, tmp_path: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    (command, out, *more), words = CASES[case]
    monkeypatch.chdir(tmp_path)
    done = here(capsys, command, FILE, "-o", out, *more, *COARSE)
    assert done.status == 2
    assert done.out == ""
    assert words in done.err
    assert done.err.count("\n") == 1
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (("--distance", "18"), "distance: 18 has no unit"),
        (("--face", "5 cm"), 'face: "5 cm" is outside the allowed range 20 cm to 150 cm'),
        (("--plot", "x.gif"), "plot: 'x.gif': unknown ending"),
    ],
)
def test_target_refuses_in_one_line(more: tuple[str, ...], words: str, capsys: Capture) -> None:
    done = here(capsys, "target", FILE, *more, *COARSE)
    assert (done.status, done.out) == (2, "")
    assert words in done.err
    assert done.err.count("\n") == 1


def test_a_picture_has_to_be_named(capsys: Capture) -> None:
    for command in SHOWN:
        with pytest.raises(SystemExit):
            main([command, str(FILE)])
        assert "-o/--out" in capsys.readouterr().err
