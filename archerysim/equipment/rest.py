"""The record of the rest."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from archerysim.fields.quantity import Note, Quantity
from archerysim.fields.record import Record, Rivals

RestKind = Literal["arm", "shelf"]


class Rest(Record, frozen=True, kw_only=True):
    """The rest: a sprung support under the shaft, at a point of the riser.

    Examples
    --------
    >>> import archerysim
    >>> rest = archerysim.Rest(droop="0.6 mm", droop_mass="50 g")
    >>> rest.droop, rest.droop_mass  # [m], [kg]
    (0.0006, 0.05)
    """

    label: ClassVar[str] = "rest"
    rivals: ClassVar[tuple[Rivals, ...]] = (Rivals((("stiffness",), ("droop", "droop_mass"))),)
    needs: ClassVar[dict[str, tuple[str, ...]]] = {"droop_mass": ("droop",)}

    kind: Annotated[
        RestKind | None,
        Note(text="an arm, which supports as far as it reaches and folds, or a shelf, which always supports"),
    ] = None
    forward: Annotated[
        float | None,
        Quantity(
            text="point of support, forward of the pivot",
            unit="mm",
            low="-100 mm",
            high="150 mm",
            default="0 mm",
        ),
    ] = None
    height: Annotated[
        float | None,
        Quantity(text="top of the rest above the pivot", unit="mm", low="5 mm", high="150 mm", default="45 mm"),
    ] = None
    stiffness: Annotated[
        float | None,
        Quantity(
            text="stiffness, force on the rest for each metre that it gives way",
            unit="N/m",
            low="20 N/m",
            high="1e6 N/m",
            default="800 N/m",
        ),
    ] = None
    droop: Annotated[
        float | None,
        Quantity(
            text="how far the rest gives way under droop_mass",
            unit="mm",
            low="0.0004 mm",
            high="30 mm",
            example="0.6 mm",
        ),
    ] = None
    droop_mass: Annotated[
        float | None,
        Quantity(
            text="mass hung on the rest to measure its droop",
            unit="g",
            low="1 g",
            high="1000 g",
            default="50 g",
        ),
    ] = None
    damping: Annotated[
        float | None,
        Quantity(
            text="damping of the rest while the shaft touches it",
            unit="N s/m",
            low="0 N s/m",
            high="100 N s/m",
            default="0.5 N s/m",
            basis="judgement",
        ),
    ] = None
    reach: Annotated[
        float | None,
        Quantity(
            text="how far an arm supports, from the side support's face out to its end",
            unit="mm",
            low="1 mm",
            high="40 mm",
        ),
    ] = None
    fold_force: Annotated[
        float | None,
        Quantity(
            text="force with which an arm that is struck from the side folds away",
            unit="N",
            low="0 N",
            high="5 N",
            default="0 N",
            basis="judgement",
        ),
    ] = None
    support_travel: Annotated[
        float | None,
        Quantity(
            text="travel of the arrow after which the rest no longer supports it, in one plane",
            unit="mm",
            low="10 mm",
            high="900 mm",
            default="220 mm",
            basis="judgement",
        ),
    ] = None
    unlimited_support: Annotated[
        bool | None,
        Note(text="whether the rest supports the shaft for the whole shot, in one plane", default=False),
    ] = None
