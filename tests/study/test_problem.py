"""A bow as a problem: numbers reach the bow, priors and likelihoods are the textbook's, others' tools run it."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy import stats

import archerysim
from archerysim import Observable, SetupError
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.flight.bare_shaft import bare_difference
from archerysim.shot.flight.fly import fly
from archerysim.shot.launch import Launch
from archerysim.study.measured.compare import path_of, with_mass
from archerysim.study.measured.data import DrawForce, OwnData, Speeds, Track
from archerysim.study.problem.problem import Problem
from tests.support.shot.example_bows import READING, measured

SEEN = ("0.3 deg", "0.1 deg")


@pytest.fixture(scope="module")
def bow() -> FittedBow:
    return FittedBow.of(measured("club-outdoor"), "coarse", planes=1)


def speed_in_feet(launch: Launch) -> float:
    return launch.clear.speed / 0.3048


def height(flight: Any) -> float:
    return 1e3 * float(flight.impact_height)


def nothing(launch: Launch) -> Any:
    return None


def test_a_vector_s_numbers_reach_the_bow(bow: FittedBow) -> None:
    """Fields of the bow as built, and one that has it fitted anew; units as the fields have them."""
    known = {READING: "0.5 mm", "arrow.point_mass": "5 gr", "bow.upper_tiller": "1 mm"}
    asked = archerysim.problem(bow, known, ("pitch", "separation.pitch", "draw_force"))
    assert asked.names == tuple(known)
    assert asked.units == ("mm", "gr", "mm")
    assert asked.today == pytest.approx([8.0, 90.0, 195.0], rel=1e-6)
    found = asked([7.5, 100.0, 194.0])
    launch = bow.launch({READING: "7.5 mm", "arrow.point_mass": "100 gr", "bow.upper_tiller": "194 mm"})
    assert found.tolist() == [launch.clear.pitch, launch.separation.pitch, launch.draw_force]


def test_shares_are_one_in_all(bow: FittedBow) -> None:
    asked = archerysim.problem(bow, {"archer.finger_shares.0": "0.05", "archer.finger_shares.2": "0.05"}, "pitch")
    launch = bow.launch(archerysim.with_si({"archer.finger_shares": (0.3, 0.45, 0.25)}))
    assert asked([0.3, 0.25]) == pytest.approx([launch.clear.pitch], rel=1e-9)
    (why,) = [one for one in asked.evaluate([[0.3, 0.25], [0.8, 0.3]]).reasons if one]
    assert "1.1 in all" in why


def test_many_vectors_are_rows_and_failed_ones_say_why(bow: FittedBow) -> None:
    asked = archerysim.problem(
        bow, {READING: "1 mm to 40 mm", "archer.draw_length": "20 in to 36 in"}, ("pitch", "speed")
    )
    x = [[8.0, 28.0], [6.0, 28.0], [8.0, 35.9]]
    found = asked.evaluate(x)
    assert found.values[:2].tolist() == [asked(one).tolist() for one in x[:2]]
    assert (found.status[:2] == 0).all()
    assert found.failed == 1
    assert np.isnan(found.values[2]).all()
    assert found.reasons[2]
    assert np.isnan(asked(x)[2]).all()
    with pytest.raises((SetupError, archerysim.ShotError)):
        asked(x[2])
    table = found.to_xarray()
    assert table["speed"].attrs["units"] == "m s-1"
    assert table["nock_locators_reading"].values.tolist() == [8.0, 6.0, 8.0]


def test_workers_and_a_store_change_no_bit(bow: FittedBow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    known, store = {READING: "0.5 mm"}, tmp_path / "runs.sqlite"
    own = ("pitch", Observable("feet", "fps", "", "launch", speed_in_feet))
    x = np.linspace(6.0, 9.0, 6)[:, None]
    alone = archerysim.problem(bow, known, own)(x)
    assert archerysim.problem(bow, known, own, workers=2, store=store)(x).tolist() == alone.tolist()
    again = archerysim.problem(bow, known, own, store=store)
    monkeypatch.setattr(FittedBow, "launch", None)  # whatever is shot now fails
    assert again(x).tolist() == alone.tolist()


def test_a_store_refuses_functions_that_it_cannot_tell_apart(bow: FittedBow, tmp_path: Path) -> None:
    size = 0.3048
    own = Observable("feet", "fps", "", "launch", lambda launch: launch.clear.speed / size)
    asked = archerysim.problem(bow, {READING: "0.5 mm"}, (own,), store=tmp_path / "a")
    with pytest.raises(SetupError, match="function of a module"):
        asked.evaluate([[8.0], [7.0]])


def test_own_observables_and_bare_beside_fletched() -> None:
    bow = FittedBow.of(measured("club-outdoor"), "coarse")
    wanted = ("bare_above", "bare_aside", Observable("feet", "fps", "", "launch", speed_in_feet),
              Observable("height", "mm", "", "flight", height))  # fmt: skip
    asked = archerysim.problem(bow, {READING: "0.5 mm"}, wanted, distance="20 m")
    above, aside, feet, high = asked([7.0])
    launch = bow.launch({READING: "7 mm"})
    apart = bare_difference(launch, "20 m")
    sight = fly(bow.launch(), distance="20 m")
    flight = fly(launch, distance="20 m", elevation=(sight.elevation, "deg"), windage=(sight.windage, "deg"))
    assert above == pytest.approx(1e3 * apart.swing, abs=0.5)  # [mm]; the sight is that of the bow as it is
    assert aside == pytest.approx(1e3 * apart.side, abs=0.5)
    assert feet == launch.clear.speed / 0.3048
    assert high == pytest.approx(1e3 * flight.impact_height, abs=1e-3)  # with the sight of the bow as it is
    assert abs(high) > 2.0  # [mm]
    with pytest.raises(SetupError, match="must return one number"):
        archerysim.problem(bow, {READING: "0.5 mm"}, {"mine": nothing})([7.0])


def test_priors_are_scipy_s(bow: FittedBow) -> None:
    gamma = stats.gamma(8.0, scale=12.0)
    known = {READING: "0.5 mm", "rest.stiffness": "20 %", "arrow.spine": "0.5 in to 0.9 in",
             "arrow.point_mass": (gamma, "gr"), "nock.slope": (stats.norm(0.0, 1.0), "deg")}  # fmt: skip
    asked = archerysim.problem(bow, known, "pitch")
    today = asked.today
    x = np.array([8.4, 1.1 * today[1], 0.6, 95.0, -1.2])
    wanted = (stats.norm(today[0], 0.5).logpdf(x[0]) + stats.norm(today[1], 0.2 * today[1]).logpdf(x[1])
              + math.log(1.0 / 0.4) + gamma.logpdf(x[3]) + stats.norm.logpdf(x[4]))  # fmt: skip
    assert asked.log_prior(x) == pytest.approx(wanted, abs=5e-6)  # but for the tails beyond the bounds
    assert asked.log_prior([x, x + np.array([0, 0, 0.4, 0, 0])]).tolist() == [asked.log_prior(x), -math.inf]
    middle = asked.from_unit_cube(np.full(5, 0.5))
    assert middle == pytest.approx([today[0], today[1], 0.7, gamma.median(), 0.0], rel=1e-6, abs=1e-6)
    assert asked.bounds[2].tolist() == [0.5, 0.9]
    assert asked.bounds[0] == pytest.approx([today[0] - 2.5, today[0] + 2.5])


def test_a_prior_beyond_the_allowed_range_is_cut_off(bow: FittedBow) -> None:
    """Draws and density are those of the rest: nothing piles up at the end, and the density is 1 in all."""
    asked = archerysim.problem(bow, {"arrow.point_mass": (stats.norm(0.0, 40.0), "gr")}, "pitch")
    assert asked.bounds[0, 0] == 0.0
    cut = stats.truncnorm(0.0, 5.0, 0.0, 40.0)
    x = asked.draw(512, seed=3)[:, 0]
    assert (x == 0.0).sum() == 0
    assert stats.kstest(x, cut.cdf).pvalue > 1e-3
    assert asked.log_prior([[10.0], [90.0]]) == pytest.approx(cut.logpdf([10.0, 90.0]), abs=1e-5)


def test_the_likelihood_is_that_of_normal_errors(bow: FittedBow) -> None:
    speeds = Speeds(arrow_mass=([19, 25], "g"), speed=([55.0, 50.0], "m/s"))
    asked = archerysim.problem(
        bow, {READING: "2 mm to 14 mm", "archer.draw_length": "0.2 in"}, ("pitch",),
        measured={"pitch": ("0.3 deg", "0.1 deg"), "speed": ("55 m/s", "0.4 m/s")},
        data=OwnData(speeds=speeds), errors={"speeds": "0.5 m/s"},
    )  # fmt: skip
    x = [7.0, 28.1]
    there = bow.with_changes({READING: "7 mm", "archer.draw_length": "28.1 in"})
    launch = there.launch()
    other = [there.launch(with_mass(there.setup, mass)).clear.speed for mass in (0.019, 0.025)]
    pairs = [
        (launch.clear.pitch, 0.3, 0.1),
        (launch.clear.speed, 55.0, 0.4),
        (other[0], 55.0, 0.5),
        (other[1], 50.0, 0.5),
    ]
    assert asked.residuals(x) == pytest.approx([(found - told) / error for found, told, error in pairs], rel=1e-6)
    wanted = sum(stats.norm(told, error).logpdf(found) for found, told, error in pairs)
    assert asked.log_likelihood(x) == pytest.approx(wanted, rel=1e-6)
    assert asked.log_posterior(x) == pytest.approx(wanted + asked.log_prior(x), rel=1e-6)
    assert asked.log_posterior([15.0, 28.0]) == -math.inf  # outside


def test_a_bow_without_a_shot_has_no_likelihood_and_large_residuals(bow: FittedBow) -> None:
    asked = archerysim.problem(bow, {"archer.draw_length": "20 in to 36 in"}, "pitch", measured={"pitch": SEEN})
    assert asked.log_likelihood([[28.0], [35.9]])[1] == -math.inf
    found = asked.residuals([[28.0], [35.9]])
    assert abs(found[0, 0]) < 100.0
    assert found[1].tolist() == [1000.0]


def test_a_quantity_that_a_shot_does_not_have_makes_no_likelihood(bow: FittedBow) -> None:
    """A junior's arrow that meets the rest no more: the moment at which it would is no number."""
    asked = archerysim.problem(bow, {READING: "1 mm"}, "pitch", measured={"second_strike_at": ("9 ms", "1 ms")})
    values = asked.bow.launch().second_strike_at
    told = asked.log_likelihood(asked.today)
    assert np.isfinite(told) if np.isfinite(values) else told == -math.inf


