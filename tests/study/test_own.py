"""Data made by the model itself, with errors from a seed, gives back what it was made with."""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np
import pytest

from archerysim.equipment import Setup, SetupError, filled
from archerysim.equipment.arrow import total_mass
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.flight.fly import fly
from archerysim.shot.shoot import draw
from archerysim.show.measured.table import determined_table, residual_table
from archerysim.study.measured.compare import model_data, path_of, with_mass
from archerysim.study.measured.data import DrawForce, OwnData, Speeds, Track
from archerysim.study.measured.fit_data import OwnFit, compare_data, fit_data
from archerysim.study.measured.search import STIFFNESS, Model, errors_of, free_inputs
from tests.support.shot.example_bows import built, changed, measured, shot

MESH = "coarse"
GRAIN, POUND, INCH = 64.79891e-6, 4.4482216152605, 0.0254
MASSES = tuple(gr * GRAIN for gr in (280, 330, 400))
TRUTH = {"bow.draw_weight": "34.4 lbf", "limbs.mass": "177 g"}
OFFSET, SHIFT = 0.7e-3, (4e-3, -3e-3)
FREE = ("bow.draw_weight", "limbs.mass", "rest.stiffness")


def made(setup: Setup, seed: int | None) -> OwnData:
    """Measured on a setup, with normal errors of 0.1 lbf, 0.3 m/s and 0.5 mm (none without a seed)."""
    rng = np.random.default_rng(seed)

    def off(size: float, count: int) -> np.ndarray:
        return size * rng.normal(size=count) if seed is not None else np.zeros(count)

    length = np.linspace(13.0, 29.0, 13) * INCH
    asked = OwnData(
        DrawForce.with_si(tuple(length), tuple(length)), Speeds.with_si(MASSES, MASSES), Track.with_si((0.0,), (0.0,))
    )
    modelled = model_data(FittedBow.of(setup, MESH), asked)
    assert modelled.path is not None
    assert modelled.speed is not None
    force = exact(modelled, length)
    time = np.linspace(-0.5e-3, 22e-3, 40)
    places = [
        tuple(modelled.path.at(name, time) + shift + off(0.5e-3, time.size))
        for name, shift in (("nock_x", SHIFT[0]), ("nock_y", SHIFT[1]), ("point_y", SHIFT[1]))
    ]
    return OwnData(
        DrawForce.with_si(tuple(length), tuple(force + off(0.1 * POUND, length.size))),
        Speeds.with_si(MASSES, tuple(modelled.speed + off(0.3, len(MASSES)))),
        Track.with_si(tuple(time + OFFSET), *places),
    )


def exact(modelled: Any, length: np.ndarray) -> np.ndarray:
    """Draw force by a finer curve of the library's own draw, as a scale would show it [N]."""
    longest = modelled.built.with_si(**{"archer.draw_length": float(length[-1])})
    curve = draw(longest, 120, MESH)
    return np.interp(length, curve.draw_length, curve.force)


ERRORS = {"draw_force": "0.1 lbf", "speeds": "0.3 m/s", "track": "0.5 mm"}


@pytest.fixture(scope="module")
def data() -> OwnData:
    return made(measured("club-outdoor").replace(**TRUTH), 5)


@pytest.fixture(scope="module")
def found(data: OwnData) -> OwnFit:
    return fit_data(
        measured("club-outdoor"), data, FREE, errors=ERRORS, prior={"bow.draw_weight": "1 lbf"}, mesh=MESH
    )  # fmt: skip


def test_data_without_errors_leaves_nothing() -> None:
    """The same bow: all differences zero but for the curve's interpolation, offset and shift found again."""
    same = compare_data(measured("club-outdoor"), made(measured("club-outdoor"), None), mesh=MESH)
    assert same.alignment.time_offset == pytest.approx(OFFSET, abs=2e-6)
    assert same.alignment.shift_x == pytest.approx(SHIFT[0], abs=2e-5)
    assert same.alignment.shift_y == pytest.approx(SHIFT[1], abs=2e-5)
    assert [one.name for one in same.tables] == ["draw force", "arrow speed", "nock x", "nock y", "point y"]
    assert np.abs(same.table("draw force").difference).max() < 0.05
    assert np.abs(same.table("arrow speed").difference).max() < 1e-9
    for name in ("nock x", "nock y", "point y"):
        assert np.nanmax(np.abs(same.table(name).difference)) < 2e-5
    assert same.misfit < 0.05


