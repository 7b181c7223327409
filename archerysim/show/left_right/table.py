"""What moves bare shafts sideways, as plain text: what to do now in a few lines, all of it on demand."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from archerysim.show.left_right.details import all_lines
from archerysim.show.left_right.words import back, beside, centimetres, struck, way_and_range
from archerysim.show.text import away, columns, with_warnings, wrapped

if TYPE_CHECKING:
    from archerysim.study.sideways.result import SideMove, SidewaysTune

FIRST = "Height first (archerysim tune), then sideways, one change at a time, then height again."
CONTACT = (
    "CLEAR THE CONTACT FIRST. Until then no left and no right: a stiffer shaft whose tail strikes looks like a weaker "
    "one."
)
PARTS = "Repeat the group before you buy a shaft or point. Mass per length is taken as today's."
CHECK = "CHECK THE CLEARANCE FIRST."
DETAILS = "All numbers of every change, and what is taken as uncertain: --all."
LOOK = (
    "A gap that nothing takes back often comes from contact, a plucked string or a turned bow hand: look at these and "
    "repeat the group first."
)
AT_HAND = 'Shafts and points at hand are tried with --spines "0.650, 0.700 in" and --points "90, 100 gr".'
SHOWN = 8  # rows of the short table
BESIDE_ANSWER = 3  # of them, beside an answer


def sideways_table(tune: SidewaysTune, distance: str = "", everything: bool = False) -> str:
    """What settings and parts do to left and right of bare shafts.

    Parameters
    ----------
    tune : SidewaysTune
    distance : str
        As it was given.
    everything : bool
        Every number of every change, and what is taken as unsure.
    """
    from archerysim.shot.warnings import with_more

    far = distance or f"{tune.distance:g} m"
    bare = "bare shafts" if tune.taped else "untaped bare shafts"
    lines = [f"{tune.setup.name}: {bare} left and right of fletched ones at {far}", ""]
    if tune.contact:
        lines += [*wrapped(CONTACT), *(line for one in tune.contact for line in wrapped(one))]
    elif math.isfinite(tune.gap):
        check = _may_touch(tune)
        lines += [*([f"  {CHECK}"] if check else []), *(line for one in check for line in wrapped(one))]
        lines += [*_answer(tune), *([] if everything else wrapped(DETAILS))]
    else:
        lines += _moves(tune)
    if tune.moves and everything:
        lines += ["", *all_lines(tune)]
    others = [one for one in tune.warnings if one not in tune.contact]
    passed = sum(one in tune.warnings[: len(tune.limits_passed)] for one in others)
    told = [] if math.isfinite(tune.gap) else _may_touch(tune)  # else on top of the answer
    return with_warnings([*lines, ""], with_more(others, told), passed)


def _may_touch(tune: SidewaysTune) -> list[str]:
    """That something may touch although it does not by the numbers of the file."""
    if tune.contact or not tune.touching:
        return []
    return [
        f"In {tune.touching} of {tune.draws} bows that this one may be, the tail touches the side support or the arm "
        "is struck. Check with powder or paint first: if yours does, nothing said here about left and right holds."
    ]


def _moves(tune: SidewaysTune) -> list[str]:
    """Which way every change moves bare shafts, and what to do about the height; parts at hand before all else."""
    told = [one for one in tune.moves if one.kind == "parts"] or list(tune.moves)
    shown = told if len(told) <= SHOWN else told[: SHOWN - 1]
    hanging = (
        f"""Changes only: the fingers' roll is a guess. A group's --gap "6 cm {away(tune.setup)}" picks one; """
        "more: --all."
    )
    left_out = [line for one in tune.left_out if told[-1].kind != "parts" for line in wrapped(one)]
    return [*wrapped(FIRST), *_rows(tune, shown, len(told)), *left_out, *wrapped(hanging)]


def _answer(tune: SidewaysTune) -> list[str]:
    """The change that takes a gap back, or that none does."""
    gap = abs(tune.gap)
    if gap <= tune.noise:
        return [
            *wrapped(
                f"HOLD: {beside(tune, tune.gap)} is within a club archer's own scatter, {centimetres(tune.noise)} for "
                "three bare and six fletched shafts. Repeat the group before anything is changed."
            ),
        ]
    wanted = f"Bare shafts {beside(tune, tune.gap)} are to go {beside(tune, -tune.gap)}."
    parts = [one for one in tune.moves if one.kind == "parts"]
    if tune.best is None:
        text = "NOTHING HERE TAKES IT BACK, so no shaft is named."
        if tune.furthest is not None:
            one = tune.moves[tune.furthest]
            way, range_ = way_and_range(tune, one)
            text += f" Furthest goes the {one.name}: {way} ({range_})."
        more = _rows(tune, parts[:BESIDE_ANSWER], len(parts)) if parts else wrapped(AT_HAND)
        return [*wrapped(wanted), *wrapped(text), *wrapped(LOOK), *more]
    best = tune.moves[tune.best]
    way, range_ = way_and_range(tune, best)
    left = tune.gap + best.side
    now = "THEN, IF NOTHING TOUCHES" if tune.touching else "NOW"
    lines = wrapped(
        f"{wanted} {now}: {best.name}: {way} ({range_}); that brings them to {beside(tune, left)}. "
        f"Then the locators: {back(best)}; then the group again."
    )
    if best.touching:
        lines += wrapped(
            f"It may make the tail touch ({best.touching} of {tune.free} bows): check with powder or paint."
        )
    if best.kind == "parts":
        lines += wrapped(PARTS)
    also = [tune.moves[k] for k in tune.also]
    return [*lines, *wrapped(FIRST), *_rows(tune, also[:BESIDE_ANSWER], len(also), "or else")]


def _rows(tune: SidewaysTune, moves: list[SideMove], of: int, title: str = "") -> list[str]:
    """A line for each change."""
    if not moves:
        return []
    head, *lines = columns(
        [_row(tune, one) for one in moves], (title, "bare shafts go", "90 % range", "locators after it")
    )
    more = [f"  {of - len(moves)} more by --all"] if of > len(moves) else []
    return [head, *lines[1:], *more]  # without the rule


def _row(tune: SidewaysTune, move: SideMove) -> tuple[str, str, str, str]:
    if move.reason:
        return move.name, "no shot", "", ""
    if move.contact:
        return move.name, *struck(move), ""
    way, range_ = way_and_range(tune, move)
    return move.name, way, range_, "past a limit: --all" if move.cautions else back(move)
