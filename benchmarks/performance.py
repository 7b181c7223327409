"""Cost curves and peers: writes the tables of docs/performance.md and draws docs/images/performance.png.

    python benchmarks/performance.py           # some seven minutes on a quiet machine
    python benchmarks/performance.py --quick   # coarse and short, prints only: does it still run?

Needs `.[bench]`; a peer that is not installed is a row that says so. A table called NAME stands between the lines
``<!-- table: NAME -->`` and ``<!-- end -->``; the words around it are written by hand.
"""

from __future__ import annotations

import argparse
import re
import sys
import time
from collections.abc import Iterable, Sequence
from pathlib import Path

import curves
import numpy as np
from curves import Part, Size, least, slope
from machine import machine
from multibody import engine_run
from peers import PEERS, at_equal_error, exact, installed, tolerance
from performance_picture import draw
from problem import PeerError, Problem

ROOT = Path(__file__).resolve().parents[1]
PAGE, PICTURE = ROOT / "docs" / "performance.md", ROOT / "docs" / "images" / "performance.png"
BEGIN = time.perf_counter()
PLACE = re.compile(r"(<!-- table: (\S+) -->\n)(.*?)(<!-- end -->)", re.DOTALL)


def table(head: Iterable[str], rows: Iterable[Iterable[str]]) -> str:
    """A Markdown table."""
    head = list(head)
    lines = [head, ["---"] * len(head), *(list(row) for row in rows)]
    return "\n".join("| " + " | ".join(line) + " |" for line in lines)


def ratio(value: float) -> str:
    """Three digits at most."""
    return f"{value:.0f}" if value >= 99.5 else f"{value:.2g}" if value < 9.95 else f"{value:.1f}"


def say(text: str) -> None:
    """What is being done, with the time since the start."""
    print(f"[{time.perf_counter() - BEGIN:4.0f} s] {text}", flush=True)


class Ours:
    """The least time of the release so far, tried again whenever asked for."""

    def __init__(self, problem: Problem) -> None:
        self.problem, self.seconds = problem, np.inf

    def again(self) -> None:
        """Some runs more."""
        self.seconds = min(self.seconds, least(self.problem.loosed, 15))


# cells of a row but for the last, and its time [s] or why there is none
Row = tuple[list[str], float | str]


def peer_rows(problem: Problem, right: np.ndarray, aim: float, ours: Ours) -> list[Row]:
    """The peers."""
    rows: list[Row] = []
    for peer in PEERS:
        name = peer.name
        try:
            name = f"{name} ({installed(peer.package)})"
            rtol = tolerance(problem, peer, right, aim)
        except PeerError as error:
            rows.append(([name, "-", peer.jacobian, "-", "-", "-", "-"], str(error)))
            continue
        for kind, rates in (("compiled", problem.by_compiled), ("NumPy", problem.by_numpy)):
            say(f"{name}, {kind}, rtol {rtol:.0e}")
            told = [name, kind, peer.jacobian]
            try:
                run = at_equal_error(problem, peer, rates, rtol, right, aim)
            except PeerError as error:
                rows.append(([*told, "-", "-", "-", "-"], str(error)))
                continue
            off = [f"{run.rtol:.0e}", f"{run.evaluations:,}", f"{run.miss.node:.2f}", f"{run.miss.angle:.3f}"]
            rows.append(([*told, *off], run.seconds))
        ours.again()
    return rows


def engine_rows(problem: Problem, right: np.ndarray) -> list[Row]:
    """The multibody engine, with the contacts and without."""
    name = "MuJoCo"
    try:
        name = f"MuJoCo ({installed('mujoco')})"
        run = engine_run(problem.angle(right))
    except PeerError as error:
        return [([name, "-", "-", "-", "-", "-", "-"], str(error))]
    steps = f"{run.steps:,} steps"
    said = f"{run.pitch:.1f}"
    first = [name, "its own, contacts in Python", "none", f"step {1e6 * run.step:.1f} us", steps, "-", said]
    second = [f"{name}, its steps alone", "its own, no contacts", "none", first[3], steps, "-", "-"]
    return [(first, run.seconds), (second, run.alone)]


def peers_table(problem: Problem, right: np.ndarray, found: Part) -> str:
    """Everybody beside our release; in one plane the multibody engine too."""
    ours = Ours(problem)
    ours.again()
    rows = peer_rows(problem, right, found.miss.node, ours)
    if problem.planes == 1:
        say("multibody engine")
        rows += engine_rows(problem, right)
    ours.again()
    done = problem.loosed()
    first = [
        "archerysim's release", "compiled", "none, explicit", f"step {1e6 * done.dt:.2f} us",
        f"{int(done.notes.steps):,}", f"{found.miss.node:.2f}", f"{found.miss.angle:.3f}", "1",
    ]  # fmt: skip
    told = [[*cells, ratio(took / ours.seconds) if isinstance(took, float) else took] for cells, took in rows]
    head = (
        "integrator", "right-hand side", "Jacobian", "tolerance or step", "evaluations", "arrow's nodes off [um]",
        "angle off [0.001 deg]", "time against our release",
    )  # fmt: skip
    return table(head, [first, *told])


