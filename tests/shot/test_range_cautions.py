"""Cautions for arrows that fly to a target."""

from __future__ import annotations

import pytest

from archerysim.shot.flight.fly import fly
from archerysim.shot.flight.range_cautions import CAUTION, FAR_BARE, FAR_BUTT, JUNIORS, range_cautions
from tests.support.shot.example_bows import shot

# distance [m], bare, category, what is said
CASES = [
    (18.0, False, "club", ()),
    (30.0, False, "club", ()),
    (30.1, False, "club", (FAR_BUTT,)),
    (18.0, True, "club", (CAUTION,)),
    (30.0, True, "club", (CAUTION,)),
    (50.0, True, "elite", (FAR_BUTT, FAR_BARE)),
    (18.0, True, "junior", (CAUTION,)),
    (20.0, True, "junior", (JUNIORS, CAUTION)),
    (50.0, True, "junior", (JUNIORS, FAR_BUTT)),
    (50.0, False, "junior", (FAR_BUTT,)),
]


@pytest.mark.parametrize(("distance", "bare", "category", "said"), CASES)
def test_said_by_distance_shaft_and_archer(distance: float, bare: bool, category: str, said: tuple[str, ...]) -> None:
    assert range_cautions(distance, bare, category) == said


def test_what_they_say() -> None:
    """Common practice; the words of the trade's cautions."""
    assert all(word in FAR_BUTT for word in ("30 m", "butt", "clear ground", "range's rules"))
    assert all(word in FAR_BARE for word in ("experienced", "18 and 30 m", "range agrees"))
    assert "18 m at most" in JUNIORS


def test_a_flight_knows_its_archer() -> None:
    """The junior's bare shaft is flown all the same: it is cautioned, not refused."""
    flight = fly(shot("junior"), distance="25 m", fletched=False)
    assert range_cautions(flight.distance, not flight.fletched, flight.category) == (JUNIORS, CAUTION)
