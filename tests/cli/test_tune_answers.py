"""tune and bare-shaft on the command line: the answer first, in few lines, and the same from both."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from archerysim.show.bare_shaft.target_card import verdict
from archerysim.show.tuning.answer import CONTACT
from archerysim.study.bare_shaft.bare_shaft import bare_against_fletched
from tests.support.cli.run_commands import here, once
from tests.support.shot.example_bows import fitted, path_of

COARSE = ("--mesh", "coarse")
FEW = ("--draws", "8", "--workers", "1", *COARSE)
Capture = pytest.CaptureFixture[str]
FAR = ("--distance", "20 yd")
READINGS = "2 mm:10 mm:4 mm"  # of the heights that bare-shaft tells with --all; its range asks none of them
COMMANDS = {"tune": (), "bare-shaft": ("--readings", READINGS)}


def answer(out: str) -> list[str]:
    """The lines under the title and before cautions and warnings, without empty ones."""
    lines = out.split("\nWarnings")[0].split(CONTACT[:13])[0].splitlines()
    return [line for line in lines[1:] if line.strip()]


def row(out: str, name: str) -> str:
    """What is told under a name, on one line."""
    (found,) = re.findall(rf"^  {name}  +(.*(?:\n {{8,}}.*)*)", out, re.M)
    return " ".join(found.split())


@pytest.mark.parametrize(
    ("name", "more"),
    [("club-outdoor", ()), ("junior", ()), ("longbow", FAR)],
)
@pytest.mark.parametrize("command", COMMANDS)
def test_the_answer_is_at_most_twelve_lines(command: str, name: str, more: tuple[str, ...], capsys: Capture) -> None:
    done = once(capsys, command, path_of(name), *FEW, *COMMANDS[command], *more)
    assert done.status == 0
    assert len(answer(done.out)) <= 12
    assert max(map(len, answer(done.out))) <= 100
    assert answer(done.out)[0].startswith("  now  ")
    assert "(0 in)" not in row(done.out, "now").split(":")[0]
    assert "at most" not in done.out.split("Warnings")[0]
    assert ("20 yd" in done.out) == bool(more)
    assert "18.288" not in done.out


@pytest.mark.parametrize(
    "more",
    [
        ("--set", "arrow.spine=0.35 in"),
        ("--within", "15 mm:20 mm"),
        ("--aim", "least-swing"),
        ("--aim", "no-pitch-rate"),
        ("--path", "rest.height", "--aim", "no-angle-of-attack"),
        (
            "--path",
            "nock.locators.reading",
            "--path",
            "nock.slope",
            "--within",
            "0 mm:25 mm",
            "--within",
            "-5 deg:30 deg",
        ),
        ("--no-range",),
    ],
)
def test_so_is_any_other(more: tuple[str, ...], capsys: Capture) -> None:
    few = FEW if "nock.slope" not in more else COARSE
    done = once(capsys, "tune", path_of("club-outdoor"), *few, *more)
    assert done.status == 0
    assert 2 <= len(answer(done.out)) <= 12
    assert "--all" in done.out


def test_tune_bare_shaft_and_card_say_the_same(capsys: Capture) -> None:
    said = [
        once(capsys, one, path_of("club-outdoor"), *FEW, *COMMANDS[one], *more).out
        for one, more in (("tune", ()), ("bare-shaft", ("--distance", "18 m")))
    ]
    for name in ("now", "first tie", "range", "decided by", "at the butt"):
        assert row(said[0], name) == row(said[1], name)
    found = bare_against_fletched(fitted("club-outdoor", "coarse"), READINGS, "18 m", draws=8, workers=1)
    low, high = map(float, re.findall(r"[\d.]+", row(said[0], "range"))[:2])
    card = verdict(found, found.today, 18.0)
    assert low == pytest.approx(found.today + card.move.low, abs=0.051)
    assert high == pytest.approx(found.today + card.move.high, abs=0.051)
    assert float(row(said[0], "range").split("best estimate ")[1].split()[0]) == pytest.approx(
        found.today + card.move.median, abs=0.051
    )
    assert row(said[0], "range") != row(here(capsys, "tune", path_of("club-outdoor"), *FEW, "--seed", "1").out, "range")


def test_a_first_tie_is_the_top_of_the_range_and_the_move_one_of_3_mm(capsys: Capture) -> None:
    out = here(capsys, "tune", path_of("club-outdoor"), *FEW, "--draws", "32").out
    high = row(out, "range").split(" to ")[1].split(" mm")[0]
    assert row(out, "first tie").startswith(f"on a new string at {high} mm (")
    assert row(out, "now").startswith("locators DOWN 3.0 mm (1/8 in): from 8.0 mm (5/16 in) to 5.0 mm (3/16 in);")
    assert "archerysim read-group" in row(out, "surer")
    assert CONTACT[:30] in " ".join(out.split())  # the arm is struck there


def test_a_junior_whose_answer_lies_near_square(capsys: Capture) -> None:
    """Its low end is cut at square; the locators come down to the top of the range, and nothing leads below square."""
    out = once(capsys, "tune", path_of("junior"), *FEW).out
    assert row(out, "range").startswith("0.0 to ")
    assert "told no lower than square" in row(out, "range")
    high = float(row(out, "range").split(" to ")[1].split(" mm")[0])
    assert 2.0 < high < 6.35
    assert f"to {high:.1f} mm (" in row(out, "now")
    assert "A junior's bow" in out
    assert not re.search(r" -\d", "\n".join(answer(out)))


def test_a_bow_without_an_answer_is_told_no_move(capsys: Capture) -> None:
    """The cause is looked for first; the honest range still stands there."""
    out = here(capsys, "tune", path_of("club-outdoor"), *FEW, "--set", "arrow.spine=0.3 in").out
    assert answer(out)[0].startswith("  NO ANSWER in the range searched")
    assert "look first at shaft, rest" in " ".join(out.split())
    assert "  now  " not in out
    assert "first tie" not in out


def test_all_tells_what_was_left_out(capsys: Capture) -> None:
    out = here(capsys, "tune", path_of("club-outdoor"), *FEW, "--all").out
    for head in ("Locators there, by the square", "How far off is still good", "What decides how wide the range is",
                 "Other aims would have given, by the underside"):  # fmt: skip
        assert f"\n{head}\n" in out
    assert "within 30 mm on the target" in out
    detail = here(
        capsys, "bare-shaft", path_of("club-outdoor"), *FEW, *COMMANDS["bare-shaft"], *FAR, "--all"
    ).out  # fmt: skip
    assert "\nBare above fletched at 20 yd\n" in detail
    assert "\nReading that brings bare and fletched together\n" in detail


def test_a_bow_changed_as_built_has_a_best_reading_but_no_range(capsys: Capture) -> None:
    out = here(capsys, "tune", path_of("club-outdoor"), *FEW, "--set", "limbs.tip_mass=5 g").out
    assert row(out, "now").startswith("locators DOWN")
    assert "was changed on the bow as built, and nothing has been measured on it since" in row(out, "no range")


def test_what_is_told_by_the_top_is_told_so(capsys: Capture, tmp_path: Path) -> None:
    text = path_of("club-outdoor").read_text()
    file = tmp_path / "top.toml"
    file.write_text(text.replace('reading = "8 mm"', 'convention = "top"\nreading = "13.8 mm"'))
    under, top = (
        here(capsys, "tune", one, *FEW, "--known-to", "rest.height=0.5 mm").out
        for one in (path_of("club-outdoor"), file)
    )
    assert "locators, by the top, for bare" in top
    assert row(top, "now").startswith("locators DOWN 3.0 mm (1/8 in): from 13.8 mm (9/16 in) to 10.8 mm (7/16 in);")
    ends = [[float(one) for one in re.findall(r"[\d.]+", row(out, "range"))[:2]] for out in (under, top)]
    assert [other - one for one, other in zip(*ends, strict=True)] == pytest.approx([5.8, 5.8], abs=0.11)


@pytest.mark.parametrize("more", [(), ("--no-range",)])
def test_contact_at_the_estimate_is_told_as_such_and_does_not_contradict_the_move(
    more: tuple[str, ...], capsys: Capture
) -> None:
    said = " ".join(once(capsys, "tune", path_of("club-outdoor"), *FEW, *more).out.split())
    assert "locators DOWN" in said
    assert re.search(r"! At [34]\.\d mm \([^)]*\) by the underside \(the estimate\): the shaft strikes the arm", said)
    assert "Raise the locators" not in said


def test_a_bow_of_one_piece_has_no_pockets(capsys: Capture) -> None:
    out = here(capsys, "tune", path_of("longbow"), *FEW, "--draws", "16", "--all", "--no-others").out
    assert "lean of the limbs at the handle" in out
    assert "pockets" not in out.split("Warnings")[0]
