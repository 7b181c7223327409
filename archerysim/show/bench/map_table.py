"""A map in lines: where bare and fletched shafts come together at each split, and what one millimetre is worth."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from archerysim.show.text import columns, number, with_warnings, wrapped

if TYPE_CHECKING:
    from archerysim.study.bench.bench_map import BenchMap

MOST_ROWS = 11


def map_table(found: BenchMap) -> str:
    """The line of the best value, split by split.

    Parameters
    ----------
    found : BenchMap
    """
    axis = found.across
    short, digits = axis.name.split(",")[0], 1 if axis.unit else 2
    held = "Brace height held" if axis.kind == "reading" else "Brace height and reading held"
    shot = found.values[0].size - len(found.reasons)
    ends = f"{number(float(found.splits[0]), '', 1)} to {number(float(found.splits[-1]), 'mm', 1)}"
    lines = [f"{found.bow.setup.name}: launch by tiller split and {axis.kind}"]
    lines += wrapped(
        f"{shot} of {found.values[0].size} points shot, splits {ends} by "
        f"the {found.by}, {short} {number(axis.shown[0], axis.unit, digits)} to "
        f"{number(axis.shown[-1], axis.unit, digits)}. {held}.", "  ", "  ",
    )  # fmt: skip
    stride = -(-(found.splits.size - 1) // (MOST_ROWS - 1))
    near = [
        np.array([np.interp(best, axis.shown, row) if np.isfinite(best) else np.nan
                  for best, row in zip(found.best, found.of(name), strict=True)])
        for name in ("pitch", "pitch_rate", "angle_of_attack")
    ]  # fmt: skip
    rows = [
        (
            number(float(found.splits[i]), "", 1), number(float(found.best[i]), "", digits),
            f"{number(float(found.window[i, 0]), '', digits)} to {number(float(found.window[i, 1]), '', digits)}",
            *(number(float(one[i]), "", 2, True) for one in near),
        )
        for i in range(0, found.splits.size, stride)
    ]  # fmt: skip
    unit = f" [{axis.unit}]" if axis.unit else ""
    heads = ("split [mm]", f"together at{unit}", "window", "pitch [deg]", "rate [rad/s]", "attack [deg]")
    lines += ["", *columns(rows, heads), ""]
    lines += wrapped(
        f"Together: bare and fletched at one height at {found.distance:g} m, the difference of drag alone taken off; "
        f"window: within {found.tolerance / 10:.2g} cm, as a club archer's arrows scatter. Pitch, rate and angle of "
        "attack are those at clear there.", "  ", "  ",
    )  # fmt: skip
    if not np.isfinite(found.best).any():
        lines.append("  They come together nowhere on this map: take another reading first (--set).")
    if found.twice:
        lines += wrapped(f"At {found.twice} of the splits they come together twice; the table has the first, the "
                         "picture both.", "  ", "  ")  # fmt: skip
    if np.isfinite(found.slope):
        size = number(found.slope, axis.unit, digits + 1, True)
        lines += wrapped(f"One millimetre more split moves where they come together by {size}.", "  ", "  ")
    if np.isfinite(found.error):
        off = number(found.error, axis.unit, digits + 2)
        lines += wrapped(f"Between the points the line is straight; fresh shots at three splits put it within {off}.",
                         "  ", "  ")  # fmt: skip
    for why in list(dict.fromkeys(found.reasons.values()))[:3]:
        lines += wrapped(f"No shot at {sum(one == why for one in found.reasons.values())} points: {why}", "  ", "  ")
    return with_warnings([*lines, ""], found.warnings, len(found.limits_passed))
