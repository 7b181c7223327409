"""A fitted bow: what it keeps, what a change holds on it, what it sends to a worker."""

from __future__ import annotations

import pickle
from dataclasses import FrozenInstanceError, replace
from functools import cache
from threading import Thread

import numpy as np
import pytest

from archerysim.equipment import SetupError, with_si
from archerysim.errors import ShotError
from archerysim.shot import fitted_bow
from archerysim.shot.fitted_bow import FittedBow, Memo
from archerysim.shot.shoot import draw, shoot
from tests.shot.examples import READING, built, measured

MESH = "coarse"
BOLT = "upper_limb.bolt_turns"


@cache
def bow() -> FittedBow:
    return FittedBow.of(measured("club-outdoor"), MESH)


def counted(monkeypatch: pytest.MonkeyPatch) -> list[object]:
    """One entry for each shot that is computed."""
    shots: list[object] = []
    for name in ("shoot_built", "shoot_drawn"):
        real = getattr(fitted_bow, name)
        monkeypatch.setattr(
            fitted_bow, name, lambda *args, real=real, **named: (shots.append(args[0]), real(*args, **named))[1]
        )
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
    with pytest.raises(SetupError, match="is measured on the bow"):
        own.launch({"bow.upper_tiller": "190 mm"})


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
        bow().reading = 0.0  # type: ignore[misc]


def test_a_fitted_bow_is_not_fitted_again() -> None:
    assert FittedBow.of(bow()) is bow()
    other = FittedBow.of(bow(), before=built("junior", MESH))
    assert other.before is not None
    assert other.before.setup == built("junior", MESH)
    assert other.setup is bow().setup


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
        bow().with_changes({BOLT: "1 turn"}).launch({}, "refit")


def test_changes_carry_their_units_or_are_in_si() -> None:
    """And what is the same is computed once."""
    own = replace(bow())
    first = own.launch({READING: "7 mm"})
    assert own.launch({READING: (7, "mm")}) is own.launch(with_si({READING: 0.007})) is first
    assert own.at_reading("7 mm").clear == own.at_reading((0.007, "m")).clear == first.clear
    assert own.with_changes(with_si({BOLT: 0.5})).setup == own.with_changes({BOLT: (0.5, "turn")}).setup
    for ask in (own.launch, own.changed, own.with_changes):
        with pytest.raises(SetupError, match=r"nock\.locators\.reading: 0\.007 has no unit"):
            ask({READING: 0.007})
    for refused in (lambda: own.at_reading(0.007), lambda: own.drawn_to(0.7)):
        with pytest.raises(SetupError, match="has no unit"):
            refused()
