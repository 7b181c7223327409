"""A fitted bow: what it keeps, what a change holds on it, what it sends to a worker."""

from __future__ import annotations

import pickle
from dataclasses import FrozenInstanceError, replace
from functools import cache
from threading import Thread

import numpy as np
import pytest

from archerysim.equipment import SetupError, with_si
from archerysim.equipment.cautions import SCRAPING
from archerysim.errors import ShotError
from archerysim.shot import fitted_bow
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.kept_launches import Memo
from archerysim.shot.shoot import brace, draw, fit, shoot, strain
from tests.support.shot.example_bows import READING, built, measured

MESH = "coarse"
BOLT = "upper_limb.bolt_turns"


@cache
def bow() -> FittedBow:
    return FittedBow.of(measured("club-outdoor"), MESH)


def counted(monkeypatch: pytest.MonkeyPatch) -> list[object]:
    """One entry for each bow that is drawn to be shot."""
    shots: list[object] = []
    real = fitted_bow.draw_to
    monkeypatch.setattr(fitted_bow, "draw_to", lambda *args: (shots.append(args[0]), real(*args))[1])
    return shots


def test_its_shot_is_that_of_its_setup() -> None:
    own, other = bow().launch(), shoot(measured("club-outdoor"), MESH, trace=False)
    assert own.clear == other.clear
    assert own.setup == other.setup
    assert bow().launch(trace=True).clear == other.clear
    assert bow().launch(trace=True).trace is not None


def test_its_statics_serve_shot_after_shot() -> None:
    """What a shot finds of the drawn bow is left as it was."""
    fresh = FittedBow.of(measured("club-outdoor"), MESH)
    first = [fresh.statics.drawn.x.copy(), fresh.statics.braced.x.copy()]
    one, traced = fresh.launch(), fresh.launch(trace=True)
    fresh.draw_curve(5)
    again = replace(fresh).launch()
    assert one.clear == traced.clear == again.clear
    np.testing.assert_array_equal(fresh.statics.drawn.x, first[0])
    np.testing.assert_array_equal(fresh.statics.braced.x, first[1])


def test_its_draw_curve_is_that_of_its_setup() -> None:
    own, other = bow().draw_curve(5), draw(measured("club-outdoor"), 5, MESH)
    np.testing.assert_array_equal(own.force, other.force)
    assert own.warnings == other.warnings
    there = bow().drawn_to((own.draw_length[-1], "m"))
    assert there.drawn.weight == pytest.approx(float(own.force[-1]), rel=1e-9)
    assert bow().drawn_to("600 mm").drawn.weight < there.drawn.weight


def test_a_launch_is_computed_once(monkeypatch: pytest.MonkeyPatch) -> None:
    own, shots = replace(bow()), counted(monkeypatch)
    first = own.launch({READING: "7 mm"})
    assert own.launch({READING: "7 mm"}) is first
    assert len(shots) == 1
    own.launch({READING: "7 mm"}, "brace height")
    own.launch({READING: "7 mm"}, trace=True)
    assert len(shots) == 3
    assert own.at_reading("7 mm") is not own.at_reading("7.1 mm")
    assert len(shots) == 5


def test_a_failure_is_kept_too(monkeypatch: pytest.MonkeyPatch) -> None:
    own, shots = replace(bow()), counted(monkeypatch)
    told = []
    for _ in range(2):
        with pytest.raises(ShotError) as error:
            own.launch({"arrow.length": "600 mm"})
        told.append(str(error.value))
    assert told[0] == told[1]
    assert len(shots) == 1


def test_the_memo_is_bounded() -> None:
    memo, launch = Memo(3), bow().launch()
    for key in (b"a", b"b", b"c"):
        memo.put(key, launch)
    assert memo.get(b"a") is launch
    memo.put(b"d", launch)
    assert len(memo) == 3
    assert memo.get(b"b") is None  # not asked for longest
    assert memo.get(b"a") is launch


def test_threads_share_it() -> None:
    own = replace(bow())
    values = ["6 mm", "7 mm", "8 mm"]
    threads = [Thread(target=own.launch, args=({READING: value},)) for value in values * 3]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    for value in values:
        assert own.launch({READING: value}).clear == bow().launch({READING: value}).clear


