"""Traced profiles: the curve that was traced comes out, as well as the pencil lets it; what is no limb is refused."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from archerysim.equipment import Setup, SetupError, filled, load, loads
from archerysim.equipment.limbs.natural_shape import NaturalShape, angle_at, turned_forward, usual_shape
from archerysim.equipment.limbs.traced_profile import ERROR, Traced, traced
from tests.support.equipment.setup_texts import MEASURED

LENGTH = 0.575  # [m]
FINE = 4001


def points(shape: NaturalShape, count: int, turned: float = 0.0, mirrored: bool = False) -> np.ndarray:
    """Evenly along a limb of that shape, in axes turned against its root (count, 2) [m]."""
    place = np.linspace(0.0, 1.0, FINE)
    angle = angle_at(shape, place) + turned
    step = LENGTH / (FINE - 1)
    x, y = (np.concatenate(([0.0], np.cumsum(0.5 * step * (f[1:] + f[:-1])))) for f in (np.sin(angle), np.cos(angle)))
    at = np.linspace(0.0, 1.0, count)
    return np.column_stack((np.interp(at, place, -x if mirrored else x) + 0.3, np.interp(at, place, y) - 0.2))


def smoothed(found: np.ndarray) -> Traced:
    return traced(tuple(map(float, found[:, 0])), tuple(map(float, found[:, 1])), "upper_limb")


def curvature(found: Traced) -> np.ndarray:
    return np.asarray(found.shape.bent) / found.length


RECURVE = usual_shape("recurve")
assert RECURVE is not None
TURN = np.degrees(turned_forward(RECURVE))


@pytest.mark.parametrize("bent", [(0.0, 0.0), (1.2, 1.2), (-0.3, 1.5)])
def test_curves_that_change_evenly_come_out_as_they_are(bent: tuple[float, float]) -> None:
    """An even curve exactly; of one that changes evenly the smoothing takes 0.2 1/m off the ends."""
    shape = NaturalShape((0.0, 1.0), bent)
    found = smoothed(points(shape, 20, turned=0.4))
    assert found.length == pytest.approx(LENGTH, rel=1e-4)
    assert turned_forward(found.shape) == pytest.approx(turned_forward(shape), abs=0.01)
    np.testing.assert_allclose(curvature(found), np.interp(found.shape.at, (0, 1), bent) / LENGTH, atol=0.2)
    if bent[0] == bent[1]:
        np.testing.assert_allclose(curvature(found), bent[0] / LENGTH, atol=2e-3)


def test_a_recurve_comes_out_within_what_the_smoothing_rounds_off() -> None:
    found = smoothed(points(RECURVE, 30))
    assert np.degrees(turned_forward(found.shape)) == pytest.approx(TURN, abs=0.3)
    true = np.interp(found.shape.at, RECURVE.at, RECURVE.bent) / LENGTH
    assert np.sqrt(np.mean((curvature(found) - true) ** 2)) < 0.05 * true.max()


def test_axes_do_not_matter_and_a_mirrored_limb_is_curved_back() -> None:
    first = smoothed(points(RECURVE, 24))
    for turned in (-1.0, 0.5, 2.0):
        other = smoothed(points(RECURVE, 24, turned))
        np.testing.assert_allclose(curvature(other), curvature(first), atol=1e-3)
        np.testing.assert_allclose(other.points, first.points, atol=1e-6)
    mirrored = smoothed(points(RECURVE, 24, mirrored=True))
    np.testing.assert_allclose(curvature(mirrored), -curvature(first), atol=1e-3)


def test_with_a_pencils_error_the_curvature_is_as_sure_as_it_says() -> None:
    """Errors over the standard deviation told: between a third and 1.2, as mean square over many tracings."""
    rng, exact = np.random.default_rng(5), points(RECURVE, 24)
    true = np.interp(smoothed(exact).shape.at, RECURVE.at, RECURVE.bent) / LENGTH
    off, turns = [], []
    for _ in range(20):
        found = smoothed(exact + ERROR * rng.normal(size=exact.shape))
        off.append((curvature(found) - true) / found.known_to)
        turns.append(np.degrees(turned_forward(found.shape)))
    assert 1.0 / 3.0 < np.sqrt(np.mean(np.square(off))) < 1.2
    assert np.mean(turns) == pytest.approx(TURN, abs=1.5)
    assert np.std(turns) < 5.0


def wrong(change: str) -> np.ndarray:
    found = points(RECURVE, 20)
    if change == "few":
        return found[::4]
    if change == "back":
        found[[9, 10]] = found[[10, 9]]
    elif change == "gap":
        return np.delete(found, range(4, 13), axis=0)
    elif change == "twice":
        found[5] = found[4]
    elif change == "beside":
        found[8, 0] += 0.012
    elif change == "tip first":
        return found[::-1]
    elif change == "inches":
        return 0.0254 * found
    return found


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ("few", "5 points. Trace at least 6"),
        ("back", "the points double back at point"),
        ("gap", "points 4 and 5 are .* apart. Trace points evenly"),
        ("twice", "points 5 and 6 are the same"),
        ("beside", "point 9 lies .* mm off a smooth line"),
        ("inches", "the points run over 14.6 mm. A limb has"),
        ("tip first", "the points turn by 70 deg in their first half, by 0 in the second. .* from the root to the tip"),
    ],
)
def test_points_that_are_no_limb_are_refused(change: str, words: str) -> None:
    found = wrong(change)
    with pytest.raises(SetupError, match=rf"^upper_limb.profile_x: {words}"):
        smoothed(found)


def csv_of(found: np.ndarray) -> str:
    rows = "".join(f"{1e3 * x:.6f}, {1e3 * y:.6f}\n" for x, y in found)
    return f"# traced on paper\nx [mm], y [mm]\n{rows}"


def bow_text(line: str) -> str:
    return MEASURED.replace("[limbs]\n", f"[limbs]\n{line}\n")


def bow_file(folder: Path) -> Path:
    path = folder / "bow.toml"
    path.write_text(bow_text('profile = "limb.csv"'))
    return path


def test_a_file_beside_the_setup_is_read_into_it(tmp_path: Path) -> None:
    (tmp_path / "limb.csv").write_text(csv_of(points(RECURVE, 24)))
    setup = load(bow_file(tmp_path))
    np.testing.assert_allclose(
        np.column_stack((setup.upper_limb.profile_x, setup.upper_limb.profile_y)),  # type: ignore[arg-type]
        points(RECURVE, 24), atol=1e-9,
    )  # fmt: skip
    assert setup.upper_limb.profile_x == setup.lower_limb.profile_x
    assert loads(setup.to_toml()) == setup  # whole without the file
    full = filled(setup)
    assert full.upper_limb.length == pytest.approx(LENGTH, rel=1e-3)
    assert len(full.upper_limb.natural_curvature) == len(full.upper_limb.curvature_at)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (None, "limb.csv cannot be read"),
        ("x, y\n1, 2\n", '"x" has no unit'),
        ("x [mm], z [mm]\n1, 2\n", '"z \\[mm\\]" is not a column known here'),
        ("x [mm], y [mm]\n1, two\n", '"two" is not a plain number'),
        ("x [mm], y [mm]\n", "a header and no rows"),
    ],
)
def test_a_file_that_is_none_is_told(tmp_path: Path, content: str | None, words: str) -> None:
    if content is not None:
        (tmp_path / "limb.csv").write_text(content)
    with pytest.raises(SetupError, match=words):
        load(bow_file(tmp_path))


def test_a_text_names_no_file() -> None:
    with pytest.raises(SetupError, match="a setup given as text has no folder to read it from"):
        loads(bow_text('profile = "limb.csv"'))
    with pytest.raises(SetupError, match="is not a file name"):
        loads(bow_text("profile = 3"))


def test_the_points_fit_the_limbs_length(measured: Setup) -> None:
    x, y = points(RECURVE, 24).T
    told = {"limbs.profile_x": tuple(x), "limbs.profile_y": tuple(y)}
    assert filled(measured.with_si(**told, **{"limbs.length": 0.58})).upper_limb.length == 0.58
    with pytest.raises(SetupError, match="the points run over 575 mm, the limb is 620 mm long"):
        filled(measured.with_si(**told, **{"limbs.length": 0.62}))
    with pytest.raises(SetupError, match="23 points, profile_y has 24"):
        measured.with_si(**told | {"limbs.profile_x": tuple(x[1:])})
