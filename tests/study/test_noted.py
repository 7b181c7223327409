"""What a group says: robust centre and scatter, shafts called bad, too few, wind."""

from __future__ import annotations

import numpy as np
import pytest

from archerysim.equipment import SetupError
from archerysim.study.notes.group_means import (
    BARE_FACTOR,
    NORMAL,
    SCATTER,
    median_variance,
    read_groups,
    scatter_of,
    spread_of,
)  # fmt: skip
from archerysim.study.notes.noted_records import NotedGroup
from archerysim.study.notes.notes_file import Notes
from tests.support.shot.example_bows import measured
from tests.support.study.noted_cases import CM, NOW, group, notes


def only(some: Notes):  # type: ignore[no-untyped-def]
    (one,) = read_groups(measured("club-outdoor"), some)
    return one


def test_variance_of_the_median_is_that_of_drawn_numbers() -> None:
    rng = np.random.default_rng(3)
    for count in (*range(1, 14), 20):
        seen = np.median(rng.normal(size=(60_000, count)), axis=1).var()
        assert median_variance(count) == pytest.approx(seen, rel=0.025)


def test_scatter_is_that_of_many_groups_and_one_wild_hit_hardly_moves_it() -> None:
    rng = np.random.default_rng(4)
    true = 2.2e-3
    groups = [
        NotedGroup(
            distance=18.0,
            reading=NOW,
            fletched=tuple(true * 18.0 * rng.normal(size=6)),
            bare=tuple(BARE_FACTOR * true * 18.0 * rng.normal(size=3)),
        )
        for _ in range(300)
    ]
    found = scatter_of(notes(*groups))
    assert found == pytest.approx(true, rel=0.07)
    few = scatter_of(notes(*groups[:3]))
    wild = NotedGroup(distance=18.0, reading=NOW, fletched=groups[0].fletched, bare=(*groups[0].bare[:2], 1.5))
    assert scatter_of(notes(wild, *groups[1:3])) == pytest.approx(few, rel=0.15)


def test_without_hits_the_scatter_is_the_usual_one() -> None:
    assert scatter_of(notes(group(0.0, bare=(0.1,), fletched=(0.0,)))) == SCATTER


def test_centre_is_the_middle_hit() -> None:
    one = only(notes(group(0.05)))
    assert one.difference == pytest.approx(0.05 - 0.0, abs=1e-12)
    assert one.sigma == pytest.approx(spread_of(18.0, scatter_of(notes(group(0.05))), 3, 6))
    assert one.used
    assert pytest.approx(1.0 / 0.674490, rel=1e-4) == NORMAL


def test_order_of_hits_does_not_matter() -> None:
    one = group(0.05)
    turned = NotedGroup(
        distance=one.distance, reading=one.reading, bare=one.bare[::-1],
        fletched=(*one.fletched[3:], *one.fletched[:3]),
    )  # fmt: skip
    first, second = only(notes(one)), only(notes(turned))
    assert (first.difference, first.sigma) == (second.difference, second.sigma)


def test_a_shaft_called_bad_is_kept_and_not_used() -> None:
    plain, called = only(notes(group(0.05))), only(notes(group(0.05, bare_bad=(-0.6,), fletched_bad=(0.9,))))
    assert (plain.difference, plain.sigma) == (called.difference, called.sigma)
    assert (plain.bad, called.bad) == (0, 2)


def test_one_wild_hit_not_called_moves_the_centre_no_farther_than_to_a_neighbour() -> None:
    plain = group(0.05)
    for wild in (-2.0, 2.0):
        one = only(notes(group(0.05, bare=(*plain.bare[:2], wild))))
        assert min(plain.bare) <= one.difference <= max(plain.bare)


@pytest.mark.parametrize(
    ("more", "why"),
    [
        ({"bare": (0.1, 0.2)}, "too few good bare shafts: 2"),
        ({"bare": (0.1, 0.2), "bare_bad": (0.3, 0.4)}, "too few good bare shafts: 2"),
        ({"fletched": (0.1, 0.2)}, "too few good fletched shafts: 2"),
        ({"bare": (1.09, 1.1, 1.12)}, "bare shafts 110 cm above, far from the fletched ones: check the numbers and"),
        ({"bare": (-0.6,) * 3, "wind": "2 m/s"}, "bare shafts 60 cm below, far from the fletched ones"),
        ({"wind": "2 m/s"}, "head wind of 2.0 m/s changes the height: repeat in calm"),
        ({"wind": "-2 m/s"}, "tail wind of 2.0 m/s changes the height: repeat in calm"),
    ],
)
def test_what_is_not_used_and_why(more: dict[str, object], why: str) -> None:
    one = only(notes(group(0.05, **more)))
    assert not one.used
    assert why in one.why
    assert only(notes(group(0.05, wind="0.5 m/s"))).used


def test_far_is_three_percent_of_the_distance() -> None:
    assert only(notes(group(0.53))).used
    assert not only(notes(group(0.55))).used
    assert only(notes(group(0.55, distance=30.0))).used


def test_the_scatter_of_a_group_in_another_unit_does_not_count() -> None:
    wrong = group(0.0, bare=(0.4, 1.1, 2.5))
    assert scatter_of(notes(group(0.05), wrong)) == scatter_of(notes(group(0.05)))


def test_errors_count_groups_from_1_as_the_table_does() -> None:
    below = group(0.05, reading=-0.029)
    with pytest.raises(SetupError, match=r"^group\.2\.reading: "):
        read_groups(measured("club-outdoor"), notes(group(0.05, reading=NOW), below, convention="top"))


def test_readings_by_the_top_of_the_nock() -> None:
    one = only(notes(group(5 * CM, reading=0.0138), convention="top"))
    assert one.reading == pytest.approx(0.008)  # the nock of this setup is 5.8 mm high
