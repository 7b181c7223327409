"""How both limbs bend and are strained from root to tip, as text."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from archerysim.show.lines import edit_lines, strain_rows
from archerysim.show.style import MM
from archerysim.show.text import columns, number, pairs, titled, with_warnings, wrapped

if TYPE_CHECKING:
    from archerysim.shot.strain_along import StrainAlong

ROWS = 11  # at even steps from root to tip
FEWEST = 5  # places of a limb's own tables that are told in their stead
HEADS = (
    ("place", "from root", "width", "thickness", "curvature", "curvature", "back", "belly", "back", "belly"),
    ("", "", "", "", "brace", "full draw", "brace", "brace", "full draw", "full draw"),
    ("", "mm", "mm", "mm", "1/m", "1/m", "%", "%", "%", "%"),
)
TOLD = (
    "Curvature: its change from the unstrung limb, towards the archer +. Strain of back and belly: pulled +, "
    "pressed -. A place whose strain is well above its neighbours', or above the other limb's, works hardest."
)


def strain_table(found: StrainAlong) -> str:
    """Change of curvature and strain along both limbs, at brace and at full draw.

    Parameters
    ----------
    found : StrainAlong

    Returns
    -------
    str
        A row for each place of the limb's own tables, or at even steps where these have few; then the largest strain
        beside the limit; cautions and warnings.
    """
    from archerysim.equipment import filled
    from archerysim.equipment.cautions import SCRAPING
    from archerysim.shot.statics.strain import LIMBS, NO_TABLE
    from archerysim.shot.warnings import with_more

    full = filled(found.setup)
    lines = [f"{found.setup.name}: how the limbs bend", *edit_lines(found.edits), ""]
    shaped = False
    for k, (name, limb) in enumerate(zip(LIMBS, (full.upper_limb, full.lower_limb), strict=True)):
        own = limb.at if len(limb.at) >= FEWEST else tuple(np.arange(ROWS) / (ROWS - 1))
        rows = [_row(found, k, int(np.abs(found.place - place).argmin()), bool(limb.width)) for place in own]
        heads = HEADS if limb.width else [row[:2] + row[4:6] for row in HEADS]
        lines += titled(f"{name.capitalize()} limb", columns(rows, *heads))
        shaped = shaped or bool(limb.width)
    lines += [*wrapped(TOLD, "", ""), ""]
    if not shaped:
        lines += [*wrapped(f"No strain is given: {NO_TABLE}.", "", ""), ""]
    lines += titled("Largest strain", pairs(largest(found)))
    return with_warnings(lines, with_more(found.warnings, [SCRAPING] if shaped else []), len(found.limits_passed))


def _row(found: StrainAlong, k: int, i: int, shaped: bool) -> list[str]:
    """One place of one limb."""
    bent = [number(value, "", 2, True) for value in found.curvature[k, :, i]]
    row = [f"{found.place[i]:.3f}", number(found.from_root[k, i] / MM, "", 0)]
    if not shaped:
        return [*row, *bent]
    size = [number(table[k, i] / MM, "", 1) for table in (found.width, found.thickness)]
    strain = [number(100 * side[k, m, i], "", 3, True) for m in (0, 1) for side in (found.back, found.belly)]
    return [*row, *size, *bent, *strain]


def largest(found: StrainAlong) -> list[tuple[str, str]]:
    """As `strain_rows`; where there is a strain but no limit, the strain."""
    rows = strain_rows(found.strain)
    if all(np.isfinite(one.largest) and one.unchecked for one in found.strain):
        rows = [
            (f"strain, {one.limb} limb", f"{100 * one.largest:.2f} %; {one.side} at {one.moment}, {one.at / MM:.0f} mm "
             f"from the root; {one.unchecked}")
            for one in found.strain
        ]  # fmt: skip
    return rows
