"""How many ways a bow would run away, against eigenvalues of the whole matrix."""

from __future__ import annotations

import numpy as np
import pytest

from archerysim.mechanics.arrays import Chain
from archerysim.mechanics.statics.draw import Pulled
from archerysim.mechanics.statics.stability import ways_out_of_brace, ways_out_of_draw
from archerysim.mechanics.statics.tangent import chain_tangent
from archerysim.shot.arrays.memory import memory_for
from archerysim.shot.statics.draw import Drawing
from archerysim.shot.statics.drawn import Drawn
from archerysim.shot.statics.fit import Fit, fit
from tests.support.mechanics.dense_matrices import blocks_for, dense, empty_matrix
from tests.support.shot.example_bows import measured

SEEDS = range(30)


@pytest.fixture(scope="module")
def bow() -> Fit:
    return fit(measured("club-outdoor"), "coarse")


@pytest.fixture(scope="module")
def drawing(bow: Fit) -> Drawing:
    assert bow.drawing is not None
    return bow.drawing


@pytest.fixture(scope="module")
def drawn(bow: Fit) -> Drawn:
    assert bow.drawn is not None
    return bow.drawn


def softer(drawing: Drawing, seed: int) -> Chain:
    """The bow with its limbs softer by a random factor, each bend by another: its thrust then tips it over, or not."""
    rng = np.random.default_rng(seed)
    chain = drawing.bow_chain
    return chain._replace(bend=chain.bend * 10.0 ** -rng.uniform(-1.0, 1.5) * rng.uniform(0.5, 1.5, chain.bend.size))


def stiffness(drawing: Drawing, chain: Chain, x: np.ndarray, y: np.ndarray) -> np.ndarray:
    parts = empty_matrix(drawing.bow_grid)
    chain_tangent(chain, drawing.bow_grid, x, y, 0.0, parts, blocks_for(x.size))
    return dense(drawing.bow_grid, parts)


def test_brace(drawing: Drawing) -> None:
    seen = set()
    n = drawing.bow_marks.tail
    x, y = drawing.braced.x[:n], drawing.braced.y[:n]
    for seed in SEEDS:
        chain = softer(drawing, seed)
        expected = int((np.linalg.eigvalsh(stiffness(drawing, chain, x, y)) < 0.0).sum())
        assert ways_out_of_brace(chain, drawing.bow_grid, x, y, 0.0, memory_for(drawing.bow_grid)) == expected
        seen.add(expected)
    assert {0, 1} <= seen


def test_draw(drawing: Drawing, drawn: Drawn) -> None:
    """On moves that keep the fingers' distance from the hand, for forces small and large."""
    seen = set()
    n = drawing.bow_marks.tail
    x, y = drawn.x[:n], drawn.y[:n]
    for seed in SEEDS:
        chain = softer(drawing, seed)
        force = 10.0 ** (seed % 5) * np.array([-1.0, 0.1])
        matrix, weights, first = stiffness(drawing, chain, x, y), *drawing.load
        along, across = np.zeros((2, len(matrix)))
        pull, arm = np.hypot(*force), 0.01
        at = np.zeros(2)
        for k, share in enumerate(weights):
            p = drawing.bow_grid.place[first + k]
            along[p : p + 2] = share * force / pull
            across[p : p + 2] = share * np.array([-force[1], force[0]]) / pull
            at += share * np.array([x[first + k], y[first + k] - arm])
        matrix = matrix - pull / np.hypot(*at) * np.outer(across, across)
        kept = np.linalg.svd(along[None, :])[2][1:]  # moves that do not lengthen it
        expected = int((np.linalg.eigvalsh(kept @ matrix @ kept.T) < 0.0).sum())
        pulled, memory = Pulled(x, y, force), memory_for(drawing.bow_grid)
        found = ways_out_of_draw(chain, drawing.bow_grid, drawing.load, pulled, arm, 0.0, memory)
        assert found == expected
        seen.add(expected)
    assert {0, 1} <= seen
