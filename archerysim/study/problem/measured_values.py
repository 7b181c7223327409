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
from archerysim.study.measured.compare import Alignment, Residuals, after_clear, model_data, tables
from archerysim.study.measured.data import OwnData
from archerysim.study.measured.search import errors_of
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
    kept : tuple of tuple of bool
        Rows of each table that are compared on the bow as it is, and so on every bow.
    """

    values: tuple[tuple[Observable, float, float], ...]
    data: OwnData | None
    errors: dict[str, float]
    late: tuple[bool, ...]
    kept: tuple[tuple[bool, ...], ...]

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
        if not np.isfinite(out).all():
            names = ", ".join(one.name for (one, _, _), off in zip(self.values, out, strict=True) if off != off)
            raise SetupError("measured", f"{names} has no value in this shot", "Narrow the priors, or leave it out")
        if self.data is not None:
            found = compared(bow, self.data, self.errors, self.late, Alignment(**film))
            rows = [one.difference[list(kept)] / one.error for one, kept in zip(found, self.kept, strict=True)]
            together = np.concatenate(rows)
            if not np.isfinite(together).all():
                raise SetupError("data", "a measured row has no counterpart on this bow", "Narrow the priors")
            out += (-together).tolist()
        return out

    def log_scale(self, bow: FittedBow) -> float:
        """What the errors alone take from the logarithm of a likelihood: of each log(error sqrt(2 pi)), in its unit.

        Raises
        ------
        SetupError, ShotError
        """
        errors = [error for _, _, error in self.values]
        if self.data is not None:
            found = compared(bow, self.data, self.errors, self.late, Alignment())
            errors += [one.error for one, kept in zip(found, self.kept, strict=True) for _ in range(sum(kept))]
        return float(np.log(errors).sum() + 0.5 * len(errors) * np.log(2.0 * np.pi)) if errors else 0.0


def compared(
    bow: FittedBow, data: OwnData, errors: dict[str, float], late: tuple[bool, ...], film: Alignment
) -> tuple[Residuals, ...]:
    """The data beside what the model says of a bow, the same rows of a film everywhere.

    Raises
    ------
    SetupError, ShotError
    """
    return tables(data, model_data(bow, data), film, errors, np.array(late) if data.track is not None else None)


def measured_on(
    bow: FittedBow, values: tuple[Any, ...], data: OwnData | None, errors: Mapping[str, Any] | None
) -> Measured:
    """What was measured, with the rows that are compared on the bow as it is.

    Raises
    ------
    SetupError, ShotError
    """
    if data is None:
        if errors:
            raise SetupError("errors", "are of data, and there are none", "Give data=, or leave them out")
        return Measured(values, None, {}, (), ())
    if not isinstance(data, OwnData):
        raise SetupError("data", f"{type(data).__name__} is no OwnData", "Give archerysim.OwnData(speeds=...)")
    size, late = errors_of(errors), _late_rows(bow, data)
    found = compared(bow, data, size, late, Alignment())
    kept = tuple(tuple(bool(one) for one in np.isfinite(table.difference)) for table in found)
    if not any(map(any, kept)):
        raise SetupError("data", "no measured row can be compared", "See left_out of archerysim.compare_data")
    return Measured(values, data, size, late, kept)


def values_of(measured: Mapping[str, Any] | None, known: Mapping[str, Observable]) -> tuple[Any, ...]:
    """Measured values with their errors, from texts or pairs that carry their unit.

    Raises
    ------
    SetupError
    """
    if measured is not None and not isinstance(measured, Mapping):
        raise SetupError("measured", f"{measured!r} is no mapping", 'Give {"pitch": ("0.3 deg", "0.1 deg")}')
    out = []
    for name, pair in (measured or {}).items():
        if name not in known:
            raise SetupError(f"measured.{name}", "is not told of a shot", "Use an output's name, or name it in outputs")
        if not isinstance(pair, tuple) or len(pair) != 2:
            raise SetupError(f"measured.{name}", f"{pair!r} is no pair", 'Give ("value unit", "error unit")')
        one = known[name]
        value, error = (_number(f"measured.{name}", given, one.unit) for given in pair)
        if not np.isfinite([value, error]).all():
            raise SetupError(f"measured.{name}", f"{pair!r} is not finite", "Give numbers, or leave it out")
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


def _late_rows(bow: FittedBow, data: OwnData) -> tuple[bool, ...]:
    """Rows of a film that come after clear on the bow as it is."""
    if data.track is None:
        return ()
    found = model_data(bow, OwnData(track=data.track))
    assert found.path is not None
    return tuple(bool(one) for one in after_clear(found.path, np.array(data.track.time), Alignment()))
