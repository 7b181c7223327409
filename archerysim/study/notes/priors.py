"""The inputs that archers cannot measure and that move a bare shaft: what is thought of them beforehand."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from archerysim.equipment import InSi, Setup, field_info, filled
from archerysim.equipment.filled_setup import FilledSetup
from archerysim.fields.units import from_si
from archerysim.study.uncertainty.inputs import usual_spread

SHARE = usual_spread("archer.finger_shares.0")
RELEASE = usual_spread("archer.release_time")  # of the value
TORQUE = usual_spread("archer.grip_torque")  # [N m]
PRESSURE = 0.003  # of the hand's push [m], the same as TORQUE at a usual draw weight
SUPPORT = 0.030  # [m] [judgement]
SUPPORT_PATH, ROLL_PATH, HOLD_PATH, REACH_PATH, TIPS_PATH = (
    "rest.support_travel", "archer.side_roll", "archer.side_hold", "rest.reach", "limbs.side_stiffness",
)  # fmt: skip
ROLL = usual_spread(ROLL_PATH)  # [rad]
HOLD = usual_spread(HOLD_PATH)  # [m]
REACH = 0.001  # seen, not measured [m] [judgement]
CARRIES = 0.00025  # an arm reaches past the shaft's axis at full draw, or it would not carry it [m] [judgement]
TIPS = usual_spread(TIPS_PATH)  # of the value
TIPS_PATHS = ("upper_limb.side_stiffness", "lower_limb.side_stiffness")
FINGERS = {0: "index", 2: "ring"}  # the middle finger takes what they leave
LEAST_SHARE, MOST_SHARE = 0.02, 0.95  # of a finger on the string [judgement]
WIDEST, QUICKEST, SOFTEST = 2.5, -1.7, -1.5  # prior spreads; of release time and tips the least


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
        Bounds of z, with zero between them: the setup's own value is always allowed.
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


def causes_of(setup: Setup, planes: int) -> tuple[Cause, ...]:
    """The unmeasured inputs of a setup shot in so many planes, priors centred at its values, cut to what fields allow.

    A finger off the string is none of them, nor is the load of one that is alone on it. When the shaft leaves the rest
    is one in the flat shot; in both planes that follows from how the string rolls off the fingers, how far they hold
    the nock off the bow's plane, how far the arm reaches and how stiff the limbs' tips are sideways.
    """
    full = filled(setup)
    shares = full.archer.finger_shares
    several = sum(share > 0.0 for share in shares) > 1
    causes = [
        _share(f"load on the {name} finger", k, shares[k]) for k, name in FINGERS.items() if several and shares[k]
    ]
    release = sum(full.archer.release_time) / 3.0
    causes.append(
        Cause(
            "release time",
            "archer.release_time",
            "ms",
            release,
            RELEASE * release,
            *_within("archer.release_time", release, RELEASE * release, QUICKEST),
            "a slower release",
            "a quicker release",
            "the release time with a fast camera",
        )
    )
    causes.append(_hand(full))
    return (*causes, *(_support(full) if planes == 1 else _sideways(full)))


def changes_of(setup: Setup, causes: tuple[Cause, ...], z: np.ndarray) -> InSi:
    """Changes to a setup that give its unmeasured inputs the normed values ``z`` (k,)."""
    full = filled(setup)
    shares = list(full.archer.finger_shares)
    changes: dict[str, Any] = {}
    for cause, amount in zip(causes, z, strict=True):
        value = cause.mean + float(amount) * cause.spread
        if cause.path.startswith("archer.finger_shares"):
            shares[int(cause.path[-1])] = value
        elif cause.path == "archer.release_time":
            factor = value / cause.mean
            changes[cause.path] = tuple(kept(cause.path, factor * one) for one in full.archer.release_time)
        elif cause.path == TIPS_PATH:
            changes |= {path: kept(path, value / cause.mean * full.number(path)) for path in TIPS_PATHS}
        else:
            changes[cause.path] = kept(cause.path, value)
    if shares[1] > 0.0:
        shares[1] = max(1.0 - shares[0] - shares[2], 0.0)
    total = sum(shares)
    changes["archer.finger_shares"] = tuple(one / total for one in shares)
    return InSi(changes)


def spaced(causes: tuple[Cause, ...], count: int, seed: int = 0) -> np.ndarray:
    """Normed values (count, k) spread evenly over the priors (Sobol sequence, scrambled with ``seed``)."""
    from scipy.stats import qmc, truncnorm

    power = int(np.ceil(np.log2(count)))
    unit = qmc.Sobol(len(causes), rng=np.random.default_rng(seed)).random_base2(power)[:count]
    return np.array([truncnorm.ppf(unit[:, k], c.low, c.high) for k, c in enumerate(causes)]).T


def _share(name: str, finger: int, mean: float) -> Cause:
    low, high = _bounds((LEAST_SHARE - mean) / SHARE, (MOST_SHARE - mean) / SHARE)
    return Cause(
        name, f"archer.finger_shares.{finger}", "%", mean, SHARE, low, high, f"more {name}", f"less {name}",
        "the fingers' shares with a scale on each",
    )  # fmt: skip


def _hand(full: FilledSetup) -> Cause:
    """The bow hand, in the setup's own way of saying it."""
    archer = full.archer
    if full.given.archer.pressure_point is not None:
        return Cause(
            "height of the hand's push", "archer.pressure_point", "mm", archer.pressure_point, PRESSURE,
            *_within("archer.pressure_point", archer.pressure_point, PRESSURE),
            "the hand pushing higher", "the hand pushing lower",
            "the place of the hand's push with a mark on the grip",
        )  # fmt: skip
    torque = archer.grip_torque
    return Cause(
        "torque of the bow hand", "archer.grip_torque", "N m", torque, TORQUE,
        *_within("archer.grip_torque", torque, TORQUE),
        "the hand pushing lower on the grip", "the hand pushing higher on the grip",
        "the place of the hand's push with a mark on the grip",
    )  # fmt: skip


