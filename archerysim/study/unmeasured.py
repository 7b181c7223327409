"""The inputs that archers cannot measure and that move a bare shaft: what is thought of them beforehand."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from archerysim.equipment import Setup, filled
from archerysim.equipment.units import from_si

SHARE, RELEASE, TORQUE = 0.1, 0.5, 0.5  # spreads as in archerysim.study.inputs: a share, of the value, [N m]
PRESSURE = 0.003  # of the hand's push [m], the same as TORQUE at a usual draw weight
SUPPORT = 0.030  # [m] [judgement]
SUPPORT_PATH = "rest.support_travel"


@dataclass(frozen=True)
class Cause:
    """One unmeasured input; its normed value z counts prior spreads from the prior's middle.

    Attributes
    ----------
    name : str
        In words.
    path : str
        Dotted path; a finger's share and the release time stand in rows of three.
    unit : str
        In which it is told.
    mean, spread : float
        Of the prior, in SI: the setup's value, and how well it is known.
    low, high : float
        Bounds of z.
    more, less : str
        What a larger and a smaller value are called.
    otherwise : str
        How else it could be measured.
    """

    name: str
    path: str
    unit: str
    mean: float
    spread: float
    low: float
    high: float
    more: str
    less: str
    otherwise: str

    def value(self, z: float) -> float:
        """In `unit`, from the normed value."""
        return from_si(self.mean + z * self.spread, self.unit)


def causes_of(setup: Setup) -> tuple[Cause, ...]:
    """The unmeasured inputs of a setup, priors centred at its values."""
    full: Any = filled(setup)
    index, _, ring = full.archer.finger_shares
    found = [
        _share("load on the index finger", 0, index),
        _share("load on the ring finger", 2, ring),
    ]
    release = sum(full.archer.release_time) / 3.0
    found.append(
        Cause(
            "release time",
            "archer.release_time",
            "ms",
            release,
            RELEASE * release,
            -1.7,
            2.5,
            "a slower release",
            "a quicker release",
            "the release time with a fast camera",
        )
    )
    found.append(_hand(full.archer))
    if not full.rest.unlimited_support:
        travel = full.rest.support_travel
        found.append(
            Cause(
                "travel supported by the rest",
                SUPPORT_PATH,
                "mm",
                travel,
                SUPPORT,
                max(-2.5, (0.010 - travel) / SUPPORT),
                min(2.5, (0.900 - travel) / SUPPORT),
                "the rest carrying for longer",
                "the rest letting go earlier",
                "how long the shaft lies on the rest with a fast camera",
            )
        )
    return tuple(found)


def changes_of(setup: Setup, causes: tuple[Cause, ...], z: np.ndarray) -> dict[str, Any]:
    """Changes to a setup that give its unmeasured inputs the normed values ``z`` (k,)."""
    full: Any = filled(setup)
    shares = list(full.archer.finger_shares)
    changes: dict[str, Any] = {}
    for cause, amount in zip(causes, z, strict=True):
        value = cause.mean + float(amount) * cause.spread
        if cause.path.startswith("archer.finger_shares"):
            shares[int(cause.path[-1])] = value
        elif cause.path == "archer.release_time":
            factor = value / cause.mean
            changes[cause.path] = tuple(factor * one for one in full.archer.release_time)
        else:
            changes[cause.path] = value
    shares[1] = max(1.0 - shares[0] - shares[2], 0.0)
    total = sum(shares)
    changes["archer.finger_shares"] = tuple(one / total for one in shares)
    return changes


def drawn(causes: tuple[Cause, ...], rng: np.random.Generator) -> np.ndarray:
    """Normed values drawn from the priors: normal, within the bounds."""
    from scipy.stats import truncnorm

    return np.array([truncnorm.rvs(c.low, c.high, random_state=rng) for c in causes], dtype=float)


def spaced(causes: tuple[Cause, ...], count: int, seed: int = 0) -> np.ndarray:
    """Normed values (count, k) spread evenly over the priors (Sobol sequence, scrambled with ``seed``)."""
    from scipy.stats import qmc, truncnorm

    power = int(np.ceil(np.log2(count)))
    unit = qmc.Sobol(len(causes), rng=np.random.default_rng(seed)).random_base2(power)[:count]
    return np.array([truncnorm.ppf(unit[:, k], c.low, c.high) for k, c in enumerate(causes)]).T


def _share(name: str, finger: int, mean: float) -> Cause:
    low, high = max(-2.5, (0.02 - mean) / SHARE), min(2.5, (0.95 - mean) / SHARE)
    return Cause(
        name, f"archer.finger_shares.{finger}", "%", mean, SHARE, low, high, f"more {name}", f"less {name}",
        "the fingers' shares with a scale on each",
    )  # fmt: skip


def _hand(archer: Any) -> Cause:
    """The bow hand, in the setup's own way of saying it."""
    if archer.pressure_point is not None:
        return Cause(
            "height of the hand's push", "archer.pressure_point", "mm", archer.pressure_point, PRESSURE, -2.5, 2.5,
            "the hand pushing higher", "the hand pushing lower",
            "the place of the hand's push with a mark on the grip",
        )  # fmt: skip
    return Cause(
        "torque of the bow hand", "archer.grip_torque", "N m", archer.grip_torque or 0.0, TORQUE, -2.5, 2.5,
        "the hand pushing lower on the grip", "the hand pushing higher on the grip",
        "the place of the hand's push with a mark on the grip",
    )  # fmt: skip
