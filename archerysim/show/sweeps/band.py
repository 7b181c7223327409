"""The band of a sweep: in how wide a strip 90 % of the bows lie that all fit what was measured."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.show.sweeps.axes import Along, place_words, shown_unit, values_of, varied
from archerysim.show.text import columns, number, pairs, titled, wrapped

if TYPE_CHECKING:
    import xarray
    from matplotlib.axes import Axes

MOST_BANDS = 3  # lines of a second parameter that have theirs drawn, over each other
TOLD = (("pitch", "pitch", 2), ("pitch_to_bow", "to the bow", 2), ("angle_of_attack", "attack", 2))
STEEP = (("pitch_rate", "pitch rate", 2), ("vertical_velocity", "velocity up", 2))
SLOPES = (
    "The band is of each point by itself; a bow that lies high at one point mostly does so at the next. How steep the "
    "curves are, by a straight line through all points:"
)
WORDS = "band, at clear: 90 % of {} bows that all fit what was measured"


def has_band(dataset: xarray.Dataset, quantity: str) -> bool:
    """Whether a sweep tells how sure a quantity is."""
    return f"{quantity}_low" in dataset and f"{quantity}_high" in dataset


def ends(dataset: xarray.Dataset, quantity: str, moment: str, along: list[Along]) -> tuple[np.ndarray, np.ndarray]:
    """5 % and 95 % points, axes in the order of ``along``; of what is told as a difference, those of the difference."""
    dims = [one.dim for one in along]
    low, high = (values_of(dataset, f"{quantity}_{end}", moment, dims) for end in ("low", "high"))
    return low, high


def fill(ax: Axes, along: Along, low: np.ndarray, high: np.ndarray, color: Any, gid: str) -> None:
    """A band along one parameter; uprights where a line from value to value would mean nothing."""
    x = along.values[along.order]
    if along.apart:
        ax.vlines(x, low, high, colors=color, linewidth=5.0, alpha=0.3, zorder=1.4, gid=gid)
    else:
        ax.fill_between(x, low, high, color=color, alpha=0.17, linewidth=0.0, zorder=1.4, gid=gid)


def sentences(dataset: xarray.Dataset) -> list[str]:
    """What the band is, and at how many points draws failed; empty where there is none."""
    draws = dataset.attrs.get("draws")
    if draws is None:
        return []
    told = [WORDS.format(draws)]
    lost = np.asarray(dataset["draws_failed"].values)
    if lost.any():
        told.append(f"up to {lost.max()} of them gave no shot at a point")
    if left := dataset.attrs.get("draws_not_shot"):
        told.append(f"{left} more were not shot: it was interrupted")
    return told


def band_lines(
    dataset: xarray.Dataset, along: list[Along], chosen: list[tuple[int, ...]], also: Sequence[str]
) -> list[str]:
    """The band in a table: for each point between what the draws are, at clear; empty where there is none.

    Parameters
    ----------
    also : sequence of str
        Data variables told beside the usual ones.
    """
    told_too = [(name, name.replace("_", " "), 3) for name in also if name not in [one for one, *_ in TOLD]]
    asked = [(name, head, digits) for name, head, digits in (*TOLD, *told_too) if has_band(dataset, name)]
    if not asked:
        return (
            titled("How sure that is", [f"  {one}." for one in sentences(dataset)]) if "draws" in dataset.attrs else []
        )
    tables = [(*ends(dataset, name, "clear", along), digits) for name, _, digits in asked]
    rows = [
        (
            *(one.value_words(i) for one, i in zip(along, place, strict=True)),
            *(
                f"{number(low[place], '', d, True):>6} to {number(high[place], '', d, True):>6}"
                for low, high, d in tables
            ),
        )
        for place in chosen
    ]
    units = [f"[{shown_unit(dataset, name)}]" for name, _, _ in asked]
    heads = [
        (*(one.plain for one in along), *(head for _, head, _ in asked)), (*("" for _ in along), *units),
    ]  # fmt: skip
    lines = columns(rows, *heads)
    zero = _zero(dataset, along)
    told = [*sentences(dataset), *([zero] if zero else [])]
    if because := dataset.attrs.get("draws_failed_because"):
        told.append(f"the first without a shot: {because}".rstrip("."))
    for one in told:
        lines += wrapped(f"{one[0].upper()}{one[1:]}.", "  ", "  ")
    lines += _slopes(dataset)
    return titled("How sure that is, at clear", lines)


def _slopes(dataset: xarray.Dataset) -> list[str]:
    """How steep the curves are at clear, with the range of the draws; empty where that is not known."""
    from archerysim.study.sweeps.slopes import slope_dim

    dim = slope_dim(dataset)
    rows = []
    for name, head, digits in (*TOLD, *STEEP):
        if dim is None or f"{name}_slope_low" not in dataset:
            continue
        along = next(one for one in varied(dataset) if one.dim == dim)
        unit = f"{shown_unit(dataset, name)}/{along.unit}" if along.unit else shown_unit(dataset, name)
        found = [dataset[f"{name}_slope{end}"].sel(moment="clear") for end in ("", "_low", "_high")]
        if found[0].size == 1 and all(np.isfinite(float(one)) for one in found):
            own, low, high = (number(float(one), "", digits + 1, True) for one in found)
            rows.append((f"{head}", f"slope {own} {unit} (90 %: {low} to {high})"))
    return [*wrapped(SLOPES, "  ", "  "), *pairs(rows)] if rows else []


def _zero(dataset: xarray.Dataset, along: list[Along]) -> str:
    """Between which values the angle of attack passes zero in nine of ten bows; empty where the band does not fall."""
    if len(along) != 1 or along[0].apart or not has_band(dataset, "angle_of_attack"):
        return ""
    one = along[0]
    x = one.values[one.order]
    low, high = (end[one.order] for end in ends(dataset, "angle_of_attack", "clear", along))
    if not (
        np.isfinite(low).all() and np.isfinite(high).all() and (np.diff(low) < 0).all() and (np.diff(high) < 0).all()
    ):
        return ""
    first, last = place_words(one, float(x[0])), place_words(one, float(x[-1]))
    if high[0] < 0.0:
        return f"the angle of attack is zero below {first} in nine of ten bows"
    if low[-1] > 0.0:
        return f"the angle of attack is zero above {last} in nine of ten bows"
    below = f"under {first}" if low[0] < 0.0 else place_words(one, float(np.interp(0.0, -low, x)))
    above = f"over {last}" if high[-1] > 0.0 else place_words(one, float(np.interp(0.0, -high, x)))
    return f"in nine of ten bows the angle of attack is zero at a value from {below} to {above}"
