"""The braced bow: string length for a brace height, brace height for a string."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from archerysim.equipment.filled_records import TiedLocators
from archerysim.equipment.filled_setup import BuiltSetup
from archerysim.equipment.readings import read_by
from archerysim.errors import ShotError
from archerysim.mechanics.statics.arc import LOWEST
from archerysim.mechanics.statics.newton import CAREFUL, MOST_CAREFUL
from archerysim.shot.arrays.build import LimbsAndArrow, lean
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.arrays.wraps import lies_too_far
from archerysim.shot.statics.bracing import GRAVITY, Braced, Bracing, Square
from archerysim.shot.statics.first_guess import likely_height, string_divided
from archerysim.shot.statics.lay_arrow import seated, trials
from archerysim.shot.statics.stability import tips_over
from archerysim.status import LIES_TOO_FAR, NO_CONVERGENCE, SLACK_STRING, UNSTABLE

__all__ = ["GRAVITY", "Braced", "Bracing", "Square", "brace_to_height", "brace_with_string"]

MOST_SQUARES = 6
SAME_STRING = 1e-10  # [m] of its length, and of the throat's place on it
FIRST_LENGTH = 1.6  # [m] of a string whose length is to be found
NO_HEIGHT = 1e-4  # [m] above the lowest brace height looked at: a string is too long for any
LET_OUT = 0.004  # [m] of string in one step
# [m] between the tillers of curved limbs: more, and they have tipped opposite ways, the one that went forward caught by
# its string [judgement]; string and pockets a little off their measures make it 40 mm at most (random bows)
TIPPED = 0.09
FIRST_SHARE, LEAST_SHARE = 1.0 / 8.0, 1.0 / 256.0  # of the limbs' natural curvature, by which it grows in one step


def throat_place(setup: BuiltSetup, square: Square) -> float:
    """Unloaded place of the throat's middle on the string: as tied, or by its reading [m]."""
    locators = setup.nock.locators
    if isinstance(locators, TiedLocators):
        return float(locators.place)
    return square.throat(read_by(setup).underside(locators.reading), setup.nock.height)


def with_arrow(bare: Bracing, mesh: Mesh, unknowns: int = 0, height: float = 0.0, split: float = 0.0) -> Braced:
    """Put the arrow on the string of a braced bow and settle it."""
    setup = bare.setup
    square = bare.square()
    throat = throat_place(setup, square)
    leans = bare.leans
    full = Bracing(setup, bare.length, leans, mesh, throat, bare.limbs_and_arrow)
    x, y = string_divided(bare.x, bare.y, bare.marks, full.marks, full.place, bare.length)
    ways = [(*way, careful) for way in trials(full.throat) for careful in (CAREFUL, MOST_CAREFUL)]
    for trial, then, careful in ways:
        full.throat = trial
        full.lean_to(leans, bare.length)
        full.start_at(*seated(setup, full.chain, full.marks, trial, full.support, x, y, (0.0, -GRAVITY)))
        try:
            full.newton(unknowns, height, split, two_way=False, careful=careful)
            if then is not None:
                full.throat = then
                full.newton(unknowns, height, split, two_way=False, careful=careful)
            break
        except ShotError:
            if (trial, then, careful) == ways[-1]:
                raise
    if any(lies_too_far(wrap, full.x, full.y) for wrap in (full.chain.above, full.chain.below)):
        raise ShotError("brace", LIES_TOO_FAR)
    return full.braced(square, throat, bare.iterations + full.iterations)


def stood(bare: Bracing, begin: Callable[[], None], go_on: Callable[[], None]) -> None:
    """Brace the bow without its arrow, so that it stays so.

    Where that does not succeed at once, the limbs are straight to begin with, and their natural curvature grows: near
    the curvature from which on a bow tips over, Newton's method leads anywhere.

    Parameters
    ----------
    bare : Bracing
    begin : callable
        Braces from scratch.
    go_on : callable
        Solves again from where it is.

    Raises
    ------
    ShotError
        Where there is no such bow, or it would not stay braced: the limbs would tip opposite ways, or do so already
        with less curvature.
    """
    natural, length, leans = bare.chain.natural.copy(), bare.length, bare.leans
    try:
        begin()
        if not (bare.tension() > 0.0 and tips_over(bare.chain, bare.marks, bare.x, bare.y)):
            return  # a slack string is told later
        first = ShotError("brace", UNSTABLE)
    except ShotError as error:
        first = error
    if not natural.any():
        raise first
    bare.lean_to(leans, length)
    try:
        bare.chain.natural[:] = 0.0
        begin()
    except ShotError:
        bare.chain.natural[:] = natural
        raise first from None
    share, step, tipped = 0.0, FIRST_SHARE, False
    while share < 1.0:
        x, y, length, leans = bare.x.copy(), bare.y.copy(), bare.length, bare.leans
        step = min(step, 1.0 - share)
        bare.chain.natural[:] = (share + step) * natural
        try:
            go_on()
            tipped = tips_over(bare.chain, bare.marks, bare.x, bare.y)
            share += step
        except ShotError:
            bare.lean_to(leans, length)
            bare.start_at(x, y)
            step *= 0.5
            if tipped or step < LEAST_SHARE:  # here the row of equilibria ends
                tipped = True
                break
    bare.chain.natural[:] = natural
    if tipped:
        raise ShotError("brace", UNSTABLE)


