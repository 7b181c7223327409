"""What changes from shot to shot: the archer's hand and the nock, drawn at random from a seed."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from archerysim.equipment import SetupError, field_info
from archerysim.equipment.filled_setup import FilledSetup
from archerysim.fields.quantity import Quantity
from archerysim.fields.units import si_unit
from archerysim.study.run.points import Axis, Points

SPREADS = {
    "draw_length": Quantity(text="of the draw length", unit="mm", low="0 mm", high="50 mm"),
    "finger_shares": Quantity(text="of each finger's share of the load", low="0", high="0.3"),
    "release_time": Quantity(text="of the release time, all fingers together", unit="ms", low="0 ms", high="20 ms"),
    "hand_torque": Quantity(text="of the bow hand's torque", unit="N m", low="0 N m", high="5 N m"),
    "nock_fit": Quantity(text="of the force that pulls the string out of the nock", unit="N", low="0 N", high="20 N"),
}
TRIES = 1000  # of finger shares that make sense


@dataclass(frozen=True)
class Scatter:
    """Standard deviations from shot to shot, as texts with units or other numbers that carry theirs.

    The defaults are those of a steady club archer without a clicker [judgement].

    Attributes
    ----------
    draw_length : float
        In SI, as all of them once made [m].
    finger_shares : float
        Of each finger's share; what one takes the others give up.
    release_time : float
        Of all three fingers together [s].
    hand_torque : float
        Of ``archer.grip_torque`` [N m]. Where the setup gives ``archer.pressure_point``, that point moves by the
        torque over the draw force.
    nock_fit : float
        Of ``nock.grip`` [N].

    Raises
    ------
    SetupError
        Where one has no unit, cannot be read or is out of range.

    Examples
    --------
    >>> import archerysim
    >>> scatter = archerysim.Scatter(draw_length="4 mm", release_time="0.5 ms")
    >>> scatter.draw_length, scatter.release_time  # [m], [s]
    (0.004, 0.0005)
    >>> archerysim.group(archerysim.load("examples/club-outdoor.toml"), 6, scatter=scatter, mesh="coarse").failed
    0
    """

    draw_length: Any = "3 mm"
    finger_shares: Any = 0.03
    release_time: Any = "1 ms"
    hand_torque: Any = "0.3 N m"
    nock_fit: Any = "1 N"

    def __post_init__(self) -> None:
        for name, value in asdict(self).items():
            object.__setattr__(self, name, SPREADS[name].single(f"scatter.{name}", value, "refused"))

    def times(self, factor: float) -> Scatter:
        """All standard deviations times a factor.

        Examples
        --------
        >>> import archerysim
        >>> steady = archerysim.Scatter(draw_length="4 mm")
        >>> steady.times(0.5).draw_length  # [m]
        0.002
        """
        return Scatter(**{name: (factor * self.size(name), si_unit(about.unit)) for name, about in SPREADS.items()})

    def size(self, name: str) -> float:
        """One standard deviation, in SI.

        Examples
        --------
        >>> import archerysim
        >>> archerysim.Scatter(draw_length="4 mm").size("draw_length")  # [m]
        0.004
        """
        return float(getattr(self, name))


NO_SCATTER = Scatter("0 mm", 0.0, "0 ms", "0 N m", "0 N")


def shots(scatter: Scatter, full: FilledSetup, n: int, seed: int, draw_force: float) -> Points:
    """The inputs of n shots.

    Every shot has random numbers of its own, keyed by seed and index: a shot is the same in a group of any size,
    and in another setup it is moved by as many standard deviations.

    Parameters
    ----------
    full : FilledSetup
        Of the bow as built: the inputs' middle values.
    draw_force : float
        At full draw [N].

    Returns
    -------
    Points
        Row by row. Normal, cut off at the fields' allowed ranges.

    Raises
    ------
    SetupError
        Where the finger shares scatter so widely that hardly any make sense.
    """
    archer, sizes = full.archer, scatter
    hand, middle, torque = "archer.grip_torque", archer.grip_torque, sizes.size("hand_torque")
    if full.given.archer.pressure_point is not None:
        hand, middle, torque = "archer.pressure_point", archer.pressure_point, torque / draw_force
    times = np.asarray(archer.release_time)
    low, high = _range("archer.release_time")
    names = ("archer.draw_length", "archer.release_time", hand, "nock.grip", "archer.finger_shares")
    columns: tuple[list[Any], ...] = tuple([] for _ in names)
    for index in range(n):
        random = np.random.default_rng((seed, index))
        u = random.random(4)
        later = _cut(0.0, sizes.size("release_time"), low - times.min(), high - times.max(), u[1])
        row = (
            _cut(archer.draw_length, sizes.size("draw_length"), *_range(names[0]), u[0]),
            tuple(float(t) for t in np.clip(times + later, low, high)),
            _cut(middle, torque, *_range(hand), u[2]),
            _cut(full.nock.grip, sizes.size("nock_fit"), *_range("nock.grip"), u[3]),
            _shares(archer.finger_shares, sizes.size("finger_shares"), random),
        )
        for column, value in zip(columns, row, strict=True):
            column.append(value)
    return Points(tuple(Axis(name, "", tuple(c)) for name, c in zip(names, columns, strict=True)), True)


def _range(path: str) -> tuple[float, float]:
    info = field_info(path)
    return float(info.low or 0.0), float(info.high or 0.0)


def _cut(middle: float, size: float, low: float, high: float, u: float) -> float:
    """A normal number cut off at both ends, from an even one."""
    from scipy.special import ndtr, ndtri

    if size == 0.0:
        return float(middle)
    begin, end = ndtr((low - middle) / size), ndtr((high - middle) / size)
    return float(np.clip(middle + size * ndtri(begin + u * (end - begin)), low, high))


def _shares(middle: tuple[float, ...], size: float, random: np.random.Generator) -> tuple[float, ...]:
    """Shares that make 1: three normal numbers less their mean, drawn again until none is negative."""
    if size == 0.0:
        return tuple(middle)
    for _ in range(TRIES):
        moved = random.standard_normal(3)
        shares = np.asarray(middle) + np.sqrt(1.5) * size * (moved - moved.mean())
        if shares.min() >= 0.0:
            first, second = float(shares[0]), float(shares[1])
            return first, second, max(0.0, 1.0 - first - second)
    raise SetupError(
        "scatter.finger_shares", f"{size:g} leaves hardly any draw with three shares of 0 to 1", "Give a smaller one"
    )
