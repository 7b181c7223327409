"""Steps with whole parts: the limbs changed over, other limbs, another riser."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from msgspec import structs

from archerysim.equipment.archer import Limits
from archerysim.equipment.bench.pockets import check_pockets
from archerysim.equipment.limbs.limb import Limb
from archerysim.equipment.setup import Setup
from archerysim.fields.given import InSi

# Fields of a limb that stay with the riser's pocket; all others go with the limb.
OF_THE_POCKET = ("pocket_angle", "bolt_turns", "lean_per_turn")

LEAST = ("brace_height_low", "lightest_arrow", "lightest_arrow_per_weight")  # limits that must not be gone under


def _put(limb: Limb, pocket: Limb) -> Limb:
    """A limb in the pocket of another."""
    return structs.replace(limb, **{name: getattr(pocket, name) for name in OF_THE_POCKET})


def stricter(one: Limits, other: Limits) -> Limits:
    """Of two makers' limits the stricter ones.

    Raises
    ------
    SetupError
        Where the two leave no brace height.
    """
    found: dict[str, Any] = {}
    for name in Limits.__struct_fields__:
        given = [value for limits in (one, other) if (value := getattr(limits, name)) is not None]
        if given:
            found[name] = max(given) if name in LEAST else min(given)
    return Limits(**found)


@dataclass(frozen=True)
class SwapLimbs:
    """The upper limb below and the lower one above; pockets and bolts stay as they are."""

    @property
    def words(self) -> str:
        """What is done."""
        return "swap the limbs"

    def changes(self, setup: Setup) -> InSi:
        """What it changes on a bow as built.

        Raises
        ------
        SetupError
            Where the bow is of one piece.
        """
        check_pockets(setup, "its limbs cannot change places")
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
        """What it changes on a bow as built; of both files' limits the stricter count.

        Raises
        ------
        SetupError
            Where either bow is of one piece.
        """
        for one in (setup, self.of):
            check_pockets(one, "its limbs do not come off")
        limbs: dict[str, Any] = {
            name: _put(getattr(self.of, name), getattr(setup, name)) for name in ("upper_limb", "lower_limb")
        }
        return InSi({**limbs, "limits": stricter(setup.limits, self.of.limits)})


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
        """What it changes on a bow as built; of both files' limits the stricter count.

        Raises
        ------
        SetupError
            Where either bow is of one piece.
        """
        for one in (setup, self.of):
            check_pockets(one, "its limbs do not come off")
        limbs: dict[str, Any] = {
            name: _put(getattr(setup, name), getattr(self.of, name)) for name in ("upper_limb", "lower_limb")
        }
        return InSi({"riser": self.of.riser, **limbs, "limits": stricter(setup.limits, self.of.limits)})
