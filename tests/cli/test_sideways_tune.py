"""archerysim sideways: the library's table, the distance as it was given, what was changed, bad input in one line."""

from __future__ import annotations

from functools import cache

import pytest

from archerysim.show.left_right.table import sideways_table
from archerysim.study.sideways.result import SidewaysTune
from archerysim.study.sideways.sideways_tune import sideways_tune
from tests.support.cli.run_commands import here
from tests.support.shot.example_bows import fitted, path_of

Capture = pytest.CaptureFixture[str]
COARSE = ("--mesh", "coarse", "--workers", "1")


@cache
def found() -> SidewaysTune:
    """What the command is to print."""
    return sideways_tune(
        fitted("club-outdoor", "coarse"), "20 yd", gap="8 cm right", spines="0.600, 0.650 in", points="80 gr",
        taped=False, draws=4, seed=1, workers=1,
    )  # fmt: skip


@pytest.mark.parametrize("everything", [False, True])
def test_it_prints_the_library_s_table(capsys: Capture, everything: bool) -> None:
    given = ("--distance", "20 yd", "--gap", "8 cm right", "--spines", "0.600, 0.650 in", "--points", "80 gr")
    few = ("--draws", "4", "--seed", "1", *COARSE)
    more = ("--all",) if everything else ()
    done = here(capsys, "sideways", path_of("club-outdoor"), *given, "--untaped", *more, *few)
    assert (done.status, done.err) == (0, "")
    assert done.out == sideways_table(found(), "20 yd", everything) + "\n"
    assert "at 20 yd\n" in done.out
    assert ("NOW: shaft" in done.out) == (not found().touching)


def test_it_says_what_was_changed_on_the_bow(capsys: Capture) -> None:
    done = here(capsys, "sideways", path_of("club-outdoor"), "--set", "side.offset=5 mm", *COARSE)
    assert done.status == 0
    assert "CLEAR THE CONTACT FIRST" in done.out
    assert "changed: side offset 5 mm" in done.out


@pytest.mark.parametrize(
    ("given", "said"),
    [
        (("--gap", "6 cm"), "archerysim: gap: "),
        (("--spines", "grey"), "archerysim: spines: "),
        (("--points", "90 gr, 90 gr"), "archerysim: points: "),
        (("--distance", "far"), "archerysim: distance: "),
        (("--planes", "1"), "archerysim: planes: "),
        (("--draws", "3"), "archerysim: draws: "),
    ],
)
def test_bad_input_ends_in_one_line(capsys: Capture, given: tuple[str, ...], said: str) -> None:
    done = here(capsys, "sideways", path_of("club-outdoor"), *given, *COARSE)
    assert (done.status, done.out) == (2, "")
    assert done.err.startswith(said)
    assert done.err.count("\n") == 1
