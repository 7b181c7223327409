"""The unstrung limbs' picture: the line and its curvature as filled in, the points where they were traced."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from archerysim.equipment import Setup, filled
from archerysim.equipment.limbs.derived_shape import traced_of
from archerysim.equipment.limbs.natural_shape import limb_line
from archerysim.shot.fitted_bow import FittedBow
from archerysim.show import limbs
from tests.support.cli.run_commands import here
from tests.support.shot.example_bows import measured, path_of
from tests.support.show.legible_pictures import assert_legible, line

COUNT = 20


def recurve() -> Setup:
    return measured("club-outdoor").replace(**{"limbs.shape": "recurve"})


def traced() -> Setup:
    """With the upper limb's line as points that were traced, in the root's axes."""
    found = limb_line(filled(recurve()).upper_limb)
    at = np.linspace(0.0, found.place[-1], COUNT)
    points = {"x": np.interp(at, found.place, found.forward), "y": np.interp(at, found.place, found.along)}
    changes = {f"upper_limb.profile_{one}": tuple(map(float, row)) for one, row in points.items()}
    return recurve().with_si(**changes, **{"bow.pocket_angle": np.radians(2.0)})


def test_limbs_alike_are_drawn_once() -> None:
    figure = limbs(recurve())
    above, below = figure.axes
    found = limb_line(filled(recurve()).upper_limb)
    np.testing.assert_allclose(line(above, "upper limb").get_ydata(), 1e3 * found.forward)
    np.testing.assert_allclose(line(above, "upper limb").get_xdata(), 1e3 * found.along)
    np.testing.assert_allclose(line(below, "upper curvature").get_ydata(), found.curvature)
    assert above.get_aspect() == 1.0
    assert not [one for one in above.lines if one.get_gid() == "lower limb"]
    assert_legible(figure)


def test_a_traced_limb_beside_another() -> None:
    setup = traced()
    bow = FittedBow.of(setup, "coarse")
    figure = limbs(bow)
    above, below = figure.axes
    found = traced_of(setup.upper_limb, "upper_limb")
    assert found is not None
    np.testing.assert_allclose(line(above, "upper points").get_ydata(), 1e3 * found.points[:, 0])
    assert line(above, "lower limb").get_color() != line(above, "upper limb").get_color()
    (band,) = [one for one in below.collections if one.get_gid() == "upper band"]
    assert band.get_paths()
    assert_legible(figure)


def test_into_axes_of_ones_own() -> None:
    from archerysim.show.style import new_figure

    axes = new_figure(9.0).subplots(1, 2)
    assert limbs(recurve(), axes) is axes[0].figure
    assert axes[0].get_legend() is not None


def test_check_draws_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    target = tmp_path / "limbs.svg"
    told = here(capsys, "check", path_of("club-outdoor"), "--picture", "limbs", "--plot", target, "--mesh", "coarse")
    assert told.status == 0
    assert 'id="upper curvature"' in target.read_text()


def test_check_draws_the_limbs_of_a_bow_that_does_not_stand(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    setup = measured("club-outdoor").replace(**{"limbs.natural_curvature": ("5 1/m", "5 1/m")})
    path, target = tmp_path / "bow.toml", tmp_path / "limbs.png"
    setup.save(path)
    told = here(capsys, "check", path, "--picture", "limbs", "--plot", target, "--mesh", "coarse")
    assert told.status == 2
    assert target.exists()
