"""The move that groups ask for, and every sentence of the trade where it applies."""

from __future__ import annotations

import dataclasses
import math
from functools import cache

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from archerysim.equipment import SetupError
from archerysim.shot.flight.bare_shaft import bare_difference, gap_at
from archerysim.shot.shoot import shoot
from archerysim.study.notes.contact import DEEP, strike_of
from archerysim.study.notes.group_means import read_groups
from archerysim.study.notes.move import (
    CLEAR,
    CONTACT,
    FARTHEST,
    kept_in,
    move_of,
    move_with_words,
    percent,
    up_and_test,
)  # fmt: skip
from archerysim.study.notes.noted_records import NotedGroup
from archerysim.study.notes.notes_file import Notes
from archerysim.study.notes.posterior import FLIGHT, RISE, SQUARE
from archerysim.study.notes.read_group import Diagnosis, diagnose
from archerysim.study.notes.response_surface import Expected, Place, Setting, expect
from archerysim.study.notes.suspicion import off_and_spread, suspects
from tests.support.shot.example_bows import built, changed
from tests.support.study.noted_cases import LOW, MESH, NOW, expected, group, noted, notes

ROW = 2  # of (NOW, 18 m)


@cache
def read(some: Notes) -> Diagnosis:
    return read_with(some, expected())


def read_with(some: Notes, e: Expected) -> Diagnosis:
    return diagnose(built("club-outdoor", MESH), some, expected=e, further=False, mesh=MESH)


def plain() -> Diagnosis:
    return read(notes(group(0.05), group(0.05)))


def level() -> float:
    """Where drag and mass alone put a bare shaft at 18 m [m]."""
    return float(expected().wanted[ROW])


def moved(*groups: tuple[float, float]):  # type: ignore[no-untyped-def]
    """The move for groups at NOW and 18 m: differences from level, and scatter [m]."""
    return move_of(expected(), tuple(noted(level() + off, sigma) for off, sigma in groups), NOW)


def test_bare_high_means_locators_up_and_by_how_much() -> None:
    slope = expected().per_reading[ROW]
    move = moved((-0.002 * slope, 0.01))
    assert move.way == "up"
    assert move.wanted == pytest.approx(0.002)
    assert move.size == pytest.approx(move.wanted)
    assert "UP" in move.words
    assert move.to == pytest.approx(NOW + 0.002)


def test_bare_far_low_means_down_and_slightly_low_is_left() -> None:
    down = moved((-0.06, 0.005))
    assert (down.way, down.size < 0.0) == ("down", True)
    assert "check clearance" in down.words
    assert f"{percent(down.probability)} sure that it is down" in down.words
    for off in (0.0, -0.005, -0.015):
        hold = moved((off, 0.002))
        assert (hold.way, hold.size) == ("hold", 0.0)
    high = moved((0.015, 0.002))
    assert high.way == "up"  # slightly high is never accepted


def test_within_the_scatter_is_held() -> None:
    move = moved((0.01, 0.05))
    assert move.way == "hold"
    assert "scatter" in move.words
    assert 0.5 < move.probability < 0.85


def test_repeating_a_group_makes_it_surer_as_a_mean_does() -> None:
    off = 0.0005  # so that the slope's own error is small beside the scatter
    once, twice = moved((off, 0.03)), moved((off, 0.03), (off, 0.03))
    assert (twice.high - twice.low) == pytest.approx((once.high - once.low) / math.sqrt(2.0), rel=1e-3)
    assert not once.repeated
    assert twice.repeated
    assert moved((0.08, 0.01)).words.startswith("repeat before acting")
    assert not moved((0.08, 0.01), (0.08, 0.01)).words.startswith("repeat")


@pytest.mark.parametrize("count", [1, 6, 40])
def test_repeating_a_group_does_not_better_the_model_s_slope(count: int) -> None:
    """The slope is wrong by one factor for all: the interval never gets narrower than its 15 % of the move."""
    slope, sigma, asked = float(expected().per_reading[ROW]), 0.005, 0.003
    move = moved(*[(-asked * slope, sigma)] * count)
    half = math.sqrt(RISE) * math.hypot(sigma / slope / math.sqrt(count), FLIGHT * asked)
    assert (move.high - move.low) / 2.0 == pytest.approx(half, rel=1e-6)
    assert half > 0.74e-3


