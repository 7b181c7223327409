"""Least squares and profiles: closed forms of the linear case, bounds, what cannot be told apart, calibration."""

from __future__ import annotations

import math

import numpy as np
import pytest

from archerysim import status
from archerysim.equipment import NO_CHANGES
from archerysim.errors import ShotError
from archerysim.study.notes import response_surface as module
from archerysim.study.notes.group_means import SCATTER, read_groups
from archerysim.study.notes.next_shot import alike, further_shots, mixture, taken_off
from archerysim.study.notes.posterior import RISE, Answer, Question, answer, by_prior, quantiles, question, settled
from archerysim.study.notes.response_surface import Place
from archerysim.study.notes.surface import Surface, surfaces
from archerysim.study.run.how_to_run import HowToRun
from tests.support.shot.example_bows import built
from tests.support.study.noted_cases import MESH, NOW, case, expected, noted

CASES = 200


def linear(slope: list[list[float]], data: list[float], bound: float = 50.0) -> Question:
    table = np.array(slope)
    n, k = table.shape
    flat = Surface(np.zeros(n), table, np.zeros((n, k, k)), np.zeros(n))
    return Question(flat, np.array(data), np.eye(n), np.full(k, -bound), np.full(k, bound))


def test_linear_answer_is_the_closed_form() -> None:
    asked = linear([[1.0, 0.5, 0.0], [0.3, -2.0, 1.0]], [2.0, -1.0])
    found = answer(asked)
    table = asked.surface.slope
    cover = np.linalg.inv(table.T @ table + np.eye(3))
    assert found.z == pytest.approx(cover @ table.T @ asked.data, abs=1e-4)
    half = math.sqrt(RISE) * np.sqrt(np.diag(cover))
    assert found.low == pytest.approx(found.z - half, abs=0.02)
    assert found.high == pytest.approx(found.z + half, abs=0.02)
    assert np.all(found.narrowed < 1.0)


def test_without_data_the_intervals_are_the_priors() -> None:
    asked = linear([[0.0, 0.0]], [0.0], bound=1.8)
    found = answer(asked)
    assert found.z == pytest.approx([0.0, 0.0], abs=1e-6)
    assert found.narrowed == pytest.approx([1.0, 1.0], abs=0.02)
    ends = by_prior(np.array([0.05, 0.95])[:, None], asked.low, asked.high)
    assert np.array([found.low, found.high]) == pytest.approx(ends, abs=0.03)


def test_draws_stay_within_the_bounds() -> None:
    """Data outside: the best value is at the bound, and 90 % of what is left lies just inside, as on a fine grid."""
    asked = linear([[3.0, 0.0]], [6.0], bound=1.0)
    found = answer(asked)
    assert found.z[0] == pytest.approx(1.0, abs=1e-3)
    assert np.all(np.abs(found.draws) <= 1.0)
    grid = np.linspace(-1.0, 1.0, 4001)
    for k, misses in enumerate((6.0 - 3.0 * grid, 0.0 * grid)):
        density = np.exp(-0.5 * (misses**2 + grid**2))
        ends = quantiles(grid, density / density.sum(), (0.05, 0.95))
        assert [found.low[k], found.high[k]] == pytest.approx(ends, abs=0.03)


def test_draws_are_those_of_a_bent_surface_too() -> None:
    """One number, the square of an input: two peaks, found beside a fine grid."""
    bent = Surface(np.zeros(1), np.zeros((1, 1)), np.full((1, 1, 1), 2.0), np.zeros(1))
    asked = Question(bent, np.array([1.5]), np.eye(1) / 0.3, np.full(1, -2.5), np.full(1, 2.5))
    found = answer(asked)
    grid = np.linspace(-2.5, 2.5, 5001)
    density = np.exp(-0.5 * (((1.5 - grid**2) / 0.3) ** 2 + grid**2))
    ends = quantiles(grid, density / density.sum(), (0.05, 0.95))
    assert [found.low[0], found.high[0]] == pytest.approx(ends, abs=0.03)
    assert found.weights.sum() == pytest.approx(1.0)


def test_profile_is_the_rise_of_chi_square_with_all_others_at_their_best() -> None:
    asked = linear([[1.0, 0.5, 0.0], [0.3, -2.0, 1.0]], [2.0, -1.0], bound=2.5)
    found = answer(asked, points=5)
    for k, profile in enumerate(found.profiles):
        assert np.all(np.diff(profile[:, 0]) > 0.0)
        wanted = (profile[:, 0] - found.z[k]) ** 2 / found.covariance[k, k]
        assert profile[:, 1] == pytest.approx(wanted, rel=0.04, abs=0.02)