def test_what_the_data_was_made_with_is_found(found: OwnFit) -> None:
    weight, mass, _, offset, x, y = found.estimates
    for one, true in ((weight, 34.4), (mass, 177.0), (offset, 1e3 * OFFSET), (x, 4.0), (y, -3.0)):
        assert abs(one.value - true) < 3.0 * one.error, one.path
        assert one.determined == "determined", one.path
        assert one.error < 0.3 * one.prior
    assert abs(weight.value - 34.4) < 0.2 < abs(weight.start - 34.4)
    assert abs(mass.value - 177.0) < 6.0 < abs(mass.start - 177.0)
    assert found.converged
    assert found.failed == 0


def test_what_the_data_do_not_tell_is_said_so(found: OwnFit) -> None:
    """The rest gives the shaft a push of a newton or two for a few milliseconds: the film hardly sees it."""
    rest = found.estimates[2]
    assert rest.determined == "not at all"
    assert rest.share > 0.8
    assert rest.error > 0.8 * rest.prior
    assert abs(rest.value - rest.start) < rest.prior
    text = " ".join(determined_table(found).split())
    assert "rest.stiffness is not determined by these data" in text
    assert "limbs.mass is not determined" not in text


@pytest.mark.parametrize("priors", [True, False])
def test_an_input_pulled_to_the_end_of_its_range_is_not_to_be_used(priors: bool) -> None:
    """No mass of the limbs makes this bow a quarter faster."""
    setup = built("club-outdoor", MESH)
    asked = OwnData(speeds=Speeds.with_si(MASSES, (0.0,) * 3))
    usual = model_data(FittedBow.of(setup, MESH), asked).speed
    assert usual is not None
    fast = OwnData(speeds=Speeds.with_si(MASSES, tuple(1.25 * usual)))
    found = fit_data(setup, fast, ("limbs.mass",), priors=priors, mesh=MESH)
    (one,) = found.estimates
    assert one.at_bound
    assert one.pulled
    assert one.moved == pytest.approx(-5.0, abs=0.01)
    text = determined_table(found)
    flat = " ".join(text.split())
    assert "! limbs.mass was pulled to the end of its range: data and model disagree; do not use it." in flat
    assert text.index("do not use it") < text.index("known to")
    (row,) = [line for line in text.splitlines() if line.startswith("  limbs.mass  ")]
    assert row.endswith("pulled to the end of its range")
    assert len(row) <= 120
    assert "not at all" not in row
    assert "about what they were before" not in flat


@pytest.mark.parametrize(
    ("step", "error", "same"), [(0.2, 0.95, True), (0.8, 0.95, False), (0.2, 2.0, False), (0.2, np.inf, False)]
)
def test_about_what_they_were_before_is_said_where_it_is_so(
    found: OwnFit, step: float, error: float, same: bool
) -> None:
    rest = found.estimates[2]
    other = dataclasses.replace(rest, value=rest.start + step * rest.prior, error=error * rest.prior)
    text = determined_table(dataclasses.replace(found, estimates=(*found.estimates[:2], other, *found.estimates[3:])))
    text = " ".join(text.split())
    assert "rest.stiffness is not determined by these data" in text
    assert ("value and error are about what they were before" in text) is same
    assert ("do not use the value found" in text) is not same


def test_at_a_bound_near_by_nothing_is_pulled(found: OwnFit) -> None:
    rest = found.estimates[2]
    assert not rest.pulled
    assert not dataclasses.replace(rest, value=rest.start + 0.9 * rest.prior, at_bound=True).pulled
    assert dataclasses.replace(rest, value=rest.start - 1.1 * rest.prior, at_bound=True).pulled


