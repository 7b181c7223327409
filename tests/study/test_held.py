"""What a change holds: locators tied or set again, string kept or twisted again, or the bow fitted anew."""

from __future__ import annotations

import numpy as np
import pytest

from archerysim.equipment import SetupError, filled
from archerysim.equipment.readings import CONVENTION
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.hold import NOTHING, WORDS, hold_sentence, hold_words
from archerysim.shot.launch import Launch
from archerysim.shot.shoot import brace, shoot
from archerysim.shot.statics.fit import fit
from archerysim.show.sweeps.table import sweep_table
from archerysim.study.run.row import LaunchNumbers
from archerysim.study.run.store import key_maker
from archerysim.study.sweeps.own_point import own_point, own_value
from tests.support.shot.example_bows import READING, built, changed, measured
from tests.support.study.shared_sweeps import BOLT, MESH, TURNS, bolts, run


def lent() -> list[Launch]:
    """The bow as built with the upper pocket leant as far as the bolt's turns lean it, and nothing else changed."""
    bow = built("club-outdoor", MESH)
    angle, per_turn = bow.upper_limb.pocket_angle, filled(bow).get("upper_limb.lean_per_turn")
    return [changed(bow, MESH, upper_limb__pocket_angle=angle + turns * per_turn) for turns in TURNS]


def test_nothing_touched_by_default() -> None:
    """Locators tied at their place: the reading moves, and so do brace height and tillers."""
    data = bolts()
    assert data.attrs["held"] == NOTHING
    assert (np.diff(data.reading) > 0.5).all()
    assert (np.diff(data.brace_height) < 0.0).all()
    assert (np.diff(data.upper_tiller - data.lower_tiller) < 0.0).all()
    middle = data.sel(upper_limb_bolt_turns=0.0)
    assert float(middle.reading) == pytest.approx(8.0, abs=1e-6)
    assert float(middle.brace_height) == pytest.approx(220.0, abs=1e-5)
    for turns, leaning in zip(TURNS, lent(), strict=True):
        at = data.sel(upper_limb_bolt_turns=turns)
        for name in ("reading", "brace_height", "upper_tiller", "lower_tiller"):
            assert float(at[name]) == pytest.approx(getattr(leaning, name), rel=1e-9)


def test_reading_held_moves_the_place() -> None:
    data = bolts("reading")
    assert data.attrs["held"] == WORDS["reading"]
    np.testing.assert_allclose(data.reading, 8.0, atol=1e-6)
    np.testing.assert_allclose(data.brace_height, bolts().brace_height, atol=1e-3)
    base = FittedBow.of(measured("club-outdoor"), MESH)
    places = []
    for turns in TURNS:
        setup = base.with_changes({BOLT: (turns, "turn")}, "reading").setup
        assert setup.string.length == base.setup.string.length
        places.append(shoot(setup, MESH, trace=False).braced.throat)
    assert (np.diff(places) < -0.5e-3).all()


def test_brace_height_held_changes_the_string() -> None:
    data = bolts("brace height")
    assert data.attrs["held"] == WORDS["brace height"]
    np.testing.assert_allclose(data.brace_height, 220.0, atol=1e-5)
    assert (np.diff(data.reading) > 0.5).all()
    base = FittedBow.of(measured("club-outdoor"), MESH)
    setups = [base.with_changes({BOLT: (turns, "turn")}, "brace height").setup for turns in TURNS]
    lengths = [setup.string.length for setup in setups]
    assert (np.diff(lengths) < 0.0).all()  # a bow that leans further wants a shorter string
    assert lengths[1] == pytest.approx(base.setup.string.length, rel=1e-8)
    for setup in setups:
        assert setup.nock.locators.place == base.setup.nock.locators.place


def test_both_held() -> None:
    data = bolts("reading", "brace height")
    assert data.attrs["held"] == f"{WORDS['reading']}; {WORDS['brace height']}"
    np.testing.assert_allclose(data.reading, 8.0, atol=1e-6)
    np.testing.assert_allclose(data.brace_height, 220.0, atol=1e-5)


def test_the_hold_matters_for_the_tune() -> None:
    """Tied locators ride along with the bolt; set again they do not: other angles of attack."""
    tied, again = (d.angle_of_attack.sel(moment="clear").values for d in (bolts(), bolts("reading")))
    assert tied[1] == pytest.approx(again[1], abs=1e-6)
    assert np.abs(tied - again)[[0, 2]].min() > 0.05


def test_limbs_keep_their_stiffness() -> None:
    assert (np.diff(bolts().draw_force) > 0.0).all()  # bolt in: heavier draw, by the lean alone
    np.testing.assert_allclose(bolts().draw_force, [launch.draw_force for launch in lent()], rtol=1e-9)
    base = FittedBow.of(measured("club-outdoor"), MESH)
    turned = base.with_changes({BOLT: "1 turn"}).setup
    assert turned.upper_limb.bending_stiffness == base.setup.upper_limb.bending_stiffness


