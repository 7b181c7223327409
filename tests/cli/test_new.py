"""archerysim new: from questions, options or a filled page to a file that loads, checks and tunes."""

from __future__ import annotations

import io
import os
import pty
import re
import select
import signal
import sys
import time
from functools import partial
from pathlib import Path

import pytest

from archerysim.cli.main import main, parser
from archerysim.cli.options import known_to
from archerysim.equipment import load, oddities
from archerysim.equipment.first_setup.questions import QUESTIONS
from archerysim.equipment.first_setup.setup_text import read_marked
from archerysim.equipment.first_setup.usual import KINDS
from archerysim.shot.fitted_bow import FittedBow
from archerysim.study.uncertainty import measure_next as module
from tests.support.cli.run_commands import ROOT, here

Capture = pytest.CaptureFixture[str]
MM = 1e-3


@pytest.mark.parametrize(("kind", "units"), [(kind, ("mm", "in")[k % 2]) for k, kind in enumerate(KINDS)])
def test_what_is_usual_loads_is_not_odd_and_tunes(kind: str, units: str, tmp_path: Path, capsys: Capture) -> None:
    target = tmp_path / "bow.toml"
    done = here(capsys, "new", target, "--usual", "--quick", "--kind", kind, "--units", units)
    assert (done.status, done.err) == (0, "")
    assert re.search(r"^  odd +nothing", done.out, re.MULTILINE)
    setup = load(target)
    assert oddities(setup) == []
    assert setup.nock.locators.convention == ("top" if units == "in" else "underside")
    marked = read_marked(target)[1]
    assert {"bow.brace_height", "arrow.spine", "archer.draw_length", "nock.locators.reading"} <= set(marked)
    assert "category" not in marked
    done = here(capsys, "tune", target, "--mesh", "coarse", "--no-range")
    assert done.status == 0
    assert "together" in done.out


@pytest.fixture
def roughly(monkeypatch: pytest.MonkeyPatch) -> None:
    """What to measure next is found on the coarse mesh, of which the command has no option."""
    quicker = partial(module.measure_next, mesh="coarse", workers=1)
    monkeypatch.setattr(module, "measure_next", quicker)


@pytest.mark.usefixtures("roughly")
def test_what_to_measure_next_is_told_and_how_much_it_narrows(tmp_path: Path, capsys: Capture) -> None:
    target = tmp_path / "bow.toml"
    done = here(capsys, "new", target, "--usual", "--kind", "club recurve", "--draw-weight", "31 lb")
    assert done.status == 0
    assert len(done.out.splitlines()) <= 17
    told = " ".join(done.out.split())
    first = re.search(r"measure next ([a-z ]+) \(may be moving the best locator height \d\.\d mm either way\)", told)
    assert first is not None
    assert first[1] in ("spine", "arrow length", "shaft mass")
    assert "draw weight (" not in told  # it was measured
    assert "+/-" not in told  # one range alone is told of a bow, that of tune
    checked = here(capsys, "check", target, "--mesh", "coarse")
    assert checked.status == 0
    for name in ("assumed", "measure next"):  # one list, one wording
        assert row(checked.out, name) == row(done.out, name)


def row(page: str, name: str) -> str:
    """What stands behind a name of a page, in one line."""
    found = re.search(rf"^  {name}  +(.*(?:\n {{8,}}.*)*)", page, re.MULTILINE)
    assert found is not None, page
    return " ".join(found[1].split())


def test_the_range_of_tune_counts_the_guesses(tmp_path: Path, capsys: Capture) -> None:
    """The same bow, its draw length guessed or measured; the guess is counted by how far it may be off."""
    said = ("--draw-length", "28 in", "--spine", "700", "--arrow-length", "28 1/2 in", "--shaft-mass", "6.4 gr/in")
    guessed, measured = tmp_path / "guessed.toml", tmp_path / "measured.toml"
    assert here(capsys, "new", guessed, "--usual", "--quick").status == 0
    assert here(capsys, "new", measured, "--from", guessed, "--usual", "--quick", *said).status == 0
    options = [parser().parse_args(["tune", str(file), *more]) for file, more in (
        (guessed, ()), (measured, ()), (guessed, ("--set", "arrow.spine=700")),
        (guessed, ("--known-to", "arrow.spine=0.02 in")),
    )]  # fmt: skip
    bow = FittedBow.of(load(guessed), "coarse")
    spine = [known_to(one, bow).get("arrow.spine") for one in options]
    assert spine[0] == pytest.approx(0.1 * 0.0254)
    assert spine[1] == spine[2] == pytest.approx(0.01 * 0.0254)  # as it is measured as a rule
    assert spine[3] == "0.02 in"
    done = here(capsys, "tune", guessed, "--mesh", "coarse", "--draws", "8")
    assert done.status == 0
    assert "The range counts what the file only assumes (bow length, " in " ".join(done.out.split())
    assert "only assumes" not in here(capsys, "tune", guessed, "--mesh", "coarse", "--no-range").out


