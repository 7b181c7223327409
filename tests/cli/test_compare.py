"""archerysim compare: what lies between two setup files, in lines and as a picture."""

from __future__ import annotations

from pathlib import Path

import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg

from archerysim.show.two_setups.plot import before_and_after
from archerysim.study.two_setups.compare import compare
from tests.support.cli.run_commands import here
from tests.support.shot.example_bows import measured, path_of

Capture = pytest.CaptureFixture[str]


def test_the_answer_and_all_of_it(tmp_path: Path, capsys: Capture) -> None:
    target = tmp_path / "c.png"
    names = (path_of("club-outdoor"), path_of("barebow"))
    done = here(capsys, "compare", *names, "--mesh", "coarse", "--plot", target, "--distance", "20 yd")
    assert (done.status, done.err) == (0, "")
    answer = done.out.partition("\nWarnings")[0]
    assert len(answer.splitlines()) <= 20
    assert all(len(line) <= 101 for line in answer.splitlines())
    assert "bare and fletched shafts at 20 yd" in answer
    assert "tillers 195/190 -> 196/196 mm" in answer
    assert "archer.hold split -> three under" in answer
    assert "The order matters (mm of the best reading): arrow.spine" in answer
    assert target.stat().st_size > 10_000
    everything = here(capsys, "compare", *names, "--mesh", "coarse", "--all").out
    assert "the other" not in everything
    assert "string.material" in everything
    assert "bare beside" in everything


def test_nothing_differs(tmp_path: Path, capsys: Capture) -> None:
    copy = tmp_path / "again.toml"
    copy.write_text(path_of("junior").read_text())
    done = here(capsys, "compare", path_of("junior"), copy, "--mesh", "coarse")
    assert (done.status, done.err) == (0, "")
    assert "nothing differs that affects a shot" in done.out


def test_bad_input_ends_in_one_line(tmp_path: Path, capsys: Capture) -> None:
    for given, said in (
        ((path_of("junior"), tmp_path / "absent.toml"), "absent.toml cannot be read"),
        ((path_of("junior"), path_of("barebow"), "--distance", "far"), "distance: "),
        ((path_of("junior"), path_of("barebow"), "--plot", "c.txt"), "plot: 'c.txt': unknown ending"),
    ):
        done = here(capsys, "compare", *given, "--mesh", "coarse")
        assert (done.status, done.out) == (2, "")
        assert said in done.err
        assert done.err.count("\n") == 1


def test_the_picture_has_both_bows_and_a_bar_for_each_change() -> None:
    before = measured("club-outdoor")
    after = before.replace({"arrow.point_mass": "110 gr", "bow.brace_height": "215 mm"})
    found = compare(before, after, mesh="coarse")
    figure = before_and_after(found)
    FigureCanvasAgg(figure).draw()
    bench, best, gap = figure.axes
    assert len({line.get_color() for line in bench.lines if line.get_gid()}) == 2
    for ax, name, size in ((best, "together_reading", 1.0), (gap, "bare_above", 10.0)):
        first, steps, last = (bars for bars in ax.containers)
        column = found.answer(name)
        for bars, values in ((first, found.first), (steps, found.steps), (last, found.last)):
            assert [bar.get_width() for bar in bars] == pytest.approx(values[:, column] / size)
        title = ax.get_title(loc="left")
        assert f"{found.at[0, column] / size:.1f} before" in title
