"""Vectors drawn from a problem's priors: evenly or by chance, with ranks that go together where they are told to."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from archerysim.equipment import SetupError
from archerysim.fields.given import whole_number

if TYPE_CHECKING:
    from archerysim.study.problem.problem import Problem

Way = Literal["sobol", "latin", "chance"]
WAYS: tuple[Way, ...] = ("sobol", "latin", "chance")


def shares(count: int, inputs: int, way: str, seed: int) -> np.ndarray:
    """Numbers between 0 and 1 (count, inputs).

    Parameters
    ----------
    way : {"sobol", "latin", "chance"}
        A scrambled Sobol sequence (``count`` a power of two), a Latin hypercube, or random numbers.

    Raises
    ------
    SetupError
    """
    from scipy.stats import qmc

    whole_number("count", count, "a number of vectors", 1)
    rng = np.random.default_rng(whole_number("seed", seed, "a seed", 0))
    if way not in WAYS:
        raise SetupError("way", f"{way!r} is not known", f"Use {', '.join(WAYS)}")
    if way == "sobol" and count & (count - 1):
        raise SetupError("count", f"{count} is not a power of two", 'Use 64, 128, 256, ..., or way="latin"')
    if way == "chance":
        return rng.random((count, inputs))
    engine = qmc.Sobol(inputs, rng=rng) if way == "sobol" else qmc.LatinHypercube(inputs, rng=rng)
    return np.asarray(np.clip(engine.random(count), 1e-9, 1.0 - 1e-9))


def drawn(asked: Problem, count: int, way: str, seed: int, correlation: Any) -> np.ndarray:
    """Vectors from the priors; see `Problem.draw`."""
    at = shares(count, len(asked.unknowns), way, seed)
    return asked.from_unit_cube(at if correlation is None else _together(at, checked(correlation, len(asked.unknowns))))


def checked(correlation: Any, inputs: int) -> np.ndarray:
    """A matrix of rank correlations (k, k).

    Raises
    ------
    SetupError
        Where it is not symmetric with ones on its diagonal, or no numbers can be correlated so.
    """
    try:
        ranks = np.asarray(correlation, dtype=float)
    except (TypeError, ValueError):
        ranks = np.zeros(0)
    if ranks.shape != (inputs, inputs) or not (
        np.isfinite(ranks).all() and np.allclose(ranks, ranks.T) and np.allclose(np.diag(ranks), 1.0)
    ):
        raise SetupError(
            "correlation", f"is no symmetric matrix of {inputs} inputs with ones on its diagonal",
            "Give the rank correlation of each pair of inputs, in the problem's order",
        )  # fmt: skip
    if np.linalg.eigvalsh(_of_normals(ranks)).min() <= 1e-10:
        raise SetupError("correlation", "is not positive definite, nothing can be drawn so", "Make its entries smaller")
    return ranks


def _of_normals(ranks: np.ndarray) -> np.ndarray:
    """The correlation of normal numbers whose ranks are correlated so (K. Pearson, 1907 [memory])."""
    return np.asarray(2.0 * np.sin(np.pi * ranks / 6.0))


def _together(at: np.ndarray, ranks: np.ndarray) -> np.ndarray:
    """Shares with correlated ranks, by normal numbers that are (a Gaussian copula)."""
    from scipy.special import ndtr, ndtri

    return np.asarray(ndtr(ndtri(at) @ np.linalg.cholesky(_of_normals(ranks)).T))
