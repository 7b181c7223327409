"""Steps at the pockets and the string: a bolt turned, a shim under a limb, the string twisted."""

from __future__ import annotations

from dataclasses import dataclass
from math import degrees
from typing import Literal

from archerysim.equipment.setup import Setup
from archerysim.errors import SetupError
from archerysim.fields.given import InSi
from archerysim.fields.units import show

Which = Literal["upper", "lower", "both"]
LIMBS: dict[Which, tuple[str, ...]] = {
    "upper": ("upper_limb",), "lower": ("lower_limb",), "both": ("upper_limb", "lower_limb"),
}  # fmt: skip


def whose(limb: Which) -> str:
    """The limb in words."""
    return "both limbs" if limb == "both" else f"the {limb} limb"


@dataclass(frozen=True)
class Turn:
    """A limb bolt turned.

    Attributes
    ----------
    limb : {"upper", "lower", "both"}
    turns : float
        Positive = in: the limb leans further forward.
    """

    limb: Which
    turns: float

    @property
    def words(self) -> str:
        """What is done."""
        way = "in" if self.turns > 0 else "out"
        size = abs(self.turns)
        bolt = "both bolts" if self.limb == "both" else f"the {self.limb} bolt"
        return f"turn {bolt} {size:g} turn{'s' * (size > 1)} {way}"

    def changes(self, setup: Setup) -> InSi:
        """What it changes on a bow as built."""
        return InSi(
            {f"{limb}.bolt_turns": (getattr(setup, limb).bolt_turns or 0.0) + self.turns for limb in LIMBS[self.limb]}
        )


@dataclass(frozen=True)
class Shim:
    """A shim under a limb's butt, or in front of it.

    Attributes
    ----------
    limb : {"upper", "lower", "both"}
    angle : float
        By which the limb leans further forward [rad]; negative: back.
    """

    limb: Which
    angle: float

    @property
    def words(self) -> str:
        """What is done."""
        return f"shim {whose(self.limb)} {degrees(abs(self.angle)):.3g} deg {'forward' if self.angle > 0 else 'back'}"

    def changes(self, setup: Setup) -> InSi:
        """What it changes on a bow as built."""
        return InSi({
            f"{limb}.pocket_angle": getattr(setup, limb).pocket_angle + self.angle for limb in LIMBS[self.limb]
        })  # fmt: skip


@dataclass(frozen=True)
class Twist:
    """The string twisted or untwisted.

    Attributes
    ----------
    longer : float
        By which it is then longer without load [m]; negative: shorter, which raises the brace height.
    """

    longer: float

    @property
    def words(self) -> str:
        """What is done."""
        way = "untwist the string, longer by" if self.longer > 0 else "twist the string, shorter by"
        return f"{way} {show(abs(self.longer), 'mm')}"

    def changes(self, setup: Setup) -> InSi:
        """What it changes on a bow as built.

        Raises
        ------
        SetupError
        """
        if setup.string.length is None:
            raise SetupError("string.length", "not known", "Twist the string of a bow as built")
        return InSi({"string.length": setup.string.length + self.longer})