def test_before_and_after(found: OwnFit) -> None:
    assert found.after.misfit == pytest.approx(1.0, abs=0.25)
    assert found.before.misfit > 1.5 * found.after.misfit
    assert found.setup.form == "measured"
    assert found.setup.get("bow.draw_weight") == pytest.approx(found.estimates[0].value * POUND)
    assert found.setup.get("limbs.mass") == pytest.approx(1e-3 * found.estimates[1].value)
    values = found.singular_values
    assert (np.diff(values) <= 0.0).all()
    assert values[-1] < 1.0 < values[0]
    np.testing.assert_allclose(np.diag(found.correlation), 1.0)
    np.testing.assert_allclose(found.correlation, found.correlation.T, atol=1e-12)
    np.testing.assert_allclose(found.directions @ found.directions.T, np.eye(values.size), atol=1e-9)


def test_residual_tables_are_measured_less_computed(found: OwnFit, data: OwnData) -> None:
    assert data.draw_force is not None
    table = found.after.table("draw force")
    np.testing.assert_array_equal(table.measured, data.draw_force.force)
    np.testing.assert_allclose(table.computed + table.difference, table.measured)
    assert table.rms == pytest.approx(np.sqrt(np.mean(table.difference**2)))
    text = residual_table(found.after, 10)
    for words in ("draw force [lbf]", "draw length [in]", "arrow mass [gr]", "nock y [mm]", "Misfit"):
        assert words in text
    first = f"{data.draw_force.force[0] / POUND:.2f}"
    assert first in text
    with pytest.raises(KeyError):
        found.after.table("noise")


def test_speeds_alone_cannot_tell_the_limbs_mass_from_the_draw_weight(data: OwnData) -> None:
    """More weight and heavier limbs do nearly the same to the speed: told apart only by the draw force."""
    assert data.speeds is not None
    one = fit_data(
        measured("club-outdoor"),
        OwnData(speeds=Speeds.with_si(data.speeds.arrow_mass[:1] * 3, data.speeds.speed[:1] * 3)),
        ("bow.draw_weight", "limbs.mass"), errors=ERRORS, priors=False, mesh=MESH,
    )  # fmt: skip
    assert one.singular_values[1] < 1e-9 * one.singular_values[0]
    assert all(np.isinf(each.error) for each in one.estimates)
    assert min(each.share for each in one.estimates) > 0.3
    assert "open" in determined_table(one)


def test_a_built_bow_s_stiffness_factor() -> None:
    """Made with 3 % more stiffness, string kept."""
    setup = built("club-outdoor", MESH)
    stiffer = {f"{name}.bending_stiffness": tuple(1.03 * v for v in getattr(setup, name).bending_stiffness)
               for name in ("upper_limb", "lower_limb")}  # fmt: skip
    measured_there = made(setup.with_si(**stiffer), None).draw_force
    found = fit_data(setup, OwnData(draw_force=measured_there), (STIFFNESS,), priors=False, mesh=MESH)
    (factor,) = found.estimates
    assert factor.value == pytest.approx(1.03, abs=5e-4)
    assert factor.determined == "determined"
    assert found.setup.form == "built"
    assert found.setup.upper_limb.bending_stiffness == pytest.approx(stiffer["upper_limb.bending_stiffness"], rel=5e-4)


def test_another_arrow_is_the_same_with_another_point() -> None:
    setup = built("club-outdoor", MESH)
    heavy = setup.replace(with_mass(setup, 0.025))
    assert total_mass(filled(heavy).arrow) == pytest.approx(0.025)
    assert heavy.arrow.length == setup.arrow.length
    data = OwnData(speeds=Speeds.with_si((0.025, 0.025), (40.0, 40.0), (1.0, 11.0)))
    modelled = model_data(FittedBow.of(setup, MESH), data)
    assert modelled.speed is not None
    clear = changed(setup, MESH, arrow__point_mass=heavy.arrow.point_mass).clear.speed
    assert modelled.speed[0] > modelled.speed[1]  # it slows down on its way
    assert modelled.speed == pytest.approx([clear, clear], rel=0.02)
    with pytest.raises(SetupError, match=r"arrow_mass: 10\.00 g is less than the arrow of the setup weighs without"):
        with_mass(setup, 0.010)