def _support(full: FilledSetup) -> tuple[Cause, ...]:
    """How long the rest carries the shaft, which the flat shot has to be told."""
    if full.rest.unlimited_support:
        return ()
    travel = full.rest.support_travel
    return (
        Cause(
            "travel supported by the rest", SUPPORT_PATH, "mm", travel, SUPPORT,
            *_within(SUPPORT_PATH, travel, SUPPORT),
            "the rest carrying for longer", "the rest letting go earlier",
            "how long the shaft lies on the rest with a fast camera",
        ),
    )  # fmt: skip


def _sideways(full: FilledSetup) -> tuple[Cause, ...]:
    """What moves the shaft off the rest in the shot in both planes; a shelf carries it however far that is."""
    roll, hold, reach = full.archer.side_roll, full.archer.side_hold, full.rest.reach
    tips = sum(full.number(path) for path in TIPS_PATHS) / len(TIPS_PATHS)
    carries = (0.5 * full.arrow.diameter + CARRIES - reach) / REACH
    arm = Cause(
        "reach of the rest's arm", REACH_PATH, "mm", reach, REACH,
        *_within(REACH_PATH, reach, REACH, max(-WIDEST, carries)),
        "the arm reaching farther", "the arm reaching less far",
        "how far the arm reaches past the side support with a ruler",
    )  # fmt: skip
    return (
        Cause(
            "roll of the string off the fingers", ROLL_PATH, "deg", roll, ROLL,
            *_within(ROLL_PATH, roll, ROLL),
            "the string rolling farther off the fingers", "the string rolling less far off the fingers",
            "how far the nock goes sideways with a fast camera",
        ),
        Cause(
            "nock held off the bow's plane", HOLD_PATH, "mm", hold, HOLD,
            *_within(HOLD_PATH, hold, HOLD),
            "the nock held farther from the window at full draw", "the nock held closer to the window at full draw",
            "how far the nock is off the bow's plane at full draw, seen along the string by a helper",
        ),
        *((arm,) if full.rest.kind == "arm" else ()),
        Cause(
            "stiffness of the limbs' tips sideways", TIPS_PATH, "N/m", tips, TIPS * tips,
            *_within(TIPS_PATH, tips, TIPS * tips, SOFTEST),
            "stiffer tips sideways", "softer tips sideways",
            "how far a weight pulls a tip sideways",
        ),
    )  # fmt: skip


def _bounds(low: float, high: float, least: float = -WIDEST) -> tuple[float, float]:
    """Bounds of z from those that a field sets."""
    return min(max(least, low), 0.0), max(min(WIDEST, high), 0.0)


def _within(path: str, mean: float, spread: float, least: float = -WIDEST) -> tuple[float, float]:
    """Bounds of z within a field's allowed range."""
    low, high = _range(path)
    return _bounds((low - mean) / spread, (high - mean) / spread, least)


def kept(path: str, value: float) -> float:
    """The value, or the end of the allowed range where it would pass it."""
    low, high = _range(path)
    return min(max(value, low), high)


def _range(path: str) -> tuple[float, float]:
    info = field_info(path)
    return float(info.low), float(info.high)  # type: ignore[arg-type]