def test_it_is_sent_without_arrays() -> None:
    bow().launch(trace=True)
    text = pickle.dumps(bow())
    assert len(text) < 20_000
    assert b"numpy" not in text
    again = pickle.loads(text)
    assert again == bow()
    assert again.setup == bow().setup
    assert again.launch().clear == bow().launch().clear


def test_equal_by_what_it_follows_from() -> None:
    same = FittedBow.of(measured("club-outdoor"), MESH)
    assert same == bow()
    assert len({same, bow()}) == 1
    others = (
        FittedBow.of(built("club-outdoor", MESH), MESH), FittedBow.of(measured("club-outdoor"), "default"),
        bow().with_changes({BOLT: "0.5 turn"}), replace(bow(), before=None), replace(bow(), step_factor=0.5),
    )  # fmt: skip
    assert len({bow(), *others}) == 6
    assert bow() != "a bow"
    assert len(repr(bow())) < 120
    with pytest.raises(FrozenInstanceError):
        bow().setup = bow().given  # type: ignore[misc]


def test_a_fitted_bow_is_not_fitted_again(monkeypatch: pytest.MonkeyPatch) -> None:
    own = bow()
    monkeypatch.delattr(fitted_bow, "fit_to_speed")
    assert FittedBow.of(own) is own
    assert fit(own, "fine") is own
    assert own.with_changes({}) is own
    own.with_changes({BOLT: "1 turn"}).with_changes({READING: "7 mm"}, "brace height").launch()
    assert brace(own) is own.braced


def test_it_says_how_it_met_what_was_measured() -> None:
    assert [one.path for one in bow().met] == [
        "bow.brace_height", "bow.upper_tiller", "bow.lower_tiller", "bow.draw_weight",
    ]  # fmt: skip
    assert bow().stiffness_factor > 0.0
    assert FittedBow.of(built("club-outdoor", MESH), MESH).met == ()


@pytest.mark.parametrize(
    ("hold", "reading", "brace_height"),
    [
        (None, False, False),
        ("reading", True, False),
        ("brace height", False, True),
        (("reading", "brace height"), True, True),
    ],
)
def test_what_a_change_holds(hold: str | tuple[str, ...] | None, reading: bool, brace_height: bool) -> None:
    now = bow().with_changes({BOLT: "1 turn"}, hold)
    assert (abs(now.reading - bow().reading) < 1e-8) == reading
    assert (abs(now.brace_height - bow().brace_height) < 1e-8) == brace_height
    assert now.launch().clear == bow().launch({BOLT: "1 turn"}, hold).clear
    assert now.setup.upper_limb.bending_stiffness == bow().setup.upper_limb.bending_stiffness


def test_refit_fits_anew() -> None:
    now = bow().with_changes({"bow.brace_height": "215 mm"}, "refit")
    assert now.given.bow.brace_height == 0.215
    assert now.brace_height == pytest.approx(0.215, abs=1e-7)
    assert now.launch().clear == bow().launch({"bow.brace_height": "215 mm"}, "refit").clear
    with pytest.raises(SetupError, match="'refit' needs a setup of form \"measured\""):
        FittedBow.of(built("club-outdoor", MESH), MESH).launch({BOLT: "1 turn"}, "refit")


def test_every_way_to_the_shot_is_the_same_to_the_bit() -> None:
    changes, hold = {BOLT: "0.5 turn", "arrow.point_mass": "7 g"}, "reading"
    setup = measured("club-outdoor")
    first = shoot(setup, MESH, changes=changes, hold=hold, trace=False)
    others = (
        shoot(bow(), changes=changes, hold=hold, trace=False), bow().launch(changes, hold),
        bow().with_changes(changes, hold).launch(), shoot(bow().with_changes(changes, hold), trace=False),
        shoot(setup, MESH, changes=with_si({BOLT: 0.5, "arrow.point_mass": 0.007}), hold=hold, trace=False),
    )  # fmt: skip
    for other in others:
        assert other == first
    curve = draw(setup, 5, MESH, changes=changes, hold=hold)
    assert curve.force[-1] == first.draw_force
    assert 1e3 * brace(setup, MESH, changes=changes, hold=hold).reading == first.reading
    assert curve.edits == first.edits == bow().with_changes(changes, hold).edits
    assert repr(strain(setup, MESH, changes=changes, hold=hold)) == repr(strain(curve))


