"""The journal read: order, what was seen, remarks, what the setup file lacks; a file that holds the changes already."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from archerysim.equipment import SetupError
from archerysim.study.journal.check_again import ALL, rule_of, told_apart
from archerysim.study.journal.journal import ChangeEntry, Journal, read_journal, reading_now, to_write
from archerysim.study.journal.landing import Told, moved_words, read_landing
from archerysim.study.journal.what_was_seen import disagreement
from archerysim.study.notes.group_means import read_groups, spread_of, states_of
from archerysim.study.notes.move import move_with_words
from archerysim.study.notes.noted_records import NotedChange, NotedGroup
from archerysim.study.notes.notes_file import Notes, loads_notes
from archerysim.study.notes.read_group import diagnose
from tests.support.shot.example_bows import measured
from tests.support.study.noted_cases import MESH, NOW, group

READING, POINT, SIDE = "nock.locators.reading", "arrow.point_mass", "side.offset"


def change(what: str, to: str, after: int = 1, **more: str) -> NotedChange:
    return NotedChange(what=what, to=to, after=after, **more)


def journal(groups: list[NotedGroup], *changes: NotedChange, **more: object) -> Journal:
    notes = Notes(name="made up", group=tuple(groups), change=changes, **more)  # type: ignore[arg-type]
    return read_journal(measured("club-outdoor"), notes)


def changed(found: Journal) -> list[ChangeEntry]:
    return [one for one in found.entries if isinstance(one, ChangeEntry)]


def test_groups_and_changes_stand_in_their_order() -> None:
    found = journal([group(0.0), group(0.1)], change(POINT, "100 gr"), change(SIDE, "0 mm", 2))
    assert [type(one).__name__ for one in found.entries] == ["GroupEntry", "ChangeEntry", "GroupEntry", "ChangeEntry"]
    assert [one.changes[0].what for one in changed(found)] == [POINT, SIDE]


def test_what_was_seen_is_the_middle_after_less_the_middle_before() -> None:
    before, after = group(0.01), group(0.05)
    (one,) = changed(journal([before, before, after], change(POINT, "100 gr", 2)))
    assert one.seen is not None
    assert one.seen.up == pytest.approx(0.04)
    sigma = read_groups(measured("club-outdoor"), Notes(name="x", group=(before, before, after)))[0].sigma
    assert one.seen.up_sigma == pytest.approx(sigma * math.sqrt(1.5))  # two groups before, one after
    assert math.isnan(one.seen.right)


def test_left_and_right_as_the_archer_sees_them() -> None:
    aside = {"sideways": -0.06}, {"sideways": -0.01}
    groups = [group(0.0, **one) for one in aside]
    for handed in ("right", "left"):
        setup = measured("club-outdoor").replace({"archer.handed": handed})
        notes = Notes(name="x", group=tuple(groups), change=(change(POINT, "100 gr"),))
        (one,) = changed(read_journal(setup, notes))
        assert one.seen is not None
        assert one.seen.right == pytest.approx(0.05)


def test_groups_on_other_distances_are_not_held_against_each_other() -> None:
    (one,) = changed(journal([group(0.0), group(0.1, distance=30.0)], change(POINT, "100 gr")))
    assert one.seen is None


def test_two_at_one_time_cannot_be_told_apart() -> None:
    both = change(POINT, "100 gr"), change(SIDE, "0 mm")
    (one,) = changed(journal([group(0.0), group(0.1)], *both))
    assert any(f"2 things were changed at one time ({POINT}, {SIDE})" in remark for remark in one.remarks)
    alone = changed(journal([group(0.0), group(0.1)], both[0]))[0]
    assert not any("told apart" in remark for remark in alone.remarks)
    dated = change(POINT, "100 gr", date="2026-05-01"), change(SIDE, "0 mm", date="2026-05-02")
    found = changed(journal([group(0.0), group(0.1)], *dated))
    assert len(found) == 2
    assert all(any("no group was shot between" in remark for remark in entry.remarks) for entry in found)
    assert all(entry.seen is None for entry in found)


def test_a_reading_that_moved_without_a_change_is_said() -> None:
    (one,) = changed(journal([group(0.0), group(0.1, reading=0.005)], change(POINT, "100 gr")))
    assert any("another reading than those before it" in remark for remark in one.remarks)
    assert one.seen is None
    (told,) = changed(journal([group(0.0), group(0.1, reading=0.005)], change(READING, "5 mm")))
    assert told.seen is not None


def test_what_is_measured_again_is_left_out_of_what_is_still_to_be() -> None:
    def said(*more: NotedChange, groups: int = 1) -> str:
        found = journal([group(0.0)] * groups, change("string.strands", "16"), *more)
        return " ".join(changed(found)[0].remarks)

    assert "measure again brace height, upper tiller, lower tiller, draw weight and the locators' reading" in said()
    assert "the locators' reading" not in said(groups=2)  # every group has it
    later = tuple(change(path, "220 mm" if "brace" in path else "195 mm") for path in ALL[:3])
    assert "measure again draw weight" in said(*later, groups=2)
    assert "at one time" not in said(*later)
    assert told_apart(("string.strands", "bow.brace_height", POINT)) == ("string.strands", POINT)
    assert rule_of("air.density") is None


def test_the_other_way_and_far_more_than_predicted_are_said() -> None:
    told = "at 18 m bare 20.0 cm lower"
    for middle, words in ((0.12, "it went the other way"), (-0.5, "far more"), (0.0, "far less"), (-0.2, "")):
        (one,) = changed(journal([group(0.0), group(middle)], change(POINT, "100 gr", predicted=told)))
        odd = [remark for remark in one.remarks if "up and down" in remark]
        assert bool(odd) == bool(words), (middle, odd)
        assert not words or words in odd[0]


def test_within_the_scatter_nothing_is_said() -> None:
    sigma = spread_of(18.0, 0.00167, 3, 6)
    assert disagreement(0.01, -0.9 * sigma, sigma) == ""
    assert disagreement(0.0, 2.9 * sigma, sigma) == ""
    assert disagreement(0.0, 3.1 * sigma, sigma) == "far more"
    assert disagreement(2.0 * sigma, -2.0 * sigma, sigma) == "the other way"


def test_words_stand_for_groups_where_none_was_shot() -> None:
    """ "low" is where bare shafts lie: told from the groups before; "lower" is a change."""
    for seen, up in (("bare 3 cm low", -0.05), ("bare 3 cm lower", -0.03), ("flew well", None)):
        found = journal([group(0.02)], change(POINT, "100 gr", seen=seen))
        told = changed(found)[0].seen
        assert (told is None) == (up is None)
        assert told is None or told.up == pytest.approx(up)
    assert changed(journal([], change(POINT, "100 gr", 0, seen="bare 3 cm low")))[0].seen is None


def test_why_and_what_is_predicted_that_do_not_go_together() -> None:
    told = {"predicted": "at 18 m bare 2.3 cm lower, 1.0 cm further left"}
    for why, odd in (
        ("bare shafts low", "bare low"),
        ("bare shafts high", ""),
        ("bare left", "bare left"),
        ("worn", ""),
    ):
        (one,) = changed(journal([group(0.0)], change(POINT, "100 gr", why=why, **told)))
        said = [remark for remark in one.remarks if remark.startswith("why: ")]
        assert bool(said) == bool(odd)
        assert not odd or odd in said[0]


def test_a_prediction_beyond_all_groups_is_said() -> None:
    (one,) = changed(journal([group(0.0)], change(POINT, "10 gr", predicted="at 18 m bare 153.6 cm lower")))
    assert any("check the new value and its unit" in remark for remark in one.remarks)


def test_what_the_setup_file_lacks_and_what_the_journal_never_had() -> None:
    changes = change(POINT, "120 gr", was="90 gr"), change(READING, "9 mm", was="8 mm")
    groups = [group(0.0)]
    setup = measured("club-outdoor")
    notes = Notes(name="x", group=tuple(groups), change=changes)
    assert read_journal(setup, notes).pending == ((POINT, "120 gr"), (READING, "9 mm"))
    held = setup.replace({POINT: "120 gr", READING: "9 mm"})
    assert read_journal(held, notes).pending == ()
    odd = read_journal(setup.replace({POINT: "100 gr"}), notes)
    assert any(one.startswith(f"{POINT}: the setup file has a value that") for one in odd.remarks)
    assert reading_now(notes) == 0.009
    assert reading_now(Notes(name="x", group=(*groups, group(0.0, reading=0.007)), change=changes)) == 0.007


def test_the_reading_of_the_last_group_is_what_the_setup_file_lacks() -> None:
    setup = measured("club-outdoor")  # 8 mm by the underside, the nock 5.8 mm high
    assert journal([group(0.0), group(0.0, reading=0.006)]).pending == ((READING, "6 mm"),)
    assert journal([group(0.0, reading=0.006), group(0.0)]).pending == ()
    later = journal([group(0.0), group(0.0, reading=0.007)], change(READING, "9 mm"))
    assert later.pending == ((READING, "7 mm"),)  # a later group tells another
    assert journal([group(0.0, reading=0.0118)], convention="top").pending == ((READING, "6 mm"),)
    top = setup.replace({READING: "13.8 mm", "nock.locators.convention": "top"})
    notes = Notes(name="x", group=(group(0.0, reading=0.006),), convention="underside")
    assert read_journal(top, notes).pending == ((READING, "11.8 mm"),)


def test_where_a_move_goes_is_to_be_written_once_it_is_to_be_acted_on() -> None:
    setup = measured("club-outdoor")
    move = move_with_words("down", -0.00163, -0.00163, (-0.003, -0.001), 0.99, NOW, True, 0.0)
    assert to_write(setup, move) == ((READING, "6.4 mm"),)
    top = setup.replace({READING: "13.8 mm", "nock.locators.convention": "top"})
    assert to_write(top, move) == ((READING, "12.2 mm"),)
    assert to_write(setup, replace(move, repeated=False)) == ()
    assert to_write(setup, replace(move, size=0.0, to=NOW)) == ()
    assert to_write(setup.replace({READING: "6.4 mm"}), move) == ()
    assert to_write(setup, None) == ()


def test_a_file_that_holds_the_changes_already_is_read_as_one_that_does_not() -> None:
    """A group is read with the bow of its day, whichever of the two bows the file tells.

    Not to the bit: the bow is fitted with the arrow of the file lying in it.
    """
    changes = (change(POINT, "120 gr", was="90 gr"), change("arrow.spine", "650", was="700"))
    notes = Notes(name="x", group=(group(0.05), group(-0.01)), change=changes)
    before = measured("club-outdoor")
    after = before.replace({POINT: "120 gr", "arrow.spine": "650"})
    assert [sorted(one) for one in states_of(notes, before)] == [[], sorted(one.what for one in changes)]
    assert [sorted(one) for one in states_of(notes, after)] == [sorted(one.what for one in changes), []]
    first, second = (diagnose(setup, notes, further=False, mesh=MESH, planes=1, workers=1) for setup in (before, after))
    assert first.expected is not None
    assert second.expected is not None
    for k in (0, 1):
        one, other = first.expected.launch(NOW, state=k), second.expected.launch(NOW, state=k)
        assert one.drawing.setup.arrow == other.drawing.setup.arrow
        assert one.clear.angle_of_attack == pytest.approx(other.clear.angle_of_attack, abs=2e-3)
    assert first.move is not None
    assert second.move is not None
    assert first.move.wanted == pytest.approx(second.move.wanted, abs=1e-4)


def test_a_journal_of_changes_alone_is_no_group_to_read() -> None:
    notes = loads_notes('name = "x"\n[[change]]\nwhat = "side.offset"\nto = "0 mm"\n')
    with pytest.raises(SetupError, match=r"^group: missing"):
        diagnose(measured("club-outdoor"), notes)


@given(
    up=st.floats(-2.0, 2.0).map(lambda one: round(one, 3)),
    right=st.none() | st.floats(-2.0, 2.0).map(lambda one: round(one, 3)),
)
def test_a_move_in_words_is_read_again(up: float, right: float | None) -> None:
    found = read_landing(f"at 20 yd bare {moved_words(up, right)}; attack +0.10 deg, nose up +")
    assert found.distance == pytest.approx(18.288)
    assert found.up is not None
    assert found.up.change
    assert found.up.by == pytest.approx(up, abs=1e-9)
    assert (found.right is None) == (right is None)
    if right is not None:
        assert found.right is not None
        assert found.right.change
        assert found.right.by == pytest.approx(right, abs=1e-9)


@pytest.mark.parametrize(
    ("words", "up", "right"),
    [
        ("bare 3 cm low", Told(-0.03, False), None),
        ("bare 1 1/2 in high and 2 cm left", Told(0.0381, False), Told(-0.02, False)),
        ("5 cm to the right", None, Told(0.05, False)),
        ("2 cm more to the left", None, Told(-0.02, True)),
        ("3 cm low, later 5 cm low", None, None),
        ("bare low", None, None),
        ("3 low", None, None),
        (None, None, None),
        ("", None, None),
    ],
)
def test_what_words_say(words: str | None, up: Told | None, right: Told | None) -> None:
    found = read_landing(words)
    for told, wanted in ((found.up, up), (found.right, right)):
        assert (told is None) == (wanted is None)
        if told is not None and wanted is not None:
            assert (told.change, told.by) == (wanted.change, pytest.approx(wanted.by))
