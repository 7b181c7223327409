"""archerysim new: from questions, options or a filled page to a file that loads, checks and tunes."""

from __future__ import annotations

import io
import os
import pty
import select
import sys
import time
from pathlib import Path

import pytest

from archerysim.cli.main import main
from archerysim.equipment import load, oddities
from archerysim.equipment.first_setup.questions import QUESTIONS
from archerysim.equipment.first_setup.setup_text import read_marked
from archerysim.equipment.first_setup.usual import KINDS
from tests.support.cli.run_commands import ROOT, here

Capture = pytest.CaptureFixture[str]
MM = 1e-3


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("units", ["mm", "in"])
def test_what_is_usual_loads_is_not_odd_and_tunes(kind: str, units: str, tmp_path: Path, capsys: Capture) -> None:
    target = tmp_path / "bow.toml"
    done = here(capsys, "new", target, "--usual", "--quick", "--kind", kind, "--units", units)
    assert (done.status, done.err) == (0, "")
    assert "odd      nothing" in done.out
    setup = load(target)
    assert oddities(setup) == []
    assert setup.nock.locators.convention == ("top" if units == "in" else "underside")
    marked = read_marked(target)[1]
    assert {"bow.brace_height", "arrow.spine", "archer.draw_length", "nock.locators.reading"} <= set(marked)
    assert "category" not in marked
    done = here(capsys, "tune", target, "--mesh", "coarse", "--no-range")
    assert done.status == 0
    assert "together" in done.out


def test_what_to_measure_next_is_told_and_how_much_it_narrows(tmp_path: Path, capsys: Capture) -> None:
    target = tmp_path / "bow.toml"
    done = here(capsys, "new", target, "--usual", "--kind", "club recurve", "--draw-weight", "31 lb")
    assert done.status == 0
    assert len(done.out.splitlines()) <= 14
    told = " ".join(done.out.split())
    assert "the best locator height, to +/- " in told
    assert "measure spine (then +/- " in told or "measure arrow length (then +/- " in told
    assert "draw weight (then" not in told  # it was measured


def test_piped_answers_are_taken_line_by_line(tmp_path: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch) -> None:
    target = tmp_path / "mine.toml"
    lines = ["barebow", "mm", "left", "66", "27 1/2", "35 at 28", "", "222", "196 mm", "", "", "16 polyester", "20 top"]
    monkeypatch.setattr(sys, "stdin", io.StringIO("\n".join(lines)))
    done = here(capsys, "new", target, "--quick")
    assert (done.status, done.err) == (0, "")
    setup, marked = load(target), read_marked(target)[1]
    assert setup.archer.handed == "left"
    assert setup.bow.length == pytest.approx(66 * 0.0254)
    assert setup.archer.draw_length == pytest.approx(27.5 * 0.0254)
    assert setup.bow.draw_weight_at == pytest.approx(28 * 0.0254)  # another draw than the archer's
    assert setup.bow.upper_tiller == pytest.approx(196 * MM)
    assert setup.bow.lower_tiller == pytest.approx(196 * MM)  # usual: no split
    assert (setup.string.material, setup.string.strands) == ("polyester", 16)
    assert (setup.nock.locators.reading, setup.nock.locators.convention) == (pytest.approx(20 * MM), "top")
    assert "bow.lower_tiller" in marked
    assert "archer.hold" in marked
    assert not {"bow.upper_tiller", "bow.draw_weight", "nock.locators.convention", "string.strands"} & set(marked)
    assert "[" not in done.out.partition("\n")[0]  # nobody was prompted