def test_rows_that_cannot_be_compared_are_left_out_and_counted() -> None:
    setup = built("club-outdoor", MESH)
    data = OwnData(
        DrawForce.with_si((8 * INCH, 20 * INCH), (1.0, 80.0)), None,
        Track.with_si((0.0, 0.01, 0.02, 0.04), (-0.66, -0.5, float("nan"), 1.0)),
    )  # fmt: skip
    both = compare_data(setup, data, align=False, mesh=MESH)
    assert both.table("draw force").left_out.keys() == {0}
    assert "shorter than at brace" in both.table("draw force").left_out[0]
    assert both.table("nock x").left_out == {2: "not seen", 3: "after clear"}
    assert np.isfinite(both.table("nock x").difference).tolist() == [True, True, False, False]
    assert "after clear" in residual_table(both)


@pytest.mark.parametrize("planes", [1, 2])
def test_the_path_starts_where_the_arrow_lies_and_moves_as_the_trace_says(planes: int) -> None:
    """Against the trace, told in the aim frame: a turn by the aim angle."""
    from archerysim.shot.shoot import shoot

    launch = shoot(built("club-outdoor", MESH), MESH, trace=True, planes=planes)
    assert launch.trace is not None
    path, angle = path_of(launch), np.radians(launch.aim_angle)
    time = launch.trace.time[5:-20:40]
    x = np.cos(angle) * launch.trace.nock_x - np.sin(angle) * launch.trace.nock_y
    y = np.sin(angle) * launch.trace.nock_x + np.cos(angle) * launch.trace.nock_y
    np.testing.assert_allclose(path.at("nock_x", time), x[5:-20:40], atol=2e-5)
    np.testing.assert_allclose(path.at("nock_y", time), y[5:-20:40], atol=2e-5)
    before = path.at("point_y", np.array([-0.1, 0.0]))
    assert before[0] == before[1]
    tail, point = launch.drawn.y[[launch.braced.marks.tail, -1]]
    lean = launch.passage.side_aim_angle if planes == 2 else 0.0  # out to the side support: shorter in the bow's plane
    assert before[0] == pytest.approx(tail + np.cos(np.radians(lean)) * (point - tail), abs=1e-12, rel=0.0)


def test_a_speed_far_away_is_that_of_an_arrow_shot_at_a_target_there() -> None:
    """With the sight for 70 m it climbs first; shot level it would have fallen 10 m and gained speed by it."""
    launch = shot("club-outdoor", mesh=MESH)
    mass = total_mass(filled(launch.setup).arrow)
    there = fly(launch, distance="70 m")
    level = fly(launch, distance="70 m", elevation="0 deg")
    data = OwnData(speeds=Speeds.with_si((mass,) * 3, (44.0,) * 3, (1.0, 18.0, 70.0)))
    modelled = model_data(FittedBow.of(launch.setup, MESH), data)
    assert modelled.speed is not None
    assert level.speed[-1] - there.speed[-1] > 1.0
    assert modelled.speed[2] == pytest.approx(there.speed[-1], abs=0.05)
    near = fly(launch, distance="18 m")
    assert modelled.speed[1] == pytest.approx(near.speed[-1], abs=0.05)
    assert (np.diff(modelled.speed) < 0.0).all()


def test_the_distance_stands_beside_each_speed() -> None:
    setup = built("club-outdoor", MESH)
    speeds = Speeds.with_si(MASSES * 2, (47.0, 44.0, 41.0, 45.0, 42.5, 39.5), (1.0,) * 3 + (50.0,) * 3)
    table = compare_data(setup, OwnData(speeds=speeds), mesh=MESH).table("arrow speed")
    assert table.distance is not None
    np.testing.assert_array_equal(table.distance, speeds.distance)
    text = residual_table(compare_data(setup, OwnData(speeds=speeds), mesh=MESH))
    rows = [line.split() for line in text.splitlines() if line.startswith("  280.0 ")]
    assert [row[1] for row in rows] == ["1", "50"]
    plain = compare_data(setup, OwnData(speeds=Speeds.with_si(MASSES, (47.0, 44.0, 41.0))), mesh=MESH)
    assert plain.table("arrow speed").distance is None
    assert "at [m]" in text
    assert "at [m]" not in residual_table(plain)


