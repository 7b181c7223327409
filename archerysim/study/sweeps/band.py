"""How sure a sweep's curves are: the same points shot with bows that all fit what was measured."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.equipment import InSi, SetupError
from archerysim.fields.given import whole_number
from archerysim.fields.udunits import udunits
from archerysim.shot.columns import MOMENT, OF_ONE_SHOT, SHOT
from archerysim.shot.fitted_bow import FittedBow
from archerysim.study.run.how_to_run import HowToRun
from archerysim.study.run.points import Points
from archerysim.study.run.row import Change, LaunchNumbers, Row, row_of
from archerysim.study.run.run import run
from archerysim.study.sweeps.own_point import own_point
from archerysim.study.sweeps.slopes import slopes
from archerysim.study.uncertainty.inputs import (
    Input,
    draws_of,
    inputs_from,
    moved_together,
    quasi_normal,
    with_reading_given,
)

if TYPE_CHECKING:
    import xarray

DRAWS = 32
MOST = 200_000  # points times draws: their numbers are held in memory
ENDS = {"low": 0.05, "median": 0.5, "high": 0.95}
TEXTS = {"low": "5 % point of the draws", "median": "median of the draws", "high": "95 % point of the draws"}
ENOUGH = 0.5  # share of the draws that a point's band needs at least [judgement]
NUMBERS = 2 * len(MOMENT) + len(SHOT)
FAILED = "draws_failed"


@dataclass(frozen=True)
class Draws:
    """The bows that a band is made of.

    Attributes
    ----------
    bow : FittedBow
        As given, its reading too.
    inputs : tuple of Input
    amounts : list of mappings
        How far each input is moved in each draw.
    """

    bow: FittedBow
    inputs: tuple[Input, ...]
    amounts: list[dict[str, float]]

    @classmethod
    def of(cls, bow: FittedBow, points: Points, count: bool | int, known_to: Mapping[str, Any] | None) -> Draws:
        """Draws for a sweep, refused before anything is shot.

        Raises
        ------
        SetupError
        """
        count = DRAWS if count is True else whole_number("band", count, "a number of draws", 2)
        if len(points) * count > MOST:
            raise SetupError(
                "band", f"{count} draws of {len(points):,} points are more than {MOST:,} shots", "Give fewer of either"
            )
        bow = with_reading_given(bow)
        inputs = inputs_from(bow.given, known_to, bow.planes)
        return cls(bow, inputs, draws_of(inputs, quasi_normal(len(inputs), count, 0)))


@dataclass(frozen=True)
class PointsOfDraw:
    """Asks for the launches at all points of a sweep, with the bow of a draw.

    Attributes
    ----------
    inputs : tuple of Input
    points : tuple of tuples
        Path and value of what is changed at each.
    hold : tuple of str
    """

    inputs: tuple[Input, ...]
    points: tuple[tuple[tuple[str, Any], ...], ...]
    hold: tuple[str, ...]

    @property
    def shots(self) -> int:
        return len(self.points)

    def __call__(self, bow: FittedBow, change: Change) -> Row:
        drawn = FittedBow.of(moved_together(bow.given, self.inputs, change), bow.mesh, planes=bow.planes)
        rows = [row_of(LaunchNumbers(self.hold), drawn, InSi(dict(point))) for point in self.points]
        return {"values": [_flat(row) for row in rows], "reasons": [row["reason"] for row in rows]}


def _flat(row: Row) -> list[float]:
    """A point's numbers in a row; empty where it failed."""
    if row["status"] != 0:
        return []
    return [*(value for q in MOMENT for value in row[q.name]), *(row[q.name] for q in SHOT)]


@dataclass(frozen=True)
class Drawn:
    """What came of the draws.

    Attributes
    ----------
    values : (draws, points, numbers) array
        nan where a shot failed, or was not shot.
    shot : (draws,) bool array
        False where an interrupt came first.
    reason : str
        Why the first failed that did; empty where none has.
    """

    values: np.ndarray
    shot: np.ndarray
    reason: str


