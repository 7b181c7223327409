"""Record of one lamination of a limb: a strip glued to the others, from the back (towards the target) to the belly."""

from __future__ import annotations

from typing import Annotated, ClassVar

from archerysim.equipment.limbs.materials import LimbMaterial
from archerysim.errors import SetupError
from archerysim.fields.quantity import Note, Quantity
from archerysim.fields.record import Record

THINNEST = 0.05e-3  # [m] to which a strip may be ground


class Lamination(Record, frozen=True, kw_only=True):
    """One lamination, as wide as the limb.

    Its thickness has one value for each of the limb's places, or one alone: even, or growing thinner by its `taper`.
    Laminations are taken as glued without any strain in them: what bending them over a form leaves behind is not known.

    Examples
    --------
    >>> import archerysim
    >>> face = archerysim.Lamination(material="unidirectional glass", thickness=(0.001,))
    >>> core = archerysim.Lamination(material="maple", thickness=(0.007,), taper=0.003)
    >>> bow = archerysim.load("examples/longbow.toml").replace({
    ...     "limbs.laminations": (face, core, face), "limbs.thickness": None, "limbs.material": None})
    >>> len(bow.upper_limb.laminations)
    3
    """

    label: ClassVar[str] = "limbs.laminations"

    material: Annotated[
        LimbMaterial | None,
        Note(text="of what it is made: usual modulus, density and strain limit where these are not given"),
    ] = None
    thickness: Annotated[
        tuple[float, ...],
        Quantity(
            text="thickness at each of the limb's places, or at the root alone",
            unit="mm",
            low="0.05 mm",
            high="30 mm",
            count=0,
            spread=True,
            example="1.0 mm",
        ),
    ]
    taper: Annotated[
        float | None,
        Quantity(
            text="how much thinner it grows per length, from the root to the tip, where one thickness is given; "
            "0.002 is two thousandths of an inch to the inch",
            low="-0.02",
            high="0.02",
            default="0",
        ),
    ] = None
    modulus: Annotated[
        float | None,
        Quantity(text="modulus along the limb", unit="GPa", low="0.5 GPa", high="400 GPa"),
    ] = None
    density: Annotated[
        float | None,
        Quantity(text="density", unit="kg/m^3", low="100 kg/m^3", high="9000 kg/m^3"),
    ] = None
    strain_limit: Annotated[
        float | None,
        Quantity(text="largest strain that it bears, by its maker", low="0.0005", high="0.05"),
    ] = None

    def relations(self, path: str) -> None:
        """Check that its material or its modulus and density are given, and that no taper stands beside a table.

        Raises
        ------
        SetupError
        """
        for name in ("modulus", "density"):
            if self.material is None and getattr(self, name) is None:
                raise SetupError(f"{path}.{name}", "missing: no material is given", "Give it, or the material")
        if self.taper and len(self.thickness) > 1:
            raise SetupError(
                f"{path}.taper",
                "given beside a thickness for each place",
                "Give one thickness, at the root, or no taper",
            )


def thickness_at(lamination: Lamination, path: str, places: tuple[float, ...], length: float) -> tuple[float, ...]:
    """A lamination's thickness at each of the limb's places [m].

    Parameters
    ----------
    lamination : Lamination
    path : str
        Its place in the setup, for messages.
    places : (k,) tuple of float
        Along the limb, from 0 (root) to 1 (tip).
    length : float
        Of the limb [m].

    Raises
    ------
    SetupError
        Where a table has another number of values, or a taper leaves nothing.
    """
    given = lamination.thickness
    if len(given) == 1:
        taper = lamination.taper or 0.0
        tapered = tuple(given[0] - taper * length * place for place in places)
        if min(tapered) < THINNEST:
            raise SetupError(
                f"{path}.taper",
                f"{taper:g} leaves nothing of {1e3 * given[0]:.3g} mm over {1e3 * length:.4g} mm of limb",
                f"Give less, or a thicker lamination; it may end {1e3 * THINNEST:g} mm thick",
            )
        return tapered
    if len(given) != len(places):
        raise SetupError(
            f"{path}.thickness",
            f"a table of {len(given)} for {len(places)} places along the limb",
            "Give one value for each place, or one for the root with a taper",
        )
    return given
