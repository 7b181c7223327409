"""The record of what the shaft leans on sideways."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from archerysim.fields.quantity import Note, Quantity
from archerysim.fields.record import Record

SideKind = Literal["sprung", "plate"]


class Side(Record, frozen=True, kw_only=True):
    """The side support: what the shaft leans on sideways, beside the rest. It pushes away from the riser's window.

    Examples
    --------
    >>> import archerysim
    >>> side = archerysim.Side(offset="1 mm", preload="3 N")
    >>> side.offset, side.preload  # [m], [N]
    (0.001, 3.0)
    """

    label: ClassVar[str] = "side"

    kind: Annotated[
        SideKind | None,
        Note(
            text="a sprung side support, or a plate (a plain one, or the riser's own side): "
            "chooses the usual stiffness and preload"
        ),
    ] = None
    offset: Annotated[
        float | None,
        Quantity(
            text="centre shot: the shaft's axis at the side support from the string's plane, "
            "positive = out, away from the riser's window",
            unit="mm",
            low="-15 mm",
            high="20 mm",
        ),
    ] = None
    stiffness: Annotated[
        float | None,
        Quantity(
            text="stiffness, force for each metre that it gives way, once it gives way",
            unit="N/m",
            low="20 N/m",
            high="1e6 N/m",
        ),
    ] = None
    preload: Annotated[
        float | None,
        Quantity(text="force from which it gives way", unit="N", low="0 N", high="30 N"),
    ] = None
    travel: Annotated[
        float | None,
        Quantity(
            text="how far it gives way before it is solid",
            unit="mm",
            low="0.1 mm",
            high="20 mm",
            default="4 mm",
            basis="judgement",
        ),
    ] = None
    damping: Annotated[
        float | None,
        Quantity(
            text="damping of the side support while the shaft touches it",
            unit="N s/m",
            low="0 N s/m",
            high="100 N s/m",
            default="1 N s/m",
            basis="judgement",
        ),
    ] = None
    forward: Annotated[
        float | None,
        Quantity(
            text="from the rest's point of support, forward along the arrow",
            unit="mm",
            low="-50 mm",
            high="80 mm",
            default="0 mm",
        ),
    ] = None