def test_unlike_groups_of_one_scatter_ask_for_their_mean() -> None:
    slope = float(expected().per_reading[ROW])
    move = moved((-0.001 * slope, 0.01), (-0.004 * slope, 0.01))
    assert move.wanted == pytest.approx(0.0025)


def test_groups_on_either_side_hardly_need_the_slope() -> None:
    """One group asks to go up, the other down: what an error of the slope does to them cancels."""
    e = expected()
    slope, own = e.per_reading[[0, ROW]], np.array([0.0015, -0.0015])
    off = e.wanted[[0, ROW]] - own * slope
    move = move_of(e, (noted(float(off[0]), 0.01, reading=LOW), noted(float(off[1]), 0.01)), NOW)
    assert move is not None
    assert move.wanted == pytest.approx(-0.0015)
    cover = (0.01 / slope) ** 2 + 2.0 * np.array([SQUARE, 0.0]) ** 2
    variance = 1.0 / (1.0 / cover).sum()
    half = math.sqrt(RISE) * math.hypot(math.sqrt(variance), FLIGHT * variance * (own / cover).sum())
    assert (move.high - move.low) / 2.0 == pytest.approx(half, rel=1e-6)


def test_groups_with_another_reading_count_from_today_s() -> None:
    e = expected()
    other = noted(float(e.wanted[0]), 0.01, reading=LOW)  # level there, so its slope does not matter
    move = move_of(e, (other,), NOW)
    assert move is not None
    assert move.wanted == pytest.approx(LOW - NOW)
    spread = (move.high - move.low) / 2.0 / math.sqrt(2.7055)
    assert spread == pytest.approx(math.hypot(0.01 / e.per_reading[0], math.sqrt(2.0) * SQUARE), rel=1e-6)


def test_beyond_30_m_level_is_that_of_drag_alone() -> None:
    e = expected()
    far = bare_difference(e.launch(NOW), "30 m").drag_and_mass
    # the speed lost grows with the distance, the drop that it makes with the cube
    assert far == pytest.approx(level() * (30.0 / 18.0) ** 3, rel=0.1)
    assert e.wanted[1] == pytest.approx(gap_at(e.launch(NOW), 30.0, e.leaving[30.0], lift=False).height)
    assert e.wanted[1] == pytest.approx(far, rel=1e-3)  # as near as the gap without a sight of its own is
    move = move_of(e, (noted(float(e.wanted[1]), 0.005, NOW, 30.0),), NOW)
    assert move is not None
    assert (move.way, move.wanted) == ("hold", pytest.approx(0.0, abs=1e-9))


def test_the_move_brings_real_shots_together() -> None:
    """Groups as the model's own bow shoots them: after the move bare and fletched lie near each other."""
    e, now = expected(), NOW + 0.001
    seen = e.gap(e.launch(now), 18.0).height
    move = move_of(e, (noted(seen, 0.01), noted(seen, 0.01)), now)
    assert move is not None
    after = e.gap(e.launch(now + move.wanted), 18.0).height
    assert abs(seen - level()) > 0.05
    assert abs(after - level()) < 0.25 * abs(seen - level())


@given(st.floats(-0.030, 0.060), st.floats(-0.1, 0.1))
def test_a_move_never_leaves_the_limits(now: float, wanted: float) -> None:
    size = kept_in(now, wanted)
    assert abs(size) <= FARTHEST + 1e-12
    assert min(now, 0.0) - 1e-12 <= now + size <= max(now, 0.025) + 1e-12
    assert size * wanted >= 0.0


def test_at_the_limit_it_says_what_else_to_change() -> None:
    move = move_with_words("up", kept_in(0.025, 0.004), 0.004, (0.003, 0.005), 0.99, 0.025, True, 0.0)
    assert (move.way, move.to) == ("hold", 0.025)
    assert "change shaft, rest or finger shares first" in move.words
    assert "this much at once" in move_with_words("up", 0.003, 0.004, (0.003, 0.005), 0.99, 0.01, True, 0.0).words


@given(st.floats(-0.030, 0.060), st.floats(-0.1, 0.1), st.floats(-0.030, 0.060))
def test_no_move_goes_down_to_suspected_contact(now: float, wanted: float, suspected: float) -> None:
    size = kept_in(now, wanted, suspected)
    assert abs(size) <= abs(kept_in(now, wanted)) + 1e-12
    if size < 0.0:
        assert now + size >= suspected + CLEAR - 1e-12
    if wanted > 0.0:
        assert size == kept_in(now, wanted)


