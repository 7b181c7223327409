"""Where a function of one number is zero, between two ends at which its signs differ.

The library's own, since every command needs one: to load SciPy's optimizers takes a fifth of the time of a shot's
command.
"""

from __future__ import annotations

from collections.abc import Callable

MOST = 200  # halvings alone need 60
ROUNDING = 4.0 * 2.0**-52


def zero_between(function: Callable[[float], float], low: float, high: float, close: float = 0.0) -> float:
    """A zero of a function between two ends.

    Parameters
    ----------
    function : callable
    low, high : float
        Ends at which the function's signs differ, or one of them a zero.
    close : float
        How near to the zero it has to be, beside rounding.

    Raises
    ------
    ValueError
        If the function has one sign at both ends.

    Notes
    -----
    Chandrupatla, Advances in Engineering Software 28 (1997) 145-149: a parabola through the last three places where it
    is safe, else the middle.
    """
    a, b, part = low, high, 0.5
    fa, fb = function(a), function(b)
    if fa == 0.0 or fb == 0.0:
        return a if fa == 0.0 else b
    if (fa > 0.0) == (fb > 0.0):
        raise ValueError(f"one sign at both ends, {fa:g} and {fb:g}")
    for _ in range(MOST):
        x = a + part * (b - a)
        fx = function(x)
        if (fx > 0.0) == (fa > 0.0):
            c, fc = a, fa
        else:
            c, fc, b, fb = b, fb, a, fa
        a, fa = x, fx
        best = a if abs(fa) < abs(fb) else b
        least = (ROUNDING * abs(best) + 0.5 * close) / abs(b - a)
        if least > 0.5 or fa == 0.0:
            break
        shape, rise = (a - b) / (c - b), (fa - fb) / (fc - fb)
        part = 0.5
        if rise * rise < shape and (1.0 - rise) ** 2 < 1.0 - shape:
            part = fa / (fb - fa) * fc / (fb - fc) + (c - a) / (b - a) * fa / (fc - fa) * fb / (fc - fb)
        part = min(max(part, least), 1.0 - least)
    return best