def seen_of(z: np.ndarray, slope: list[float], value: float = 1.0, noise: float = 0.0) -> np.ndarray:
    """A quadratic of three inputs at normed values (n, 3), as (n, 1)."""
    bend = np.array([[1.0, 0.4, 0.0], [0.4, -2.0, 0.3], [0.0, 0.3, 0.5]])
    rng = np.random.default_rng(len(z))
    exact = value + z @ slope + 0.5 * np.einsum("ni,ij,nj->n", z, bend, z)
    return np.asarray((exact + noise * rng.normal(size=len(z)))[:, None])


def test_a_surface_is_that_of_a_quadratic_where_shots_are_many() -> None:
    z = np.random.default_rng(0).normal(size=(4000, 3))
    (found,) = surfaces(z, np.zeros(4000, dtype=int), seen_of(z, [1.0, -2.0, 0.5]))
    at = np.array([[2.0, 1.0, -1.0], [0.0, -1.0, 0.3]])
    assert found.at(at) == pytest.approx(seen_of(at, [1.0, -2.0, 0.5]), abs=0.02)
    assert found.at(at[0]) == pytest.approx(found.at(at)[0])
    assert found.slopes(at[0])[0] == pytest.approx(found.slope[0] + found.bend[0] @ at[0])
    assert found.error[0] < 0.01


def test_the_error_of_a_surface_is_that_of_shots_not_used_for_it() -> None:
    """So few shots that the fit goes nearer to its own than to others; on the average of some trials."""
    rng = np.random.default_rng(2)
    told, beyond, own = [], [], []
    for _ in range(8):
        z, other = rng.normal(size=(60, 3)), rng.normal(size=(4000, 3))
        seen, more = (seen_of(one, [1.0, -2.0, 0.5], noise=1.0) for one in (z, other))
        (found,) = surfaces(z, np.zeros(60, dtype=int), seen)
        told.append(float(found.error[0]))
        beyond.append(float((more - found.at(other)).std()))
        own.append(float((seen - found.at(z)).std()))
    assert np.mean(told) == pytest.approx(np.mean(beyond), rel=0.15)
    assert np.mean(own) < 0.9 * np.mean(beyond)


def test_a_further_setting_leans_on_the_slopes_of_the_others() -> None:
    rng = np.random.default_rng(3)
    z = rng.normal(size=(80, 3))
    setting = np.repeat([0, 1], [16, 64])
    slopes = [1.0, -2.0, 0.5], [1.3, -2.0, 0.5]
    seen = np.vstack([seen_of(z[:16], slopes[0], 4.0), seen_of(z[16:], slopes[1])])
    found = surfaces(z, setting, seen)
    assert [one.value[0] for one in found] == pytest.approx([4.0, 1.0], abs=0.15)
    assert found[1].slope[0] == pytest.approx(slopes[1], abs=0.1)
    assert found[0].slope[0, 1:] == pytest.approx(slopes[0][1:], abs=0.1)
    assert slopes[0][0] < found[0].slope[0, 0] < found[1].slope[0, 0] - 0.05
    assert found[0].bend == pytest.approx(found[1].bend)


def test_a_failed_shot_is_left_out_and_too_many_are_an_error(monkeypatch: pytest.MonkeyPatch) -> None:
    setup, place = built("club-outdoor", MESH), (Place(NOW, 18.0),)
    usual = expected(1).heights.value[2]  # before a shot of it could fail
    real, calls = module.launch_at, iter(range(1000))

    def failing(every: int):  # type: ignore[no-untyped-def]
        def launch(base, causes, reading, z=None, extra=NO_CHANGES):  # type: ignore[no-untyped-def]
            if z is not None and next(calls) % every == 0:
                raise ShotError("release", status.TIME_CAP)
            return real(base, causes, reading, z, extra)

        return launch

    monkeypatch.setattr(module, "launch_at", failing(12))
    found = module.expect(setup, place, shots=26, mesh=MESH, planes=1, how=HowToRun(workers=1))
    assert found.failed == 3
    assert found.heights.value[0] == pytest.approx(usual, abs=0.02)
    monkeypatch.setattr(module, "launch_at", failing(1))
    with pytest.raises(ShotError):
        module.expect(setup, place, shots=26, mesh=MESH, planes=1, how=HowToRun(workers=1))