@pytest.mark.parametrize(
    ("now", "part"),
    [(0.008, "go up 2 to 3 mm"), (0.0225, "go up 2.5 mm (1/8 in), no"), (0.024, "go up 1.0 mm (1/16 in), no farther")],
)
def test_up_and_test_says_what_there_is_room_for(now: float, part: str) -> None:
    move = up_and_test(now)
    assert part in move.words
    assert ("2 to 3" in move.words) == (now + CONTACT[1] <= 0.025)
    assert up_and_test(0.025).words == "contact suspected, no room upward"


def test_too_few_bare_shafts_no_advice() -> None:
    found = diagnose(built("club-outdoor", MESH), notes(group(0.1, bare=(0.1, 0.1), bare_bad=(0.5,))), mesh=MESH)
    assert found.move is None
    assert found.causes == ()
    assert any("too few good bare shafts" in line and "no advice" in line for line in found.remarks)


def test_heights_in_another_unit_no_advice() -> None:
    """Metres for centimetres: nothing explains such groups, so nothing is advised."""
    found = diagnose(built("club-outdoor", MESH), notes(group(1.1), group(1.2)), mesh=MESH)
    assert found.move is None
    assert found.causes == ()
    assert found.remarks[0] == (
        "no advice: bare shafts 120 cm above, far from the fletched ones: check the numbers and their units"
    )
    assert [one.startswith(f"group {k} is not used: ") for k, one in enumerate(found.remarks[1:], 1)] == [True, True]
    beside = read(notes(group(1.1), group(0.05), group(0.05)))
    assert beside.move == plain().move


@pytest.mark.parametrize(
    ("more", "why"),
    [
        ({"bare": (0.1,) * 6, "wind": "2 m/s"}, "no advice: head wind of 2.0 m/s changes the height: repeat in calm"),
        ({"fletched": (0.1, 0.2)}, "no advice: too few good fletched shafts: 2, and 3 are needed"),
    ],
)
def test_no_advice_says_the_group_s_own_reason(more: dict[str, object], why: str) -> None:
    few = group(0.1, bare=(0.1,))  # beside the other it is not the reason
    found = diagnose(built("club-outdoor", MESH), notes(group(0.1, **more), few), mesh=MESH)
    assert found.move is None
    assert found.remarks[0] == why
    assert not any("in the best group" in line for line in found.remarks)


def test_no_advice_where_every_group_is_suspected_and_today_s_is_none_of_them() -> None:
    found = read(notes(group(-0.5), group(0.1, reading=LOW, wind="4 m/s")))
    assert found.move is None
    assert found.remarks[0] == "no advice: contact is suspected with every group"


def test_wind_is_said_and_a_group_in_wind_is_left_out() -> None:
    calm = read(notes(group(-0.05), group(-0.05)))
    found = read(notes(group(-0.5, wind="3 m/s"), group(-0.05), group(-0.05)))
    assert any("repeat in calm" in line for line in found.remarks)
    assert calm.remarks == ()
    assert found.move is not None
    assert found.move.wanted == pytest.approx(calm.move.wanted, abs=2e-4)  # type: ignore[union-attr]


def test_where_bare_shafts_missed_a_group_is_left_out() -> None:
    found = read(notes(group(-0.05, bare_missed=2), group(0.05, bare_missed=1)))
    assert [one.used for one in found.groups] == [False, True]
    assert any("2 bare shafts missed, and where they went is not known" in line for line in found.remarks)


def test_one_wild_shaft_not_called_does_not_turn_the_move() -> None:
    one = group(0.07)
    wild = group(0.07, bare=(*(one.bare or ())[:2], -1.0))

    def move(second: NotedGroup):  # type: ignore[no-untyped-def]
        return move_of(expected(), read_groups(expected().bow.setup, notes(one, second)), NOW)

    assert (move(one).way, move(wild).way) == ("up", "up")
    assert abs(move(wild).wanted - move(one).wanted) < 0.5e-3  # less than the square's own error


def test_contact_where_groups_go_up_with_the_reading() -> None:
    e = expected()
    lower, upper = noted(-0.10, 0.02, LOW), noted(0.02, 0.02, NOW)
    assert Setting(LOW) in suspects(e, (lower, upper))
    assert not suspects(e, (noted(0.02, 0.02, LOW), noted(-0.05, 0.02, NOW)))
    found = read(notes(group(0.02, reading=NOW), group(-0.10, reading=LOW)))
    assert found.move is not None
    assert found.move.words == "contact suspected: go up 2 to 3 mm and test again"
    assert CONTACT[0] <= found.move.size <= CONTACT[1]
    assert any("bare shafts can mislead" in line for line in found.remarks)


