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


def test_two_setups_of_one_name_are_called_as_their_files(tmp_path: Path, capsys: Capture) -> None:
    text = path_of("club-outdoor").read_text(encoding="utf-8")
    (tmp_path / "old").mkdir()
    for name, mass in (("bow.toml", "90 gr"), ("bowB.toml", "100 gr"), ("old/bow.toml", "80 gr")):
        (tmp_path / name).write_text(text.replace('point_mass = "90 gr"', f'point_mass = "{mass}"'), encoding="utf-8")
    files = [tmp_path / name for name in ("bow.toml", "bowB.toml", "old/bow.toml")]
    two = here(capsys, "compare", *files[:2], "--mesh", "coarse", "--planes", "1").out
    assert two.startswith("bow.toml -> bowB.toml: 1 change")
    assert "readings by the underside, whatever a file's convention" in two
    alike = here(capsys, "compare", files[0], files[2], "--mesh", "coarse", "--planes", "1").out
    assert alike.startswith(f"{files[0]} -> {files[2]}: 1 change")


def test_a_single_change_is_one_bar_and_equal_names_are_told_apart() -> None:
    before = measured("club-outdoor")
    figure = before_and_after(compare(before, before.replace({"arrow.point_mass": "110 gr"}), mesh="coarse", planes=1))
    for ax in figure.axes[1:]:
        assert len(ax.patches) == 1
    assert "best reading by the underside" in figure.axes[1].get_title(loc="left")
    labels = figure.axes[0].get_legend_handles_labels()[1]
    assert labels == [f"{before.name}, before", f"{before.name}, after"]
