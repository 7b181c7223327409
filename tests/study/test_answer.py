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
from archerysim.study.notes.posterior import RISE, Answer, Question, answer, question
from archerysim.study.notes.read_group import settled
from archerysim.study.notes.response_surface import Surface, surface
from archerysim.study.run.how_to_run import HowToRun
from tests.support.shot.example_bows import built
from tests.support.study.noted_cases import MESH, NOW, case, expected, noted

CASES, REAL = 200, 6


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
    found = answer(linear([[0.0, 0.0]], [0.0]))
    assert found.z == pytest.approx([0.0, 0.0], abs=1e-6)
    assert found.narrowed == pytest.approx([1.0, 1.0], abs=0.02)


def test_an_interval_ends_at_a_bound() -> None:
    found = answer(linear([[3.0, 0.0]], [30.0], bound=1.0))
    assert found.z[0] == pytest.approx(1.0, abs=1e-3)
    assert found.high[0] == pytest.approx(1.0, abs=1e-3)
    assert (found.low[1], found.high[1]) == (-1.0, 1.0)


def test_an_end_at_a_bound_is_the_bound_to_the_bit() -> None:
    for datum in np.linspace(-2.0, 2.0, 40):  # middles all over, from which a difference and a sum lose a bit
        asked = linear([[1.0, 0.3]], [float(datum)], bound=1.3)
        found = answer(asked, points=3)
        assert tuple(found.low[1:]) == (-1.3,)
        assert tuple(found.high[1:]) == (1.3,)
        for profile in found.profiles:
            assert np.all(np.abs(profile[:, 0]) <= 1.3)
            assert np.all(np.diff(profile[:, 0]) > 1e-9)  # no point twice


def test_profile_has_risen_by_its_measure_at_the_ends() -> None:
    e = expected()
    asked = question(e, (noted(-0.15, 0.03), noted(-0.10, 0.03)), speed=48.0)
    found = answer(asked, points=5)
    for k, profile in enumerate(found.profiles):
        assert np.all(np.diff(profile[:, 0]) > 0.0)
        for end, bound in ((found.low[k], asked.low[k]), (found.high[k], asked.high[k])):
            z = asked.best(np.where(np.arange(len(found.z)) == k, end, found.z), held=k)
            rise = asked.chi_square(z) - asked.chi_square(found.z)
            if end == bound:
                assert rise < RISE
            else:
                assert math.sqrt(rise) == pytest.approx(math.sqrt(RISE), abs=0.04)


def test_a_surface_goes_through_what_is_quadratic() -> None:
    rng = np.random.default_rng(0)
    z = rng.normal(size=(30, 3))
    bend = np.array([[1.0, 0.4, 0.0], [0.4, -2.0, 0.3], [0.0, 0.3, 0.5]])
    seen = (1.0 + z @ [1.0, -2.0, 0.5] + 0.5 * np.einsum("ni,ij,nj->n", z, bend, z))[:, None]
    found = surface(z, seen)
    assert found.at(np.array([2.0, 1.0, -1.0]))[0] == pytest.approx(
        1.0 + 2.0 - 2.0 - 0.5 + 0.5 * np.array([2.0, 1.0, -1.0]) @ bend @ np.array([2.0, 1.0, -1.0])
    )
    assert found.bend[0] == pytest.approx(bend)
    assert found.error[0] < 1e-12


def test_a_failed_shot_is_left_out_and_too_many_are_an_error(monkeypatch: pytest.MonkeyPatch) -> None:
    setup, place = built("club-outdoor", MESH), ((NOW, 18.0),)
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


@pytest.mark.parametrize(
    ("planes", "most"),  # felt most on this mesh
    [
        (1, ["load on the index finger", "travel supported by the rest"]),
        (2, ["release time", "reach of the rest's arm"]),
    ],
)
def test_further_shots_stand_in_order(planes: int, most: list[str]) -> None:
    e = expected(planes)
    asked = question(e, (noted(-0.08, 0.005),))  # so little scatter that the notes feel more than one
    found = answer(asked)
    pairs = alike(asked, found)
    names = [e.causes[k].name for k in (pairs[0].first, pairs[0].second)]
    assert names == most
    assert pairs[0].cosine == pytest.approx(-1.0)  # one group is one number; one puts it lower, the other higher
    shots = further_shots(e, asked, found, pairs[0], SCATTER, speed_known=False)
    drops = [shot.drop for shot in shots]
    assert drops == sorted(drops, reverse=True)
    assert all(0.0 <= drop < 1.0 for drop in drops)
    words = " | ".join(shot.words for shot in shots)
    for part in ("arrow's speed", "3 mm higher", "more point", "10 m", "another end at 18 m"):
        assert part in words


def test_settled_surface_passes_through_real_shots_at_the_answer() -> None:
    e = expected()
    groups = (noted(0.02, 0.02, NOW, 18.0),)
    asked, heights, miss = settled(e, groups, None, None)
    z = answer(asked).z
    assert miss < 0.1 * 0.02
    assert np.abs(e.heights.at(z)[2] - heights[2]) > 3.0 * miss  # before it settled
    assert heights[2] == pytest.approx(e.shot_heights(z)[2], abs=1e-4)
    assert asked.surface.at(z)[0] == pytest.approx(heights[2], abs=0.1 * 0.02)


def inside(found: Answer, z: np.ndarray) -> np.ndarray:
    return np.asarray((found.low <= z) & (z <= found.high))


@pytest.mark.parametrize("planes", [1, 2])
def test_truths_lie_inside_the_intervals_as_often_as_stated(planes: int) -> None:
    """200 cases by the surface, with its error, all inputs together; then fewer with real shots throughout.

    So few of those show gross misses alone: less than 0.655 of the truths inside.
    """
    e = expected(planes)
    rng = np.random.default_rng(2024)
    share = []
    for _ in range(CASES):
        z, written = case(rng, planes, real=False)
        share.append(inside(answer(question(e, read_groups(e.bow.setup, written), written.speed)), z))
    assert 0.85 <= np.mean(share) <= 0.95
    assert np.all(np.mean(share, axis=0) > 0.82)
    real = []
    for _ in range(REAL):
        z, written = case(rng, planes, real=True)
        asked, *_ = settled(e, read_groups(e.bow.setup, written), written.speed, None)
        real.append(inside(answer(asked), z))
    # the truths of one case hang together: 0.9 less two standard deviations of so many cases
    assert np.mean(real) >= 0.9 - 2.0 * math.sqrt(0.09 / REAL)