def test_a_changed_tiller_has_the_bow_fitted_anew_and_says_so() -> None:
    setup = measured("club-outdoor")
    tiller = setup.number("bow.upper_tiller") + 0.002
    now = bow().with_changes({"bow.upper_tiller": f"{1e3 * tiller!r} mm"})
    again = FittedBow.of(setup.replace(**{"bow.upper_tiller": f"{1e3 * tiller!r} mm"}), MESH)
    assert now.setup == again.setup
    assert now.met == again.met
    assert now.launch().clear == again.launch().clear
    (edit,) = now.launch().edits
    assert edit.refitted
    assert edit.changes == {"bow.upper_tiller": now.given.bow.upper_tiller}
    assert "fitted anew to the measured brace height, tillers and draw weight" in edit.words()
    assert "because bow.upper_tiller was changed" in edit.words()


def test_the_others_are_made_to_the_bow_fitted_anew() -> None:
    changes = {"bow.draw_weight": "150 N", BOLT: "1 turn"}
    now = bow().with_changes(changes)
    again = FittedBow.of(measured("club-outdoor").replace(**{"bow.draw_weight": "150 N"}), MESH)
    assert now.launch().clear == again.launch({BOLT: "1 turn"}).clear
    assert now.given.upper_limb.bolt_turns is None  # the file has none
    assert [edit.refitted for edit in now.edits] == [True, False]
    turned_first = bow().with_changes({BOLT: "1 turn"}).with_changes(with_si({"bow.draw_weight": 150.0}))
    assert turned_first == now
    assert turned_first.setup == now.setup
    in_the_file = bow().with_changes(changes, "refit")
    assert in_the_file.given.upper_limb.bolt_turns == 1.0
    assert in_the_file.launch().clear == in_the_file.with_changes({}).launch().clear
    assert [edit.refitted for edit in in_the_file.edits] == [True]


def test_what_is_held_is_that_of_the_bow_before_the_change() -> None:
    turned = bow().with_changes({BOLT: "1 turn"})
    for base in (bow(), turned):
        changes = {"bow.upper_tiller": "226 mm", "lower_limb.bolt_turns": "0.5 turn"}
        now = base.with_changes(changes, ("reading", "brace height"))
        assert now.reading == pytest.approx(base.reading, abs=1e-8)
        assert now.brace_height == pytest.approx(base.brace_height, abs=1e-8)
    with pytest.raises(SetupError, match=r"bow.brace_height: cannot change while the brace height is held"):
        bow().with_changes({"bow.brace_height": "215 mm"}, "brace height")


def test_what_is_measured_is_refused_on_a_bow_given_as_built() -> None:
    with pytest.raises(SetupError, match=r'bow.upper_tiller: .*form = "measured"'):
        FittedBow.of(built("club-outdoor", MESH), MESH).with_changes({"bow.upper_tiller": "190 mm"})


def test_a_limb_made_thinner_leaves_the_other_as_it_was_fitted() -> None:
    tables = {"width": ("42 mm", "16 mm"), "thickness": ("9 mm", "5 mm"), "modulus": "30 GPa"}
    setup = measured("club-outdoor").replace(**{f"limbs.{name}": value for name, value in tables.items()})
    base, thinner = FittedBow.of(setup, MESH), {"lower_limb.thickness": ("8.5 mm", "5 mm")}
    now = base.with_changes(thinner)
    assert now.setup.upper_limb == base.setup.upper_limb
    assert now.setup.lower_limb.modulus == base.setup.lower_limb.modulus
    assert now.launch().draw_force < base.launch().draw_force - 1.0
    anew = base.with_changes(thinner, "refit")
    assert anew.setup.upper_limb.modulus != base.setup.upper_limb.modulus
    assert anew.launch().draw_force == pytest.approx(base.launch().draw_force, rel=1e-6)
    for one in (now, anew):
        assert SCRAPING in one.launch().warnings


