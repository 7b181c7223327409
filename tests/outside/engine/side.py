"""What a shot in both planes needs besides, in SI."""

from __future__ import annotations

from dataclasses import dataclass

SEAT = 1e5  # stiffness with which a preloaded side support starts [N/m]


@dataclass(frozen=True)
class Side:
    """Numbers of the shot sideways; z is positive away from the riser's window.

    Attributes
    ----------
    offset, forward : float
        Of the side support: the shaft's axis from the string's plane, and its place in front of the rest [m].
    stiffness, preload, travel, damping : float
        [N/m], [N], [m], [N s/m]
    half_diameter : float
        Of the shaft [m].
    reach : float
        How far the arm supports, from the side support's face out [m].
    fold_force : float
        With which a struck arm folds [N].
    roll : float
        Angle by which a finger's force turns towards +z as it lets go [rad].
    hold : float
        Place of the nock at full draw [m].
    tip_stiffness, tip_damping, tip_mass : float
        Of a limb's tip across the plane, the string's end not counted [N/m], [N s/m], [kg].
    groove_stiffness, groove_loss : float
        String against nock across the plane [N/m], [N s/m].
    """

    offset: float
    stiffness: float
    preload: float
    travel: float
    damping: float
    forward: float
    half_diameter: float
    reach: float
    fold_force: float
    roll: float
    hold: float
    tip_stiffness: float
    tip_damping: float
    tip_mass: float
    groove_stiffness: float
    groove_loss: float
