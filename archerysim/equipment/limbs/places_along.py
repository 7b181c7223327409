"""Places along a limb: as shares of its length, or as lengths from its root (stations)."""

from __future__ import annotations

from dataclasses import dataclass

from archerysim.errors import SetupError
from archerysim.fields.quantity import Bare, Quantity
from archerysim.fields.units import UnitError, to_si


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


def shares_of(stations: tuple[float, ...]) -> tuple[float, ...]:
    """Stations along a limb as shares of the last, the limb's length."""
    return tuple(one / stations[-1] for one in stations)
