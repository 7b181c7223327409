"""The modulus that a measured bow's file gives beside the one that its measures ask for."""

from __future__ import annotations

from archerysim.equipment import Setup, filled
from archerysim.equipment.limbs.materials import MATERIALS
from archerysim.fields.units import show

DISAGREE = 0.15  # of the given modulus; nearer to it, a few hundredths of thickness explain it [judgement]
CUBE = 3.0  # a limb's stiffness grows as the third power of its thickness


def moduli(given: Setup, built: Setup) -> dict[str, tuple[float, float]]:
    """Modulus as given, or usual for the material named, and as found [Pa], of each limb with a thickness table."""
    out: dict[str, tuple[float, float]] = {}
    for name in ("upper_limb", "lower_limb"):
        found = getattr(built, name).modulus
        if found is not None and getattr(given, name).width:
            out[name] = (float(getattr(filled(given), name).modulus), float(found))
    return out


def modulus_remarks(given: Setup, built: Setup) -> tuple[str, ...]:
    """Where modulus, width and thickness that are given do not make the bow that was measured: both numbers."""
    remarks = {}
    for name, (said, found) in moduli(given, built).items():
        times = found / said
        if abs(times - 1.0) <= DISAGREE:
            continue
        limb = getattr(given, name)
        first = limb.laminations[0] if limb.laminations else limb
        material, whose = first.material, "given"
        if limb.modulus is None and first.modulus is None and material is not None:
            whose = (
                f"usual for {material}, single pieces within some {100.0 * MATERIALS[material].modulus.spread:.0f} %"
            )
        what = "width and laminations" if limb.laminations else "width and thickness"
        of = " in the first lamination, the others' by as much" if limb.laminations else ""
        thicker = 100.0 * (times ** (1.0 / CUBE) - 1.0)
        remarks[name] = (
            f"{what} fit the measured bow with a modulus of {show(found, 'GPa')}{of}, not with "
            f"{show(said, 'GPa')} ({whose}): {100.0 * (times - 1.0):+.0f} %. A table of thickness with "
            f"{thicker:+.0f} % would do the same: measure it again, and the draw weight."
        )
    words = {text: [name for name, other in remarks.items() if other == text] for text in remarks.values()}
    return tuple(
        f"{'Both limbs' if len(names) > 1 else names[0].replace('_', ' ').capitalize()}: {text}"
        for text, names in words.items()
    )
