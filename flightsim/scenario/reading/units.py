"""Units in SI, by the word that people write. tests/scenario/reading/test_units.py holds each against a units library.

That library took a quarter of a second of every command's start, and a third of the time of opening a bay.
"""

from __future__ import annotations

from math import pi

# Exact by definition [units]; inHg by 13,595.1 kg/m3, the conventional mercury.
INCH, FOOT, YARD, MILE = 0.0254, 0.3048, 0.9144, 1609.344  # m
POUND = 0.45359237  # kg
GRAVITY = 9.80665  # m/s2, standard
POUND_FORCE = POUND * GRAVITY  # N

# What one of it is in SI, and what nought of it is.
IN_SI: dict[str, tuple[float, float]] = {
    "degC": (1.0, 273.15),
    "degF": (5.0 / 9.0, 273.15 - 32.0 * 5.0 / 9.0),
} | {
    unit: (one, 0.0)
    for unit, one in {
        "m": 1.0, "cm": 0.01, "mm": 0.001, "ft": FOOT, "in": INCH,
        "m/s": 1.0, "mph": MILE / 3600.0, "km/h": 1.0 / 3.6, "ft/s": FOOT,
        "rad": 1.0, "deg": pi / 180.0,
        "rad/s": 1.0, "rpm": pi / 30.0,
        "K": 1.0,
        "Pa": 1.0, "hPa": 100.0, "kPa": 1e3, "MPa": 1e6, "GPa": 1e9, "mbar": 100.0,
        "inHg": 13595.1 * GRAVITY * INCH, "psi": POUND_FORCE / INCH**2,
        "kg/m3": 1.0, "lb/ft3": POUND / FOOT**3,
        "kg": 1.0, "g": 0.001, "lb": POUND, "oz": POUND / 16.0,
        "J": 1.0, "kJ": 1e3, "ft-lb": FOOT * POUND_FORCE,
        "kg/m2": 1.0, "g/m2": 0.001, "oz/yd2": POUND / 16.0 / YARD**2, "lb/ft2": POUND / FOOT**2,
        "N": 1.0, "kN": 1e3, "kgf": GRAVITY, "lbf": POUND_FORCE,
        "N/m": 1.0, "kN/m": 1e3, "N/mm": 1e3, "N/cm": 100.0, "lbf/in": POUND_FORCE / INCH, "lbf/ft": POUND_FORCE / FOOT,
    }.items()
}  # fmt: skip


def in_si(value: float, unit: str) -> float:
    """The value in SI units. Raises KeyError for a unit that nobody knows."""
    one, nought = IN_SI[unit]
    return value * one + nought
