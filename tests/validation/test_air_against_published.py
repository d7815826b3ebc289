"""Air against the CIPM formula's own value, the standard atmosphere and an outside package."""

import pytest
from ambiance import Atmosphere

from flightsim.flight.air import cipm2007_density, make_air, standard_pressure, sutherland_viscosity

HEIGHTS = [0.0, 500.0, 1000.0, 2000.0, 5000.0]


def test_moist_room_air_has_the_cipm_density():
    # Picard et al. 2008, Metrologia 45:149: 20 degC, 101325 Pa, half saturated (computed from the formula).
    assert cipm2007_density(293.15, 101_325.0, 0.5) == pytest.approx(1.19931, abs=5e-6)


def test_room_air_has_the_sutherland_viscosity():
    # Sutherland's law with the constants of the US Standard Atmosphere 1976 (computed).
    assert sutherland_viscosity(293.15) == pytest.approx(1.8134e-5, abs=5e-10)


@pytest.mark.parametrize(("height", "temperature", "density"), [(0.0, 288.15, 1.2250), (1000.0, 281.65, 1.1117)])
def test_dry_air_has_the_density_of_the_standard_atmosphere(height, temperature, density):
    # Mechanical Engineers' Handbook vol. 4, standard atmosphere (read). CIPM air holds more CO2 and is no ideal gas:
    # 0.04 % apart.
    air = make_air(temperature=temperature, altitude=height, relative_humidity=0.0)
    assert air.density == pytest.approx(density, rel=6e-4)


@pytest.mark.parametrize("geometric", HEIGHTS)
def test_pressure_density_and_viscosity_follow_a_standard_atmosphere_package(geometric):
    # ambiance (ISO 2533), outside package; it takes geometric heights, the pressure formula geopotential ones.
    outside = Atmosphere(geometric)
    height = geometric * 6_356_766.0 / (6_356_766.0 + geometric)
    temperature = float(outside.temperature[0])
    assert standard_pressure(height) == pytest.approx(float(outside.pressure[0]), rel=1e-6)
    dry = cipm2007_density(temperature, float(outside.pressure[0]), 0.0)
    assert dry == pytest.approx(float(outside.density[0]), rel=6e-4)
    assert sutherland_viscosity(temperature) == pytest.approx(float(outside.dynamic_viscosity[0]), rel=1e-6)