def test_refit_is_the_fit_at_that_point() -> None:
    data = run(measured("club-outdoor"), {"bow.brace_height": ["215 mm", "225 mm"]}, hold="refit")
    assert data.attrs["held"] == WORDS["refit"]
    np.testing.assert_allclose(data.brace_height, [215.0, 225.0], atol=1e-4)
    np.testing.assert_allclose(data.draw_force, measured("club-outdoor").bow.draw_weight, rtol=1e-6)
    one = fit(measured("club-outdoor").replace(**{"bow.brace_height": "215 mm"}), MESH).setup
    launch = shoot(one, MESH, trace=False)
    point = data.sel(bow_brace_height=215.0)
    assert float(point.angle_of_attack.sel(moment="clear")) == launch.clear.angle_of_attack
    assert float(point.speed.sel(moment="clear")) == launch.clear.speed


def test_refit_and_frozen_differ() -> None:
    """A shorter draw: the frozen bow draws lighter, the refitted one has its weight at its own draw still."""
    over = {"archer.draw_length": ["26 in"], "bow.draw_weight_at": ["28 in"]}
    refit = run(measured("club-outdoor"), over, hold="refit")
    frozen = run(measured("club-outdoor"), {"archer.draw_length": ["26 in"]})
    assert float(refit.draw_force.squeeze()) == pytest.approx(float(frozen.draw_force.squeeze()), rel=1e-6)
    lighter = run(measured("club-outdoor"), {"bow.draw_weight": ["30 lbf"]}, hold="refit")
    assert float(lighter.draw_force.squeeze()) == pytest.approx(30 * 4.4482216152605, rel=1e-6)


def test_a_measured_number_has_the_bow_fitted_anew_at_every_point_and_says_so() -> None:
    setup = measured("club-outdoor")
    tillers = [setup.bow.upper_tiller + step for step in (0.0, 0.002)]
    data = run(setup, {"bow.upper_tiller": (tillers, "m")})
    same = run(setup, {"bow.upper_tiller": (tillers, "m")}, hold="refit")
    np.testing.assert_array_equal(data.angle_of_attack, same.angle_of_attack)
    np.testing.assert_allclose(data.upper_tiller, 1e3 * np.array(tillers), atol=1e-4)
    assert data.attrs["held"].startswith(WORDS["refit"])
    assert data.attrs["fitted_anew"].endswith("at every point, because bow.upper_tiller was changed")
    assert "The bow is fitted anew" in " ".join(sweep_table(data).split())
    assert "fitted_anew" not in bolts().attrs


def test_a_measured_number_beside_others_holds_what_it_is_told_to() -> None:
    over = {"bow.upper_tiller": ["195 mm", "197 mm"], BOLT: ["0 turn", "1 turn"]}
    tied, again = (run(measured("club-outdoor"), over, hold=hold) for hold in (None, "reading"))
    assert tied.attrs["held"].startswith(f"{WORDS['refit']}; then, for {BOLT}, {NOTHING}")
    assert again.attrs["held"].startswith(f"{WORDS['refit']}; then, for {BOLT}, {WORDS['reading']}")
    np.testing.assert_allclose(again.reading, 8.0, atol=1e-6)
    assert (tied.reading.sel(upper_limb_bolt_turns=1.0) > 8.3).all()
    one = shoot(measured("club-outdoor"), MESH, changes={"bow.upper_tiller": "197 mm", BOLT: "1 turn"}, trace=False)
    point = tied.sel(bow_upper_tiller=197.0, upper_limb_bolt_turns=1.0)
    assert float(point.speed.sel(moment="clear")) == one.clear.speed


def test_a_brace_height_cannot_be_varied_and_held() -> None:
    with pytest.raises(SetupError, match=r"bow.brace_height: cannot change while the brace height is held"):
        run(measured("club-outdoor"), {"bow.brace_height": ["215 mm"]}, hold="brace height")


def test_what_was_changed_before_the_sweep_is_in_its_key_its_attributes_and_its_table() -> None:
    setup, changes = measured("club-outdoor"), {"rest.height": "43 mm"}
    data = run(setup, {BOLT: "0.5 turn"}, changes=changes)
    one = shoot(setup, MESH, changes={**changes, BOLT: "0.5 turn"}, trace=False)
    assert float(data.speed.sel(moment="clear").squeeze()) == one.clear.speed
    assert data.attrs["edits"] == f"changed: rest height 43 mm; held: {NOTHING}"
    assert "changed: rest height 43 mm" in " ".join(sweep_table(data).split())
    plain, changed = (FittedBow.of(setup, MESH, made) for made in ({}, changes))
    keys = {key_maker(bow, LaunchNumbers(hold))({BOLT: 0.5}) for bow in (plain, changed) for hold in ((), ("reading",))}
    assert len(keys) == 4


