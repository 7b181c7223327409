"""A bow of one piece has no limb bolts to turn."""

from __future__ import annotations

import pytest

from archerysim.equipment import SetupError, load
from tests.support.cli.run_commands import here
from tests.support.shot.example_bows import measured, path_of


@pytest.mark.parametrize("name", ["lower_limb", "upper_limb"])
def test_turns_of_a_bolt_that_is_not_there_are_refused(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    path = f"{name}.bolt_turns"
    done = here(capsys, "shoot", path_of("longbow"), "--mesh", "coarse", "--set", f"{path}=1 turn")
    assert done.status == 2
    assert path in done.err
    assert 'bow.kind = "one piece", which has no limb bolts' in done.err
    assert len(done.err.splitlines()) == 1


def test_a_bolt_that_stands_where_it_was_is_no_contradiction_and_a_take_down_bow_has_bolts() -> None:
    longbow = load(path_of("longbow"))
    assert longbow.replace({"limbs.bolt_turns": "0 turn"}).lower_limb.bolt_turns == 0.0
    assert longbow.replace({"bow.kind": "take-down", "limbs.bolt_turns": "1 turn"}).upper_limb.bolt_turns == 1.0
    with pytest.raises(SetupError, match="take-down"):
        measured("club-outdoor").replace({"bow.kind": "one piece", "lower_limb.bolt_turns": "-0.5 turn"})
