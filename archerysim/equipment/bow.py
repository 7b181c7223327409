"""Records of the bow as a whole, as measured, and of its limbs."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Annotated, ClassVar, Literal

from archerysim.equipment.cautions import BOLTS, SCRAPING
from archerysim.equipment.materials import LimbMaterial
from archerysim.errors import SetupError
from archerysim.fields.quantity import Bare, Note, Quantity
from archerysim.fields.record import Record, Rivals
from archerysim.fields.units import UnitError, show, to_si

Kind = Literal["take-down", "one piece"]
SplitFrom = Literal["pockets", "stiffness", "both"]
SAME_LENGTH = 0.5e-3  # [m] between a limb's length and its last station: rounding of what was written


@dataclass(frozen=True, kw_only=True)
class Shares(Quantity):
    """Shares of a length, which says where lengths go."""

    lengths: str  # the field for them

    def single(self, path: str, value: object, bare: Bare) -> float:
        """As of `Quantity.single`.

        Raises
        ------
        SetupError
        """
        try:
            return super().single(path, value, bare)
        except SetupError as error:
            if not _is_length(value):
                raise
            there = path.replace(path.rpartition(".")[2], self.lengths)
            raise SetupError(path, error.problem, f"Give shares, {self.allowed}, or the lengths in {there}") from None


def _is_length(value: object) -> bool:
    try:
        return isinstance(value, str) and to_si(value, "cm") >= 0.0
    except UnitError:
        return False


class Bow(Record, frozen=True, kw_only=True):
    """The bow as a whole; all but its length is what an archer measures on the strung bow."""

    label: ClassVar[str] = "bow"

    length: Annotated[
        float,
        Quantity(
            text="length by the trade's name, as printed on the limb",
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
            text="speed with which this setup's own arrow leaves the bow at the archer's own draw, as measured; the "
            "limbs' moving mass is then found from it",
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
            default="12 deg",
            basis="judgement",
            only="measured",
        ),
    ] = None
    stiffness_ratio: Annotated[
        float | None,
        Quantity(
            text="bending stiffness of the upper limb over that of the lower; 1 [judgement] where the split is laid to "
            "the pockets, else found by the fit",
            low="0.5",
            high="2",
            only="measured",
        ),
    ] = None
    kind: Annotated[
        Kind | None, Note(text="whether the limbs sit in pockets of a riser or the bow is of one piece")
    ] = None
    split_from: Annotated[
        SplitFrom | None,
        Note(
            text="to what the fit lays the difference of the tillers: the pockets' angles, the limbs' stiffness, or "
            "half to each (with a stiffness ratio given it is taken, and the pockets find the rest)"
        ),
    ] = None

    def relations(self, path: str) -> None:
        """Check that nothing is given that is to be found.

        Raises
        ------
        SetupError
            If a stiffness ratio is given where the fit is to find it.
        """
        if self.split_from == "stiffness" and self.stiffness_ratio is not None:
            raise SetupError(
                f"{path}.stiffness_ratio",
                f'given beside {path}.split_from = "stiffness", by which the tillers say what it is',
                f'Remove it, or set {path}.split_from = "both": it is then taken, and the pockets find the rest',
            )


class Limb(Record, frozen=True, kw_only=True):
    """One limb: a beam from its root in the riser to its tip.

    Tables (`bending_stiffness`, `mass_per_length`, `width`, `thickness`, `natural_curvature`) have one value
    for each place along it, straight lines between: for each share of its length in `at`, from 0 to 1, or for each
    station in `stations`, a length from the root on; the last one is the limb's length. In form "measured" the bending
    stiffness is only a shape: the fit finds one common factor for both limbs.
    """

    label: ClassVar[str] = "limbs"
    rivals: ClassVar[tuple[Rivals, ...]] = (
        Rivals((("bending_stiffness",), ("width", "thickness", "modulus", "material"))),
        Rivals((("mass",), ("mass_per_length",), ("density",))),
        Rivals((("at",), ("stations",))),
        Rivals((("butt_mass",), ("balance",))),
    )
    needs: ClassVar[dict[str, tuple[str, ...]]] = {
        "width": ("thickness",),
        "thickness": ("width",),
        "modulus": ("width", "thickness"),
        "density": ("width", "thickness"),
        "material": ("width", "thickness"),
    }

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
            text="length of the limb's butt, behind its root, which stands still in the pocket",
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
            text="the same places as lengths from the root along the limb; the first is 0, the last the limb's length",
            unit="cm",
            low="0 cm",
            high="110 cm",
            count=0,
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
    material: Annotated[
        LimbMaterial | None,
        Note(text="of what the limb is made: usual modulus, density and strain limit where these are not given"),
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

    @property
    def places(self) -> tuple[float, ...]:
        """Places of the tables, 0 = root, 1 = tip, however they are given."""
        if self.stations is not None:
            return shares_of(self.stations)
        return self.at or (0.0, 1.0)

    def relations(self, path: str) -> None:
        """Check that the tables fit their places.

        Raises
        ------
        SetupError
            If `at` does not run from 0 to 1 upwards, nor `stations` from 0 to the limb's length, a table has another
            number of values, or width and thickness stand there without modulus and material.
        """
        name = "at" if self.stations is None else "stations"
        if self.stations is not None:
            self._check_stations(path, self.stations)
        at = self.places
        if at[0] != 0.0 or at[-1] != 1.0 or any(low >= high for low, high in pairwise(at)):
            raise SetupError(
                f"{path}.at",
                f"{list(at)} does not run upwards from 0 to 1",
                "Begin with 0 (root), end with 1 (tip), each place beyond the last",
            )
        for table in ("bending_stiffness", "mass_per_length", "width", "thickness", "natural_curvature"):
            values = getattr(self, table)
            if values is not None and len(values) != len(at):
                places = f"other places (0 to 1) in {path}.at" if name == "at" else f"other {path}.stations"
                raise SetupError(
                    f"{path}.{table}",
                    f"a table of {len(values)} for {len(at)} places along the limb",
                    f"Give one value for each place, or {places}",
                )
        if self.width is not None and self.modulus is None and self.material is None:
            raise SetupError(
                f"{path}.modulus",
                f"missing: {path}.width means nothing without it",
                "Give it too, or material, or leave width out",
            )

    def _check_stations(self, path: str, stations: tuple[float, ...]) -> None:
        if stations[0] != 0.0 or any(low >= high for low, high in pairwise(stations)) or len(stations) < 2:
            raise SetupError(
                f"{path}.stations",
                f"[{', '.join(show(one, 'cm') for one in stations)}] does not run upwards from 0",
                "Begin with 0 cm (root), end at the tip, each station beyond the last",
            )
        if self.length is not None and abs(stations[-1] - self.length) > SAME_LENGTH:
            raise SetupError(
                f"{path}.stations",
                f"end at {show(stations[-1], 'mm')}, the limb is {show(self.length, 'mm')} long",
                f"Let the last one be the limb's length, or leave {path}.length out",
            )


def shares_of(stations: tuple[float, ...]) -> tuple[float, ...]:
    """Stations along a limb as shares of the last, the limb's length."""
    return tuple(one / stations[-1] for one in stations)