def test_a_wrong_piped_answer_ends_in_one_line_and_writes_nothing(
    tmp_path: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "mine.toml"
    monkeypatch.setattr(sys, "stdin", io.StringIO("club\n\n\n\n\n\n\n22 mm\n"))
    done = here(capsys, "new", target, "--quick")
    assert (done.status, done.out) == (2, "")
    assert done.err.startswith('archerysim: bow.brace_height: "22 mm" is outside the allowed range 100 mm to 400 mm')
    assert not target.exists()


@pytest.mark.parametrize(
    ("given", "said"),
    [
        (("--kind", "crossbow"), 'kind: "crossbow" is not known. Use one of "club recurve"'),
        (("--string", "nylon"), 'string: "nylon" is not a number of strands with a fibre'),
        (("--string", "18 nylon"), 'string.material: "nylon" is not known'),
        (("--shaft-mass", "3 g"), "shaft-mass: 3 g for the whole arrow leaves nothing for its shaft"),
        (("--draw-weight", "34 lb at"), "bow.draw_weight: "),
        (("--reading", "high"), "nock.locators.reading: "),
        (("--set", "riser.mas=1 kg"), 'riser.mas: unknown path. Did you mean "riser.mass"?'),
        (("--from", "absent.toml"), "absent.toml cannot be read"),
    ],
)
def test_bad_options_end_in_one_line(given: tuple[str, str], said: str, tmp_path: Path, capsys: Capture) -> None:
    done = here(capsys, "new", tmp_path / "bow.toml", "--usual", "--quick", *given)
    assert (done.status, done.out) == (2, "")
    assert done.err.startswith(f"archerysim: {said}")
    assert done.err.count("\n") == 1
    assert not (tmp_path / "bow.toml").exists()


def test_a_file_that_is_there_is_kept_unless_replaced(tmp_path: Path, capsys: Capture) -> None:
    target = tmp_path / "bow.toml"
    target.write_text("mine")
    done = here(capsys, "new", target, "--usual", "--quick")
    assert (done.status, target.read_text()) == (2, "mine")
    assert "--replace" in done.err
    assert here(capsys, "new", target, "--usual", "--quick", "--replace").status == 0
    assert load(target).category == "club"


def test_a_page_that_was_filled_in_comes_back(tmp_path: Path, capsys: Capture) -> None:
    first, page, second = tmp_path / "a.toml", tmp_path / "m.md", tmp_path / "b.toml"
    here(capsys, "new", first, "--usual", "--quick", "--kind", "junior", "--brace-height", "7 1/2 in")
    done = here(capsys, "measures", first, "--out", page)
    assert done.status == 0
    measured = {"`upper-tiller`": "6 1/2", "`shaft-mass`": "16 g", "`rest.droop`": "1.1 mm", "`limbs.mass`": "101 g"}
    lines = page.read_text().splitlines()
    for k, line in enumerate(lines):
        for name, value in measured.items():
            if line.startswith(f"| {name}"):
                lines[k] = f"{line[:-4]} | {value} |"
    page.write_text("\n".join(lines))
    done = here(capsys, "new", second, "--from", first, "--from", page, "--usual", "--quick")
    assert (done.status, done.err) == (0, "")
    setup, marked = load(second), read_marked(second)[1]
    assert (setup.category, setup.bow.brace_height) == ("junior", pytest.approx(7.5 * 0.0254))
    assert setup.bow.upper_tiller == pytest.approx(6.5 * 0.0254)  # the file was in inches
    assert setup.rest.droop == pytest.approx(1.1 * MM)
    assert setup.upper_limb.mass == setup.lower_limb.mass == pytest.approx(0.101)
    from archerysim.equipment.arrow import total_mass

    assert total_mass(setup.arrow) == pytest.approx(16e-3, abs=2e-5)
    assert not {"bow.upper_tiller", "arrow.mass_per_length", "bow.brace_height"} & set(marked)
    assert "bow.lower_tiller" in marked  # still open


def test_a_setup_written_by_hand_goes_through_unchanged(tmp_path: Path, capsys: Capture) -> None:
    for name in ("club-outdoor", "barebow", "junior", "longbow"):
        done = here(capsys, "new", tmp_path / f"{name}.toml", "--from", ROOT / "examples" / f"{name}.toml", "--quick")
        assert (done.status, done.err) == (0, ""), name  # nothing was asked: nothing is marked
        assert load(tmp_path / f"{name}.toml") == load(ROOT / "examples" / f"{name}.toml")


def at_a_terminal(arguments: list[str], answers: list[str]) -> tuple[str, int]:
    """What a terminal shows, and the exit status; an answer for each prompt, then Enter."""
    child, terminal = pty.fork()
    if child == 0:
        os.chdir(ROOT)
        os.execv(sys.executable, [sys.executable, "-m", "archerysim", *arguments])
    shown, given, end = b"", iter(answers), time.monotonic() + 240
    seen = 0
    while time.monotonic() < end:
        if not select.select([terminal], [], [], 1.0)[0]:
            continue
        try:
            more = os.read(terminal, 4096)
        except OSError:
            break
        shown += more
        if shown[seen:].rstrip(b" ").endswith(b"]:"):
            seen = len(shown)
            os.write(terminal, f"{next(given, '')}\n".encode())
    return shown.decode(), os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def test_at_a_terminal_a_wrong_answer_is_asked_again(tmp_path: Path) -> None:
    target = tmp_path / "bow.toml"
    answers = ["club", "in", "right", "?", "86 m", "68", "28", "back", "27 1/2", "31", "", "22", "8 3/4"]
    shown, status = at_a_terminal(["new", str(target), "--quick"], answers)
    assert status == 0, shown
    assert 'bow.length: "86 m" = 3385.83 in is outside the allowed range 36 in to 96 in' in shown
    assert "Printed on the lower limb." in shown
    assert '"22 in" = 558.8 mm is outside the allowed range 100 mm to 400 mm' in shown
    assert f"{len(QUESTIONS)}/{len(QUESTIONS)} " in shown
    setup = load(target)
    assert setup.archer.draw_length == pytest.approx(27.5 * 0.0254)
    assert setup.bow.brace_height == pytest.approx(8.75 * 0.0254)


def test_no_terminal_and_no_answers_take_what_is_usual(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdin", io.StringIO(""))
    assert main(["new", str(tmp_path / "bow.toml"), "--quick"]) == 0
    assert len(read_marked(tmp_path / "bow.toml")[1]) >= 20