def test_no_way_down_to_a_lower_reading_where_contact_is_suspected() -> None:
    """As above, but the locators stand at the higher reading now: its groups ask to go down 3 mm.

    Close groups: two causes that do the same are felt in them, so that further shots are told.
    """
    six = 0.005 * np.array([-1.5, 0.0, 2.1, 1.0, -0.4, 0.2])
    low, high = (
        group(0.0, reading=reading, fletched=tuple(six), bare=tuple(off + six))
        for reading, off in ((LOW, -0.145), (NOW, -0.085))
    )
    found = diagnose(built("club-outdoor"), notes(low, high), expected=expected(2, "default"))
    assert found.move is not None
    assert found.move.wanted < -0.002
    assert found.move.to == pytest.approx(LOW + CLEAR)
    assert "no lower: contact is suspected at 5.0 mm" in found.move.words
    assert any("contact suspected at 5.0 mm" in line for line in found.remarks)
    assert any("no move goes below 7.0 mm" in line for line in found.remarks)
    assert found.further
    assert not any("lower" in shot.words for shot in found.further)


def test_down_is_not_advised_right_above_suspected_contact() -> None:
    e = expected()
    for suspected in (NOW - CLEAR, NOW - 0.0005, NOW + 0.001):
        move = move_of(e, (noted(-0.09, 0.005),), NOW, suspected)
        assert move is not None
        assert (move.way, move.to) == ("hold", NOW)
        assert "contact is suspected" in move.words
        assert "powder" in move.words
        up = move_of(e, (noted(0.09, 0.005),), NOW, suspected)
        assert up is not None
        assert up.way == "up"


def test_contact_where_the_model_has_the_shaft_deep_in_the_rest() -> None:
    """In one plane, in which the rest is not there any more where it would be struck."""
    e = expected(1)
    assert e.strikes[Setting(LOW)] > e.strikes[Setting(NOW)]
    assert e.launch(0.0).suppressed_strike > DEEP  # far too low: the tail strikes
    deep = dataclasses.replace(e, strikes={**e.strikes, Setting(NOW): 2.0 * DEEP})
    assert Setting(NOW) in suspects(deep, (noted(0.0, 0.02),))
    found = read_with(notes(group(-0.05)), deep)
    assert found.move == up_and_test(NOW)
    assert found.causes == ()


def test_in_both_planes_contact_is_an_arm_struck_deep() -> None:
    e = expected(2)
    for reading in (LOW, NOW):
        assert e.strikes[Setting(reading)] == pytest.approx(e.launch(reading).passage.arm_strike_depth, nan_ok=True)
    assert (
        0.0 < e.strikes[Setting(LOW)] < DEEP < e.launch(0.0).passage.arm_strike_depth
    )  # far too low: the tail strikes
    assert strike_of(e.launch(0.0)) == e.launch(0.0).passage.arm_strike_depth
    assert not suspects(e, (noted(float(e.heights.value[0]), 0.02, LOW),))
    deep = dataclasses.replace(e, strikes={**e.strikes, Setting(LOW): strike_of(e.launch(0.0))})
    assert Setting(LOW) in suspects(deep, (noted(float(e.heights.value[0]), 0.02, LOW),))


def test_groups_are_read_in_both_planes() -> None:
    some = notes(*[group(float(expected(2).heights.value[ROW]) + 0.03)] * 4)
    found = read_with(some, expected(2))
    shown = {told.cause.path: told for told in found.causes}
    assert "rest.support_travel" not in shown
    assert np.all([told.low <= told.value <= told.high for told in shown.values()])
    assert shown["rest.reach"].value > shown["rest.reach"].usual  # which lets the shaft off later: bare shafts higher
    assert found.move is not None
    assert found.expected.bow.planes == 2  # type: ignore[union-attr]
    with pytest.raises(SetupError, match="planes"):
        diagnose(built("club-outdoor", MESH), some, expected=expected(2), mesh=MESH, planes=1)