def test_piped_answers_are_taken_line_by_line(tmp_path: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch) -> None:
    target = tmp_path / "mine.toml"
    lines = ["barebow", "mm", "left", "66", "", "", "16 polyester", "222", "196 mm", "", "20 top", "27 1/2", "35 at 28"]
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
    assert QUESTIONS[7].name == "brace-height"
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
        (("--reading", "1/2"), 'nock.locators.reading: 1/2 has no unit. Write it with one, for example "1/2 in"'),
        (
            ("--reading", "1/2 over"),
            'nock.locators.reading: "1/2 over" does not say up to which edge of the nock. Write "1/2 in top" for its',
        ),
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
    measured = {
        "`upper-tiller`": "6 1/2 in", "`shaft-mass`": "16 g", "`rest.droop`": "1.1 mm", "`upper_limb.mass`": "101 g",
        "`lower_limb.mass`": "104 g",
    }  # fmt: skip
    fill(page, measured)
    done = here(capsys, "new", second, "--from", first, "--from", page, "--usual", "--quick")
    assert (done.status, done.err) == (0, "")
    setup, marked = load(second), read_marked(second)[1]
    assert (setup.category, setup.bow.brace_height) == ("junior", pytest.approx(7.5 * 0.0254))
    assert setup.bow.upper_tiller == pytest.approx(6.5 * 0.0254)
    assert setup.rest.droop == pytest.approx(1.1 * MM)
    assert (setup.upper_limb.mass, setup.lower_limb.mass) == pytest.approx((0.101, 0.104))
    from archerysim.equipment.arrow import total_mass

    assert total_mass(setup.arrow) == pytest.approx(16e-3, abs=2e-5)
    assert not {"bow.upper_tiller", "arrow.mass_per_length", "bow.brace_height"} & set(marked)
    assert "bow.lower_tiller" in marked  # still open


def fill(page: Path, measured: dict[str, str]) -> None:
    """Write into the last column of a page of measures."""
    lines = page.read_text().splitlines()
    for k, line in enumerate(lines):
        for name, value in measured.items():
            if line.startswith(f"| {name}"):
                lines[k] = f"{line[:-4]} | {value} |"
    page.write_text("\n".join(lines))


def test_what_a_page_says_of_both_limbs_takes_the_place_of_what_was_said_of_each(
    tmp_path: Path, capsys: Capture
) -> None:
    """And the other way round."""
    first, page, second, third = (tmp_path / name for name in ("a.toml", "m.md", "b.toml", "c.toml"))
    here(capsys, "new", first, "--usual", "--quick", "--set", "limbs.mass=160 g")
    here(capsys, "measures", first, "--out", page)
    fill(page, {"`upper_limb.mass`": "163 g", "`lower_limb.mass`": "166 g"})
    done = here(capsys, "new", second, "--from", first, "--from", page, "--usual", "--quick")
    assert (done.status, done.err) == (0, "")
    assert (load(second).upper_limb.mass, load(second).lower_limb.mass) == pytest.approx((0.163, 0.166))
    done = here(capsys, "new", third, "--from", second, "--set", "limbs.mass=150 g", "--usual", "--quick")
    assert (done.status, done.err) == (0, "")
    assert load(third).upper_limb.mass == load(third).lower_limb.mass == pytest.approx(0.150)
    assert "160 g" not in second.read_text()


