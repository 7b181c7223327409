"""What a shot costs, in counts instead of times: a change that makes it dearer shows here on any machine.

``python -m tests.shot.test_counts`` prints the table anew.

The number of steps is compared exactly, without headroom: another processor rounds some sums differently, which moves
the end of a shot by some billionth of a step, so that the number is another only where a shot ends that close to a
whole step, and `test_no_shot_ends_on_the_edge_of_a_step` sees to it that none of these does. Iterations and draws of
the fit end where a residual falls below a tolerance, which another rounding may put an iteration earlier or later (one
draw of the fit was seen, without fused multiply-add): they may differ by `ROUNDING`.
"""

from __future__ import annotations

import re
from functools import cache
from typing import NamedTuple

import pytest
from numba.core.runtime import _nrt_python, rtsys

from archerysim.equipment import filled
from archerysim.errors import ShotError
from archerysim.mechanics.release import loop as release_module
from archerysim.mechanics.release.forces import evaluate
from archerysim.mechanics.release.layout import CLEAR
from archerysim.mechanics.release.loop import release
from archerysim.shot.arrays.mesh import mesh_of
from archerysim.shot.release import release as loose_module
from archerysim.shot.release.release import Loosed, loose
from archerysim.shot.statics.brace import brace_with_string
from archerysim.shot.statics.draw import Drawing, draw_to, full_draw_x
from archerysim.shot.statics.drawn import Drawn
from tests.support.shot.example_bows import NAMES, fitted


class Counts(NamedTuple):
    """Steps of the release; Newton iterations of brace and of draw; draws of the fit."""

    steps: int
    brace: int
    draw: int
    fit: int


# Iterations of the brace and the draw count those with a matrix factored before (a third of the cost or less) like the
# others; the fit's draws are short, all but the first from the one before.
EXPECTED = {
    "club-outdoor": Counts(steps=6045, brace=40, draw=21, fit=7),
    "club-indoor": Counts(steps=6581, brace=40, draw=21, fit=8),
    "barebow": Counts(steps=5668, brace=41, draw=20, fit=8),
    "junior": Counts(steps=7666, brace=48, draw=24, fit=7),
}
ROUNDING = 2  # iterations or draws
EDGE = 1e-4  # of a step: far more than rounding moves the end of a shot


@cache
def ready(name: str, mesh: str = "default") -> tuple[int, Drawing, Drawn]:
    """The brace's iterations, the bow and its full draw."""
    full = filled(fitted(name, mesh).setup)
    braced = brace_with_string(full, full.number("string.length"), mesh_of(mesh))
    return (braced.iterations, *draw_to(full, braced, full_draw_x(full)))


@cache
def loosed(name: str) -> Loosed:
    """The release on the default mesh."""
    return loose(*ready(name)[1:])


def counts(name: str) -> Counts:
    """As found."""
    brace, _, drawn = ready(name)
    return Counts(int(loosed(name).notes.steps), brace, drawn.iterations, fitted(name).draws)


def allocations(step_factor: float, cap: float) -> int:
    """Pieces of memory that a release asks for."""
    _, drawing, drawn = ready("junior", "coarse")
    before = rtsys.get_allocation_stats()
    try:
        loose(drawing, drawn, step_factor=step_factor, cap=cap)
    except ShotError:
        assert cap < loose_module.CAP
    after = rtsys.get_allocation_stats()
    assert after.free - before.free == after.alloc - before.alloc
    return int(after.alloc - before.alloc)


def test_every_example_is_counted() -> None:
    assert sorted(EXPECTED) == sorted(NAMES)


@pytest.mark.parametrize("name", NAMES)
def test_counts(name: str) -> None:
    found, expected = counts(name), EXPECTED[name]
    assert found.steps == expected.steps
    for one, other in zip(found[1:], expected[1:], strict=True):
        assert abs(one - other) <= ROUNDING, (found, expected)


@pytest.mark.parametrize("name", NAMES)
def test_no_shot_ends_on_the_edge_of_a_step(name: str) -> None:
    done = loosed(name)
    share = done.moments[CLEAR].time / done.dt - (done.notes.steps - 1)
    assert EDGE < share < 1.0 - EDGE


def test_one_evaluation_a_step(monkeypatch: pytest.MonkeyPatch) -> None:
    """The forces are asked for once a step, and once at its end; nothing is computed twice."""
    asked = []

    def counted(*numbers: object) -> object:
        asked.append(1)
        return evaluate(*numbers)

    monkeypatch.setattr(release_module, "evaluate", counted)
    monkeypatch.setattr(loose_module, "release", release.py_func)
    with pytest.raises(ShotError) as caught:
        loose(*ready("junior", "coarse")[1:], cap=4e-4)
    told = re.search(r"after (\d+) steps", str(caught.value))
    assert told is not None
    assert int(told[1]) > 40
    assert len(asked) == int(told[1]) + 1


def test_memory_does_not_grow_with_the_steps() -> None:
    """The release asks for none, however many the steps; what else is asked for is given back."""
    ready("junior", "coarse")
    _nrt_python.memsys_enable_stats()
    try:
        few = allocations(1.0, 1e-3)
        assert few == allocations(1.0, 1e-2)
        assert allocations(1.0, loose_module.CAP) == few
        assert allocations(0.5, loose_module.CAP) == few
    finally:
        _nrt_python.memsys_disable_stats()


if __name__ == "__main__":
    for each in NAMES:
        print(f'    "{each}": {counts(each)},')
