"""How the fingers let go, for what is told and drawn of a shot; the release itself has it in its kernels."""

from __future__ import annotations

import numpy as np


def fading(time: np.ndarray | float, lasting: np.ndarray, delay: np.ndarray) -> np.ndarray:
    """Share of its force at full draw that each finger still has: a half cosine from 1 to 0 after its delay.

    Parameters
    ----------
    time : (...) array
        After the release begins [s].
    lasting, delay : (3,) arrays
        Of each finger's release [s].

    Returns
    -------
    (..., 3) array
    """
    since = np.clip((np.asarray(time)[..., None] - delay) / lasting, 0.0, 1.0)
    return np.asarray(0.5 * (1.0 + np.cos(np.pi * since)))