def test_the_same_rows_are_compared_everywhere(bow: FittedBow) -> None:
    """Near brace a row of the scale has no counterpart on a bow of a higher brace: that bow has no likelihood."""
    short = bow.brace_height / 0.0254 + 1.75 + 0.1
    scale = DrawForce(draw_length=([short, 20.0, 28.0], "in"), force=([0.2, 18.0, 34.0], "lb"))
    known = {"bow.brace_height": "180 mm to 250 mm"}
    asked = archerysim.problem(bow, known, "pitch", data=OwnData(draw_force=scale))
    assert asked.residuals([[215.0], asked.today]).shape == (2, 3)
    assert asked.residuals([240.0]).tolist() == [1000.0] * 3
    assert asked.log_likelihood([240.0]) == -math.inf


def test_a_film_is_moved_by_its_own_inputs(bow: FittedBow) -> None:
    path = path_of(bow.launch(trace=True))
    time = np.linspace(0.0, 0.9 * path.time[-1], 9)
    film = Track.with_si(tuple(time + 1e-3), (), tuple(path.at("nock_y", time) + 4e-3))
    asked = archerysim.problem(
        bow, {"track.time_offset": "1 ms", "track.shift_y": "5 mm"}, "pitch", data=OwnData(track=film)
    )
    assert asked.residuals([1.0, 4.0]) == pytest.approx(np.zeros(9), abs=1e-6)
    assert asked.residuals([1.0, 2.0]) == pytest.approx(np.full(9, -2.0), abs=1e-6)  # 2 mm of the usual 1 mm
    for path, data in (("track.shift_x", OwnData(track=film)), ("track.shift_y", None)):
        with pytest.raises(SetupError, match="no film with such places"):
            archerysim.problem(bow, {path: "5 mm"}, "pitch", data=data)


