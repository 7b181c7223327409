"""The contacts' laws at rest as the model states them, written once more."""

from __future__ import annotations

from archerysim.mechanics.arrays import Throat


def grip_law(th: Throat, depth: float) -> tuple[float, float]:
    """What the grip can hold at a depth behind the floor, and its slope with the string's advance."""
    if depth <= 0.5 * th.snap:
        return th.grip, 0.0
    if depth >= th.snap:
        return 0.0, 0.0
    return th.grip * (1.0 - (depth - 0.5 * th.snap) / (0.5 * th.snap)), 2.0 * th.grip / th.snap


def edge_law(th: Throat, d: float) -> tuple[float, float]:
    """Force max(k d, -g(d)) on the shaft and its derivative with respect to d."""
    held, slope = grip_law(th, -d)
    if th.stiffness * d > -held:
        return th.stiffness * d, th.stiffness
    return -held, -slope


def locator_law(th: Throat, s: float) -> tuple[float, float]:
    """Force of the locators on the shaft along the floor and its derivative with respect to s."""
    if th.half_gap == 0.0:
        present = th.lower if s > 0.0 else th.upper
        return (th.locator_stiffness * s, th.locator_stiffness) if present else (0.0, 0.0)
    if s > th.half_gap and th.lower:
        return th.locator_stiffness * (s - th.half_gap), th.locator_stiffness
    if s < -th.half_gap and th.upper:
        return th.locator_stiffness * (s + th.half_gap), th.locator_stiffness
    return 0.0, 0.0
