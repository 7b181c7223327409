"""The inputs of a problem: which fields, in which unit, within which bounds, and what is known of them."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

import numpy as np

from archerysim.equipment import InSi, SetupError, field_info, filled
from archerysim.equipment.readings import READING, read_by
from archerysim.fields.given import spelled
from archerysim.fields.quantity import Bare, in_si
from archerysim.fields.units import factor, from_si
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.planes import check_support
from archerysim.study.measured.data import OwnData
from archerysim.study.measured.search import ALIGN, ALIGN_UNITS
from archerysim.study.problem.prior import Flat, Frozen, Normal, Prior
from archerysim.study.uncertainty.inputs import SHARES, TIMES, Input, refuse_unmoved

OF_THE_FILM = {one.path: one for one in ALIGN}
BETWEEN = re.compile(r"(?P<low>.+?)\s+to\s+(?P<high>.+)")
WAYS = 'Give a standard deviation ("0.5 mm", "20 %"), two ends ("4 mm to 12 mm"), or (a frozen distribution, "mm")'


@dataclass(frozen=True)
class Place:
    """Where a number of the vector goes.

    Attributes
    ----------
    path : str
        Dotted path; also "track.time_offset", "track.shift_x", "track.shift_y": how a film's clock and origin stand to
        the model's.
    unit : str
        In which its number stands in the vector.
    """

    path: str
    unit: str

    @property
    def of_the_film(self) -> bool:
        """Whether it tells how a film stands, and nothing of the bow."""
        return self.path in OF_THE_FILM

    def si(self, value: float) -> float:
        """A number of the vector in SI."""
        return float(Fraction(value) * factor(self.unit, self.unit)) if self.unit else value


@dataclass(frozen=True)
class Unknown(Place):
    """One input of a problem.

    Attributes
    ----------
    path, unit
        As of `Place`.
    today : float
        On the bow as it is.
    low, high : float
        Bounds: the ends of the prior, within the field's allowed range.
    prior : Prior
        What is known of it; what of that lies beyond the bounds is cut off.
    """

    today: float
    low: float
    high: float
    prior: Prior

    @property
    def _within(self) -> tuple[float, float]:
        """Shares of the prior below the bounds."""
        return self.prior.below(self.low), self.prior.below(self.high)

    def log_density(self, x: np.ndarray) -> np.ndarray:
        """Logarithm of the density of the prior within the bounds; minus infinity beyond them."""
        first, last = self._within
        inside = (x >= self.low) & (x <= self.high)
        return np.where(inside, self.prior.log_density(x) - math.log(last - first), -np.inf)

    def at(self, share: np.ndarray) -> np.ndarray:
        """The values below which such shares of the prior within the bounds lie."""
        first, last = self._within
        return np.asarray(np.clip(self.prior.at(first + (last - first) * share), self.low, self.high))


def unknowns_of(
    bow: FittedBow, inputs: Mapping[str, Any], hold: tuple[str, ...], data: OwnData | None = None
) -> tuple[Unknown, ...]:
    """The inputs of a problem, from what is known of each; ``data`` tell which of a film's can be known.

    Raises
    ------
    SetupError
        Where a path cannot be moved, or what is known of it cannot be read.
    """
    if not isinstance(inputs, Mapping) or not inputs:
        raise SetupError("inputs", "name no input", 'Give {"nock.locators.reading": "4 mm to 12 mm"}')
    check_support(bow.given, bow.planes, [path for path in inputs if path not in OF_THE_FILM])
    bare: Bare = "in SI" if isinstance(inputs, InSi) else "refused"
    filmed = () if data is None or data.track is None else tuple(data.track.rows())
    for path in inputs:
        if path in OF_THE_FILM and not (
            filmed if path.endswith("offset") else [n for n in filmed if n[-1] == path[-1]]
        ):
            raise SetupError(path, "tells how a film stands, and no film with such places is given", "Leave it out")
    found = tuple(_unknown(bow, path, known, bare, hold) for path, known in inputs.items())
    for head, most, why in ((SHARES, 2, "the shares are 1 in all"), (TIMES, 1, "it moves the times of all fingers")):
        named = [one.path for one in found if one.path.startswith(head)]
        if len(named) > most and (head == SHARES or TIMES in named):
            raise SetupError(named[-1], f"cannot be an input beside {' and '.join(named[:-1])}: {why}", "Leave it out")
    return found


def changes_at(bow: FittedBow, places: Sequence[Place], x: Sequence[float]) -> InSi:
    """What is changed on the bow for a vector.

    Raises
    ------
    SetupError
        Where finger shares are more than 1 in all.
    """
    changes: dict[str, Any] = {}
    shares = list(filled(bow.setup).archer.finger_shares)
    told = []
    for one, value in zip(places, x, strict=True):
        if one.of_the_film:
            continue
        if one.path.startswith(SHARES):
            told.append(int(one.path[-1]))
            shares[told[-1]] = float(value)
        else:
            number = one.si(float(value))
            changes[one.path] = (number,) * 3 if one.path == TIMES else number
    if told:
        rest = 1.0 - sum(shares[k] for k in told)
        if rest < 0.0:
            raise SetupError(SHARES, f"are {1.0 - rest:.4g} in all", "Draw shares that are 1 at the most")
        others = [k for k in range(3) if k not in told]
        now = [shares[k] for k in others]
        for k in others:
            shares[k] = rest * (shares[k] / sum(now) if sum(now) else 1.0 / len(others))
        shares[others[-1]] += 1.0 - sum(shares)
        changes[SHARES] = tuple(shares)
    return InSi(changes)


def _unknown(bow: FittedBow, path: str, known: Any, bare: Bare, hold: tuple[str, ...]) -> Unknown:
    """One input, in the unit of its field."""
    if path in OF_THE_FILM:
        unit, today, low, high = ALIGN_UNITS[path], 0.0, -np.inf, np.inf
    else:
        info, setup = field_info(path), bow.home(path, hold)
        unit = info.unit
        if path == READING:
            today = from_si(read_by(bow.setup).reading(bow.reading), unit)
        else:
            refuse_unmoved(setup, path)
            today = from_si(Input(path, 0.0, False, "").value(filled(setup)), unit)
        low, high = (_end(limit, unit, end) for limit, end in ((info.low, -np.inf), (info.high, np.inf)))
    prior = _prior(path, known, unit, today, bare)
    first, last = prior.ends
    if not max(first, low) < min(last, high):
        raise SetupError(
            path, f"{first:g} to {last:g} {unit} is outside the allowed range {low:g} to {high:g} {unit}", WAYS
        )
    return Unknown(path, unit, today, max(first, low), min(last, high), prior)


def _in_unit(path: str, given: Any, unit: str, bare: Bare) -> float:
    """A number with its unit, in the unit of the field, to twelve digits."""
    return float(f"{from_si(in_si(path, given, unit, bare), unit):.12g}")


def _end(limit: float | None, unit: str, end: float) -> float:
    return end if limit is None else from_si(limit, unit)


def _prior(path: str, known: Any, unit: str, today: float, bare: Bare) -> Prior:
    """What is known of an input, as a distribution in its unit."""
    pair = isinstance(known, tuple) and len(known) == 2
    distribution, written = known if pair else (known, "")
    if hasattr(distribution, "logpdf"):
        if written != unit:
            problem = f'a distribution in "{written}"' if written else "the distribution has no unit"
            raise SetupError(path, problem, f'Give (the distribution, "{unit}"), in the field\'s own unit')
        return _frozen(path, distribution)
    known = spelled(path, known, unit)
    between = BETWEEN.fullmatch(known.strip()) if isinstance(known, str) else None
    if between is not None:
        low, high = (_in_unit(path, between[end], unit, "refused") for end in ("low", "high"))
        if not low < high:
            raise SetupError(path, f"{known!r} does not rise", WAYS)
        return Flat(low, high)
    if isinstance(known, str) and known.strip().endswith("%"):
        size = in_si(path, known, "%", "refused") * abs(today)
    elif isinstance(known, (str, int, float)) and not isinstance(known, bool):
        size = _in_unit(path, known, unit, bare)
    else:
        raise SetupError(path, f"{known!r} is no distribution", WAYS)
    if not size > 0.0:
        raise SetupError(path, f"a standard deviation of {known} is not positive", WAYS)
    return Normal(today, size)


def _frozen(path: str, distribution: Any) -> Frozen:
    """A distribution that is one: of a single number, with all its parameters."""
    from scipy.stats import rv_continuous

    found = Frozen(distribution)
    try:
        middle = distribution.ppf(0.5)
        told = [np.ndim(middle), *map(np.ndim, distribution.support()), np.ndim(distribution.logpdf(middle))]
        plain = not any(told) and math.isfinite(float(distribution.cdf(middle))) and all(map(math.isfinite, found.ends))
    except (AttributeError, TypeError, ValueError):
        plain = False
    if not plain or isinstance(distribution, rv_continuous):
        raise SetupError(path, f"{distribution!r} is no frozen distribution of one number", WAYS)
    return found
