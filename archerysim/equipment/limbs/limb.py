"""Record of a limb."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from archerysim.equipment.cautions import BOLTS, SCRAPING
from archerysim.equipment.limbs.check_tables import check_tables
from archerysim.equipment.limbs.lamination import Lamination
from archerysim.equipment.limbs.materials import LimbMaterial
from archerysim.equipment.limbs.places_along import Shares, shares_of
from archerysim.fields.quantity import Note, Quantity
from archerysim.fields.record import Record, Rivals

LimbShape = Literal["straight", "recurve", "reflexed"]


class Limb(Record, frozen=True, kw_only=True):
    """One limb: a beam from its root in the riser to its tip.

    Tables (`bending_stiffness`, `mass_per_length`, `width`, `thickness`, `natural_curvature`) have one value for each
    place along the limb, with straight lines between them. The places are shares of its length, `at`, from 0 to 1, or
    distances from the root, `stations`, of which the last is the limb's length. `natural_curvature` has one value for
    each place in `curvature_at` where that is given. In form "measured" the bending stiffness is only a shape: the fit
    finds one common factor for both limbs.

    The unstrung limb's shape is given in one of four ways: by its curvature; by a traced profile; by how far forward
    its tip stands, with the limb's angles; or by a usual `shape`.

    Examples
    --------
    >>> import archerysim
    >>> limb = archerysim.Limb(mass="165 g", shape="recurve")
    >>> limb.mass, limb.shape  # [kg]
    (0.165, 'recurve')
    """

    label: ClassVar[str] = "limbs"
    rivals: ClassVar[tuple[Rivals, ...]] = (
        Rivals((("bending_stiffness",), ("width", "thickness", "modulus", "material"))),
        Rivals((("mass",), ("mass_per_length",), ("density",))),
        Rivals((("at",), ("stations",))),
        Rivals((("butt_mass",), ("balance",))),
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
        "thickness": ("width",),
        "modulus": ("width",),
        "density": ("width",),
        "material": ("width", "thickness"),
        "curvature_at": ("natural_curvature",),
        "profile_x": ("profile_y",),
        "profile_y": ("profile_x",),
    }
    dropped_with: ClassVar[dict[str, tuple[str, ...]]] = {"natural_curvature": ("curvature_at",)}

    length: Annotated[
        float | None, Quantity(text="root to tip along the limb", unit="mm", low="150 mm", high="1400 mm")
    ] = None
    mass: Annotated[
        float | None,
        Quantity(text="mass of one limb, its butt included, without its tip mass", unit="g", low="20 g", high="600 g"),
    ] = None
    butt: Annotated[
        float | None,
        Quantity(
            text="length of the limb's butt, behind its root, which sits still in the pocket",
            unit="mm",
            low="0 mm",
            high="200 mm",
        ),
    ] = None
    butt_mass: Annotated[
        float | None,
        Quantity(text="mass of the butt, a part of the limb's", unit="g", low="0 g", high="400 g"),
    ] = None
    balance: Annotated[
        float | None,
        Quantity(
            text="balance point of the limb with its tip mass, from the butt's end, along the limb",
            unit="mm",
            low="10 mm",
            high="1000 mm",
        ),
    ] = None
    tip_mass: Annotated[
        float | None,
        Quantity(
            text="mass at the tip on top of the beam's own",
            unit="g",
            low="0 g",
            high="30 g",
            default="3 g",
            basis="judgement",
        ),
    ] = None
    at: Annotated[
        tuple[float, ...] | None,
        Shares(
            lengths="stations",
            text="places of the tables along the limb, 0 = root, 1 = tip",
            low="0",
            high="1",
            count=0,
            default=("0", "1"),
        ),
    ] = None
    stations: Annotated[
        tuple[float, ...] | None,
        Quantity(
            text="the same places as lengths from the root along the limb; the first is 0, the last the limb's length; "
            'sections = "limb.csv" reads them with width and thickness from a file',
            unit="cm",
            low="0 cm",
            high="110 cm",
            count=0,
        ),
    ] = None
    bending_stiffness: Annotated[
        tuple[float, ...] | None,
        Quantity(
            text="bending stiffness EI at each place (in form measured only its shape counts)",
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
    laminations: tuple[Lamination, ...] = ()
    modulus: Annotated[
        float | None,
        Quantity(
            text="bending modulus of the material; of the first lamination, to which the others' keep their ratios",
            unit="GPa",
            low="1 GPa",
            high="400 GPa",
        ),
    ] = None
    density: Annotated[
        float | None,
        Quantity(
            text="density of the material; of the first lamination, to which the others' keep their ratios",
            unit="kg/m^3",
            low="200 kg/m^3",
            high="9000 kg/m^3",
        ),
    ] = None
    material: Annotated[
        LimbMaterial | None,
        Note(
            text="what the limb is made of: gives the usual modulus, density and strain limit where these are not given"
        ),
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
            text="how far the unstrung limb's tip is in front of the straight line continued from its root, positive "
            "= towards the target",
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
    side_stiffness: Annotated[
        float | None,
        Quantity(
            text="stiffness of the tip sideways, twist and bend of the limb together",
            unit="N/m",
            low="50 N/m",
            high="1e5 N/m",
        ),
    ] = None
    side_damping: Annotated[
        float | None,
        Quantity(
            text="damping of the tip sideways",
            unit="N s/m",
            low="0 N s/m",
            high="50 N s/m",
            default="0.5 N s/m",
            basis="judgement",
        ),
    ] = None
    side_mass: Annotated[
        float | None,
        Quantity(
            text="mass that moves sideways with the tip, without the string's",
            unit="g",
            low="1 g",
            high="200 g",
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
            text="turns of the limb bolt since the bow was measured, positive = in: the limb leans farther forward",
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

    @property
    def places(self) -> tuple[float, ...]:
        """Places of the tables, 0 = root, 1 = tip, however they are given.

        Examples
        --------
        >>> import archerysim
        >>> limb = archerysim.Limb(length="50 cm", stations="0, 20, 50 cm", width="40, 36, 20 mm")
        >>> limb.places
        (0.0, 0.4, 1.0)
        """
        if self.stations is not None:
            return shares_of(self.stations)
        return self.at or (0.0, 1.0)

    def relations(self, path: str) -> None:
        """Check that the tables fit their places.

        Raises
        ------
        SetupError
            If `at` does not rise from 0 to 1, or `stations` from 0 to the limb's length, if a table has another number
            of values, or if width and thickness are given without modulus or material.
        """
        check_tables(self, path)
