"""The honest range of the best reading, beside the same draws tuned one by one the long way."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from archerysim.equipment import SetupError, field_info
from archerysim.errors import ShotError
from archerysim.shot.fitted_bow import FittedBow
from archerysim.study.notes.posterior import FLIGHT
from archerysim.study.tuning.aims import AIMS, DEFAULT_AIM
from archerysim.study.tuning.deciding import FLIGHT as FLYING
from archerysim.study.tuning.deciding import deciding, words_of
from archerysim.study.tuning.drawn_reading import NONE, Drawn, drawn_bow
from archerysim.study.tuning.honest_range import (
    HonestRange,
    asked_of,
    drawn_inputs,
    drawn_rows,
    honest_range,
    range_of,
)
from archerysim.study.tuning.together import together_reading
from archerysim.study.tuning.tune import tune
from archerysim.study.uncertainty.inputs import Input, draws_of, usual_inputs
from tests.support.shot.example_bows import NAMES, measured

MESH = "coarse"
ROLL = {"archer.side_roll": "3 deg"}


@cache
def club(seed: int = 0, workers: int = 1) -> HonestRange:
    return honest_range(measured("club-outdoor"), draws=8, seed=seed, mesh=MESH, workers=workers)


@pytest.mark.parametrize("name", ["club-outdoor", "barebow"])  # fingers split, and under
def test_it_is_that_of_every_draw_tuned_the_long_way(name: str) -> None:
    """64 draws, each searched from two fixed readings with a sight of its own: both ends within a tenth of a mm.

    Here two or three shots do, from the answer of the bow as given and with its sight.
    """
    bow = FittedBow.of(measured(name), MESH)
    normal, inputs, given = drawn_inputs(bow, None, 64, 0)
    question = asked_of(bow, AIMS[DEFAULT_AIM], 18.0)
    quick = drawn_rows(given, question, inputs, normal)
    slow = []
    for change, one in zip(draws_of(inputs, normal[:, :-1]), quick, strict=True):
        try:
            drawn, slip = drawn_bow(given, inputs, change)
            found = together_reading(drawn)
        except (SetupError, ShotError) as error:
            slow.append(Drawn(np.nan, reason=str(error)))
            continue
        # bare shafts that rise with the locators meet the fletched ones too: no reading to tune to
        slow.append(
            one._replace(reading=1e-3 * found.reading - slip) if found.slope < 0.0 else Drawn(np.nan, reason="rises")
        )
    one, other = (range_of(given, question, inputs, normal, 0, drawn) for drawn in (quick, slow))
    assert abs(one.failed - other.failed) <= 1
    assert one.low == pytest.approx(other.low, abs=0.1)
    assert one.high == pytest.approx(other.high, abs=0.1)
    both = np.isfinite(one.sample) & np.isfinite(other.sample)
    assert np.quantile(np.abs(one.sample - other.sample)[both], 0.9) < 0.1
    assert one.low < one.best < one.high


def test_the_same_seed_draws_the_same_bows_on_any_number_of_workers() -> None:
    np.testing.assert_array_equal(club().sample, club(workers=2).sample)
    assert not np.array_equal(club().sample, club(seed=1).sample)
    assert club().best == club(seed=1).best  # the bow as given


def test_tune_has_it_where_it_is_asked_for() -> None:
    tuned = tune(measured("club-outdoor"), others=False, sure=True, draws=8, mesh=MESH, workers=1)
    assert tuned.range is not None
    np.testing.assert_array_equal(tuned.range.sample, club().sample)
    assert tuned.range.best == pytest.approx(tuned.value, abs=1e-9)
    assert tuned.move is not None
    assert tuned.move.tie == tuned.range.high
    table = tuned.to_xarray()
    assert float(table["range_high"]) == tuned.range.high
    assert table["share"].values.sum() == pytest.approx(1.0)
    plain = tune(measured("club-outdoor"), others=False, mesh=MESH)
    assert (plain.range, plain.move, plain.butt) == (None, None, None)


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ({"aim": "least swing"}, "'least swing' has none"),
        (
            {"path": "rest.height", "within": ("5 mm", "60 mm"), "aim": "no angle of attack"},
            "only the locators' reading has one",
        ),
        ({"crawls": ("0 mm", "20 mm")}, "a compromise over crawls has none"),
    ],
)
def test_why_there_is_none(options: dict, words: str) -> None:
    found = tune(measured("barebow"), others=False, sure=True, mesh=MESH, **options)
    assert found.range is None
    assert found.no_range == words


def test_draws_without_an_answer_are_counted_and_left_out() -> None:
    """Fingers that roll the string so little that the arm carries the shaft to the end: no reading helps."""
    found = honest_range(
        measured("club-outdoor").replace(**{"archer.side_roll": "5 deg"}), draws=16, uncertainty=ROLL, mesh=MESH,
        workers=1,
    )  # fmt: skip
    assert 0 < found.failed < 8
    assert found.failed == np.isnan(found.sample).sum() == sum(found.reasons.values())
    assert NONE in found.reasons
    assert found.low == pytest.approx(np.nanquantile(found.sample, 0.05))


def test_where_most_have_none_there_is_no_range() -> None:
    found = honest_range(
        measured("club-outdoor").replace(**{"rest.reach": "40 mm"}), draws=4, uncertainty=ROLL, mesh=MESH, workers=1
    )
    assert found.failed == 4
    assert not found.known
    assert np.isnan([found.low, found.high]).all()


def test_the_flight_s_model_has_its_share() -> None:
    """Where nothing else is unsure, what is left is how far the pitch rate's part may be off."""
    normal, inputs, given = drawn_inputs(FittedBow.of(measured("junior"), MESH), {"nock.depth": "1e-6 mm"}, 16, 0)
    question = asked_of(given, AIMS[DEFAULT_AIM], 18.0)
    drawn = drawn_rows(given, question, inputs, normal)
    found = range_of(given, question, inputs, normal, 0, drawn)
    part = 1e3 * np.median([one.by_rate for one in drawn])
    assert abs(part) > 0.5  # [mm] of reading
    np.testing.assert_allclose(found.sample, found.best + FLIGHT * part * normal[:, -1], atol=0.02)
    assert found.deciding[0].words == FLYING
    assert found.deciding[0].share > 0.99


