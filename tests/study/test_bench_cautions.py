"""Cautions with every step at the bench, limits that are passed on the way, and what a bow of one piece refuses."""

from __future__ import annotations

import pytest

import archerysim
from archerysim import SetupError
from archerysim.equipment.bench.parts import stricter
from archerysim.equipment.bench.said import EXAMPLES, FromFile, step_of
from archerysim.equipment.cautions import (
    BOLTS,
    CUTTING,
    HEAT,
    PARTS,
    PASSES,
    SCRAPING,
    SHIMS,
    TWISTING,
    TWO_MAKERS,
)
from archerysim.shot.warnings import NONE
from archerysim.study.bench.cautions import CAUTIONS
from tests.support.shot.example_bows import measured

CLUB, LONGBOW, TRAINING = (measured(name) for name in ("club-outdoor", "longbow", "training-bow"))
SCRAPE = "scrape lower belly 20 cm to 40 cm 0.3 mm"


def told(setup: archerysim.Setup, *steps: str) -> archerysim.BenchChange:
    return archerysim.change(setup, steps, mesh="coarse", planes=1)


def test_no_step_is_without_a_caution() -> None:
    for words in EXAMPLES.values():
        step = step_of(words)
        assert isinstance(step, FromFile) or CAUTIONS[type(step)], words


@pytest.mark.parametrize(
    ("setup", "step", "cautions"),
    [
        (CLUB, "turn lower 1/4 turn in", (BOLTS,)),
        (CLUB, "shim upper 0.3 deg forward", (SHIMS,)),
        (CLUB, "twist string 3 mm shorter", (TWISTING,)),
        (CLUB, "swap limbs", (PARTS,)),
        (CLUB, "limbs from examples/barebow.toml", (PARTS, TWO_MAKERS)),
        (CLUB, "riser from examples/barebow.toml", (PARTS, TWO_MAKERS)),
        (LONGBOW, "cut both 10 mm", (CUTTING, SCRAPING)),
        (LONGBOW, "heat both 30 cm to 50 cm 0.2 1/m", (HEAT, PASSES)),
        (LONGBOW, SCRAPE, (SCRAPING, PASSES)),
    ],
)
def test_every_step_tells_its_caution_once(setup: archerysim.Setup, step: str, cautions: tuple[str, ...]) -> None:
    warnings = told(setup, step).warnings
    for one in cautions:
        assert warnings.count(one) == 1
    assert warnings[-1] == NONE


def test_what_was_undone_was_done() -> None:
    """A bolt turned in and out again has been turned."""
    assert BOLTS in told(CLUB, "turn lower 1/4 turn in", "turn lower 1/4 turn out").warnings


def test_more_weight_and_more_strain_are_told() -> None:
    found = told(LONGBOW, "cut both 10 mm", "twist string 20 mm shorter")
    assert any(one.startswith("More draw weight than the bow") for one in found.warnings)
    assert any(one.startswith("More strain than before: upper limb 0.8") for one in found.warnings)
    assert not any("More strain" in one for one in told(LONGBOW, "twist string 5 mm longer").warnings)


# limits


@pytest.mark.parametrize(
    ("limits", "words"),
    [
        ({}, "no limit of draw weight and draw length: never past the weight and draw measured, 34 lbf at 28 in"),
        ({"limits.longest_draw": "30 in"}, "no limit of draw weight: never past"),
        ({"limits.longest_draw": "30 in", "limits.highest_draw_weight": "40 lb"}, ""),
    ],
)
def test_without_a_limit_what_was_measured_is_one(limits: dict[str, str], words: str) -> None:
    warnings = told(CLUB.replace(limits), "twist string 1 mm shorter").warnings
    assert any(words in one for one in warnings) if words else not any("has no limit" in one for one in warnings)


def test_a_bow_as_built_was_not_weighed() -> None:
    built = archerysim.fit(CLUB, mesh="coarse").setup
    assert any("the weight and draw as given, 34 lbf at 28 in" in one for one in told(built, "swap limbs").warnings)


