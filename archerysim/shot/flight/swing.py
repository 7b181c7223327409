"""Wavelength and decay of the arrow's swing in flight, measured from the turning points of its angle of attack."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from archerysim.mechanics.flight import Flyer
from archerysim.shot.flight.trajectory import course

FAR = 120.0  # [m] how far a flight is continued to see its swing
SAMPLES = 2401
LEAST = 1e-5  # [rad] smaller swings between turning points are not counted


@dataclass(frozen=True)
class Swing:
    """The swing of an arrow on its way, up and down (porpoising) or left and right (fishtailing).

    Attributes
    ----------
    wavelength : float or None
        Way in which it swings once to and fro [m]; None if it does not swing to and fro within 120 m.
    decay_length : float or None
        Way in which the swing falls to 1/e [m]; None if there are too few turning points, or it does not fall.
    x : (k,) array
        Where the angle of attack turns: place of the mass centre [m].
    angle_of_attack : (k,) array
        Its value there [deg].
    """

    wavelength: float | None
    decay_length: float | None
    x: np.ndarray
    angle_of_attack: np.ndarray


def swing_of(start: np.ndarray, body: Flyer, *, sideways: bool = False) -> Swing:
    """Fly on from a state (10,) and measure the swing.

    Notes
    -----
    The wavelength is twice the mean way between turning points. The decay goes by the falls from one turning
    point to the next, in which a steady part of the angle of attack drops out: ln(fall / next fall) per half
    wavelength, from the first and the last fall.
    """
    flown = course(start, body, nose=0.0, distance=float(start[0]) + FAR)
    x, _, vx, vy, pitch, _, _, vz, yaw, _ = flown.state(np.linspace(0.0, flown.end, SAMPLES))
    angle = yaw - np.arctan2(vz, np.hypot(vx, vy)) if sideways else pitch - np.unwrap(np.arctan2(vy, vx))
    at, value = turning_points(x, angle)
    if at.size < 2:
        return Swing(None, None, at, np.degrees(value))
    wavelength = float(2.0 * (at[-1] - at[0]) / (at.size - 1))
    falls = np.abs(np.diff(value))
    decay = None
    if falls.size > 1 and falls[-1] < falls[0]:
        apart = 0.5 * (at[-1] + at[-2] - at[1] - at[0])
        decay = float(apart / np.log(falls[0] / falls[-1]))
    return Swing(wavelength, decay, at, np.degrees(value))


def turning_points(x: np.ndarray, angle: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Inner turning points of a curve, each from the parabola through three samples.

    Parameters
    ----------
    x, angle : (n,) arrays
        Evenly or nearly evenly spaced.

    Returns
    -------
    (k,) arrays
        Place and value; a turning point that differs from the one before by less than 1e-5 rad ends the list.
    """
    step = np.diff(angle)
    turns = np.flatnonzero(step[1:] * step[:-1] < 0.0) + 1
    places: list[float] = []
    values: list[float] = []
    for i in turns:
        low, high = angle[i] - angle[i - 1], angle[i] - angle[i + 1]
        shift = 0.5 * (low - high) / (low + high)
        place = x[i] + shift * 0.5 * (x[i + 1] - x[i - 1])
        value = angle[i] + 0.25 * (angle[i + 1] - angle[i - 1]) * shift
        if values and abs(value - values[-1]) < LEAST:
            break
        places.append(place)
        values.append(value)
    return np.array(places), np.array(values)
