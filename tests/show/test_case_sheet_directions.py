"""The rows "Which way" of the page for the bow case, each move in them held against shots of the examples.

Expected is what the row itself says, of a bare shaft taped to the same mass at 18 m, beside the fletched one with the
same aim. Left and right are put to the model here, not by the library's words: z is left of a right-handed archer.
"""

from __future__ import annotations

import re
from functools import cache

import pytest

from archerysim.equipment import filled
from archerysim.fields.paths import InSi
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.flight.bare_shaft import bare_difference
from archerysim.shot.launch import Launch
from archerysim.show.case_sheet.markdown import sheet_markdown
from archerysim.show.case_sheet.rows import directions
from archerysim.study.case_sheet.case_sheet import case_sheet
from tests.random_bows.contact import contact
from tests.random_bows.trade import side_further_out
from tests.support.shot.example_bows import NAMES, fitted

BOWS = (*NAMES, "longbow")
MM, GRAIN = 1e-3, 6.479891e-5
SEEN = 1.0 * MM  # on the target: less is no move
# a move in the rows' words: the field, and what is added to it, or by what it is multiplied
MOVES: dict[str, tuple[str, float, float]] = {
    "locators UP": ("nock.locators.reading", 1.0 * MM, 1.0),
    "locators DOWN": ("nock.locators.reading", -1.0 * MM, 1.0),
    "softer shaft": ("arrow.spine", 0.0, 1.05),
    "stiffer shaft": ("arrow.spine", 0.0, 0.95),
    "heavier point": ("arrow.point_mass", 10.0 * GRAIN, 1.0),
    "lighter point": ("arrow.point_mass", -10.0 * GRAIN, 1.0),
    "side support IN": ("side.offset", -1.0 * MM, 1.0),
    "side support OUT": ("side.offset", 1.0 * MM, 1.0),
}
FILLING = (
    r"weaker|stiffer|a little|towards the riser|away from the riser|and the group goes (left|right) with it|"
    r"which turns the nose (up|down)"
)


@cache
def bow_of(name: str, hand: str) -> FittedBow:
    return fitted(name).with_changes({"archer.handed": hand}) if hand == "left" else fitted(name)


@cache
def shot(name: str, hand: str, move: str = "") -> Launch:
    bow = bow_of(name, hand)
    if not move:
        return bow.launch()
    path, more, times = MOVES[move]
    value = bow.reading if path == "nock.locators.reading" else float(filled(bow.setup).number(path))
    return bow.launch(InSi({path: times * value + more}))


def place(launch: Launch, seen: str, hand: str) -> float:
    """How far bare shafts lie to where the row sees them: "bare high", "bare left" [m]."""
    apart, where = bare_difference(launch, "18 m"), seen.removeprefix("bare ")
    left = apart.side if hand == "right" else -apart.side
    return {"high": apart.height, "low": -apart.height, "left": left, "right": -left}[where]


def clauses(do: str) -> list[str]:
    """The moves that a row names; all else in it has to be known here as no move."""
    moves = [part.strip() for part in re.split(r"[:;,]", do)]
    return [part for part in moves if not re.fullmatch(FILLING, part)]


def rows(name: str, hand: str) -> dict[str, str]:
    return {seen: do for seen, do in directions(bow_of(name, hand).setup) if seen.startswith("bare ")}


@pytest.mark.parametrize(
    ("name", "hand"), [*((name, "right") for name in BOWS), ("club-outdoor", "left"), ("longbow", "left")]
)
def test_every_move_takes_back_what_is_seen(name: str, hand: str) -> None:
    told = rows(name, hand)
    assert set(told) == {"bare high", "bare low", "bare left", "bare right"}
    for seen, do in told.items():
        for move in clauses(do):
            assert move in MOVES, f"{move!r} of the row {seen!r} is held against nothing"
            before, after = shot(name, hand), shot(name, hand, move)
            assert not contact(after) or name == "longbow", (seen, move)  # its tail lies on the shelf throughout
            assert place(before, seen, hand) - place(after, seen, hand) > SEEN, (seen, move)
    named = {move for do in told.values() for move in clauses(do)}
    assert named == set(MOVES) - ({"side support IN", "side support OUT"} if name == "longbow" else set())


def test_the_page_is_changed_over_by_a_set_hand_too() -> None:
    """`--set archer.handed=left` makes another archer of the same file."""
    bow = fitted("club-outdoor", "coarse").with_changes({"archer.handed": "left"})
    assert bow.given.archer.handed != "left"
    text = sheet_markdown(case_sheet(bow, draws=2, workers=1))
    assert "left-handed" in text
    assert "| bare right | weaker" in text


@pytest.mark.parametrize("name", BOWS)
def test_locators_up_turn_the_nose_down(name: str) -> None:
    for move, way in (("locators UP", -1.0), ("locators DOWN", 1.0)):
        (do,) = (do for do in rows(name, "right").values() if do.startswith(move))
        assert do.endswith("the nose down" if way < 0.0 else "the nose up")
        before, after = shot(name, "right").clear, shot(name, "right", move).clear
        assert way * (after.pitch - before.pitch) > 0.0
        assert way * (after.angle_of_attack - before.angle_of_attack) > 0.0


@pytest.mark.parametrize("name", NAMES)
def test_a_side_support_takes_the_group_with_it_and_farther(name: str) -> None:
    for hand, out, back in (("right", "left", "right"), ("left", "right", "left")):
        told = rows(name, hand)
        assert f"IN, towards the riser, and the group goes {back} with it" in told[f"bare {out}"]
        assert f"OUT, away from the riser, and the group goes {out} with it" in told[f"bare {back}"]
    group = side_further_out(bow_of(name, "right"))  # by 1 mm, positive away from the riser [mm]
    bare = [place(shot(name, "right", move), "bare left", "right") for move in ("", "side support OUT")]
    assert group.after - group.before > (bare[1] - bare[0]) / MM > 0.0


@pytest.mark.parametrize("name", NAMES)
def test_a_point_does_more_than_a_side_support(name: str) -> None:
    """ "A little": 10 gr on the point beside a millimetre."""
    base, point, support = (
        place(shot(name, "right", move), "bare left", "right") for move in ("", "heavier point", "side support IN")
    )
    assert base - point > base - support > 0.0