def test_a_file_that_cannot_be_fitted_may_be_with_what_is_changed_of_it() -> None:
    """A tiller mistyped in the file, a shaft that is too short to weigh the bow with."""
    good = measured("club-outdoor")
    for wrong, right, hold in (
        ({"bow.upper_tiller": "400 mm"}, {"bow.upper_tiller": (good.bow.upper_tiller, "m"), BOLT: "0.5 turn"}, None),
        ({"arrow.length": "500 mm"}, {"arrow.length": (good.arrow.length, "m")}, "refit"),
    ):
        bad = good.replace(**wrong)
        with pytest.raises((SetupError, ShotError)):
            FittedBow.of(bad, MESH)
        now = FittedBow.of(bad, MESH, right, hold)
        rest = {path: value for path, value in right.items() if path == BOLT}
        assert now.launch().clear == bow().launch(rest).clear
        assert now.edits[0].refitted
        assert not any("More draw weight" in one for one in now.launch().warnings)
    with pytest.raises(ShotError, match="lengthen the arrow"):
        FittedBow.of(good.replace(**{"arrow.length": "500 mm"}), MESH, {"arrow.length": (good.arrow.length, "m")})


def test_locators_set_to_a_reading_are_tied_there_when_something_else_changes() -> None:
    now = bow().with_changes({READING: "10 mm"}).with_changes({BOLT: "1 turn"})
    assert now.setup.nock.locators.reading is None
    assert now.reading > 0.0102  # they ride along with the bolt
    assert [edit.words().split(";")[0] for edit in now.edits] == [
        "changed: nock locators reading 10 mm", "changed: upper limb bolt turns 1 turn",
    ]  # fmt: skip


def test_limbs_changed_both_and_one_once_more_are_told_apart() -> None:
    now = bow().with_changes({"limbs.bolt_turns": "1 turn", BOLT: "0.5 turn"})
    assert now.edits[0].changes == {BOLT: 0.5, "lower_limb.bolt_turns": 1.0}


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"riser.rods": []}, "riser rods none"),
        ({"riser.rods.0.end_mass": "100 g"}, "riser rods 0 end mass 100 g"),
        ({"string.masses": [{"mass": "1 g", "at": "200 mm"}]}, "string masses given anew"),
        ({"archer.release_time": "5 ms"}, "archer release time [5 ms, 5 ms, 5 ms]"),
        (
            {"archer.release_time.0": "5 ms"},
            "archer release time 0 5 ms; archer release time, not given, is assumed: usual value [common practice]",
        ),
        ({"rest.unlimited_support": True, "archer.hold": "split"}, "rest unlimited support yes, archer hold split"),
        ({"arrow.fletching_mass": None}, "arrow fletching mass no longer given"),
    ],
)
def test_an_edit_tells_every_kind_of_value(changes: dict[str, object], words: str) -> None:
    now = bow().with_changes(changes)
    assert now.edits[0].words().startswith(f"changed: {words}; held: nothing else touched")
    assert len({now, bow(), pickle.loads(pickle.dumps(now))}) == 2


def test_changes_carry_their_units_or_are_in_si() -> None:
    """And what is the same is computed once."""
    own = replace(bow())
    first = own.launch({READING: "7 mm"})
    assert own.launch({READING: (7, "mm")}) is own.launch(with_si({READING: 0.007})) is first
    assert own.at_reading("7 mm").clear == own.at_reading((0.007, "m")).clear == first.clear
    assert own.with_changes(with_si({BOLT: 0.5})).setup == own.with_changes({BOLT: (0.5, "turn")}).setup
    for ask in (own.launch, own.with_changes):
        with pytest.raises(SetupError, match=r"nock\.locators\.reading: 0\.007 has no unit"):
            ask({READING: 0.007})
    for refused in (lambda: own.at_reading(0.007), lambda: own.drawn_to(0.7)):
        with pytest.raises(SetupError, match="has no unit"):
            refused()
