"""Colours that stay apart, figures that leak nowhere, files written whole."""

from __future__ import annotations

import itertools
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from archerysim.equipment import SetupError
from archerysim.shot.shoot import DrawCurve
from archerysim.show import curve, save_figure, style

# Linear RGB as seen without the long or the middle cones, Machado, Oliveira and Fernandes 2009 [memory]
SEEN = {
    "all cones": np.eye(3),
    "no long cones": [[0.152, 1.053, -0.205], [0.115, 0.786, 0.099], [-0.004, -0.048, 1.052]],
    "no middle cones": [[0.367, 0.861, -0.228], [0.280, 0.673, 0.047], [-0.012, 0.043, 0.969]],
}
APART = 15.0  # in CIE L*a*b*, some six times what is just seen


def lab(color: str, seen: np.ndarray) -> np.ndarray:
    """CIE L*a*b* of a colour as it is seen."""
    code = np.array([int(color[k : k + 2], 16) for k in (1, 3, 5)]) / 255.0
    light = np.where(code <= 0.04045, code / 12.92, ((code + 0.055) / 1.055) ** 2.4)
    to_xyz = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
    xyz = to_xyz @ np.clip(seen @ light, 0.0, 1.0) / np.array([0.9505, 1.0, 1.089])
    f = np.where(xyz > 0.008856, np.cbrt(xyz), 7.787 * xyz + 16.0 / 116.0)
    return np.array([116.0 * f[1] - 16.0, 500.0 * (f[0] - f[1]), 200.0 * (f[1] - f[2])])


@pytest.mark.parametrize("eyes", SEEN)
def test_any_two_colours_stay_apart(eyes: str) -> None:
    seen = np.array(SEEN[eyes])
    for a, b in itertools.combinations(style.LOOKS, 2):
        apart = np.linalg.norm(lab(style.LOOKS[a].color, seen) - lab(style.LOOKS[b].color, seen))
        assert apart > APART, (a, b, apart)


def test_pairs_drawn_together_differ_in_grey_and_in_line() -> None:
    for a, b in (("upper", "lower"), ("separation", "clear"), ("fletched", "bare")):
        one, other = style.LOOKS[a], style.LOOKS[b]
        if (a, b) == ("fletched", "bare"):
            assert abs(one.width - other.width) > 0.5
        else:
            assert one.line != other.line
        assert one.marker != other.marker
        assert abs(lab(one.color, np.eye(3))[0] - lab(other.color, np.eye(3))[0]) > 20.0


def test_a_heading_tells_what_is_known() -> None:
    assert style.heading("my bow", 8.0, 18.0) == "my bow: reading 8.0 mm (5/16 in) by the underside, 18 m"
    assert style.heading("my bow", distance=50.0) == "my bow: 50 m"
    assert style.heading("my bow") == "my bow"
    assert style.heading("", 8.0) == "reading 8.0 mm (5/16 in) by the underside"


def test_import_leaves_heavy_modules_out_and_pictures_need_no_pyplot() -> None:
    code = (
        "import sys, archerysim.show as show, archerysim.show.style\n"
        "assert not {'matplotlib', 'numba', 'xarray', 'scipy'} & set(sys.modules), sorted(sys.modules)\n"
        "show.style.new_figure(5.0).add_subplot()\n"
        "assert 'matplotlib.pyplot' not in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


def test_many_axes_wants_the_right_number() -> None:
    with pytest.raises(ValueError, match="2 given, 4 wanted"):
        style.many_axes(style.new_figure(5.0).subplots(2), 4, 2, 5.0)


def test_spare_panels_are_taken_out() -> None:
    figure, axes = style.many_axes(None, 3, 2, 5.0)
    assert len(axes) == 3
    assert len(figure.axes) == 3


@pytest.mark.parametrize("ending", ["png", "pdf", "svg"])
def test_a_figure_is_saved_whole(drawn: DrawCurve, tmp_path: Path, ending: str) -> None:
    save_figure(curve(drawn), tmp_path / f"curve.{ending}")
    assert (tmp_path / f"curve.{ending}").stat().st_size > 5000
    assert len(list(tmp_path.iterdir())) == 1


@pytest.mark.parametrize(("name", "words"), [("x.bmpp", "unknown ending"), ("no/such/x.png", "cannot be written")])
def test_a_figure_that_cannot_be_saved(drawn: DrawCurve, tmp_path: Path, name: str, words: str) -> None:
    with pytest.raises(SetupError, match=words):
        save_figure(curve(drawn).figure, tmp_path / name)
    assert list(tmp_path.iterdir()) == []