def test_what_decides_is_found_in_the_draws() -> None:
    inputs = tuple(
        Input(path, 1.0, False, "") for path in ("nock.slope", "archer.finger_shares.0", "archer.finger_shares.2")
    )
    normal = np.random.default_rng(0).normal(size=(400, 4))
    sample = normal @ np.array([1.0, 2.0, -2.0, 0.0])
    sample[::7] = np.nan
    first, second, third = deciding(inputs, normal, sample)
    assert (first.words, second.words, third.words) == ("load of the fingers", "slope of the nock's floor", FLYING)
    assert first.share == pytest.approx(8.0 / 9.0, abs=0.02)  # of both fingers together
    assert third.share < 0.01
    assert deciding(inputs, normal, np.full(400, np.nan)) == ()


def test_every_usual_input_has_words() -> None:
    paths = {one.path for name in (*NAMES, "longbow") for one in usual_inputs(measured(name), 2)}
    for path in paths:
        assert 4 < len(words_of(path)) < 45
    assert words_of("bow.pocket_angle", "one piece") == "lean of the limbs at the handle"
    assert "pocket" in words_of("bow.pocket_angle")
    assert words_of("nock.locators.gap") == "play between the locators"
    assert words_of("archer.elevation") == field_info("archer.elevation").text  # none of its own


def test_least_swing_is_refused() -> None:
    with pytest.raises(SetupError, match="'least swing' has no range of its own"):
        honest_range(measured("club-outdoor"), "least swing", mesh=MESH)