def test_changes_are_made_holding_what_is_held(bow: FittedBow) -> None:
    how: dict[str, Any] = {"changes": {"lower_limb.bolt_turns": "1 turn"}, "hold": "reading"}
    asked = archerysim.problem(bow, {"arrow.point_mass": "5 gr"}, "pitch", **how)
    assert asked.bow.reading == pytest.approx(bow.reading, abs=1e-9)
    loose = archerysim.problem(bow, {"arrow.point_mass": "5 gr"}, "pitch", changes=how["changes"])
    assert abs(loose.bow.reading - bow.reading) > 1e-4


def test_a_function_that_cannot_be_sent_runs_here(bow: FittedBow) -> None:
    own = {"mine": lambda launch: launch.clear.pitch}
    found = archerysim.problem(bow, {READING: "1 mm"}, own)(np.linspace(6.0, 9.0, 41)[:, None])
    assert found.shape == (41, 1)
    with pytest.raises(SetupError, match="cannot be sent to other processes"):
        archerysim.problem(bow, {READING: "1 mm"}, own, workers=2)


def made(bow: FittedBow, at: list[float]) -> Problem:
    """Where a bow at some reading and point mass is looked for, by two numbers measured on it without error."""
    known = {READING: "2 mm to 14 mm", "arrow.point_mass": "60 gr to 130 gr"}
    pitch, speed = archerysim.problem(bow, known, ("pitch", "speed"))(at)
    told = {"pitch": ((pitch, "deg"), (0.05, "deg")), "speed": ((speed, "m/s"), (0.3, "m/s"))}
    return archerysim.problem(bow, known, ("pitch",), measured=told)


