"""Further shots: which are proposed, and which are not."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from archerysim.equipment import field_info
from archerysim.study.notes import next_shot as module
from archerysim.study.notes.group_means import SCATTER, spread_of
from archerysim.study.notes.move import CLEAR
from archerysim.study.notes.next_shot import ASIDE, BARE, FLETCHED
from archerysim.study.notes.posterior import FLIGHT, SQUARE
from archerysim.study.notes.response_surface import STEP, Expected, Place, allowed
from tests.support.study.noted_cases import LOW, NOW, expected

FAR = 18.0


@pytest.fixture
def ends(monkeypatch: pytest.MonkeyPatch):  # type: ignore[no-untyped-def]
    """Readings and words of the ends proposed, their slopes left out."""
    readings: list[float] = []

    def rows(e, reading, distances, scatter, extra=None):  # type: ignore[no-untyped-def]
        readings.extend([reading] * len(distances))
        return [np.zeros((2, len(e.causes)))] * len(distances)

    monkeypatch.setattr(module, "_rows", rows)

    def proposed(e: Expected, suspected: float = -np.inf) -> tuple[list[float], str]:
        readings.clear()
        words = " | ".join(text for text, _ in module._candidates(e, SCATTER, False, suspected))
        return sorted(set(readings)), words

    return proposed


def at(reading: float) -> Expected:
    return dataclasses.replace(expected(), places=(Place(reading, FAR),))


def test_both_sides_and_this_reading_are_proposed(ends) -> None:  # type: ignore[no-untyped-def]
    readings, words = ends(at(0.010))
    assert readings == pytest.approx([0.010 - ASIDE, 0.010, 0.010 + ASIDE])
    for part in ("3 mm higher", "3 mm lower", "more point", "this reading", "arrow's speed"):
        assert part in words


def test_no_end_is_proposed_where_contact_is_suspected(ends) -> None:  # type: ignore[no-untyped-def]
    for now, suspected, wanted in (
        (NOW, LOW, [NOW, NOW + ASIDE]),
        (0.0095, LOW, [0.0095, 0.0125]),  # 3 mm lower is above it, but not clear of it
        (LOW, LOW, [LOW + ASIDE]),
        (LOW - 0.002, LOW, []),
    ):
        readings, words = ends(at(now), suspected)
        assert [one for one in readings if one < suspected + CLEAR - 1e-9] == []
        assert readings == pytest.approx(wanted)
        assert "arrow's speed" in words
    assert ends(at(0.010 + CLEAR), 0.007)[0][0] == pytest.approx(0.010 + CLEAR - ASIDE)  # just clear of it


def test_no_end_is_proposed_out_of_the_reading_s_range(ends) -> None:  # type: ignore[no-untyped-def]
    assert ends(at(0.024))[0] == pytest.approx([0.024 - ASIDE, 0.024])
    assert ends(at(0.002))[0][0] == pytest.approx(0.002)


def test_no_heavier_point_than_a_setup_may_have(ends) -> None:  # type: ignore[no-untyped-def]
    most = float(field_info("arrow.point_mass").high)  # type: ignore[arg-type]
    e = expected()
    heavy = dataclasses.replace(e.bow, setup=e.bow.setup.with_si(**{"arrow.point_mass": most}))
    assert "more point" in ends(e)[1]
    assert "more point" not in ends(dataclasses.replace(e, states=(e.states[0]._replace(bow=heavy),)))[1]


@pytest.mark.parametrize("bound", [0.0, 0.4])
def test_slopes_are_taken_up_to_an_input_s_bound(bound: float) -> None:
    """One input bounded below: its slope is that between the bound and one prior spread above."""
    e = expected()
    first, *others = e.causes
    fewer = e.states[0]._replace(causes=(dataclasses.replace(first, low=-bound), *others))
    e = dataclasses.replace(e, states=(fewer,))
    up, aside = module._rows(e, NOW, (FAR,), SCATTER)[0]
    zero = np.zeros(len(e.causes))

    def gap(reading: float, z: np.ndarray) -> np.ndarray:
        return np.array(e.gap(e.launch(reading, z), FAR))

    low, high = (gap(NOW, np.array([end, *zero[1:]])) for end in (-bound, 1.0))
    level = gap(NOW, zero)
    per_reading = (gap(NOW + STEP, zero) - level)[0] / STEP
    sizes = np.hypot(spread_of(FAR, SCATTER, BARE, FLETCHED), FLIGHT * level)
    assert up[0] == pytest.approx((high - low)[0] / (1.0 + bound) / np.hypot(sizes[0], SQUARE * per_reading), rel=1e-3)
    assert aside[0] == pytest.approx((high - low)[1] / (1.0 + bound) / sizes[1], rel=1e-3)


@pytest.mark.parametrize("reading", [0.060, -0.030])
def test_slopes_at_the_ends_of_the_reading_s_range(reading: float) -> None:
    assert allowed(reading + 1.0) == 0.060
    assert np.all(np.isfinite(module._rows(expected(), reading, (FAR,), SCATTER)[0]))
