"""Where a measure is zero, or least, over one setting.

A few looks first; more of them where they show no answer, closer where the measure comes near zero between two. What
cannot be shot is left out, with its reason, and the rest is searched.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from archerysim.equipment import InSi, SetupError
from archerysim.errors import ShotError
from archerysim.fields.units import from_si
from archerysim.fields.zero import zero_between
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.hold import Hold
from archerysim.shot.launch import Launch
from archerysim.study.tuning.aims import Aim
from archerysim.study.tuning.crossing import jumps

LOOKS = 5  # shots over the range before the search closes in
MORE = 17  # where these show no answer; they are among them
CLOSE = 2e-5  # of the range
LEAST = 1e-3  # of the range, for a least measure
WINDOW = 1e-4  # of the range, for the ends of a window
STEP = 0.02  # of the range, for a slope; nearer to a jump no value is advised
NEAREST = 3  # places where a measure comes near zero that are looked at closer
EDGE = 6  # halvings towards where shots begin to fail


@dataclass(frozen=True)
class Jump:
    """Where a measure jumps from one sign to the other: no answer.

    Attributes
    ----------
    value : float
        Of the setting.
    below, above : float
        The measure right below and right above it, in its unit.
    """

    value: float
    below: float
    above: float


@dataclass(frozen=True)
class Best:
    """What a search found.

    Attributes
    ----------
    value : float
        The answer [SI]; where there is none, the value whose measure is nearest to it.
    met : bool
        Whether it is an answer.
    way : {"", "higher", "lower"}
        Where there is none: on which side of the range it lies, by the measure's slope at the ends of what can be shot;
        empty where neither end leads there.
    also : tuple of float
        Other answers in range [SI].
    jumps : tuple of Jump
        Where the measure only jumps over zero [SI].
    """

    value: float
    met: bool
    way: str = ""
    also: tuple[float, ...] = ()
    jumps: tuple[Jump, ...] = ()


class NoShot(Exception):
    """No value of the range gave a shot."""

    def __init__(self, first: Exception) -> None:
        super().__init__(first)
        self.first = first


class Response:
    """A bow's measures over one setting; what cannot be shot is remembered with its reason.

    Attributes
    ----------
    shot_at : set of (value [SI], crawl [m])
        Where there is a launch.
    failed : dict of (aim's name, value [SI]) to error
    """

    def __init__(
        self, bow: FittedBow, path: str, distance: float, crawls: tuple[float, ...], hold: Hold = None
    ) -> None:
        self.bow, self.path, self.distance, self.crawls, self.hold = bow, path, distance, crawls, hold
        self.shot_at: set[tuple[float, float | None]] = set()
        self.seen: dict[tuple[str, float], float] = {}
        self.failed: dict[tuple[str, float], SetupError | ShotError] = {}

    def launch(self, value: float, crawl: float | None = None) -> Launch:
        """The launch with the setting at ``value`` [SI].

        Raises
        ------
        SetupError, ShotError
        """
        changes = {self.path: value} | ({} if crawl is None else {"archer.crawl": crawl})
        launch = self.bow.launch(InSi(changes), self.hold)
        self.shot_at.add((value, crawl))
        return launch

    def measure(self, aim: Aim, value: float) -> float:
        """The aim's measure, over several crawls their mean; nan where one of them gave no shot."""
        value, key = float(value), (aim.name, float(value))
        if key not in self.seen:
            try:
                found = [aim.measure(self.launch(value, crawl), self.distance) for crawl in self.crawls or (None,)]
                self.seen[key] = float(np.mean(found))
            except (SetupError, ShotError) as error:
                self.failed.setdefault(key, error)
                self.seen[key] = float("nan")
        return self.seen[key]

    def looked(self, aim: Aim, unit: str) -> np.ndarray:
        """Values tried, in a unit, and the aim's measure at each (k, 2); nan where there was no shot."""
        return np.array(sorted((from_si(v, unit), m) for (name, v), m in self.seen.items() if name == aim.name))

    def shot(self, aim: Aim) -> tuple[np.ndarray, np.ndarray]:
        """Values [SI] that gave a shot, rising, and the measure at each."""
        pairs = sorted((v, m) for (name, v), m in self.seen.items() if name == aim.name and np.isfinite(m))
        values, measures = np.array(pairs).reshape(-1, 2).T
        return values, measures


def best(response: Response, aim: Aim, low: float, high: float, prefer: Callable[[list[float]], float]) -> Best:
    """The value of the setting at which a measure is zero, or least, between two ends [SI].

    Parameters
    ----------
    prefer : callable
        Chooses among several answers.

    Raises
    ------
    NoShot
        Where no value looked at gave a shot.
    """
    for looks in (LOOKS, MORE):
        places = np.linspace(low, high, looks)
        for place in places:
            response.measure(aim, place)
        if looks == MORE:
            _edges(response, aim, places)
        found, jumped = _least(response, aim, high - low) if aim.least else _roots(response, aim, high - low)
        if found:
            return _answer(found, jumped, prefer)
    values, measures = response.shot(aim)
    if not values.size:
        raise NoShot(next(error for (name, _), error in response.failed.items() if name == aim.name))
    if not aim.least:
        _closer(response, aim, high - low)
        found, jumped = _roots(response, aim, high - low)
        if found:
            return _answer(found, jumped, prefer)
    way = _way(response, aim, places)
    values, measures = response.shot(aim)
    return Best(float(values[np.argmin(np.abs(measures))]), False, way, jumps=tuple(jumped))


def _answer(found: list[float], jumped: list[Jump], prefer: Callable[[list[float]], float]) -> Best:
    value = prefer(found)
    return Best(value, True, also=tuple(one for one in found if one != value), jumps=tuple(jumped))


def _roots(response: Response, aim: Aim, span: float) -> tuple[list[float], list[Jump]]:
    """Where the measure is zero, between values seen so far, and where it only jumps over zero."""
    values, measures = response.shot(aim)
    found = [float(v) for v, m in zip(values, measures, strict=True) if m == 0.0]
    jumped = []
    for a, b, ya, yb in zip(values, values[1:], measures, measures[1:], strict=False):
        if ya * yb < 0.0:
            root = _root(response, aim, float(a), float(b), span)
            if root is None:
                continue
            if jumps(response.measure(aim, root), ya, yb):
                jumped.append(_jump(response, aim, root))
            else:
                found.append(root)
    return sorted(found), jumped


def _jump(response: Response, aim: Aim, at: float) -> Jump:
    """The jump at a value that was seen: from there to the next one, up or down, with another sign."""
    values, measures = response.shot(aim)
    k = int(np.searchsorted(values, at))
    if k > 0 and measures[k - 1] * measures[k] < 0.0:
        k -= 1
    return Jump(at, float(measures[k]), float(measures[k + 1]))


def _root(response: Response, aim: Aim, a: float, b: float, span: float, again: bool = True) -> float | None:
    """Where the measure changes its sign; None where what cannot be shot lies there."""

    def shot(value: float) -> float:
        found = response.measure(aim, value)
        if not np.isfinite(found):
            raise NoShot(response.failed[aim.name, float(value)])
        return found

    try:
        return zero_between(shot, a, b, CLOSE * span)
    except NoShot:
        pass
    inner = [(v, response.measure(aim, v)) for v in np.linspace(a, b, MORE)]
    for (v0, m0), (v1, m1) in pairwise(inner):
        if again and m0 * m1 <= 0.0:  # both of them shot
            return _root(response, aim, float(v0), float(v1), span, again=False)
    return None


def _least(response: Response, aim: Aim, span: float) -> tuple[list[float], list[Jump]]:
    """Where the measure is least, if that is between values seen so far and not at their end; it jumps over nothing."""
    values, measures = response.shot(aim)
    k = int(np.argmin(measures)) if values.size else 0
    if not 0 < k < values.size - 1:
        return [], []
    found = _lowest(response, aim, values[k - 1], values[k + 1], 1.0, span)
    return [found if np.isfinite(response.measure(aim, found)) else float(values[k])], []


def _lowest(response: Response, aim: Aim, low: float, high: float, sign: float, span: float) -> float:
    """Where ``sign`` times the measure is least between two values; what cannot be shot counts as worse than both."""
    from scipy.optimize import minimize_scalar

    worst = 1.0 + 2.0 * max(abs(response.measure(aim, end)) for end in (low, high))
    found = minimize_scalar(
        lambda v: np.nan_to_num(sign * response.measure(aim, v), nan=worst), bounds=(low, high), method="bounded",
        options={"xatol": LEAST * span},
    )  # fmt: skip
    return float(found.x)


def _edges(response: Response, aim: Aim, places: np.ndarray) -> None:
    """Look towards where shots begin to fail, by halving."""
    for a, b in pairwise(places):
        good, bad = (a, b) if np.isfinite(response.measure(aim, a)) else (b, a)
        if np.isfinite(response.measure(aim, good)) and not np.isfinite(response.measure(aim, bad)):
            for _ in range(EDGE):
                middle = 0.5 * (good + bad)
                if np.isfinite(response.measure(aim, middle)):
                    good = middle
                else:
                    bad = middle


def _closer(response: Response, aim: Aim, span: float) -> None:
    """Look where the measure comes nearest to zero between two looks: it may pass it twice there."""
    values, measures = response.shot(aim)
    size = np.abs(measures)
    inner = np.arange(1, max(values.size - 1, 1))
    beside = np.array([size[inner - 1], size[inner + 1]])
    near = inner[(size[inner] <= beside.min(axis=0)) & (size[inner] < beside.max(axis=0))]
    for k in near[np.argsort(size[near], kind="stable")][:NEAREST]:
        _lowest(response, aim, values[k - 1], values[k + 1], float(np.sign(measures[k])), span)


def _way(response: Response, aim: Aim, places: np.ndarray) -> str:
    """The side on which the answer lies.

    A measure that is to be least: where it is least. Else by its slope at both ends of what can be shot: where it falls
    towards zero, and zero is nearer; and only where the end is the nearest to zero of all, or zero no farther beyond it
    than the range is long.
    """
    seen = np.array([abs(response.measure(aim, place)) for place in places])
    good = np.isfinite(seen)
    values, sizes = places[good], seen[good]
    if values.size < 2:
        return ""
    if aim.least:
        return "lower" if int(np.argmin(sizes)) < values.size / 2 else "higher"
    away = {}
    span, least = float(places[-1] - places[0]), min(np.abs(response.shot(aim)[1]))
    for way, end, inner in (("higher", -1, -2), ("lower", 0, 1)):
        falls = (sizes[inner] - sizes[end]) / abs(values[inner] - values[end])
        if falls > 0.0 and (sizes[end] <= least or sizes[end] / falls <= span):
            away[way] = sizes[end] / falls
    return min(away, key=lambda way: away[way], default="")


def stays_within(response: Response, aim: Aim, value: float, size: float, span: float) -> tuple[float, float]:
    """Between which values a measure stays within ``size`` of what it is at ``value``; nan where it stays in range."""
    middle = response.measure(aim, value)

    def over(v: float) -> float:
        found = abs(response.measure(aim, v) - middle) - size
        if not np.isfinite(found):
            raise NoShot(response.failed[aim.name, float(v)])
        return found

    values, _ = response.shot(aim)
    ends = []
    for side in (values[values < value][::-1], values[values > value]):
        inside, end = value, float("nan")
        for v in map(float, side):
            if over(v) < 0.0:
                inside = v
                continue
            try:
                end = zero_between(over, inside, v, WINDOW * span)
            except NoShot:
                end = inside
            break
        ends.append(end)
    return ends[0], ends[1]


def slope_at(response: Response, aim: Aim, value: float, low: float, high: float) -> float:
    """Change of a measure per unit of the setting [SI], over a fiftieth of the range either way; nan where it fails."""
    width = STEP * (high - low)
    ends = [v for v in (max(value - width, low), min(value + width, high)) if np.isfinite(response.measure(aim, v))]
    ends = ends if len(ends) == 2 else sorted({value, *ends})
    if len(ends) < 2:
        return float("nan")
    return (response.measure(aim, ends[1]) - response.measure(aim, ends[0])) / (ends[1] - ends[0])