def test_scipy_s_least_squares_find_the_truth(bow: FittedBow) -> None:
    from scipy.optimize import least_squares

    asked = made(bow, [6.0, 100.0])
    assert asked.residuals([6.0, 100.0]) == pytest.approx([0.0, 0.0], abs=1e-9)
    found = least_squares(asked.residuals, asked.today, bounds=asked.bounds.T, diff_step=0.01, x_scale=[1.0, 10.0])
    assert found.x == pytest.approx([6.0, 100.0], rel=1e-3)


def test_an_ensemble_sampler_finds_the_truth(bow: FittedBow) -> None:
    import emcee

    asked = made(bow, [6.0, 100.0])
    near = np.array([6.0, 100.0]) + np.random.default_rng(1).normal(size=(8, 2)) * [0.2, 2.0]
    sampler = emcee.EnsembleSampler(8, 2, asked.log_posterior, vectorize=True)
    sampler.random_state = np.random.RandomState(3).get_state()
    sampler.run_mcmc(near, 60)
    drawn = sampler.get_chain(discard=20, flat=True)
    middle, spread = drawn.mean(axis=0), drawn.std(axis=0)
    assert (abs(middle - [6.0, 100.0]) < 2.0 * spread).all()
    slopes = archerysim.problem(bow, {READING: "2 mm to 14 mm", "arrow.point_mass": "60 gr to 130 gr"},
                                ("pitch", "speed")).derivatives([6.0, 100.0]).values  # fmt: skip
    wanted = np.sqrt(np.diag(np.linalg.inv((slopes / [0.05, 0.3]) @ (slopes / [0.05, 0.3]).T)))  # of a straight model
    assert spread == pytest.approx(wanted, rel=0.5)
    assert 0.3 < sampler.acceptance_fraction.mean() <= 1.0


def test_sobol_indices_of_another_library(bow: FittedBow) -> None:
    """Of pitch nearly all is the reading's, of speed nearly all the point's mass."""
    from SALib.analyze import sobol as analyse
    from SALib.sample import sobol as design

    asked = archerysim.problem(
        bow, {READING: "6 mm to 10 mm", "arrow.point_mass": "85 gr to 95 gr"}, ("pitch", "speed")
    )
    about = {"num_vars": 2, "names": list(asked.names), "bounds": asked.bounds.tolist()}
    found = asked(design.sample(about, 16, calc_second_order=False, seed=1))
    first = [analyse.analyze(about, column, calc_second_order=False, seed=1)["S1"] for column in found.T]
    assert np.argmax(first, axis=1).tolist() == [0, 1]