def test_a_reading_without_an_edge_keeps_the_file_s_convention(tmp_path: Path, capsys: Capture) -> None:
    first, page = tmp_path / "a.toml", tmp_path / "m.md"
    here(capsys, "new", first, "--usual", "--quick", "--reading", "12.7 mm top")
    here(capsys, "measures", first, "--out", page)
    fill(page, {"`reading`": "1/2 in"})
    for k, (more, reading, convention) in enumerate((
        (("--from", page), 12.7, "top"), (("--reading", "13.2 mm"), 13.2, "top"),
        (("--reading", "7 mm underside"), 7.0, "underside"), (("--reading", "13 mm top"), 13.0, "top"),
    )):  # fmt: skip
        target = tmp_path / f"b{k}.toml"
        done = here(capsys, "new", target, "--from", first, *more, "--usual", "--quick")
        assert (done.status, done.err) == (0, "")
        locators = load(target).nock.locators
        assert (locators.reading, locators.convention) == (pytest.approx(reading * MM), convention)
        changed = "convention  changed: by the underside here, by the top before" in done.out
        assert changed == (convention == "underside")


def test_a_page_s_numbers_need_their_units(tmp_path: Path, capsys: Capture) -> None:
    """Each such row is named as it stands on the page, all in one sentence, and nothing is written."""
    first, page, target = tmp_path / "a.toml", tmp_path / "m.md", tmp_path / "b.toml"
    here(capsys, "new", first, "--usual", "--quick")
    here(capsys, "measures", first, "--out", page)
    empty = page.read_text(encoding="utf-8")

    def back(measured: dict[str, str]) -> str:
        page.write_text(empty, encoding="utf-8")
        fill(page, measured)
        done = here(capsys, "new", target, "--from", first, "--from", page, "--usual", "--quick")
        assert (done.status, done.out, target.exists()) == (2, "", False)
        return done.err

    for name, value, example in (
        ("point-mass", "6.5", '"6.5 g" or "6.5 gr"'), ("shaft-mass", "19", '"19 g" or "19 gr/in"'),
        ("reading", "1/2", '"1/2 in"'), ("reading", "1/2 top", '"1/2 in"'),
        ("draw-weight", "34 at 28", '"34 lb"'), ("diameter", "5", '"5 mm"'),
        ("nock.height", "6.3", "mm"), ("upper_limb.mass", "165", "g"), ("nock.slope", "0", "deg"),
        ("brace-height", "220", '"220 mm"'), ("bow-length", "68", '"68 in"'),
    ):  # fmt: skip
        said = back({f"`{name}`": value})
        assert "has no unit" in said, (name, value)
        assert example in said
    assert f'{page}, row "10 upper limb": 165 has no unit' in back({"`upper_limb.mass`": "165"})
    said = back({"`point-mass`": "6.5", "`upper_limb.mass`": "165 g, 168 g", "`nock.slope`": "0"})
    assert said.startswith(f'archerysim: {page}: 3 rows cannot be used: "8 point": 6.5 has no unit; "10 upper limb": ')
    assert '"11 slope": 0 has no unit' in said
    said = back({"`brace-height`": "22 mm", "`lower-tiller`": "5 m"})  # read, and out of range
    assert '2 rows cannot be used: "1 brace height": "22 mm" is outside the allowed range' in said
    assert '"2 lower tiller": ' in said


def test_a_bow_that_cannot_stand_leaves_no_file(tmp_path: Path, capsys: Capture) -> None:
    target = tmp_path / "bow.toml"
    limbs = ("--set", "limbs.mass=165 g", "--set", "limbs.balance=600 mm")
    done = here(capsys, "new", target, "--usual", *limbs)
    assert done.status == 2
    assert done.err.startswith("archerysim: ")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.usefixtures("roughly")
