"""Draws of many inputs at once, few and evenly spread: a Latin hypercube without correlations."""

from __future__ import annotations

import numpy as np

from archerysim.fields.given import whole_number

SHUFFLES = 4  # times that correlations are taken out and ranks put back into even steps


def even_normal(count: int, draws: int, seed: int) -> np.ndarray:
    """Draws of ``count`` independent normal numbers, in standard deviations (draws, count).

    A Latin hypercube: each number takes the middle of every one of ``draws`` equally likely steps once. Where there
    are more draws than numbers, correlations between columns are taken out by the inverse root of their matrix, and
    the steps put back in the order that this leaves (after Iman and Conover, Communications in Statistics B 11 (1982)
    311 [memory]); what is left of them is a few hundredths. So the sum of many small, nearly straight effects is met
    with far fewer draws than by chance, and each effect can be told from the others in the same draws.

    Raises
    ------
    SetupError
        If ``draws`` is no whole number from 2 up, or ``seed`` none from 0 up.
    """
    from scipy.special import ndtri

    whole_number("seed", seed, "a seed", 0)
    whole_number("draws", draws, "a number of draws", 2)
    steps = ndtri((np.arange(draws) + 0.5) / draws)
    rng = np.random.default_rng(seed)
    out = np.array([steps[rng.permutation(draws)] for _ in range(count)]).T
    if draws <= count + 1:
        return out
    for _ in range(SHUFFLES):
        values, vectors = np.linalg.eigh(np.cov(out, rowvar=False))
        apart = out @ (vectors / np.sqrt(values)) @ vectors.T
        out = steps[np.argsort(np.argsort(apart, axis=0), axis=0)]
    return out
