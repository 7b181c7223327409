"""Density and viscosity of the air."""

from __future__ import annotations

from dataclasses import dataclass

from archerysim.equipment import Air
from archerysim.equipment.air import standard_pressure
from archerysim.equipment.filled_records import FilledAir
from archerysim.fields.record import fields_of

GAS_CONSTANT = 287.05287  # of dry air [J/(kg K)], ISO 2533
ZERO_CELSIUS = 273.15  # [K]
# Sutherland's law for air (ISO 2533): mu = beta T^1.5 / (T + S).
BETA, SUTHERLAND = 1.458e-6, 110.4  # [kg/(m s K^0.5)], [K]


@dataclass(frozen=True)
class AirState:
    """What the flight needs of the air.

    Attributes
    ----------
    density : float
        [kg/m^3]
    viscosity : float
        Kinematic [m^2/s].
    head_wind : float
        Positive against the arrow [m/s].
    """

    density: float
    viscosity: float
    head_wind: float


def air_state(air: Air | FilledAir) -> AirState:
    """Density and viscosity of dry air from temperature and pressure, or altitude.

    Parameters
    ----------
    air : Air or FilledAir
        Values not given count with their defaults.


    Notes
    -----
    rho = p / (R T), the pressure at an altitude and the viscosity from the standard atmosphere (ISO 2533).
    Humidity is left out: at 30 degC it lowers the density by up to 2 %.
    """

    def value(name: str) -> float:
        given = getattr(air, name)
        return float(given if given is not None else fields_of(Air)[name].default)

    kelvin = value("temperature") + ZERO_CELSIUS
    pressure = air.pressure if air.pressure is not None else standard_pressure(value("altitude"))
    density = pressure / (GAS_CONSTANT * kelvin)
    viscosity = BETA * kelvin**1.5 / (kelvin + SUTHERLAND)
    return AirState(density, viscosity / density, value("head_wind"))
