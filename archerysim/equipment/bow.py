"""Record of the bow as a whole, as measured."""

from __future__ import annotations

from itertools import pairwise
from typing import Annotated, ClassVar, Literal

from archerysim.errors import SetupError
from archerysim.fields.quantity import Note, Quantity
from archerysim.fields.record import Record
from archerysim.fields.units import show

Kind = Literal["take-down", "one piece"]
SplitFrom = Literal["pockets", "stiffness", "both"]


class Bow(Record, frozen=True, kw_only=True):
    """The bow as a whole; everything but its length is measured on the strung bow.

    Examples
    --------
    >>> import archerysim
    >>> bow = archerysim.Bow(length="68 in", brace_height="220 mm", upper_tiller="195 mm", lower_tiller="190 mm")
    >>> bow.brace_height  # [m]
    0.22
    >>> bow.draw_weight is None  # not given
    True
    """

    label: ClassVar[str] = "bow"

    length: Annotated[
        float,
        Quantity(
            text="nominal length, as printed on the limb",
            unit="in",
            low="36 in",
            high="96 in",
            example="68 in",
        ),
    ]
    brace_height: Annotated[
        float | None,
        Quantity(
            text="pivot (deepest part of the grip) to the string, square to the string",
            unit="mm",
            low="100 mm",
            high="400 mm",
            example="220 mm",
            only="measured",
            required="measured",
        ),
    ] = None
    upper_tiller: Annotated[
        float | None,
        Quantity(
            text="belly face of the upper limb at its root to the string, square to the string",
            unit="mm",
            low="50 mm",
            high="400 mm",
            example="195 mm",
            only="measured",
            required="measured",
        ),
    ] = None
    lower_tiller: Annotated[
        float | None,
        Quantity(
            text="belly face of the lower limb at its root to the string, square to the string",
            unit="mm",
            low="50 mm",
            high="400 mm",
            example="190 mm",
            only="measured",
            required="measured",
        ),
    ] = None
    draw_weight: Annotated[
        float | None,
        Quantity(
            text="force on the fingers at draw_weight_at",
            unit="lbf",
            low="2 lbf",
            high="150 lbf",
            example="34 lbf",
            only="measured",
            required="measured",
        ),
    ] = None
    draw_weight_at: Annotated[
        float | None,
        Quantity(
            text="draw length at which the draw weight was measured, distance from the pivot + 1.75 in",
            unit="in",
            low="15 in",
            high="36 in",
            default="28 in",
            basis="AMO/ATA standards",
            only="measured",
        ),
    ] = None
    arrow_speed: Annotated[
        float | None,
        Quantity(
            text="measured speed at which this setup's own arrow leaves the bow at the archer's own draw; the limbs' "
            "moving mass is then found from it",
            unit="m/s",
            low="10 m/s",
            high="120 m/s",
            only="measured",
        ),
    ] = None
    pocket_angle: Annotated[
        float | None,
        Quantity(
            text="mean forward lean of both limbs at their roots, unstrung",
            unit="deg",
            low="-20 deg",
            high="45 deg",
            only="measured",
        ),
    ] = None
    stiffness_ratio: Annotated[
        float | None,
        Quantity(
            text="bending stiffness of the upper limb over that of the lower; 1 [judgement] where the split is "
            "attributed to the pockets, otherwise found by the fit",
            low="0.5",
            high="2",
            only="measured",
        ),
    ] = None
    kind: Annotated[Kind | None, Note(text="whether the limbs sit in pockets of a riser or the bow is one piece")] = (
        None
    )
    split_from: Annotated[
        SplitFrom | None,
        Note(
            text="what the fit attributes the difference of the tillers to: the pockets' angles, the limbs' "
            "stiffness, or half to each (a given stiffness ratio is used, and the pockets' angles make up the rest)"
        ),
    ] = None
    draw_forces: Annotated[
        tuple[float, ...] | None,
        Quantity(
            text="forces on the fingers at draw_forces_at, two or three short of the draw weight; with them the fit "
            "finds the size of the limbs' natural curvature",
            unit="lbf",
            low="1 lbf",
            high="150 lbf",
            count=0,
            only="measured",
        ),
    ] = None
    draw_forces_at: Annotated[
        tuple[float, ...] | None,
        Quantity(
            text="draw lengths of draw_forces, increasing, distance from the pivot + 1.75 in",
            unit="in",
            low="8 in",
            high="36 in",
            count=0,
            only="measured",
        ),
    ] = None

    needs: ClassVar[dict[str, tuple[str, ...]]] = {
        "draw_forces": ("draw_forces_at",),
        "draw_forces_at": ("draw_forces",),
    }

    def relations(self, path: str) -> None:
        """Check that nothing is given that the fit is to find, and that draw forces and their draws match and rise.

        Raises
        ------
        SetupError
            If a stiffness ratio is given where the fit is to find it, or draw forces contradict each other.
        """
        if self.split_from == "stiffness" and self.stiffness_ratio is not None:
            raise SetupError(
                f"{path}.stiffness_ratio",
                f'given beside {path}.split_from = "stiffness", which finds it from the tillers',
                f'Remove it, or set {path}.split_from = "both": it is then used, and the pockets make up the rest',
            )
        if self.draw_forces is None or self.draw_forces_at is None:
            return
        if len(self.draw_forces) != len(self.draw_forces_at):
            raise SetupError(
                f"{path}.draw_forces",
                f"{len(self.draw_forces)} forces for {len(self.draw_forces_at)} draw lengths",
                f"Give one force for each of {path}.draw_forces_at",
            )
        for name in ("draw_forces", "draw_forces_at"):
            if any(low >= high for low, high in pairwise(getattr(self, name))):
                raise SetupError(f"{path}.{name}", "its values do not increase", "Begin with the shortest draw")
        if self.draw_weight is not None and self.draw_forces[-1] >= self.draw_weight:
            raise SetupError(
                f"{path}.draw_forces",
                f"{show(self.draw_forces[-1], 'lbf')} is not below the draw weight, {show(self.draw_weight, 'lbf')}",
                "Give forces at shorter draws",
            )
