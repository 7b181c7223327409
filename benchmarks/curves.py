"""How the time grows: with the mesh, with the points of a sweep, with the workers; and the error with the step."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from problem import Miss, Problem, at_full_draw
from throughput import own_workers, timed

from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.release.release import loose
from archerysim.study.run.workers import cores

CELLS = (12, 16, 24, 36, 48, 72, 96)  # of each limb and the shaft
POINTS = (10, 25, 50, 100, 200, 400)
SPREAD = 400  # points for the workers
PARTS = (1.0, 0.5, 0.25, 0.125)  # of the default step
NEAR = np.linspace(0.9, 1.0, 9)  # steps about one, to tell its error from its luck
LONG = 2.0  # a run longer than this is timed once [s]
ENOUGH = 0.5  # short runs are timed again and again for as long [s]


def least(run: Callable[[], object], times: int) -> float:
    """Least time on the core of several runs, or the first if it is long [s]."""
    taken: list[float] = []
    while len(taken) < times or sum(taken) < ENOUGH:
        begin = time.thread_time()
        run()
        taken.append(time.thread_time() - begin)
        if taken[-1] > LONG:
            break
    return min(taken)


def slope(x: Sequence[float], y: Sequence[float]) -> float:
    """Power with which y grows with x: a straight line through their logarithms."""
    return float(np.polyfit(np.log(x), np.log(y), 1)[0])


@dataclass(frozen=True)
class Size:
    """A release on one mesh: cells, nodes, steps, its whole time [s]."""

    cells: int
    nodes: int
    steps: int
    seconds: float

    @property
    def per_step(self) -> float:
        """[s]"""
        return self.seconds / self.steps


def sizes(cells: Sequence[int] = CELLS, times: int = 7) -> list[Size]:
    """The release on finer and finer meshes."""
    found = []
    for count in cells:
        drawing, drawn = at_full_draw(Mesh.of(count))
        steps = int(loose(drawing, drawn).notes.steps)
        found.append(Size(count, drawn.x.size, steps, least(lambda at=(drawing, drawn): loose(*at), times)))  # type: ignore[misc]
    return found


@dataclass(frozen=True)
class Part:
    """A step as part of the default one: typical miss, and the time of a release [s]."""

    factor: float
    miss: Miss
    seconds: float


def typical(problem: Problem, factor: float, right: np.ndarray) -> Miss:
    """Root mean square of the misses of steps up to a tenth shorter.

    A single step may be lucky: where in a step the string leaves the throat is chance.
    """
    misses = [problem.miss(problem.ours(factor * near), right) for near in NEAR]
    return Miss(*(float(np.sqrt(np.mean([getattr(miss, name) ** 2 for miss in misses]))) for name in ("node", "angle")))


def parts(problem: Problem, right: np.ndarray, factors: Sequence[float] = PARTS) -> list[Part]:
    """Error and time against the step."""
    return [
        Part(f, typical(problem, f, right), least(lambda f=f: problem.loosed(f), 5))  # type: ignore[misc]
        for f in factors
    ]


def points(counts: Sequence[int] = POINTS) -> list[tuple[int, float]]:
    """Points of a sweep in this process and their time on the core [s]."""
    timed(2, 1, None, [], None)  # loads what a first shot needs
    return [(count, least_told(lambda count=count: timed(count, 1, None, [], None).cpu)) for count in counts]  # type: ignore[misc]


def workers(count: int = SPREAD) -> list[tuple[int, float]]:
    """Workers, started and warm, and the time of the same sweep by the clock [s]."""
    most = cores()
    found = [(1, least_told(lambda: timed(count, 1, None, [], None).wall))]
    for number in sorted({*(2**k for k in range(1, 8) if 2**k < most), most} - {1}):
        with own_workers(number) as (pool, pids):
            found.append((number, least_told(lambda at=(number, pool, pids): timed(count, *at, None).wall)))  # type: ignore[misc]
    return found


def least_told(run: Callable[[], float]) -> float:
    """Least of what up to three runs say, or the first if it is long [s]."""
    best = np.inf
    for _ in range(3):
        best = min(best, run())
        if best > LONG:
            break
    return best