@pytest.mark.parametrize(
    ("limit", "value", "step"),
    [
        ("brace_height_high", "222 mm", "twist string 6 mm shorter"),
        ("brace_height_low", "218 mm", "twist string 6 mm longer"),
        ("highest_draw_weight", "34.1 lb", "turn both 1 turn in"),
        ("most_bolt_turns", "1 turn", "turn both 2 turn out"),
    ],
)
def test_limits_that_are_passed_are_told_at_the_end_and_on_the_way(limit: str, value: str, step: str) -> None:
    there, back = step, {
        "shorter": "longer", "longer": "shorter", "in": "out", "out": "in",
    }[step.split()[-1]]  # fmt: skip
    setup = CLUB.replace({f"limits.{limit}": value})
    found = told(setup, there)
    assert any(one.startswith(f"limits.{limit}") for one in found.limits_passed)
    assert NONE not in found.warnings
    undone = told(setup, there, f"{there.rsplit(' ', 1)[0]} {back}")
    assert undone.limits_passed == ()
    assert any(one.startswith("After step 1: ") for one in undone.warnings)
    assert NONE not in undone.warnings


def test_strain_over_the_limit_is_told_first() -> None:
    found = told(measured("flatbow"), "scrape upper belly 5 cm to 25 cm 1.6 mm")
    assert found.limits_passed == ("upper_limb.strain_limit",)
    assert "do not draw this bow" in found.warnings[0]


def test_other_limbs_bring_their_makers_limits() -> None:
    """The stricter of both; the junior's arrow that its own limbs bear is too light for others."""
    other = archerysim.Limits(highest_draw_weight="28 lb", lightest_arrow="18 g", brace_height_low="200 mm")
    own = archerysim.Limits(highest_draw_weight="40 lb", lightest_arrow="15 g", longest_draw="29 in")
    assert (
        stricter(own, other)
        == stricter(other, own)
        == archerysim.Limits(
            highest_draw_weight="28 lb", lightest_arrow="18 g", brace_height_low="200 mm", longest_draw="29 in"
        )
    )
    found = told(CLUB, "limbs from examples/training-bow.toml")
    limits = found.bow.setup.limits
    assert (limits.most_bolt_turns, limits.highest_draw_weight) == (
        TRAINING.limits.most_bolt_turns, TRAINING.limits.highest_draw_weight,
    )  # fmt: skip


# a bow of one piece


@pytest.mark.parametrize(
    ("step", "words"),
    [
        ("turn lower 1/4 turn in", "is of one piece: it has no limb bolts"),
        ("shim upper 0.3 deg forward", "it has no pockets for a shim"),
        ("swap limbs", "its limbs cannot change places"),
        ("limbs from examples/club-outdoor.toml", "its limbs do not come off"),
        ("riser from examples/club-outdoor.toml", "its limbs do not come off"),
    ],
)
def test_a_bow_of_one_piece_refuses_what_asks_for_pockets(step: str, words: str) -> None:
    with pytest.raises(SetupError, match=words) as caught:
        told(LONGBOW, step)
    assert caught.value.path == "bow.kind"


def test_and_gives_no_limbs_away() -> None:
    with pytest.raises(SetupError, match='"longbow of one stave" is of one piece'):
        told(CLUB, "limbs from examples/longbow.toml")


# pictures


def test_surfaces_are_not_drawn_beside_the_limit_of_a_lamination_inside() -> None:
    """A core's limit says nothing of the glass outside it: it is told in words."""
    from archerysim import show

    glued, solid = told(TRAINING, "turn lower 1/4 turn in"), told(LONGBOW, SCRAPE)
    assert all(one.inside for one in glued.strains[1].strain)
    for found, lines in ((glued, 0), (solid, 1)):
        axes = show.bench_change(found).axes[2]
        assert sum(one.get_gid() == "limit" for one in axes.lines) == lines
        words = next(one.get_text() for one in axes.texts if one.get_gid() == "limits inside")
        assert ("upper, lamination 2: 0." in words) == (lines == 0)
        picture = show.strain(found.strains[1])
        along = picture.axes[0]
        assert sum(one.get_gid() == "limit" for one in along.lines) == 2 * lines
        assert ("lamination 2" in " ".join(one.get_text() for one in picture.texts)) == (lines == 0)
        low, high = along.get_ylim()
        for line in along.lines:
            assert low < min(line.get_ydata()) <= max(line.get_ydata()) < high