def test_a_swept_reading_is_not_overridden_by_the_reading_held() -> None:
    data = run(measured("club-outdoor"), {READING: ["5 mm", "9 mm"]}, hold="reading")
    np.testing.assert_allclose(data.reading, [5.0, 9.0], atol=1e-6)


def test_a_string_cannot_be_changed_and_twisted_again() -> None:
    with pytest.warns(UserWarning, match="no point gave a shot"):
        data = run(measured("club-outdoor"), {"string.length": ["1640 mm"]}, hold="brace height")
    assert "cannot change while the brace height is held" in data.reason.values[0]


@pytest.mark.parametrize("word", ["brace height", "brace-height", "brace_height", " brace height "])
def test_spellings(word: str) -> None:
    assert hold_words(word) == ("brace height",)


@pytest.mark.parametrize("hold", ["brace", ("reading", "string"), ""])
def test_unknown_hold(hold: str | tuple[str, ...]) -> None:
    with pytest.raises(SetupError, match="Use one or more of 'reading', 'brace height', 'refit'"):
        hold_words(hold)


def test_refit_stands_alone() -> None:
    with pytest.raises(SetupError, match="Give it alone"):
        hold_words(("refit", "reading"))


def test_nothing_held() -> None:
    assert hold_words(None) == ()
    assert hold_words([]) == ()
    assert hold_sentence(()) == NOTHING


def test_refit_needs_a_measured_setup() -> None:
    with pytest.raises(SetupError, match="'refit' needs a setup of form \"measured\""):
        run(built("club-outdoor", MESH), {READING: ["8 mm"]}, hold="refit")


def test_a_base_is_fitted_once_and_tied() -> None:
    base = FittedBow.of(measured("barebow"), MESH)
    assert base.setup.form == "built"
    assert base.setup.nock.locators.reading is None
    assert base.reading == pytest.approx(filled(measured("barebow")).number(READING), abs=1e-8)
    assert base.with_changes({}) is base


def test_tied_locators_read_higher_on_a_lower_rest() -> None:
    data = run(measured("club-outdoor"), {"rest.height": ["45 mm", "43 mm"]})
    assert float(np.diff(data.reading)[0]) == pytest.approx(2.0, abs=0.05)


def test_a_varied_reading_is_told_by_the_file_s_convention_unless_that_is_varied_too() -> None:
    top = measured("club-outdoor").replace(**{READING: "13.8 mm", CONVENTION: "top"})
    for hold in (None, "refit"):
        base = FittedBow.of(top, MESH)
        for changes in ({READING: "15.8 mm"}, {READING: "10 mm", CONVENTION: "underside"}):
            assert brace(base, changes=changes, hold=hold).reading == pytest.approx(0.010, abs=1e-8)


def test_a_held_reading_is_the_number_on_the_square_by_the_file_s_convention() -> None:
    """A nock 1 mm higher between locators set to the same reading by the top stands 1 mm lower by the underside."""
    for convention, reading, by_underside in (("underside", "8 mm", 8.0), ("top", "13.8 mm", 7.0)):
        setup = measured("club-outdoor").with_si(**{READING: reading, CONVENTION: convention})
        data = run(setup, {"nock.height": ["6.8 mm"]}, hold="reading")
        assert float(data.reading.squeeze()) == pytest.approx(by_underside, abs=1e-6)


def test_a_swept_tiller_is_another_bow_and_nothing_is_said_to_be_kept() -> None:
    over = {"bow.upper_tiller": "194 mm, 195 mm"}
    data = run(measured("club-outdoor"), over, changes={"arrow.point_mass": "100 gr"}, workers=1)
    assert data.attrs["held"].startswith("the bow fitted anew at every point")
    assert "not a turn of a bolt (that is lower_limb.bolt_turns)" in data.attrs["held"]
    assert data.attrs["edits"] == "changed: arrow point mass 100 gr"
    assert data.attrs["today"] == pytest.approx(195.0)
    turned = run(measured("club-outdoor"), {"lower_limb.bolt_turns": "0, 1 turn"}, workers=1)
    assert "not a turn of a bolt" not in turned.attrs["held"]


def test_over_two_the_bow_s_own_point_is_found_in_both() -> None:
    """The club bow's own spine, 0.700 in, is not the first that is shot."""
    over = {"arrow.spine": "600, 700, 800", "arrow.point_mass": "80 gr, 90 gr, 100 gr"}
    data = run(measured("club-outdoor"), over, workers=1, planes=1)
    assert own_point(data) == (1, 1)
    assert own_value(data, "arrow_spine") == pytest.approx(0.7)
    turned = run(measured("club-outdoor"), {READING: "6, 8 mm", **over}, workers=1, planes=1)
    assert own_point(turned) == (1, 1, 1)
