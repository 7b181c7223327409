"""Which uncertain inputs decide how wide a range is, in an archer's words."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from archerysim.equipment import field_info
from archerysim.study.uncertainty.inputs import Input

POCKETS = "bow.pocket_angle"
LEAN = "lean of the limbs at the handle"  # of a bow of one piece, which has no pockets
FLIGHT = "how a bare shaft flies"
WORDS = {
    "archer.finger_shares": "load of the fingers",
    "archer.finger_places": "places of the fingers",
    "archer.release_time": "release time",
    "archer.release_delays": "release time",
    "archer.pinch": "pinch of the nock by the fingers",
    "archer.draw_length": "draw length",
    "archer.grip_torque": "the bow hand",
    "archer.hand_stiffness": "the bow hand",
    "archer.hand_rotational_stiffness": "the bow hand",
    "archer.side_roll": "how the string rolls off the fingers",
    "archer.side_hold": "how the string rolls off the fingers",
    "archer.cant": "cant of the bow",
    "bow.stiffness_ratio": "stiffness of the limbs against each other",
    POCKETS: "angle of the limb pockets",
    "bow.upper_tiller": "tillers",
    "bow.lower_tiller": "tillers",
    "bow.brace_height": "brace height",
    "bow.draw_weight": "draw weight",
    "limbs.side_stiffness": "stiffness of the limbs sideways",
    "limbs": "mass of the limbs",
    "upper_limb": "mass of the limbs",
    "lower_limb": "mass of the limbs",
    "limbs.hysteresis": "losses of the limbs",
    "string": "stretch of the string",
    "nock.slope": "slope of the nock's floor",
    "nock.grip": "grip of the nock",
    "nock.friction": "friction in the nock",
    "nock.locators.reading": "reading by the square",
    "nock.locators.gap": "play between the locators",
    "nock.locators": "give of the locators",
    "nock": "size of the nock",
    "rest": "the rest",
    "side": "the side support",
    "riser.rods": "the stabiliser",
    "riser": "mass and balance of the riser",
    "arrow.spine": "spine of the shaft",
    "arrow": "masses and sizes of the arrow",
}


@dataclass(frozen=True)
class Decides:
    """What several inputs of one kind do to a range.

    Attributes
    ----------
    words : str
    share : float
        Of the variance that nearly straight effects make, 0 to 1.
    """

    words: str
    share: float


def words_of(path: str, kind: str = "take-down") -> str:
    """An input of a bow of that kind in an archer's words; where none are kept, as its field says it."""
    if path == POCKETS and kind == "one piece":
        return LEAN
    head = path
    while head:
        if head in WORDS:
            return WORDS[head]
        head = head.rpartition(".")[0]
    return str(field_info(path).text)


def deciding(
    inputs: tuple[Input, ...], normal: np.ndarray, sample: np.ndarray, kind: str = "take-down"
) -> tuple[Decides, ...]:  # fmt: skip
    """Which kinds of inputs decide, the most first.

    Parameters
    ----------
    normal : (n, k + 1) array
        The draws in standard deviations; the last column is that of the flight's model.
    sample : (n,) array
        What came of each; nan where nothing.
    kind : {"take-down", "one piece"}
        Of the bow.

    Notes
    -----
    The draws' own slopes, by least squares with half the number of draws on the diagonal: with about as many draws as
    inputs a small effect is then not taken for a large one by chance. Left and right of the middle may differ: shares
    say which inputs matter, not exactly by how much.
    """
    good = np.isfinite(sample)
    if good.sum() < 2 or not np.ptp(sample[good]) > 0.0:
        return ()
    table, values = normal[good] - normal[good].mean(axis=0), sample[good] - sample[good].mean()
    slopes = np.linalg.solve(table.T @ table + 0.5 * good.sum() * np.eye(table.shape[1]), table.T @ values)
    shares: dict[str, float] = {}
    for name, slope in zip([*(words_of(one.path, kind) for one in inputs), FLIGHT], slopes, strict=True):
        shares[name] = shares.get(name, 0.0) + float(slope) ** 2
    whole = sum(shares.values())
    return tuple(Decides(name, shares[name] / whole) for name in sorted(shares, key=lambda name: -shares[name]))
