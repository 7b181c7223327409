"""Record of the air that the arrow flies through."""

from __future__ import annotations

from fractions import Fraction
from typing import Annotated, ClassVar

from archerysim.fields.quantity import Quantity
from archerysim.fields.record import Record, Rivals

# Standard atmosphere below 11 km (ISO 2533): p = p0 (1 - a h)^b.
SEA_LEVEL_PRESSURE = 101325.0  # [Pa]
_PER_METRE, _EXPONENT = 2.25577e-5, 5.25588


def _temperature(number: Fraction, unit: str) -> Fraction | None:
    """Temperatures whose zero lies elsewhere: Fahrenheit and kelvin, in degrees Celsius."""
    if unit in ("degF", "°F", "F"):
        return (number - 32) * Fraction(5, 9)
    if unit == "K":
        return number - Fraction("273.15")
    return None


class Air(Record, frozen=True, kw_only=True):
    """The air: its density follows from temperature and pressure, the pressure from the altitude.

    Examples
    --------
    >>> import archerysim
    >>> air = archerysim.Air(temperature="5 degC", altitude="800 m")
    >>> air.temperature, air.altitude  # [degC], [m]
    (5.0, 800.0)
    """

    label: ClassVar[str] = "air"
    rivals: ClassVar[tuple[Rivals, ...]] = (Rivals((("altitude",), ("pressure",))),)

    temperature: Annotated[
        float | None,
        Quantity(
            text="temperature of the air",
            unit="degC",
            low="-30 degC",
            high="50 degC",
            default="15 degC",
            basis="ISO 2533",
            words=_temperature,
        ),
    ] = None
    altitude: Annotated[
        float | None,
        Quantity(text="height above the sea", unit="m", low="-430 m", high="5000 m", default="0 m", basis="ISO 2533"),
    ] = None
    pressure: Annotated[
        float | None,
        Quantity(
            text="pressure of the air where the arrow flies (not the one reduced to sea level)",
            unit="hPa",
            low="500 hPa",
            high="1100 hPa",
        ),
    ] = None
    head_wind: Annotated[
        float | None,
        Quantity(
            text="wind along the shooting line, positive = against the arrow (head wind)",
            unit="m/s",
            low="-15 m/s",
            high="15 m/s",
            default="0 m/s",
        ),
    ] = None


def standard_pressure(altitude: float) -> float:
    """Pressure [Pa] of the standard atmosphere at an altitude [m] below 11 km.

    Notes
    -----
    p = 101325 Pa (1 - 2.25577e-5 h)^5.25588 (ISO 2533).
    """
    return float(SEA_LEVEL_PRESSURE * (1.0 - _PER_METRE * altitude) ** _EXPONENT)
