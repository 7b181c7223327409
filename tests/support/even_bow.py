"""A bow that is its own mirror image about the arrow's line, but for gravity and the rest."""

from __future__ import annotations

import archerysim
from archerysim.equipment import Setup, filled

AXIS = 7.75  # of the arrow above the pivot: the lowest rest that is allowed, and half the shaft [mm]
LEVEL = "-0.15 mm"  # the reading by the underside at which the arrow lies square to the string


def even_bow(shares: tuple[float, float, float] = (0.25, 0.5, 0.25), reading: str = LEVEL) -> Setup:
    """The club bow as built, its riser moved up to the arrow's line, its fingers about the nock, without its rod.

    Turned upside down, it is the bow with the shares of its fingers in the other order.

    Parameters
    ----------
    shares : (float, float, float)
        Of the fingers above, at and below the nock.
    reading : str
        By the underside.
    """
    built = archerysim.fit(archerysim.load("examples/club-outdoor.toml"), mesh="coarse").setup
    riser = filled(built).riser
    half = 500.0 * (riser.upper_root_y - riser.lower_root_y)
    lean = {f"{limb}.pocket_angle": "2 deg" for limb in ("upper_limb", "lower_limb")}
    return built.replace({
        "rest.height": "5 mm", "rest.droop": None, "rest.stiffness": "1000 N/m",
        "riser.upper_root_y": f"{AXIS + half} mm", "riser.lower_root_y": f"{AXIS - half} mm",
        "riser.mass_centre_y": f"{AXIS} mm", "archer.pressure_point": f"{AXIS} mm", "riser.rods": None, **lean,
        "archer.finger_places": ["16 mm", "0 mm", "-16 mm"], "archer.finger_shares": list(shares),
        "nock.locators.place": None, "nock.locators.reading": reading,
    })  # fmt: skip
