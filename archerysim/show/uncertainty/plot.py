"""What the answer is sensitive to: a bar an input, the longest on top."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

import numpy as np

from archerysim.fields.udunits import shown
from archerysim.show import style
from archerysim.show.style import INK, LOOKS

if TYPE_CHECKING:
    import xarray
    from matplotlib.axes import Axes

LETTERS = 60  # in a line under the axis, which the inputs' names make narrow


def tornado(found: xarray.Dataset, answer: str = "together_reading", most: int = 16, ax: Axes | None = None) -> Axes:
    """Draw the change of an answer for one standard deviation of each input, either way.

    Parameters
    ----------
    found : xarray.Dataset
        What `archerysim.sensitivity` returned.
    answer : str
        "together_reading" (bare and fletched together at 18 m), "zero_attack_reading" (no angle of attack at
        clear), "pitch", "pitch_rate", "angle_of_attack", "vertical_velocity" or "speed"; in both planes also
        "side_angle_of_attack".
    most : int
        The largest number of bars.
    ax : Axes, optional

    Returns
    -------
    Axes
        The change in the answer's unit; what a larger input does, to the right where it adds.

    Examples
    --------
    >>> import archerysim
    >>> from archerysim import show
    >>> slips = {"nock.locators.reading": "0.5 mm", "bow.upper_tiller": "1 mm"}
    >>> found = archerysim.sensitivity(archerysim.load("examples/club-outdoor.toml"), slips, mesh="coarse")
    >>> len(show.tornado(found).patches)
    4
    """
    ax = style.one_axes(ax, 3.0 + 0.62 * min(most, found.sizes["input"]))
    change = found[f"{answer}_per_spread"].values
    order = [k for k in np.argsort(-np.abs(np.nan_to_num(change)), kind="stable") if np.isfinite(change[k])][:most]
    names = []
    for row, k in enumerate(order):
        size = change[k]
        for sign, look in ((1.0, LOOKS["upper"]), (-1.0, LOOKS["lower"])):
            ax.barh(
                row, sign * size, height=0.7, color=look.color, hatch="" if sign > 0 else "///", edgecolor="white",
                linewidth=0.4, label=("input larger" if sign > 0 else "input smaller") if row == 0 else None,
            )  # fmt: skip
        unit = str(found["unit"].values[k])
        path = str(found["input"].values[k]).replace("_", " ")
        names.append(f"{path}  ±{float(found['spread'].values[k]):.3g} {'' if unit == '1' else unit}".rstrip())
    ax.set_yticks(range(len(names)), names)
    ax.invert_yaxis()
    ax.axvline(0.0, color=INK, linewidth=0.8)
    about = found[answer].attrs
    style.dress(ax, textwrap.fill(f"change of the {about['long_name']} [{shown(about['units'])}]", LETTERS))
    ax.yaxis.grid(False)
    style.legend(ax, loc="lower right")
    return ax