def test_inputs_that_do_the_same_are_named_and_others_are_not() -> None:
    same = linear([[2.0, -1.0, 0.0], [4.0, -2.0, 0.1]], [1.0, 1.0])
    found = answer(same)
    (pair,) = alike(same, found)
    assert (pair.first, pair.second) == (0, 1)
    assert pair.cosine == pytest.approx(-1.0)
    u = mixture(same, found, pair)
    assert same.pull(found.z) @ u == pytest.approx([0.0, 0.0], abs=1e-9)
    apart = linear([[2.0, 0.0], [0.0, 2.0]], [1.0, 1.0])
    assert alike(apart, answer(apart)) == ()


def test_what_a_further_number_takes_off_is_that_of_asking_again_with_it() -> None:
    asked = linear([[2.0, -1.0], [4.0, -2.0]], [1.0, 1.0])
    found = answer(asked)
    u = mixture(asked, found, alike(asked, found)[0])
    more = [[1.0, 3.0]]
    again = answer(linear([*asked.surface.slope.tolist(), *more], [1.0, 1.0, 0.0]))
    drop = taken_off(found.covariance, np.array(more), u)
    assert drop == pytest.approx(1.0 - (u @ again.covariance @ u) / (u @ found.covariance @ u))
    assert taken_off(found.covariance, asked.surface.slope, u) == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("planes", [1, 2])
def test_further_shots_stand_in_order(planes: int) -> None:
    e = expected(planes, "default")
    most = ["load on the index finger", "release time"]  # felt most
    asked = question(e, (noted(-0.08, 0.005),))  # so little scatter that the notes feel more than one
    found = answer(asked)
    pairs = alike(asked, found)
    names = [e.causes[k].name for k in (pairs[0].first, pairs[0].second)]
    assert names == most
    assert pairs[0].cosine == pytest.approx(1.0)  # one group is one number; both put it lower
    shots = further_shots(e, asked, found, pairs[0], SCATTER, speed_known=False)
    drops = [shot.drop for shot in shots]
    assert drops == sorted(drops, reverse=True)
    assert all(0.0 <= drop < 1.0 for drop in drops)
    words = " | ".join(shot.words for shot in shots)
    for part in ("arrow's speed", "3 mm higher", "more point", "10 m", "another end at 18 m"):
        assert part in words


def test_settled_surface_passes_through_real_shots_at_the_answer() -> None:
    e = expected()
    groups = (noted(0.02, 0.02, NOW, 18.0, beside=0.1),)
    asked, gaps, launches, miss = settled(e, groups)
    z = answer(asked).z
    assert miss < 0.1 * 0.02
    assert np.abs(e.heights.at(z)[2] - gaps[0, 2]) > 3.0 * miss  # before it settled
    real, _ = e.shot_gaps(z)
    assert gaps[:, 2] == pytest.approx(real[:, 2], abs=0.05 * 0.02)  # least squares end a little apart
    assert asked.surface.at(z) == pytest.approx(gaps[:, 2], abs=0.1 * 0.02)
    assert e.gap(launches[e.places[2].setting], 18.0) == pytest.approx(gaps[:, 2])


def inside(found: Answer, z: np.ndarray) -> np.ndarray:
    return np.asarray((found.low <= z) & (z <= found.high))


@pytest.mark.parametrize("planes", [1, 2])
def test_truths_lie_inside_the_intervals_as_often_as_stated(planes: int) -> None:
    """200 cases by the surfaces, with their error, all inputs together."""
    e = expected(planes)
    rng = np.random.default_rng(2024)
    share = []
    for _ in range(CASES):
        one = case(rng, e, real=False)
        groups = read_groups(e.bow.setup, one.notes)
        share.append(inside(answer(question(e, groups, one.notes.speed)), one.z))
    assert 0.88 <= np.mean(share) <= 0.92
    assert np.all(np.mean(share, axis=0) > 0.9 - 3.0 * math.sqrt(0.09 / CASES))


def test_left_and_right_narrow_what_moves_the_shaft_aside() -> None:
    e = expected()
    high = float(e.heights.value[2])
    both, height = (
        answer(question(e, (noted(high, 0.03, beside=beside),) * 2)).narrowed
        for beside in (float(e.sides.value[2]), math.nan)
    )
    roll = [cause.path for cause in e.causes].index("archer.side_roll")
    assert both[roll] < 0.8 * height[roll]
    assert np.all(both < height + 0.03)
