"""Records of the bow as a whole, as measured, and of its limbs."""

from __future__ import annotations

from itertools import pairwise
from typing import Annotated, ClassVar

from archerysim.equipment.cautions import BOLTS, SCRAPING
from archerysim.errors import SetupError
from archerysim.fields.quantity import Quantity
from archerysim.fields.record import Record, Rivals


class Bow(Record, frozen=True, kw_only=True):
    """The bow as a whole; all but its length is what an archer measures on the strung bow."""

    label: ClassVar[str] = "bow"

    length: Annotated[
        float,
        Quantity(
            text="length by the trade's name, as printed on the limb",
            unit="in",
            low="36 in",
            high="84 in",
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
    pocket_angle: Annotated[
        float | None,
        Quantity(
            text="mean forward lean of both limbs at their roots, unstrung",
            unit="deg",
            low="-20 deg",
            high="45 deg",
            default="12 deg",
            basis="judgement",
            only="measured",
        ),
    ] = None
    stiffness_ratio: Annotated[
        float | None,
        Quantity(
            text="bending stiffness of the upper limb over that of the lower",
            low="0.5",
            high="2",
            default="1",
            basis="judgement",
            only="measured",
        ),
    ] = None


class Limb(Record, frozen=True, kw_only=True):
    """One limb: a beam from its root in the riser to its tip, `at` = 0 to 1 along it.

    Tables (`bending_stiffness`, `mass_per_length`, `width`, `thickness`, `natural_curvature`) have one value
    for each place in `at`, straight lines between. In form "measured" the bending stiffness is only a shape:
    the fit finds one common factor for both limbs.
    """

    label: ClassVar[str] = "limbs"
    rivals: ClassVar[tuple[Rivals, ...]] = (
        Rivals((("bending_stiffness",), ("width", "thickness", "modulus"))),
        Rivals((("mass",), ("mass_per_length",), ("density",))),
    )
    needs: ClassVar[dict[str, tuple[str, ...]]] = {
        "width": ("thickness", "modulus"),
        "thickness": ("width", "modulus"),
        "modulus": ("width", "thickness"),
        "density": ("width", "thickness", "modulus"),
    }

    length: Annotated[
        float | None, Quantity(text="root to tip along the limb", unit="mm", low="150 mm", high="1100 mm")
    ] = None
    mass: Annotated[
        float | None,
        Quantity(text="mass of one limb without its tip mass", unit="g", low="20 g", high="600 g"),
    ] = None
    tip_mass: Annotated[
        float | None,
        Quantity(
            text="mass at the tip beyond the beam's own",
            unit="g",
            low="0 g",
            high="30 g",
            default="3 g",
            basis="judgement",
        ),
    ] = None
    at: Annotated[
        tuple[float, ...] | None,
        Quantity(
            text="places of the tables along the limb, 0 = root, 1 = tip",
            low="0",
            high="1",
            count=0,
            default=("0", "1"),
        ),
    ] = None
    bending_stiffness: Annotated[
        tuple[float, ...] | None,
        Quantity(
            text="bending stiffness EI at each place (only its shape in form measured)",
            unit="N m^2",
            low="0.001 N m^2",
            high="2000 N m^2",
            count=0,
        ),
    ] = None
    mass_per_length: Annotated[
        tuple[float, ...] | None,
        Quantity(text="mass per length at each place", unit="kg/m", low="0.001 kg/m", high="5 kg/m", count=0),
    ] = None
    width: Annotated[
        tuple[float, ...] | None,
        Quantity(text="width at each place", unit="mm", low="3 mm", high="100 mm", count=0, caution=SCRAPING),
    ] = None
    thickness: Annotated[
        tuple[float, ...] | None,
        Quantity(text="thickness at each place", unit="mm", low="0.5 mm", high="40 mm", count=0, caution=SCRAPING),
    ] = None
    modulus: Annotated[
        float | None,
        Quantity(text="bending modulus of the material", unit="GPa", low="1 GPa", high="400 GPa"),
    ] = None
    density: Annotated[
        float | None,
        Quantity(text="density of the material", unit="kg/m^3", low="200 kg/m^3", high="9000 kg/m^3"),
    ] = None
    natural_curvature: Annotated[
        tuple[float, ...] | None,
        Quantity(
            text="curvature of the unstrung limb at each place, positive = towards the target (recurve)",
            unit="1/m",
            low="-30 1/m",
            high="30 1/m",
            count=0,
        ),
    ] = None
    root_thickness: Annotated[
        float | None,
        Quantity(
            text="thickness at the root; half of it lies between the tiller's face and the beam's axis",
            unit="mm",
            low="0 mm",
            high="60 mm",
        ),
    ] = None
    axial_stiffness: Annotated[
        float | None,
        Quantity(
            text="stiffness EA along the limb",
            unit="N",
            low="1e4 N",
            high="3e7 N",
            default="3e6 N",
            basis="judgement",
        ),
    ] = None
    loss_time: Annotated[
        float | None,
        Quantity(
            text="internal damping in bending, as a time: damping over stiffness",
            unit="us",
            low="0 us",
            high="1000 us",
            default="2 us",
            basis="judgement",
        ),
    ] = None
    hysteresis: Annotated[
        float | None,
        Quantity(
            text="share of the work of bending, from brace to full draw, that the limb keeps when it is let down, "
            "however slowly",
            low="0",
            high="0.2",
        ),
    ] = None
    strain_limit: Annotated[
        float | None,
        Quantity(
            text="largest strain of the surface that the material bears, by its maker; compared at brace and at full "
            "draw where width and thickness are given",
            low="0.0005",
            high="0.05",
        ),
    ] = None
    pocket_angle: Annotated[
        float | None,
        Quantity(
            text="forward lean of the unstrung limb at its root, with bolt_turns = 0",
            unit="deg",
            low="-45 deg",
            high="60 deg",
            example="12 deg",
            only="built",
            required="built",
        ),
    ] = None
    bolt_turns: Annotated[
        float | None,
        Quantity(
            text="turns of the limb bolt since the bow was measured, positive = in: the limb leans further forward",
            unit="turn",
            low="-10 turn",
            high="10 turn",
            default="0 turn",
            caution=BOLTS,
        ),
    ] = None
    lean_per_turn: Annotated[
        float | None,
        Quantity(
            text="forward lean for one turn of the bolt in",
            unit="deg",
            low="0 deg",
            high="5 deg",
            default="0.6 deg",
            basis="judgement",
        ),
    ] = None

    def relations(self, path: str) -> None:
        """Check that the tables fit their places.

        Raises
        ------
        SetupError
            If `at` does not run from 0 to 1 upwards, or a table has another number of values.
        """
        at = self.at or (0.0, 1.0)
        if at[0] != 0.0 or at[-1] != 1.0 or any(low >= high for low, high in pairwise(at)):
            raise SetupError(
                f"{path}.at",
                f"{list(at)} does not run upwards from 0 to 1",
                "Begin with 0 (root), end with 1 (tip), each place beyond the last",
            )
        for name in ("bending_stiffness", "mass_per_length", "width", "thickness", "natural_curvature"):
            table = getattr(self, name)
            if table is not None and len(table) != len(at):
                raise SetupError(
                    f"{path}.{name}",
                    f"a table of {len(table)} for {len(at)} places along the limb",
                    f"Give one value for each place, or other places (0 to 1) in {path}.at",
                )
