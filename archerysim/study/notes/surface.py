"""A quadratic in the unmeasured inputs that stands for the model: fitted to shots with several settings together."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

BEND = 3.0  # shots that hold the quadratic's second order at nothing; seven tenths to three times it fit as well
OWN = 10.0  # shots that hold a setting's own slopes at those of the others


@dataclass(frozen=True)
class Surface:
    """Numbers as a quadratic in the normed inputs z: value + slope z + z' bend z / 2.

    Attributes
    ----------
    value : (m,) array
    slope : (m, k) array
    bend : (m, k, k) array
    error : (m,) array
        Standard deviation of the shots behind it from it, each left out of the fit in its turn.
    """

    value: np.ndarray
    slope: np.ndarray
    bend: np.ndarray
    error: np.ndarray

    def at(self, z: np.ndarray) -> np.ndarray:
        """The numbers (m,); for several inputs (d, k) as (d, m)."""
        bent = np.array([((z @ bend) * z).sum(axis=-1) for bend in self.bend]).T
        return np.asarray(self.value + z @ self.slope.T + 0.5 * bent)

    def slopes(self, z: np.ndarray) -> np.ndarray:
        """Their slopes (m, k)."""
        return np.asarray(self.slope + self.bend @ z)

    def rows(self, which: list[int]) -> Surface:
        """The surface of some of its numbers, in that order."""
        return Surface(self.value[which], self.slope[which], self.bend[which], self.error[which])

    def shifted(self, by: np.ndarray) -> Surface:
        """The surface moved by ``by`` (m,)."""
        return replace(self, value=self.value + by)


def joined(surfaces: list[Surface]) -> Surface:
    """One surface of the numbers of several."""
    names = ("value", "slope", "bend", "error")
    return Surface(*(np.concatenate([getattr(one, name) for one in surfaces]) for name in names))


def surfaces(design: np.ndarray, setting: np.ndarray, seen: np.ndarray) -> tuple[Surface, ...]:
    """The quadratics of all settings, 0, 1, ..., nearest to what was seen.

    Parameters
    ----------
    design : (n, k) array
        Normed inputs.
    setting : (n,) array of int
        With which setting each was shot; the last one counts as the usual.
    seen : (n, m) array

    Notes
    -----
    Least squares with every setting's own value, slopes that they share and, of the others, what theirs differ by,
    and a bend that they share. The bend is held at nothing as if by `BEND` shots, the differences by `OWN` (ridge
    regression): so 64 shots do for eight inputs, whose quadratic has 45 numbers, and 24 for a further setting.
    """
    n, k = design.shape
    last = int(setting.max())
    pairs = [(i, j) for i in range(k) for j in range(i, k)]
    own = (setting[:, None] == np.arange(last + 1)).astype(float)
    second = np.array([design[:, i] * design[:, j] * (0.5 if i == j else 1.0) for i, j in pairs]).T
    apart = (own[:, :last, None] * design[:, None, :]).reshape(n, last * k)
    table = np.hstack([own, design, second, apart])
    held = np.concatenate([np.zeros(last + 1 + k), np.full(len(pairs), BEND), np.full(last * k, OWN)])
    inverse = np.linalg.inv(table.T @ table + np.diag(held))
    found = inverse @ table.T @ seen
    leverage = np.einsum("ni,ij,nj->n", table, inverse, table)
    left = (seen - table @ found) / (1.0 - leverage)[:, None]
    error = np.sqrt((left**2).mean(axis=0))
    shared = found[last + 1 : last + 1 + k].T
    bend = np.zeros((seen.shape[1], k, k))
    for row, (i, j) in zip(found[last + 1 + k :], pairs, strict=False):
        bend[:, i, j] = bend[:, j, i] = row
    differ = found[table.shape[1] - last * k :].reshape(last, k, seen.shape[1])
    slopes = [shared + differ[one].T for one in range(last)] + [shared]
    return tuple(Surface(found[one], slopes[one], bend, error) for one in range(last + 1))