def brace_to_height(
    setup: BuiltSetup,
    height: float,
    mesh: Mesh,
    split: float | None = None,
    limbs_and_arrow: LimbsAndArrow | None = None,
    squares: int = MOST_SQUARES,
    settle: Callable[[Bracing], None] | None = None,
) -> Braced:
    """Brace to a height by finding the string's length (and, with ``split``, the pockets' difference).

    Parameters
    ----------
    setup : BuiltSetup
    height : float
        Brace height [m].
    split : float, optional
        Upper minus lower distance of the roots from the string [m]; then the difference of the pocket
        angles is found too, their mean kept.
    limbs_and_arrow : LimbsAndArrow, optional
        Of the setup, where they are known already.
    squares : int
        How often at most the square is put to the bow again. With none, the string's mass is that of a likely length,
        and length and throat are out by what the arrow's weight does to them.
    settle : callable, optional
        Changes the limbs of the bow braced without its arrow, and settles it again.

    Raises
    ------
    ShotError
    """
    leans = (lean(setup.upper_limb), lean(setup.lower_limb))
    bare = Bracing(setup, FIRST_LENGTH, leans, mesh, None, limbs_and_arrow)
    between = setup.riser.upper_root_y - setup.riser.lower_root_y
    tilt = 0.0 if split is None else -float(np.arcsin(split / between))
    unknowns = 1 if split is None else 2

    def begin() -> None:
        try:
            bare.stand(height, tilt)
            if split is not None:
                bare.newton(2, height, split)
        except ShotError:
            if split is None:
                raise
            # limbs of very unlike length stand with pockets that differ, and may not with such that do not
            bare.lean_to(leans, FIRST_LENGTH)
            bare.bend_to(height, tilt)
            bare.newton(2, height, split)

    stood(bare, begin, lambda: bare.newton(unknowns, height, split or 0.0))
    if settle is not None:
        settle(bare)
    if squares:
        bare = bare.with_string(bare.length, bare.leans)
        bare.newton(0)
    # the arrow's few hundredths of a newton change string and pockets a little, and with them the square
    braced = with_arrow(bare, mesh, unknowns, height, split or 0.0)
    for _ in range(squares):
        bare = bare.with_string(braced.string_length, braced.leans)
        bare.newton(0)
        last, braced = braced, with_arrow(bare, mesh, unknowns, height, split or 0.0)
        moved = braced.string_length - last.string_length, braced.throat - last.throat
        if max(map(abs, moved)) < SAME_STRING:
            break
    return braced


def brace_with_string(setup: BuiltSetup, length: float, mesh: Mesh) -> Braced:
    """Brace with a string of the given unloaded length [m] and see what brace height comes out.

    Starts from the bow braced to a likely height and lets the string out or in to its length.

    Raises
    ------
    ShotError
        Where there is no such bow, or it would not stay braced, or has tipped: a string that lies on the limb stops it
        on the way.
    """
    bare = Bracing(setup, length, (lean(setup.upper_limb), lean(setup.lower_limb)), mesh)
    try:
        stood(bare, lambda: _let_out(bare, length), lambda: bare.newton(0))
    except ShotError as error:
        height, _ = likely_height(setup, bare.leans, bare.chain, bare.marks, length)
        if error.status == UNSTABLE and height < LOWEST + NO_HEIGHT:
            raise _slack(length, "is too long") from None
        raise
    try:
        bare.newton(0, two_way=False)
    except ShotError:
        raise _slack(length) from None
    _, upper, lower = bare.measures()
    if (bare.marks.reach_u or bare.marks.reach_l) and abs(upper - lower) > TIPPED:
        raise ShotError("brace", UNSTABLE)
    return with_arrow(bare, mesh)


def _let_out(bare: Bracing, length: float) -> None:
    """Brace to a likely height, and let the string out or in to its length [m]."""
    found, enough = likely_height(bare.setup, bare.leans, bare.chain, bare.marks, length)
    if found == 0.0:
        raise _slack(length, "is too long")
    if not enough:
        raise ShotError("brace", NO_CONVERGENCE, f"string.length = {1e3 * length:.0f} mm is too short")
    bare.bend_to(found, 0.0)
    begin = bare.length
    try:
        bare.newton(1, found)
        begin = bare.length
        steps = max(1, int(np.ceil(abs(begin - length) / LET_OUT)))
        for k in range(1, steps + 1):
            bare.scale(begin + (length - begin) * k / steps)
            bare.newton(0)
    except ShotError:
        if length > begin:
            raise _slack(length) from None
        raise


def _slack(length: float, words: str = "") -> ShotError:
    return ShotError("brace", SLACK_STRING, f"string.length = {1e3 * length:.0f} mm {words}".rstrip())
