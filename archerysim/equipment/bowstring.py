"""Records of the string, facts of its fibres, and what follows from them."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal, NamedTuple

from archerysim.errors import SetupError
from archerysim.fields.quantity import Note, Quantity
from archerysim.fields.record import Record, Rivals

Material = Literal[
    "HMPE", "polyarylate", "polyester", "HMPE-polyarylate blend", "HMPE-PTFE blend", "aramid", "polyamide", "linen",
    "hemp", "silk",
]  # fmt: skip


class Fibre(NamedTuple):
    """Facts of a fibre: density [kg/m^3], modulus [Pa], strand as usually sold [kg/m], its strength [N]."""

    density: float
    modulus: float
    strand_mass_per_length: float
    strand_strength: float


FIBRES: dict[str, Fibre] = {
    # Density and modulus: [memory, rounded] (HMPE: middle of 86 to 130 GPa; a single fibre of linen has 50 to 70 GPa,
    # of hemp 30 to 60, a thread less; blends computed by volume: two parts HMPE, one polyarylate; 19 parts HMPE, one
    # PTFE of 2170 kg/m^3 and 1.5 GPa). Strand and strength: [judgement]; of linen, hemp and silk a waxed thread.
    "HMPE": Fibre(980.0, 108e9, 180e-6, 450.0),
    "polyarylate": Fibre(1410.0, 75e9, 180e-6, 400.0),
    "polyester": Fibre(1380.0, 12.7e9, 320e-6, 220.0),
    "HMPE-polyarylate blend": Fibre(1120.0, 97e9, 180e-6, 430.0),
    "HMPE-PTFE blend": Fibre(1040.0, 103e9, 185e-6, 430.0),
    "aramid": Fibre(1440.0, 70e9, 180e-6, 330.0),
    "polyamide": Fibre(1140.0, 5e9, 310e-6, 220.0),
    "linen": Fibre(1500.0, 45e9, 150e-6, 55.0),
    "hemp": Fibre(1480.0, 35e9, 180e-6, 60.0),
    "silk": Fibre(1340.0, 10e9, 160e-6, 55.0),
}


class StringMass(Record, frozen=True, kw_only=True):
    """Something small on the string, such as a silencer or a kisser.

    Examples
    --------
    >>> import archerysim
    >>> kisser = archerysim.StringMass(mass="0.5 g", at="10 cm")
    >>> kisser.mass, kisser.at  # [kg], [m]
    (0.0005, 0.1)
    """

    label: ClassVar[str] = "string.masses"

    mass: Annotated[float, Quantity(text="mass", unit="g", low="0 g", high="30 g", example="0.5 g")]
    at: Annotated[
        float,
        Quantity(
            text="place from the string's middle along the unloaded string, positive = up",
            unit="mm",
            low="-1300 mm",
            high="1300 mm",
            example="60 mm",
        ),
    ]


class String(Record, frozen=True, kw_only=True):
    """The string: fibre and strands, or stiffness and mass as measured; servings; small masses.

    Examples
    --------
    >>> import archerysim
    >>> silencer = archerysim.StringMass(mass="2 g", at="40 cm")
    >>> string = archerysim.String(material="HMPE", strands=18, masses=[silencer])
    >>> string.strands, len(string.masses)
    (18, 1)
    """

    label: ClassVar[str] = "string"
    rivals: ClassVar[tuple[Rivals, ...]] = (
        Rivals(
            (
                ("material", "strands", "construction_factor", "strand_mass_per_length"),
                ("axial_stiffness", "mass_per_length"),
            ),
            needed="Give material and strands, or axial_stiffness and mass_per_length",
        ),
    )
    needs: ClassVar[dict[str, tuple[str, ...]]] = {
        "material": ("strands",),
        "strands": ("material",),
        "construction_factor": ("material", "strands"),
        "strand_mass_per_length": ("material", "strands"),
        "axial_stiffness": ("mass_per_length",),
        "mass_per_length": ("axial_stiffness",),
    }

    material: Annotated[Material | None, Note(text="fibre", example="HMPE")] = None
    strands: Annotated[int | None, Quantity(text="number of strands", low="3", high="80", whole=True, example="18")] = (
        None
    )
    construction_factor: Annotated[
        float | None,
        Quantity(
            text="stiffness of the string over that of its fibres (a twisted, waxed string is softer)",
            low="0.1",
            high="1",
            default="0.4",
            basis="judgement",
        ),
    ] = None
    strand_mass_per_length: Annotated[
        float | None,
        Quantity(text="mass per length of one strand", unit="tex", low="20 tex", high="1000 tex"),
    ] = None
    axial_stiffness: Annotated[
        float | None,
        Quantity(
            text="stiffness EA of the string, force per unit strain",
            unit="N",
            low="1000 N",
            high="1e7 N",
            example="1.2e5 N",
        ),
    ] = None
    mass_per_length: Annotated[
        float | None,
        Quantity(
            text="mass per length of the string without servings",
            unit="g/m",
            low="0.2 g/m",
            high="50 g/m",
            example="3.6 g/m",
        ),
    ] = None
    strand_strength: Annotated[
        float | None, Quantity(text="force at which one strand breaks", unit="N", low="20 N", high="2000 N")
    ] = None
    length: Annotated[
        float | None,
        Quantity(
            text="length of the unloaded string, loop to loop",
            unit="mm",
            low="700 mm",
            high="2600 mm",
            example="1640 mm",
            only="built",
            required="built",
        ),
    ] = None
    serving_length: Annotated[
        float | None,
        Quantity(text="length of the centre serving", unit="mm", low="0 mm", high="600 mm", default="200 mm"),
    ] = None
    serving_centre: Annotated[
        float | None,
        Quantity(
            text="middle of the centre serving from the string's middle, positive = up",
            unit="mm",
            low="-300 mm",
            high="300 mm",
            default="0 mm",
        ),
    ] = None
    serving_mass_per_length: Annotated[
        float | None,
        Quantity(
            text="mass per length added by the centre serving",
            unit="g/m",
            low="0 g/m",
            high="30 g/m",
            default="4.5 g/m",
            basis="judgement",
        ),
    ] = None
    end_serving_length: Annotated[
        float | None,
        Quantity(text="length of the serving at each end", unit="mm", low="0 mm", high="400 mm", default="150 mm"),
    ] = None
    end_serving_mass_per_length: Annotated[
        float | None,
        Quantity(
            text="mass per length added by the end servings",
            unit="g/m",
            low="0 g/m",
            high="30 g/m",
            default="3 g/m",
            basis="judgement",
        ),
    ] = None
    transverse_loss: Annotated[
        float | None,
        Quantity(
            text="loss between neighbouring parts of the string, both directions",
            unit="N s",
            low="0 N s",
            high="10 N s",
            default="1e-2 N s",
            basis="judgement",
        ),
    ] = None
    axial_loss: Annotated[
        float | None,
        Quantity(
            text="additional loss along the string",
            unit="N s",
            low="0 N s",
            high="10 N s",
            default="2e-2 N s",
            basis="judgement",
        ),
    ] = None
    masses: tuple[StringMass, ...] = ()

    def relations(self, path: str) -> None:
        """Check that the strength of a strand comes with their number.

        Raises
        ------
        SetupError
            If the strength of a strand is given and the number of strands is not.
        """
        if self.strand_strength is not None and self.strands is None:
            raise SetupError(
                f"{path}.strand_strength",
                "given, but not the number of strands",
                "Give material and strands, or leave strand_strength out",
            )


def fibre_stiffness(material: str, strands: float, strand_mass_per_length: float, construction_factor: float) -> float:
    """Axial stiffness EA of a string made of `strands` strands [N].

    Parameters
    ----------
    material : str
        One of `FIBRES`.
    strands : float
        Number of strands.
    strand_mass_per_length : float
        Mass per length of one strand [kg/m].
    construction_factor : float
        Stiffness of the string over that of its fibres.

    Notes
    -----
    EA = strands x (strand_mass_per_length / density) x modulus x construction_factor.
    """
    fibre = FIBRES[material]
    return strands * strand_mass_per_length / fibre.density * fibre.modulus * construction_factor
