"""Measured data beside the model, and what it determines, as plain text."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from archerysim.fields.units import from_si
from archerysim.show.text import columns, grouped, number, titled, warned, wrapped

if TYPE_CHECKING:
    from archerysim.study.measured.compare import DataCompared, Residuals
    from archerysim.study.measured.fit_data import Estimate, OwnFit

MOST_ROWS = 40
OTHER = {"lbf": "N", "fps": "m/s"}  # units whose SI is told too
CLOSE = 0.9  # correlation from which two inputs are said to be hard to tell apart
PULLED = "pulled to the end of its range"
SAME = (0.5, 1.25)  # of the prior width: step and error up to which they are "about what they were" [judgement]
DIGITS = {"in": 2, "lbf": 2, "gr": 1, "fps": 1, "ms": 2, "mm": 2}


def residual_table(result: DataCompared, most: int = MOST_ROWS) -> str:
    """Measured, computed and their difference, a table for each measured quantity.

    Parameters
    ----------
    result : DataCompared
        Of a fit, its ``before`` or ``after``.
    most : int
        Rows of each at most; of more only some are printed, evenly chosen.
    """
    lines = [f"{result.setup.name}: measured beside the model", ""]
    for table in result.tables:
        lines += titled(_title(table), _rows(table, most))
    if result.data.track is not None:
        shift = result.alignment
        lines += wrapped(
            f"Film: the first finger opens at {1e3 * shift.time_offset:+.2f} ms of its clock; its origin shifted by "
            f"{1e3 * shift.shift_x:+.1f} mm along and {1e3 * shift.shift_y:+.1f} mm up. Found, not measured.", "", "",
        )  # fmt: skip
        lines.append("")
    lines += wrapped(
        f"Misfit {result.misfit:.2f}: differences over the errors stated; about 1 where model and errors are right.",
        "", "",
    )  # fmt: skip
    return "\n".join([*lines, *_warned(result)])


def determined_table(result: OwnFit) -> str:
    """Which inputs the data determine, with values, standard errors and what cannot be told apart.

    Parameters
    ----------
    result : OwnFit
    """
    rows = []
    for estimate in result.estimates:
        digits = _digits(min(estimate.prior, estimate.error))
        determined = (
            PULLED if estimate.pulled else estimate.determined + (" (end of its range)" if estimate.at_bound else "")
        )
        rows.append((
            estimate.path.replace("_", " "), number(estimate.start, "", digits), number(estimate.prior, "", digits),
            number(estimate.value, "", digits),
            number(estimate.error, "", digits) if math.isfinite(estimate.error) else "open",
            estimate.unit, f"{100 * estimate.share:.0f} %", f"{100 * estimate.alone:.0f} %", determined,
        ))  # fmt: skip
    lines = [f"{result.setup.name}: what the data determine", ""]
    pulled = [estimate for estimate in result.estimates if estimate.pulled]
    for estimate in pulled:
        lines += wrapped(f"{_name(estimate)} was {PULLED}: data and model disagree; do not use it.", "  ! ", "    ")
    lines += [""] if pulled else []
    lines += columns(
        rows,
        ("", "before", "known to", "found", "error", "unit", "left", "alone", "the data determine it"),
    )
    lines += [""]
    lines += wrapped(
        "Left: what the data leave of the width to which it was known, all the others being free too (under 30 %: "
        "determined; over 80 %: not at all). Alone: the same, if all the others were known.", "  ", "  ",
    )  # fmt: skip
    lines += [""]
    lines += [line for remark in _remarks(result) for line in wrapped(remark, "  ", "    ")]
    values = ", ".join(f"{v:.2g}" for v in result.singular_values)
    lines += ["", *wrapped(f"Singular values (prior widths over errors): {values}", "  ", "    ")]
    basis = "data and what was known before" if result.priors else "data alone"
    lines += wrapped(
        f"By {basis}; misfit {result.before.misfit:.2f} before, {result.after.misfit:.2f} after; {result.trials} bows "
        f"tried" + (f", {result.failed} without a shot" if result.failed else "") + "."
        + ("" if result.converged else " The search was not finished."), "  ", "  ",
    )  # fmt: skip
    return "\n".join([*lines, *_warned(result.after)])


def _warned(result: DataCompared) -> list[str]:
    of = "draws and shots" if result.data.draw_force is not None else "shots"
    return ["", *warned(grouped(result.modelled.warnings, of)[0])]


def _remarks(result: OwnFit) -> list[str]:
    """What the table does not say by itself."""
    remarks = []
    for estimate in result.estimates:
        if estimate.pulled:
            remarks.append(
                f"{_name(estimate)} moved by {abs(estimate.moved):.1f} times the width to which it was known."
            )
            continue
        if estimate.determined == "not at all":
            same = abs(estimate.moved) <= SAME[0] and estimate.error <= SAME[1] * estimate.prior
            also = "value and error are about what they were before" if same else "do not use the value found"
            remarks.append(f"{_name(estimate)} is not determined by these data: {also}.")
        if estimate.determined != "determined" and estimate.alone < 0.5 * estimate.share:
            remarks.append(f"{_name(estimate)} would be known much better if the other free inputs were known.")
    k = len(result.estimates)
    for i in range(k):
        for j in range(i):
            both = result.correlation[i, j]
            sure = result.estimates[i].determined == result.estimates[j].determined == "determined"
            if np.isfinite(both) and abs(both) > CLOSE and not sure:
                remarks.append(
                    f"{_name(result.estimates[j])} and {_name(result.estimates[i])} can hardly be told apart "
                    f"(correlation {both:+.2f})."
                )
    if result.widened > 1.5:
        remarks.append(
            f"The differences are {result.after.misfit:.1f} times the errors stated: model or data miss something, so "
            f"the standard errors were widened by {result.widened:.1f}."
        )
    return remarks


def _name(estimate: Estimate) -> str:
    return estimate.path.replace("_", " ")


def _digits(size: float) -> int:
    """Decimals that show two figures of a size."""
    if not math.isfinite(size) or size <= 0.0:
        return 2
    return max(0, min(8, 1 - math.floor(math.log10(size))))


def _title(table: Residuals) -> str:
    rms = from_si(table.rms, table.unit) if math.isfinite(table.rms) else table.rms
    error = from_si(table.error, table.unit)
    other = OTHER.get(table.unit)
    size = 1.0 / from_si(1.0, table.unit)
    both = f" ({rms * size:.3g}; {error * size:.3g} {other})" if other else ""
    return f"{table.name} [{table.unit}]: root mean square {rms:.3g}, error stated {error:.3g}{both}"


def _rows(table: Residuals, most: int) -> list[str]:
    digits = DIGITS[table.unit]
    stride = max(1, -(-table.at.size // most))
    rows = []
    for k in range(0, table.at.size, stride):
        cells = [
            number(from_si(float(v), table.unit) if math.isfinite(v) else float("nan"), "", digits, signed)
            for v, signed in ((table.measured[k], False), (table.computed[k], False), (table.difference[k], True))
        ]
        at = number(from_si(float(table.at[k]), table.along_unit), "", DIGITS[table.along_unit])
        place = () if table.distance is None else (_place(float(table.distance[k])),)
        rows.append((at, *place, *cells, table.left_out.get(k, "")))
    where = () if table.distance is None else ("at [m]",)
    lines = columns(rows, (f"{table.along} [{table.along_unit}]", *where, "measured", "computed", "difference", ""))
    return lines if stride == 1 else [*lines, f"  one row in {stride} of {table.at.size}"]


def _place(distance: float) -> str:
    return "clear" if math.isnan(distance) else f"{distance:g}"
