"""What a sweep tells sideways: how far it is from one of its points, since of one shot it is known badly."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from archerysim.show.sweeps.axes import Along, values_of

if TYPE_CHECKING:
    import xarray


def told(dataset: xarray.Dataset, quantity: str, moment: str, along: list[Along]) -> np.ndarray:
    """Values of a quantity as they are told: those sideways as differences to `own_point`, all others as they are.

    nan at failed points; axes in the order of ``along``.

    Raises
    ------
    UsageError
        If the Dataset has no such quantity.
    """
    values = values_of(dataset, quantity, moment, [one.dim for one in along])
    own = own_point(dataset, along) if is_difference(quantity) else None
    return values if own is None else values - values[own]


def is_difference(quantity: str) -> bool:
    """Whether a quantity is told as a difference."""
    from archerysim.shot.columns import OF_ONE_SHOT

    return quantity in OF_ONE_SHOT


def own_point(dataset: xarray.Dataset, along: list[Along]) -> tuple[int, ...] | None:
    """The point that differences are told against (`archerysim.study.sweeps.own_point`), in the order of ``along``."""
    from archerysim.study.sweeps import own_point as of_sweep

    own = of_sweep.own_point(dataset)
    if own is None:
        return None
    places = dict(zip(map(str, dataset["status"].dims), own, strict=True))
    return tuple(places[one.dim] for one in along)


def against(dataset: xarray.Dataset, along: list[Along]) -> str:
    """The point that differences are told against, in words; empty where no point has a result."""
    own = own_point(dataset, along)
    return "" if own is None else ", ".join(one.value_words(i) for one, i in zip(along, own, strict=True))
