"""Numbers in the user's units, for people to read. Inside and in data files everything stays SI."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import ceil, degrees, floor, log10, pi
from typing import Literal

# Exact by the international yard and pound agreement of 1959.
FOOT = 0.3048
INCH = 0.0254
MILE_PER_HOUR = 1609.344 / 3600.0
POUND = 0.45359237  # kg
POUND_FORCE = POUND * 9.80665  # N, by standard gravity
_EIGHTHS = 8  # a tape's fine marks: sizes are said to the nearest 1/8 in
_SIXTEENTHS = 16  # and lengths to cut to the nearest 1/16 in
_ROUGH = 0.1  # m; from here on an estimate is told to 10 mm
_SMALL = 1.0  # m; below this, millimetres, as a scenario file has them


@dataclass(frozen=True)
class Display:
    """How numbers are written for the reader of `units`: `Display("imperial").length(3.6)`."""

    units: Literal["metric", "imperial"] = "metric"

    def length(self, metres: float) -> str:
        """`3.60 m`, `350 mm`; `11 ft 9 3/4 in` to the nearest 1/8 in."""
        if self.units == "imperial":
            return _feet_and_inches(metres)
        if abs(round(metres * 1000.0)) < _SMALL * 1000.0:
            return f"{_no_minus_zero(metres * 1000.0, 0)} mm"
        return f"{_no_minus_zero(metres, 2)} m"

    def beside(self, metres: float, *others: float) -> str:
        """A length that stands beside others, written as they are: millimetres where any of them is below 1 m."""
        if self.units == "metric" and min(abs(size) for size in (metres, *others)) < _SMALL:
            return f"{_no_minus_zero(metres * 1000.0, 0)} mm"
        return self.length(metres)

    def guess(self, metres: float) -> float:
        """A length that is only tried, m: in imperial whole inches from 2 in on, else as it is."""
        if self.units == "metric" or abs(metres) < 2.0 * INCH:
            return metres
        return round(metres / INCH) * INCH

    def estimate(self, metres: float) -> str:
        """A length that nobody cuts to, such as how far a cloth sinks: `380 mm`, `4.18 m`; `1 ft 3 in`, no eighths."""
        rough = self.units == "metric" and _ROUGH <= abs(metres) < _SMALL
        return self.length(round(metres, 2) if rough else self.guess(metres))

    def enough(self, metres: float) -> str:
        """A length in words, rounded up, never less: how far to move something."""
        step = INCH if self.units == "imperial" else 0.01
        return self.length(ceil(metres / step - 1e-6) * step)

    def typed(self, metres: float) -> str:
        """A length as one types it: `1.4m`, `80mm`; `55in`, to the nearest 0.1 mm or 1/64 in."""
        if self.units == "imperial":
            return f"{_no_zeros(round(metres / INCH * 64.0) / 64.0, 6)}in"
        if abs(metres) < _SMALL:
            return f"{_no_zeros(metres * 1000.0, 1)}mm"
        return f"{_no_zeros(metres, 4)}m"

    def to_cut(self, metres: float) -> str:
        """A length for the saw: `4250 mm`, `4250.5 mm`; `13 ft 11 5/16 in` to the nearest 1/16 in."""
        if self.units == "imperial":
            return _feet_and_inches(metres, _SIXTEENTHS)
        return f"{_no_minus_zero(metres * 1000.0, 1).removesuffix('.0')} mm"

    def speed(self, metres_per_second: float) -> str:
        """`67.1 m/s` or `150.0 mph`."""
        scale, unit = self.speed_axis
        return f"{_no_minus_zero(metres_per_second * scale, 1)} {unit}"

    def angle(self, radians: float) -> str:
        """`12.0 deg`."""
        return f"{_no_minus_zero(degrees(radians), 1)} deg"

    def spin(self, radians_per_second: float) -> str:
        """`2700 rpm`."""
        return f"{_no_minus_zero(radians_per_second * 30.0 / pi, 0)} rpm"

    def energy(self, joules: float, digits: int = 2) -> str:
        """`0.57 J` or `0.42 ft-lb`, to so many digits."""
        if self.units == "imperial":
            return f"{_figures(joules / (FOOT * POUND_FORCE), digits)} ft-lb"
        return f"{_figures(joules, digits)} J"

    def force(self, newtons: float) -> str:
        """`10 N` or `2.2 lbf`."""
        return f"{_figures(newtons / POUND_FORCE, 2)} lbf" if self.units == "imperial" else f"{newtons:g} N"

    def tension(self, newtons_per_metre: float) -> str:
        """`50 N/m` or `3.4 lbf/ft`."""
        if self.units == "imperial":
            return f"{_figures(newtons_per_metre / POUND_FORCE * FOOT, 2)} lbf/ft"
        return f"{newtons_per_metre:g} N/m"

    def mass(self, kilograms: float) -> str:
        """A ball's mass: `45.93 g` or `1.62 oz`."""
        if self.units == "imperial":
            return f"{kilograms / POUND * 16.0:.2f} oz"
        return f"{kilograms * 1000.0:.2f} g"

    def density(self, kilograms_per_cubic_metre: float) -> str:
        """`1.225 kg/m3` or `0.07647 lb/ft3`."""
        if self.units == "imperial":
            return f"{kilograms_per_cubic_metre / POUND * FOOT**3:.4g} lb/ft3"
        return f"{kilograms_per_cubic_metre:.4g} kg/m3"

    def temperature(self, kelvin: float) -> str:
        """`20.0 degC` or `68.0 degF`."""
        celsius = kelvin - 273.15
        if self.units == "imperial":
            return f"{_no_minus_zero(celsius * 1.8 + 32.0, 1)} degF"
        return f"{_no_minus_zero(celsius, 1)} degC"

    @property
    def length_axis(self) -> tuple[float, str]:
        """What to multiply metres by on an axis, and the unit: `(1.0, "m")` or `(3.28..., "ft")`."""
        return (1.0 / FOOT, "ft") if self.units == "imperial" else (1.0, "m")

    @property
    def speed_axis(self) -> tuple[float, str]:
        """What to multiply m/s by on an axis, and the unit."""
        return (1.0 / MILE_PER_HOUR, "mph") if self.units == "imperial" else (1.0, "m/s")