def test_it_is_said_beforehand_that_the_first_shot_compiles(
    tmp_path: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("archerysim.shot.warm_up.is_cold", lambda: True)
    done = here(capsys, "new", tmp_path / "bow.toml", "--usual")
    assert '"archerysim warmup" does it beforehand' in done.err
    assert "a minute or two" in done.err
    assert here(capsys, "new", tmp_path / "other.toml", "--usual", "--quick").err == ""


def test_a_setup_written_by_hand_goes_through_unchanged(tmp_path: Path, capsys: Capture) -> None:
    for name in ("club-outdoor", "barebow", "junior", "longbow"):
        done = here(capsys, "new", tmp_path / f"{name}.toml", "--from", ROOT / "examples" / f"{name}.toml", "--quick")
        assert (done.status, done.err) == (0, ""), name  # nothing was asked: nothing is marked
        assert load(tmp_path / f"{name}.toml") == load(ROOT / "examples" / f"{name}.toml")


def at_a_terminal(arguments: list[str], answers: list[str]) -> tuple[str, int]:
    """What a terminal shows, and the exit status; an answer for each prompt, then Enter."""
    child, terminal = pty.fork()
    if child == 0:
        signal.signal(signal.SIGINT, signal.SIG_DFL)  # a shell has its jobs in the background ignore Ctrl-C
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
    answers = [
        "club", "in", "", "?", "86 m", "68", "", "", "", "22", "8 3/4", "", "", "1/2", "28", "back", "27 1/2", "31",
        "=",
    ]  # fmt: skip
    shown, status = at_a_terminal(["new", str(target), "--quick"], answers)
    assert status == 0, shown
    assert 'bow.length: "86 m" = 3385.83 in is outside the allowed range 36 in to 96 in' in shown
    assert "Printed on the lower limb." in shown
    assert '"22 in" = 558.8 mm is outside the allowed range 100 mm to 400 mm' in shown
    assert f"{len(QUESTIONS)}/{len(QUESTIONS)} " in shown
    setup = load(target)
    assert setup.archer.draw_length == pytest.approx(27.5 * 0.0254)
    assert setup.bow.brace_height == pytest.approx(8.75 * 0.0254)
    assert "taken by the underside" in shown
    marked = set(read_marked(target)[1])
    assert {"string.strands", "bow.upper_tiller", "arrow.spine"} <= marked  # Enter
    assert not {"archer.handed", "archer.hold"} & marked  # Enter, of what one sees
    assert "arrow.length" not in marked  # = says that it was measured


def test_answers_outlive_ctrl_c(tmp_path: Path) -> None:
    """They are kept beside the file that is not written, and only what is open is asked again."""
    target, kept = tmp_path / "bow.toml", tmp_path / "bow-unfinished.toml"
    shown, status = at_a_terminal(["new", str(target), "--quick"], ["barebow", "mm", "left", "66", "split", "\x03"])
    assert status == 130, shown
    assert not target.exists()
    assert f"archerysim new {target} --from {kept}" in shown
    setup, marked = load(kept), read_marked(kept)[1]
    assert (setup.category, setup.archer.handed, setup.archer.hold) == ("barebow", "left", "split")
    assert "bow.length" not in marked
    assert "bow.brace_height" in marked
    shown, status = at_a_terminal(["new", str(target), "--quick", "--from", str(kept)], ["weight", "", "221"])
    assert status == 0, shown
    assert "Stabiliser (long rod, weight, none) [weight, assumed]: " in shown
    assert "Length of the bow" not in shown
    assert load(target).bow.brace_height == pytest.approx(221 * MM)
    assert load(target).archer.handed == "left"
    assert {"string.strands", "arrow.spine"} <= set(read_marked(target)[1])


def test_a_bow_that_cannot_stand_keeps_the_answers_of_a_terminal(tmp_path: Path) -> None:
    target, kept = tmp_path / "bow.toml", tmp_path / "bow-unfinished.toml"
    given = ("--set", "limbs.mass=165 g", "--set", "limbs.balance=600 mm")
    shown, status = at_a_terminal(["new", str(target), *given], ["junior"])
    assert status == 2, shown
    assert not target.exists()
    assert f"Your answers are kept in {kept}" in shown
    assert load(kept).category == "junior"


def test_ctrl_c_before_any_answer_leaves_nothing(tmp_path: Path) -> None:
    shown, status = at_a_terminal(["new", str(tmp_path / "bow.toml"), "--quick"], ["\x03"])
    assert status == 130, shown
    assert list(tmp_path.iterdir()) == []


def test_no_terminal_and_no_answers_take_what_is_usual(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdin", io.StringIO(""))
    assert main(["new", str(tmp_path / "bow.toml"), "--quick"]) == 0
    assert len(read_marked(tmp_path / "bow.toml")[1]) >= 20
