"""Records of the bow as a whole, as measured, and of its limbs."""

from __future__ import annotations

from itertools import pairwise
from typing import Annotated, ClassVar, Literal

from archerysim.equipment.cautions import BOLTS, SCRAPING
from archerysim.errors import SetupError
from archerysim.fields.quantity import Note, Quantity
from archerysim.fields.record import Record, Rivals
from archerysim.fields.units import show

LimbShape = Literal["straight", "recurve", "reflexed"]
MOST_POINTS = 200  # of a traced profile


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
            text="draw lengths of draw_forces, rising, distance from the pivot + 1.75 in",
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
        """Check that forces and draws go together, and rise.

        Raises
        ------
        SetupError
        """
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
                raise SetupError(f"{path}.{name}", "its values do not rise", "Begin with the shortest draw")
        if self.draw_weight is not None and self.draw_forces[-1] >= self.draw_weight:
            raise SetupError(
                f"{path}.draw_forces",
                f"{show(self.draw_forces[-1], 'lbf')} is not below the draw weight, {show(self.draw_weight, 'lbf')}",
                "Give forces at shorter draws",
            )


class Limb(Record, frozen=True, kw_only=True):
    """One limb: a beam from its root in the riser to its tip, `at` = 0 to 1 along it.

    Tables (`bending_stiffness`, `mass_per_length`, `width`, `thickness`, `natural_curvature`) have one value
    for each place in `at`, straight lines between; `natural_curvature` for each in `curvature_at` where that is given.
    In form "measured" the bending stiffness is only a shape: the fit finds one common factor for both limbs.

    The unstrung limb's shape is told in one of four ways: by its curvature; by a traced profile; by how far its tip
    stands forward and the limb's angles; or by a usual `shape`.
    """

    label: ClassVar[str] = "limbs"
    rivals: ClassVar[tuple[Rivals, ...]] = (
        Rivals((("bending_stiffness",), ("width", "thickness", "modulus"))),
        Rivals((("mass",), ("mass_per_length",), ("density",))),
        Rivals(
            (
                ("natural_curvature", "curvature_at"),
                ("profile_x", "profile_y"),
                ("tip_forward", "tip_angle", "middle_angle"),
                ("shape",),
            )
        ),
    )
    needs: ClassVar[dict[str, tuple[str, ...]]] = {
        "width": ("thickness", "modulus"),
        "thickness": ("width", "modulus"),
        "modulus": ("width", "thickness"),
        "density": ("width", "thickness", "modulus"),
        "curvature_at": ("natural_curvature",),
        "profile_x": ("profile_y",),
        "profile_y": ("profile_x",),
    }
    dropped_with: ClassVar[dict[str, tuple[str, ...]]] = {"natural_curvature": ("curvature_at",)}

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
    curvature_at: Annotated[
        tuple[float, ...] | None,
        Quantity(
            text="places of natural_curvature along the limb, where they are not those of at",
            low="0",
            high="1",
            count=0,
        ),
    ] = None
    shape: Annotated[LimbShape | None, Note(text="a usual shape of the unstrung limb", example="recurve")] = None
    tip_forward: Annotated[
        float | None,
        Quantity(
            text="how far the unstrung limb's tip stands before the straight line on from its root, positive = towards "
            "the target",
            unit="mm",
            low="-300 mm",
            high="400 mm",
        ),
    ] = None
    tip_angle: Annotated[
        float | None,
        Quantity(
            text="angle of the unstrung limb at its tip against its root, positive = turned towards the target",
            unit="deg",
            low="-60 deg",
            high="130 deg",
        ),
    ] = None
    middle_angle: Annotated[
        float | None,
        Quantity(
            text="the same angle at half the limb's length",
            unit="deg",
            low="-30 deg",
            high="45 deg",
        ),
    ] = None
    profile_x: Annotated[
        tuple[float, ...] | None,
        Quantity(
            text="traced points of the unstrung limb's axis from root to tip: across, positive = towards the target; "
            'profile = "limb.csv" reads both rows from a file',
            unit="mm",
            low="-2000 mm",
            high="2000 mm",
            count=0,
        ),
    ] = None
    profile_y: Annotated[
        tuple[float, ...] | None,
        Quantity(
            text="the same points: along, positive = from the root to the tip",
            unit="mm",
            low="-2000 mm",
            high="2000 mm",
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
        for places, name in ((at, "at"), (self.curvature_at or at, "curvature_at")):
            if places[0] != 0.0 or places[-1] != 1.0 or any(low >= high for low, high in pairwise(places)):
                raise SetupError(
                    f"{path}.{name}",
                    f"{list(places)} does not run upwards from 0 to 1",
                    "Begin with 0 (root), end with 1 (tip), each place beyond the last",
                )
        for name in ("bending_stiffness", "mass_per_length", "width", "thickness", "natural_curvature"):
            table, home = getattr(self, name), "at"
            places = at
            if name == "natural_curvature" and self.curvature_at:
                places, home = self.curvature_at, "curvature_at"
            if table is not None and len(table) != len(places):
                raise SetupError(
                    f"{path}.{name}",
                    f"a table of {len(table)} for {len(places)} places along the limb",
                    f"Give one value for each place, or other places (0 to 1) in {path}.{home}",
                )
        if self.profile_x and self.profile_y and len(self.profile_x) != len(self.profile_y):
            raise SetupError(
                f"{path}.profile_x",
                f"{len(self.profile_x)} points, profile_y has {len(self.profile_y)}",
                "Give both numbers of each point",
            )
        if self.profile_x and len(self.profile_x) > MOST_POINTS:
            raise SetupError(
                f"{path}.profile_x",
                f"{len(self.profile_x)} points",
                f"Give {MOST_POINTS} at most, evenly spread",
            )