def _no_minus_zero(value: float, places: int) -> str:
    text = f"{value:.{places}f}"
    return text.removeprefix("-") if float(text) == 0.0 else text


def _figures(value: float, digits: int) -> str:
    """Nought or more to so many significant digits, never with an exponent: `0.57`, `120`."""
    if not value > 0.0:
        return "0"
    places = digits - 1 - floor(log10(value))
    return f"{round(value, places):,.{max(places, 0)}f}"


def _no_zeros(value: float, places: int) -> str:
    text = _no_minus_zero(value, places)
    return text.rstrip("0").rstrip(".") if "." in text else text


def _feet_and_inches(metres: float, parts: int = _EIGHTHS) -> str:
    whole = round(abs(metres) / INCH * parts)
    sign = "-" if metres < 0 and whole else ""
    feet, rest = divmod(whole, 12 * parts)
    inches, part = divmod(rest, parts)
    fraction = str(Fraction(part, parts)) if part else ""
    inch_words = " ".join(word for word in (str(inches) if inches or feet or not part else "", fraction) if word)
    if not feet:
        return f"{sign}{inch_words} in"
    return f"{sign}{feet} ft {inch_words} in" if rest else f"{sign}{feet} ft"


def as_written(metres: float, units: Literal["metric", "imperial"]) -> str:
    """A length as a scenario file has it, to the millimetre or 1/8 in: `1.35 m`, `160 mm`, `4 ft 6 in`."""
    if units == "imperial":
        return _feet_and_inches(metres)
    millimetres = round(metres * 1000.0)
    if abs(millimetres) < 1000:
        return f"{millimetres} mm"
    return f"{millimetres / 1000.0:.3f}".rstrip("0").rstrip(".") + " m"