def test_a_bow_s_own_planes_are_those_of_the_surface() -> None:
    setup = built("club-outdoor", MESH).replace(**{"riser.rods.0.rigid": True, "limbs.hysteresis": 0.0})
    for planes in (1, 2):
        made = expect(setup, (Place(NOW, 18.0),), shots=26, mesh=MESH, planes=planes)
        assert made.bow.planes == planes
        assert len(made.causes) == {1: 5, 2: 8}[planes]


def test_contact_where_bare_shafts_lie_lower_than_anything_explains() -> None:
    assert Setting(NOW) in suspects(expected(), (noted(-0.6, 0.02),))
    assert not suspects(expected(), (noted(-0.15, 0.02),))


def test_a_speed_that_nothing_explains_is_said_and_not_used() -> None:
    found = read(notes(group(0.05), group(0.05), speed="40 m/s", draw_weight="40 lb"))
    assert sum("not used" in line for line in found.remarks) == 2
    assert [told.value for told in found.causes] == [told.value for told in plain().causes]


def test_expected_of_other_places_is_refused() -> None:
    with pytest.raises(SetupError, match="other places"):
        read(notes(group(0.02, distance=25.0)))


def test_bare_high_speaks_for_what_puts_it_there() -> None:
    """Less load on the index finger and a quicker release put a bare shaft higher, by the model itself."""
    e = expected(1, "default")
    slopes = dict(zip((cause.path for cause in e.causes), e.heights.slope[ROW], strict=True))
    high = float(e.heights.value[ROW]) + 0.03  # than this setup has it, by as much as its usual inputs can make
    shown = {told.cause.path: told for told in read_with(notes(*[group(high)] * 4), e).causes}
    for path in ("archer.finger_shares.0", "archer.release_time"):
        assert -slopes[path] > e.heights.error[ROW]
        assert shown[path].value < shown[path].usual
    assert shown["archer.release_time"].narrowed < 1.0
    assert np.all([told.low <= told.value <= told.high for told in shown.values()])


def test_warnings_are_those_of_a_shot_with_today_s_reading() -> None:
    found = plain()
    assert found.warnings == expected().launch(NOW).warnings
    assert read(notes(group(0.05), group(0.05, reading=LOW, wind="4 m/s"))).warnings == expected().launch(LOW).warnings


def test_an_arrow_far_too_light_is_said_first_and_nothing_is_proposed() -> None:
    light = {"arrow.mass_per_length": "2.2 gr/in", "arrow.point_mass": "40 gr"}
    setup = built("club-outdoor", MESH).replace(**light)
    assert "arrow's mass" in shoot(setup, MESH, trace=False).limits_passed
    found = diagnose(setup, notes(group(-0.05), group(-0.05, wind="4 m/s")), mesh=MESH)
    assert found.warnings[0].startswith("DO NOT SHOOT")
    assert "DO NOT SHOOT" in found.remarks[0]
    assert not any("repeat" in line for line in found.remarks)
    assert (found.move, found.further, found.apart) == (None, (), "")
    assert len(found.groups) == 2


def test_without_a_group_that_counts_the_warnings_are_there_still() -> None:
    found = diagnose(built("club-outdoor", MESH), notes(group(0.1, bare=(0.1,))), mesh=MESH)
    assert found.warnings == expected().launch(NOW).warnings
    assert found.expected is None


def test_a_quicker_release_puts_a_bare_shaft_higher() -> None:
    """On the usual mesh; on the coarse one the shaft meets the rest again otherwise, and hardly anything is left."""
    bow = built("club-outdoor")
    times = ([1e-3 * each] * 3 for each in (6.0, 5.0, 4.0))
    quicker = [bare_difference(changed(bow, archer__release_time=time), "18 m").height for time in times]
    assert (np.diff(quicker) > 0.005).all()


def test_a_group_far_off_is_told_by_how_much_and_that_it_counts() -> None:
    """Half a metre high: no hands do that. The move follows the group all the same."""
    found = read(notes(group(0.5), group(0.5)))
    (first, _) = (one for one in found.remarks if "lies far from what this setup explains" in one)
    off, spread = off_and_spread(expected(), found.groups[0])
    assert f"bare shafts {100 * off:.0f} cm higher than it expects" in first
    assert f"at most {100 * 3.0 * spread:.0f} cm off could be explained" in first
    assert off > 3.0 * spread
    assert first.endswith("the move counts it all the same")
    assert found.move is not None
    assert found.move.way == "up"
    there = float(expected().heights.value[ROW])
    assert not any("lies far from" in one for one in read(notes(group(there), group(there))).remarks)