@pytest.mark.parametrize(
    ("length", "force", "said"), [(29.0, 33.0, (1, 1)), (27.0, 38.0, (0, 1)), (27.0, 31.0, (0, 0))]
)
def test_a_draw_past_the_maker_s_limits_is_said(length: float, force: float, said: tuple[int, int]) -> None:
    """By its length, and by the force computed (35 lbf at 29 in) or measured."""
    setup = built("club-outdoor", MESH).replace(
        **{"limits.longest_draw": "28 in", "limits.highest_draw_weight": "34 lbf"}
    )
    drawn = DrawForce.with_si((20 * INCH, length * INCH), (20 * POUND, force * POUND))
    text = residual_table(compare_data(setup, OwnData(draw_force=drawn), mesh=MESH))
    told = text.split("Warnings")[1]
    assert (
        told.count(f"Draw length {length:.2f} in is over the maker's 28.00 in"),
        told.count("over the maker's 34.0 lbf"),
    ) == said
    assert ("No limit known here was passed" in told) is (said == (0, 0))
    assert "per pound" not in told  # nothing was shot


def test_finger_shares_found_are_those_of_the_setup_found() -> None:
    """Two free: the middle finger takes what they give up. One free: the others in proportion."""
    setup = built("club-outdoor", MESH)
    data = OwnData(speeds=Speeds.with_si(MASSES, (47.4, 44.4, 41.0)))
    index, ring = "archer.finger_shares.0", "archer.finger_shares.2"
    model = Model(FittedBow.of(setup, MESH), data, free_inputs(setup, (index, ring), {}, 1), errors_of(None), False)
    first = filled(setup).get("archer.finger_shares")
    for z in (np.array([1.0, -1.5]), np.array([-0.4, 0.8])):
        shares = filled(model.setup_at(z)).get("archer.finger_shares")
        np.testing.assert_allclose(shares, (first[0] + 0.1 * z[0], first[1] - 0.1 * z.sum(), first[2] + 0.1 * z[1]))
        np.testing.assert_allclose(model.values(z), (shares[0], shares[2]))
    for free in ((index, ring), (ring, "string.construction_factor")):
        found = fit_data(setup, data, free, mesh=MESH, planes=1)
        assert any(abs(one.value - one.start) > 0.01 * one.prior for one in found.estimates)
        for one in found.estimates:
            assert one.value == pytest.approx(filled(found.setup).get(one.path), rel=1e-9)
        assert sum(filled(found.setup).get("archer.finger_shares")) == pytest.approx(1.0)


def test_in_both_planes_what_moves_the_shaft_off_the_rest_may_be_free() -> None:
    setup, sideways = measured("club-outdoor"), ("archer.side_roll", "rest.reach", "limbs.side_stiffness")
    found = free_inputs(setup, sideways, {}, 2)
    assert [one.shown(filled(setup))[0] for one in found] == pytest.approx([3.0, 0.5, 0.4 * 1010.0], rel=0.05)
    with pytest.raises(SetupError, match="not known how well"):  # one plane does not feel it
        free_inputs(setup, sideways[:1], {}, 1)
    with pytest.raises(SetupError, match="planes"):
        free_inputs(setup, ("rest.support_travel",), {"rest.support_travel": "30 mm"}, 2)
    assert free_inputs(setup, ("rest.support_travel",), {"rest.support_travel": "30 mm"}, 1)[0].spread == 0.03


def test_speeds_are_compared_in_so_many_planes() -> None:
    data = OwnData(speeds=Speeds.with_si(MASSES, MASSES))
    flat, both = (compare_data(measured("club-outdoor"), data, mesh=MESH, planes=planes) for planes in (1, 2))
    speeds = [np.asarray(one.modelled.speed) for one in (flat, both)]
    assert np.all(speeds[0] != speeds[1])
    assert speeds[0] == pytest.approx(speeds[1], rel=0.01)


