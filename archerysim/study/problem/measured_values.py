"""What was measured on a bow, beside what a problem says of it: residuals over errors."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from archerysim.equipment import SetupError
from archerysim.fields.quantity import in_si
from archerysim.fields.units import from_si, is_unit
from archerysim.shot.fitted_bow import FittedBow
from archerysim.study.measured.compare import Alignment, Modelled, after_clear, model_data, tables
from archerysim.study.measured.data import OwnData
from archerysim.study.problem.observables import Observable


@dataclass(frozen=True)
class Measured:
    """Measured numbers, and tables of them.

    Attributes
    ----------
    values : tuple of (Observable, float, float)
        What was measured, its value and its standard deviation, in the observable's unit.
    data : OwnData or None
        Draw force, speeds, a film.
    errors : dict of str to float
        Standard deviation of one value of each kind of data [SI].
    late : tuple of bool
        Rows of the film after clear, on the bow as it is: these are left out everywhere.
    """

    values: tuple[tuple[Observable, float, float], ...]
    data: OwnData | None
    errors: dict[str, float]
    late: tuple[bool, ...]

    @property
    def shots(self) -> int:
        """How many shots the data take beside the bow's own."""
        return 0 if self.data is None else 3

    def residuals(self, told: list[float], bow: FittedBow, film: Mapping[str, float]) -> list[float]:
        """Computed less measured over the error, the values first.

        Parameters
        ----------
        told : list of float
            The observables of ``values`` on this bow.
        film : mapping
            Of the fields of `Alignment`, how the film stands [SI].

        Raises
        ------
        SetupError, ShotError
        """
        out = [(found - value) / error for found, (_, value, error) in zip(told, self.values, strict=True)]
        if self.data is not None:
            late = np.array(self.late) if self.data.track is not None else None
            found = tables(self.data, model_data(bow, self.data), Alignment(**film), self.errors, late)
            out += [-float(one) for table in found for one in table.scaled]
        return out

    def log_scale(self, bow: FittedBow) -> float:
        """What the errors alone take from the logarithm of a likelihood: of each log(error sqrt(2 pi)), in its unit.

        Raises
        ------
        SetupError, ShotError
        """
        errors = [error for _, _, error in self.values]
        if self.data is not None:
            late = np.array(self.late) if self.data.track is not None else None
            found = tables(self.data, model_data(bow, self.data), Alignment(), self.errors, late)
            errors += [table.error for table in found for _ in table.scaled]
        return float(np.log(errors).sum() + 0.5 * len(errors) * np.log(2.0 * np.pi)) if errors else 0.0


def values_of(measured: Mapping[str, Any] | None, known: Mapping[str, Observable]) -> tuple[Any, ...]:
    """Measured values with their errors, from texts or pairs that carry their unit.

    Raises
    ------
    SetupError
    """
    out = []
    for name, pair in (measured or {}).items():
        if name not in known:
            raise SetupError(f"measured.{name}", "is not told of a shot", "Use an output's name, or name it in outputs")
        if not isinstance(pair, tuple) or len(pair) != 2:
            raise SetupError(f"measured.{name}", f"{pair!r} is no pair", 'Give ("value unit", "error unit")')
        one = known[name]
        value, error = (_number(f"measured.{name}", given, one.unit) for given in pair)
        if not error > 0.0:
            raise SetupError(f"measured.{name}", f"an error of {pair[1]} is not positive", "Give a standard deviation")
        out.append((one, value, error))
    return tuple(out)


def _number(path: str, given: Any, unit: str) -> float:
    if unit and is_unit(unit):
        return from_si(in_si(path, given, unit, "refused"), unit)
    if isinstance(given, bool) or not isinstance(given, (int, float)):
        raise SetupError(path, f"{given!r} is no number", "Give a plain number: the unit of this output is its own")
    return float(given)


def late_rows(bow: FittedBow, data: OwnData | None) -> tuple[bool, ...]:
    """Rows of a film that come after clear on the bow as it is.

    Raises
    ------
    SetupError, ShotError
    """
    if data is None or data.track is None:
        return ()
    found: Modelled = model_data(bow, OwnData(track=data.track))
    assert found.path is not None
    return tuple(bool(one) for one in after_clear(found.path, np.array(data.track.time), Alignment()))