def shoot_draws(draws: Draws, points: Points, how: HowToRun) -> Drawn:
    """Shoot every point with every draw's bow; an interrupt ends it with those that are done."""
    changes = tuple(tuple(points[k].items()) for k in range(len(points)))
    question = PointsOfDraw(draws.inputs, changes, tuple(sorted(points.hold)))
    values = np.full((len(draws.amounts), len(points), NUMBERS), np.nan)
    shot = np.zeros(len(values), dtype=bool)
    reason = ""
    with closing(run(draws.bow, draws.amounts, question, how)) as flow:
        try:
            for index, row in flow:
                for k, numbers in enumerate(row.get("values", ())):
                    if numbers:
                        values[index, k] = numbers
                reason = reason or next(filter(None, [row["reason"], *row.get("reasons", ())]), "")
                shot[index] = True
        except KeyboardInterrupt as error:
            if isinstance(error.__context__, KeyboardInterrupt):
                raise  # the second: end at once
    return Drawn(values, shot, reason)


def with_band(data: xarray.Dataset, drawn: Drawn) -> xarray.Dataset:
    """The sweep with three more of each number: ``X_low``, ``X_median``, ``X_high``, and ``draws_failed``.

    Along a reading, or the only numbers that were varied, there are slopes too (`slopes`).

    Those sideways (``OF_ONE_SHOT``) are bands of the change against the sweep's own point, draw by draw: of one shot
    they are known badly.
    """
    attributes = {"draws": int(drawn.shot.sum())}
    if not drawn.shot.all():
        attributes["draws_not_shot"] = int((~drawn.shot).sum())
    if not drawn.shot.any():
        return data.assign_attrs(attributes)
    own, shape = own_point(data), data["status"].shape
    values = drawn.values[drawn.shot]
    added: dict[str, Any] = {}
    samples: dict[str, np.ndarray] = {}
    column = 0
    for q in (*MOMENT, *SHOT):
        width = 2 if "moment" in data[q.name].dims else 1
        sample = values[:, :, column : column + width]
        column += width
        if width == 2:
            samples[q.name] = sample.reshape(len(values), *shape, 2)
        words = q.text
        if q.name in OF_ONE_SHOT and own is not None:
            sample = sample - sample[:, [int(np.ravel_multi_index(own, shape))]]
            words += ", change against the bow's own point"
        dims = data[q.name].dims
        for end, points in zip(ENDS, quantiles(sample), strict=True):
            about = {"units": udunits(q.unit), "long_name": f"{words}: {TEXTS[end]}"}
            added[f"{q.name}_{end}"] = (dims, points.reshape(data[q.name].shape), about)
    lost = np.isnan(values).all(axis=2).sum(axis=0).reshape(shape)
    about = {"units": "1", "long_name": "draws of the band that gave no shot"}
    added[FAILED] = (data["status"].dims, lost, about)
    told = {"draws_failed_because": drawn.reason} if drawn.reason else {}
    added |= slopes(data, samples, lambda sample: zip(ENDS, TEXTS.values(), quantiles(sample), strict=True))
    return data.assign(added).assign_attrs(attributes | told)


def quantiles(sample: np.ndarray) -> Sequence[np.ndarray]:
    """5 % point, median and 95 % point along the first axis, nan left out; nan where half of the draws have none."""
    ordered = np.sort(sample, axis=0)  # nan last
    count = np.isfinite(sample).sum(axis=0)
    enough = (count >= 2) & (count >= ENOUGH * len(sample))
    found = []
    for share in ENDS.values():
        place = share * (np.maximum(count, 1) - 1)
        below = np.floor(place).astype(int)
        ends = [
            np.take_along_axis(ordered, np.minimum(at, np.maximum(count - 1, 0))[None], axis=0)[0]
            for at in (below, below + 1)
        ]
        found.append(np.where(enough, ends[0] + (place - below) * (ends[1] - ends[0]), np.nan))
    return found
