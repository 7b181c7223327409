"""Masses and loads shared between nodes so that sum and first moment are kept."""

from __future__ import annotations

import math

from archerysim.mechanics.compiling import inlined, kernel

PIECES = 16  # of a limb's cell, for its compliance
FROM, TO, DENSITY = 0, 1, 2  # of a piece


@inlined
def last_before(nodes, place):
    """Last of some rising nodes that does not stand beyond a place; -1 where all do."""
    j = 0
    while j < nodes.shape[0] and nodes[j] <= place:
        j += 1
    return j - 1


@kernel
def share_points(nodes, at, amounts, out):
    """Add point amounts to their two neighbours.

    Parameters
    ----------
    nodes : (n,) array
        Rising places [m].
    at, amounts : (k,) arrays
        Places and amounts; a place beyond the ends goes to the end.
    out : (n,) array
        Added to.
    """
    n = nodes.shape[0]
    for k in range(at.shape[0]):
        place = min(max(at[k], nodes[0]), nodes[n - 1])
        j = min(last_before(nodes, place), n - 2)
        share = (place - nodes[j]) / (nodes[j + 1] - nodes[j])
        out[j] += (1.0 - share) * amounts[k]
        out[j + 1] += share * amounts[k]


@kernel
def share_line(nodes, at, density, out):
    """Add a piecewise linear density.

    Parameters
    ----------
    nodes : (n,) array
        Rising places [m].
    at, density : (k,) arrays
        Places that do not fall, and the density there (per metre); two equal places make a jump; nothing
        outside.
    out : (n,) array
        Added to. Exact: on each piece density times share is quadratic, two Gauss points integrate it.
    """
    n = nodes.shape[0]
    offset = 0.5 / math.sqrt(3.0)
    for piece in range(at.shape[0] - 1):
        a = at[piece]
        b = at[piece + 1]
        if b <= a:
            continue
        slope = (density[piece + 1] - density[piece]) / (b - a)
        j = min(max(last_before(nodes, a), 0), n - 2)
        left = max(a, nodes[0])
        while left < min(b, nodes[n - 1]):
            right = min(b, nodes[j + 1])
            width = right - left
            middle = 0.5 * (left + right)
            for sign in (-1.0, 1.0):
                point = middle + sign * offset * width
                amount = 0.5 * width * (density[piece] + slope * (point - a))
                share = (point - nodes[j]) / (nodes[j + 1] - nodes[j])
                out[j] += (1.0 - share) * amount
                out[j + 1] += share * amount
            left = right
            if j < n - 2:
                j += 1
            else:
                break


@kernel
def share_even(nodes, pieces, out):
    """Add pieces of even density.

    Parameters
    ----------
    nodes : (n,) array
        Rising places [m].
    pieces : (k, 3) array
        From, to [m] and density (per metre); nothing where they do not rise, nothing beyond the nodes.
    out : (n,) array
        Added to.
    """
    n = nodes.shape[0]
    for piece in range(pieces.shape[0]):
        a = max(pieces[piece, FROM], nodes[0])
        b = min(pieces[piece, TO], nodes[n - 1])
        for j in range(n - 1):
            left = max(a, nodes[j])
            right = min(b, nodes[j + 1])
            if right > left:
                amount = pieces[piece, DENSITY] * (right - left)
                share = (0.5 * (left + right) - nodes[j]) / (nodes[j + 1] - nodes[j])
                out[j] += (1.0 - share) * amount
                out[j + 1] += share * amount


@kernel
def share_bends(at, stiffness, curvature, length, compliance, angle):
    """Compliance and natural angle of the half cells on both sides of each node of a limb of equal cells.

    Parameters
    ----------
    at : (k,) array
        Rising places from the root to ``length`` [m].
    stiffness, curvature : (k,) arrays
        Bending stiffness [N m2] and natural curvature [1/m] there, straight lines between.
    compliance, angle : (cells,) arrays
        Written, from the root's half cell on; the tip's is left out [1/(N m)], [rad].
    """
    cells = compliance.shape[0]
    step = length / (PIECES * cells)
    for i in range(cells):
        compliance[i] = 0.0
        angle[i] = 0.0
    j = 0
    for piece in range(PIECES * cells - PIECES // 2):
        place = (piece + 0.5) * step
        while j < at.shape[0] - 2 and at[j + 1] < place:
            j += 1
        share = (place - at[j]) / (at[j + 1] - at[j])
        node = (piece + PIECES // 2) // PIECES
        compliance[node] += step / (stiffness[j] + share * (stiffness[j + 1] - stiffness[j]))
        angle[node] += step * (curvature[j] + share * (curvature[j + 1] - curvature[j]))