def steps_table(found: Sequence[Part]) -> str:
    """Error against the step, with the order from one row to the next and over all."""
    rows = []
    for k, one in enumerate(found):
        before = found[k - 1] if k else None
        orders = [
            f"{np.log2(getattr(before.miss, name) / getattr(one.miss, name)):.1f}" if before else ""
            for name in ("node", "angle")
        ]
        rows.append([
            f"{one.factor:g}", f"{one.miss.node:.3f}", orders[0], f"{one.miss.angle:.4f}", orders[1],
            ratio(one.seconds / found[0].seconds),
        ])  # fmt: skip
    head = ("step, parts of the default", "arrow's nodes off [um]", "order", "angle off [0.001 deg]", "order", "time")
    every = [slope([p.factor for p in found], [getattr(p.miss, name) for p in found]) for name in ("node", "angle")]
    return (
        table(head, rows)
        + f"\n\nOver all rows the order is {every[0]:.2f} for the nodes and {every[1]:.2f} for the angle."
    )


def mesh_table(found: Sequence[Size]) -> str:
    """Time against mesh, as ratios to the coarsest, with the slopes."""
    first, nodes = found[0], [one.nodes for one in found]
    rows = [
        [
            f"{s.cells}",
            f"{s.nodes}",
            f"{s.steps:,}",
            ratio(s.per_step / first.per_step),
            ratio(s.seconds / first.seconds),
        ]
        for s in found
    ]
    per, whole = [one.per_step for one in found], [one.seconds for one in found]
    per_node, fixed = np.polyfit(nodes, per, 1)
    last = slice(-3, None)
    return (
        table(("cells", "nodes", "steps", "time of a step", "time of a release"), rows)
        + f"\n\nPower with which the time grows with the nodes: a step {slope(nodes, per):.2f} over all rows and "
        f"{slope(nodes[last], per[last]):.2f} over the last three, a release {slope(nodes, whole):.2f} and "
        f"{slope(nodes[last], whole[last]):.2f}. A straight line through the times of a step has a fixed part as "
        f"long as {fixed / per_node:.0f} nodes take."
    )


def many_table(points: Sequence[tuple[int, float]], workers: Sequence[tuple[int, float]], count: int) -> str:
    """Time against points and workers."""
    one, alone = points[0][1] / points[0][0], workers[0][1]
    power = slope(*zip(*points, strict=True))
    first = table(("points, one process", "time of a point"), [[f"{n}", f"{t / n / one:.2f}"] for n, t in points])
    second = table(
        (f"workers, {count} points", "speed against one", "share of ideal"),
        [[f"{n}", f"{alone / t:.2f}", f"{100 * alone / t / n:.0f} %"] for n, t in workers],
    )
    return f"{first}\n\nThe time grows with the points to the power {power:.2f}.\n\n{second}"


def write(blocks: dict[str, str]) -> None:
    """Fill the page's places.

    Raises
    ------
    SystemExit
        If a place is missing.
    """
    text = PAGE.read_text(encoding="utf-8")
    missing = set(blocks) - {found[1] for found in PLACE.findall(text)}
    if missing:
        raise SystemExit(f"{PAGE.name} has no place for {', '.join(sorted(missing))}")
    PAGE.write_text(PLACE.sub(lambda m: f"{m[1]}\n{blocks[m[2]]}\n\n{m[4]}", text), encoding="utf-8")


def main() -> int:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--quick", action="store_true", help="coarse and short; writes nothing")
    quick = options.parse_args().quick
    blocks = {"machine": f"{machine()}; written by `python benchmarks/performance.py`."}
    say(blocks["machine"])
    problem = Problem("coarse" if quick else "default")
    problem.check()
    say(f"{problem.size} unknowns, half a band of {problem.band}; an exact release")
    right = exact(problem)
    found = curves.parts(problem, right, curves.PARTS[:2] if quick else curves.PARTS)
    blocks["steps"] = steps_table(found)
    say("meshes")
    sizes = curves.sizes(curves.CELLS[:3] if quick else curves.CELLS)
    blocks["mesh"] = mesh_table(sizes)
    blocks["peers"] = peers_table(problem, right, found[0])
    both = Problem("coarse" if quick else "default", planes=2)
    both.check()
    say(f"both planes: {both.size} unknowns, half a band of {both.band}; an exact release")
    right = exact(both)
    blocks["peers-both"] = peers_table(both, right, curves.parts(both, right, curves.PARTS[:1])[0])
    say("points")
    points = curves.points(curves.POINTS[:2] if quick else curves.POINTS)
    say("workers")
    count = 16 if quick else curves.SPREAD
    workers = curves.workers(count)
    blocks["many"] = many_table(points, workers, count)
    for name, block in blocks.items():
        print(f"\n{name}\n{block}")
    if not quick:
        write(blocks)
        draw(sizes, points, workers, PICTURE)
        say(f"wrote {PAGE.relative_to(ROOT)} and {PICTURE.relative_to(ROOT)}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
