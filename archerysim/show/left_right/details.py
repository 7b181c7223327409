"""All numbers of what moves bare shafts sideways, and what is taken as unsure."""

from __future__ import annotations

from typing import TYPE_CHECKING

from archerysim.show.left_right.words import back, beside, struck, way_and_range
from archerysim.show.text import columns, number, titled, wrapped

if TYPE_CHECKING:
    from archerysim.study.sideways.result import SideMove, SidewaysTune

HOW = (
    "Every change is made to the bow as it is, the locators where they are tied. The range is that of the bows drawn, "
    "any of which this one may be; those in which something touches are left out of it."
)
GROUP = (
    "The group is that of the fletched arrows: the sight follows where it goes, so that alone is no reason for a "
    "change."
)
CUT = (
    "A cut cannot be undone: it is never proposed here. Cut last and a little at a time, one shaft first; common "
    "practice is to try points and the side support before."
)


def all_lines(tune: SidewaysTune) -> list[str]:
    """Two tables of all changes, what was left out, what is unsure."""
    told = [one for one in tune.moves if not one.contact and not one.reason]
    touching = [one for one in tune.moves if one.contact]
    lines = titled(
        "Bare shafts beside fletched ones, seen from behind",
        columns(
            [_sideways(tune, one) for one in told],
            ("", "go", "90 % range", "same way in", "touches in", "the group goes"),
        ),
    )
    lines += titled(
        "What else each change does",
        columns(
            [_besides(one) for one in told],
            ("", "bare shafts rise by", "locators after it", "arrow", "grains per pound"),
        ),
    )
    if touching:
        lines += titled(
            "Not given, because something touches: clear that first",
            [line for one in touching for line in _struck(one)],
        )
    left = [*(f"{one.name}: {one.reason}" for one in tune.moves if one.reason), *tune.left_out]
    if left:
        lines += titled("Left out", [line for one in left for line in wrapped(one)])
    cautions = [f"{one.name}: {caution}" for one in tune.moves for caution in one.cautions]
    if cautions:
        lines += titled("Limits that a change would pass", [line for one in cautions for line in wrapped(one)])
    lines += titled("What is taken as uncertain, one standard deviation", columns(_unsure(tune)))
    lines += titled("Side support", wrapped(_side_support(tune)))
    cut = [CUT] if any(one.kind == "length" for one in told) else []
    return [*lines, *(line for one in (HOW, GROUP, *cut) for line in wrapped(one))]


def _sideways(tune: SidewaysTune, move: SideMove) -> tuple[str, ...]:
    return (
        move.name, beside(tune, move.side, upper=True), way_and_range(tune, move)[1],
        f"{100.0 * move.agreeing:.0f} %", f"{move.touching} of {tune.free}", beside(tune, move.group),
    )  # fmt: skip


def _besides(move: SideMove) -> tuple[str, ...]:
    return (
        move.name, number(100.0 * move.height, "cm", 1, True), back(move), number(move.mass, "g", 1),
        number(move.grains_per_pound, "", 1),
    )  # fmt: skip


def _side_support(tune: SidewaysTune) -> str:
    """Whether the side support gives at all."""
    from archerysim.equipment import filled

    side = filled(tune.setup).side
    words = f"The shaft pushes it with {tune.side_force:.1f} N at most."
    if side.kind == "plate":
        return words
    if tune.side_force <= side.preload:
        return (
            f"{words} Its preload, {side.preload:.1f} N, is more: it does not give way, and its spring has no effect."
        )
    return f"{words} Above its preload, {side.preload:.1f} N, it gives way; preload beyond that push has no effect."


def _struck(move: SideMove) -> list[str]:
    return [line for one in move.contact for line in wrapped(f"{move.name}: {', '.join(struck(move))}. {one}")]


def _unsure(tune: SidewaysTune) -> list[tuple[str, ...]]:
    from archerysim.equipment import filled

    full = filled(tune.setup)
    rows: list[tuple[str, ...]] = []
    for one in tune.inputs:
        size, unit = one.shown(full)
        rows.append((one.path, f"{size:.3g} {unit}".rstrip(), one.how))
    return rows
