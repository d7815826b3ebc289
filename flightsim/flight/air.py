"""Air: density and viscosity from temperature, pressure or altitude, and humidity."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp

ZERO_CELSIUS = 273.15
STANDARD_PRESSURE = 101_325.0

# CIPM-2007 constants: Picard, Davis, Glaser & Fujii 2008, Metrologia 45:149, equations 1, A1.1-A1.4.
_MOLAR_MASS_DRY_AIR = 28.96546e-3
_MOLAR_MASS_WATER = 18.01528e-3
_GAS_CONSTANT = 8.314472


@dataclass(frozen=True)
class Air:
    """What the flight needs to know of the air: density in kg/m3, dynamic viscosity in Pa s."""

    density: float
    viscosity: float


def cipm2007_density(temperature: float, pressure: float, relative_humidity: float) -> float:
    """Density of moist air, kg/m3.

    temperature in K, pressure in Pa, relative humidity 0..1.
    Source: Picard et al. 2008, Metrologia 45:149 (CIPM-2007). Nominal range 15-27 C, 60-110 kPa; used
    outside it here as the best extrapolation at hand.
    """
    celsius = temperature - ZERO_CELSIUS
    saturation = exp(
        1.2378847e-5 * temperature**2 - 1.9121316e-2 * temperature + 33.93711047 - 6.3431645e3 / temperature
    )
    enhancement = 1.00062 + 3.14e-8 * pressure + 5.6e-7 * celsius**2
    vapour = relative_humidity * enhancement * saturation / pressure
    compressibility = (
        1.0
        - pressure
        / temperature
        * (
            1.58123e-6
            - 2.9331e-8 * celsius
            + 1.1043e-10 * celsius**2
            + (5.707e-6 - 2.051e-8 * celsius) * vapour
            + (1.9898e-4 - 2.376e-6 * celsius) * vapour**2
        )
        + (pressure / temperature) ** 2 * (1.83e-11 - 0.765e-8 * vapour**2)
    )
    dry = pressure * _MOLAR_MASS_DRY_AIR / (compressibility * _GAS_CONSTANT * temperature)
    return dry * (1.0 - vapour * (1.0 - _MOLAR_MASS_WATER / _MOLAR_MASS_DRY_AIR))


def sutherland_viscosity(temperature: float) -> float:
    """Dynamic viscosity of air, Pa s, from temperature in K (Sutherland's law; constants from memory)."""
    return float(1.458e-6 * temperature**1.5 / (temperature + 110.4))


def standard_pressure(altitude: float) -> float:
    """Pressure of the standard atmosphere, Pa, at a geopotential altitude in m, up to 11 km.

    Source: ISO 2533 / US Standard Atmosphere 1976, troposphere: 288.15 K, lapse 6.5 K/km.
    Raises ValueError outside -1 km to 11 km.
    """
    if not -1000.0 <= altitude <= 11_000.0:
        raise ValueError(f"an altitude of {altitude:g} m has no standard pressure here: -1000 m to 11000 m has")
    return float(STANDARD_PRESSURE * (1.0 - 0.0065 * altitude / 288.15) ** 5.25588)


def make_air(
    temperature: float = 293.15,
    pressure: float | None = None,
    altitude: float | None = None,
    relative_humidity: float = 0.5,
    density: float | None = None,
) -> Air:
    """Air from what the user knows.

    temperature in K; pressure in Pa, or altitude in m (standard pressure there); relative humidity 0..1.
    A given density (kg/m3) overrides the density only: viscosity still follows the temperature.
    Raises ValueError when both pressure and altitude are given, and for air that cannot be.
    """
    if not 150.0 <= temperature <= 400.0:
        raise ValueError(f"air at {temperature:g} K is not known here: 150 K to 400 K is")
    if not 0.0 <= relative_humidity <= 1.0:
        raise ValueError(f"a relative humidity of {relative_humidity:g} cannot be: 0 to 1 can")
    if pressure is not None and altitude is not None:
        raise ValueError("give the air's pressure or the altitude, not both")
    if pressure is None:
        pressure = standard_pressure(altitude or 0.0)
    if not 0.0 < pressure < float("inf"):
        raise ValueError(f"a pressure of {pressure:g} Pa cannot be: more than 0 Pa can")
    if density is None:
        density = cipm2007_density(temperature, pressure, relative_humidity)
    if not 0.0 <= density < float("inf"):
        raise ValueError(f"air of {density:g} kg/m3 cannot be: 0 (a vacuum) or more can")
    return Air(density=density, viscosity=sutherland_viscosity(temperature))
