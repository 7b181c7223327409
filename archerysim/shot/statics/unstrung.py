"""The bow without its string: the limbs' natural shape, clamped at the pocket angles."""

from __future__ import annotations

import numpy as np

from archerysim.shot.statics.brace import Braced


def unstrung(braced: Braced) -> tuple[np.ndarray, np.ndarray]:
    """Where the limbs of a bow stand when it is unstrung; their own weight is left out.

    Parameters
    ----------
    braced : Braced
        Carries roots, pocket angles, cells and natural bend.

    Returns
    -------
    upper, lower : (k, 2) arrays
        Nodes from root to tip, x and y in the riser's axes [m].

    Notes
    -----
    A limb leaves its root at the pocket angle, forward positive, and turns at node i by the natural bend b_i,
    of which the chain keeps 2 tan(angle / 2); a forward curve is negative there.
    """
    chain, marks = braced.chain, braced.marks
    roots = braced.frame.carried[1:3]
    upper = slice(marks.root_u, marks.tip_u)
    lower = slice(marks.tip_l, marks.root_l)
    inside = slice(marks.tip_l + 1, marks.root_l + 1)
    return (
        _limb(roots[0], 1.0, braced.leans[0], chain.natural[upper], chain.rest_length[upper]),
        _limb(roots[1], -1.0, braced.leans[1], chain.natural[inside][::-1], chain.rest_length[lower][::-1]),
    )


def _limb(root: np.ndarray, side: float, lean: float, natural: np.ndarray, cells: np.ndarray) -> np.ndarray:
    """Nodes of one limb; ``natural`` at the nodes from the root on, one for each cell."""
    forward = lean + np.cumsum(-2.0 * np.arctan(0.5 * natural))
    steps = cells[:, None] * np.column_stack((np.sin(forward), side * np.cos(forward)))
    return np.asarray(np.vstack((root, root + np.cumsum(steps, axis=0))))