@pytest.mark.parametrize(
    ("inputs", "more", "said"),
    [
        ({}, {}, "name no input"),
        ({READING: "0.5"}, {}, "has no unit"),
        ({READING: "-1 mm"}, {}, "is not positive"),
        ({READING: "9 mm to 4 mm"}, {}, "does not rise"),
        ({READING: "900 mm to 990 mm"}, {}, "outside the allowed range"),
        ({READING: stats.norm(8, 1)}, {}, "has no unit"),
        ({READING: (stats.norm(8, 1), "in")}, {}, "own unit"),
        ({READING: None}, {}, "is no distribution"),
        ({"nock.locator": "1 mm"}, {}, "nock.locator"),
        ({"arrow.name": "1 mm"}, {}, "arrow.name"),
        ({READING: stats.norm}, {}, "has no unit"),
        ({READING: (stats.norm, "mm")}, {}, "no frozen distribution"),
        ({READING: (stats.gamma, "mm")}, {}, "no frozen distribution"),
        ({READING: (stats.norm([1.0, 2.0], 1.0), "mm")}, {}, "no frozen distribution"),
        ({READING: (stats.multivariate_normal([1.0, 2.0]), "mm")}, {}, "no frozen distribution"),
        ({"track.time_offset": "1 ms"}, {}, "no film with such places"),
        ({READING: "1 mm"}, {"outputs": ("pitch", 3)}, "is no output"),
        ({READING: "1 mm"}, {"outputs": ("yaw",)}, "both planes"),
        ({READING: "1 mm"}, {"outputs": ("bare_aside",)}, "both planes"),
        ({READING: "1 mm"}, {"outputs": (Observable("pitch", "rad", "", "clear"),)}, "not what that name is"),
        ({READING: "1 mm"}, {"outputs": {"mine": nothing}}, "must return one number"),
        ({READING: "1 mm"}, {"errors": {"speeds": "1 m/s"}}, "there are none"),
        ({READING: "1 mm"}, {"data": "speeds.csv"}, "is no OwnData"),
        ({READING: "1 mm"}, {"measured": ["pitch"]}, "is no mapping"),
        ({READING: "1 mm"}, {"outputs": ("pich",)}, "not told of a shot"),
        ({READING: "1 mm"}, {"outputs": ("pitch", "pitch")}, "named twice"),
        ({READING: "1 mm"}, {"outputs": 3}, "names no output"),
        ({READING: "1 mm"}, {"measured": {"pich": ("1 deg", "1 deg")}}, "not told of a shot"),
        ({READING: "1 mm"}, {"measured": {"pitch": "1 deg"}}, "is no pair"),
        ({READING: "1 mm"}, {"measured": {"pitch": ("1 deg", "0 deg")}}, "is not positive"),
        ({READING: "1 mm"}, {"measured": {"pitch": ("1", "0.1 deg")}}, "has no unit"),
    ],
)  # fmt: skip
def test_bad_input_is_one_clear_error(bow: FittedBow, inputs: Any, more: Any, said: str) -> None:
    with pytest.raises(SetupError, match=said):
        archerysim.problem(bow, inputs, **more)


@pytest.mark.parametrize("x", [[1.0, 2.0], [[1.0, 2.0]], 3.0, [math.nan], ["a"], [[[8.0]]], np.zeros((0, 1))])
def test_a_vector_of_another_shape_is_refused(bow: FittedBow, x: Any) -> None:
    asked = archerysim.problem(bow, {READING: "1 mm"}, "pitch")
    with pytest.raises(SetupError, match=r"Give \(1,\) or \(n, 1\) numbers"):
        asked(x)


def test_shares_steps_and_observables_are_checked(bow: FittedBow) -> None:
    asked = archerysim.problem(bow, {READING: "1 mm"}, "pitch")
    with pytest.raises(SetupError, match="not all between 0 and 1"):
        asked.from_unit_cube([50.0])
    for bad in ({"x": ["a"]}, {"x": [1.0, 2.0]}, {"steps": "0.1 mm"}, {"steps": [0.1, 0.2]}):
        with pytest.raises(SetupError, match="finite numbers"):
            asked.derivatives(**bad)
    for how, said in (
        ({"of": "clear", "own": nothing}, "has a function"), ({"of": "launch"}, "has no function"),
        ({"of": "Launch", "own": nothing}, "is not known"), ({"own": 3.0}, "cannot be called"),
    ):  # fmt: skip
        with pytest.raises(SetupError, match=said):
            Observable("mine", **how)  # type: ignore[arg-type]


def test_without_measurements_there_is_no_likelihood(bow: FittedBow) -> None:
    asked = archerysim.problem(bow, {READING: "1 mm"}, "pitch")
    for ask in (asked.residuals, asked.log_likelihood, asked.log_posterior):
        with pytest.raises(SetupError, match="nothing was measured"):
            ask([8.0])