def test_errors_are_widened_by_what_the_data_leave_over() -> None:
    """Against the stated errors' own linear problem: sqrt(S / (n - k)) alone, sqrt((S + z z) / n) with priors."""
    setup, path = built("club-outdoor", MESH), "upper_limb.mass"
    data = OwnData(speeds=Speeds.with_si(MASSES, (48.6, 44.0, 42.0)))
    tight, loose = (
        fit_data(setup, data, (path,), errors={"speeds": (size, "m/s")}, priors=False, mesh=MESH)
        for size in (0.1, 10.0)
    )
    n, k = 3, 1
    squares = np.sum(tight.after.tables[0].difference ** 2)
    assert loose.widened == 1.0
    assert tight.widened == pytest.approx(np.sqrt(squares / 0.1**2 / (n - k)))
    assert tight.estimates[0].error == pytest.approx(
        loose.estimates[0].error / 10.0 * np.sqrt(squares / (n - k)), rel=1e-3
    )
    both = fit_data(setup, data, (path,), errors={"speeds": "0.1 m/s"}, mesh=MESH)
    (one,) = both.estimates
    step = (one.value - one.start) / one.prior
    assert abs(step) > 0.1
    assert both.widened == pytest.approx(np.sqrt((n * both.after.misfit**2 + step**2) / n))
    assert f"widened by {tight.widened:.1f}" in " ".join(determined_table(tight).split())


BAD: dict[str, tuple[tuple[str, ...], dict[str, Any], str]] = {
    "nothing free": ((), {}, "no input to find"),
    "unknown": (("limbs.stiffnes",), {}, "unknown path"),
    "no usual prior": (("arrow.nock_mass",), {}, 'Give prior={"arrow.nock_mass": "10 %"}'),
    "not given": (("archer.pressure_point",), {}, "has no single number in this setup"),
    "a row": (("upper_limb.bending_stiffness",), {}, "has no single number in this setup"),
    "twice": (("rest.stiffness",) * 2, {}, "is named twice"),
    "of a built bow": ((STIFFNESS,), {}, "Free bow.draw_weight"),
    "prior without a unit": (("arrow.spine",), {"prior": {"arrow.spine": "1 kg"}}, 'the unit "kg" does not fit'),
    "prior of another": (("arrow.spine",), {"prior": {"rest.stiffness": "5 %"}}, "has a prior and is not free"),
    "error of no kind": (("arrow.spine",), {"errors": {"noise": 1.0}}, "is not a kind of data"),
    "prior of nothing": (("arrow.spine",), {"prior": {"arrow.spine": "0 %"}}, "0 % is not positive"),
    "prior below nothing": (("arrow.spine",), {"prior": {"arrow.spine": "-5 %"}}, "-5 % is not positive"),
    "all shares": (
        tuple(f"archer.finger_shares.{k}" for k in range(3)),
        {"prior": {"archer.finger_shares.1": 0.1}},
        "archer.finger_shares.2: cannot be free beside",
    ),
    "two times": (
        ("archer.release_time", "archer.release_time.1"),
        {"prior": {"archer.release_time.1": "1 ms"}},
        "it moves the times of all fingers",
    ),
    "as many as rows": (("arrow.spine",), {"priors": False}, "data: 1 rows cannot tell 1 free inputs"),
    "no error": (("arrow.spine",), {"errors": {"speeds": "0 m/s"}}, "is not positive"),
}


@pytest.mark.parametrize("case", BAD)
def test_bad_questions(case: str) -> None:
    free, more, said = BAD[case]
    with pytest.raises(SetupError) as caught:
        fit_data(measured("club-outdoor"), OwnData(speeds=Speeds.with_si((0.019,), (48.0,))), free, mesh=MESH, **more)
    assert said in str(caught.value)


@pytest.mark.parametrize("size", ["0 %", -0.05, 0.0])
def test_a_stiffness_prior_that_is_none(size: Any) -> None:
    speeds = OwnData(speeds=Speeds.with_si((0.019,), (48.0,)))
    with pytest.raises(SetupError, match=r"limbs.stiffness_factor: a standard deviation of .* is not positive"):
        fit_data(built("club-outdoor", MESH), speeds, (STIFFNESS,), prior={STIFFNESS: size}, mesh=MESH)


def test_a_scale_may_draw_further_than_the_archer_s_arrow_reaches() -> None:
    """Nobody holds an arrow to the scale: the junior's is short from 28 in on."""
    length = np.linspace(14.0, 30.0, 9) * INCH
    asked = OwnData(DrawForce.with_si(tuple(length), tuple(length)))
    modelled = model_data(FittedBow.of(measured("junior"), MESH), asked)
    assert modelled.draw_length is not None
    assert modelled.force is not None
    assert modelled.draw_length[-1] == pytest.approx(30.0 * INCH)
    assert np.diff(modelled.force).min() > 0.0
