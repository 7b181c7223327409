"""Steps with whole parts: the limbs changed over, other limbs, another riser."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from msgspec import structs

from archerysim.equipment.limbs.limb import Limb
from archerysim.equipment.setup import Setup
from archerysim.fields.given import InSi

# Fields of a limb that stay with the riser's pocket; all others go with the limb.
OF_THE_POCKET = ("pocket_angle", "bolt_turns", "lean_per_turn")


def _put(limb: Limb, pocket: Limb) -> Limb:
    """A limb in the pocket of another."""
    return structs.replace(limb, **{name: getattr(pocket, name) for name in OF_THE_POCKET})


@dataclass(frozen=True)
class SwapLimbs:
    """The upper limb below and the lower one above; pockets and bolts stay as they are."""

    @property
    def words(self) -> str:
        """What is done."""
        return "swap the limbs"

    def changes(self, setup: Setup) -> InSi:
        """What it changes on a bow as built."""
        return InSi({
            "upper_limb": _put(setup.lower_limb, setup.upper_limb),
            "lower_limb": _put(setup.upper_limb, setup.lower_limb),
        })  # fmt: skip


@dataclass(frozen=True)
class OtherLimbs:
    """The limbs of another bow as built, in this riser's pockets.

    Attributes
    ----------
    of : Setup
        As built.
    """

    of: Setup

    @property
    def words(self) -> str:
        """What is done."""
        return f"take the limbs of {self.of.name}"

    def changes(self, setup: Setup) -> InSi:
        """What it changes on a bow as built."""
        return InSi({name: _put(getattr(self.of, name), getattr(setup, name)) for name in ("upper_limb", "lower_limb")})


@dataclass(frozen=True)
class OtherRiser:
    """The riser of another bow as built, with its pockets and bolts as they stand there.

    Attributes
    ----------
    of : Setup
        As built.
    """

    of: Setup

    @property
    def words(self) -> str:
        """What is done."""
        return f"take the riser of {self.of.name}"

    def changes(self, setup: Setup) -> InSi:
        """What it changes on a bow as built."""
        limbs: dict[str, Any] = {
            name: _put(getattr(setup, name), getattr(self.of, name)) for name in ("upper_limb", "lower_limb")
        }
        return InSi({"riser": self.of.riser, **limbs})
