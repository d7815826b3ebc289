"""Quantities as people write them: a number with its unit, read into SI (radians inside).

`4.2 m`, `1350 mm`, `13 ft 9 1/2 in`, `53.5in`, `150 mph`, `2700 rpm`, `-3 deg`, `20 degC`. A bare number where a
unit is due is an error that shows how to write it.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from difflib import get_close_matches
from itertools import pairwise
from math import degrees, isfinite, pi
from typing import TYPE_CHECKING, Annotated, Any, TypeAlias

from pydantic import BeforeValidator, PlainSerializer, WithJsonSchema
from pydantic_core import PydanticCustomError, PydanticSerializationUnexpectedValue

from flightsim.scenario.reading.units import in_si

_DECIMAL = r"(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?"
_FRACTION = r"(?:(?P<whole>[0-9]+)(?:\s+|-))?(?P<over>[0-9]+)\s*/\s*(?P<under>[0-9]+)"
_UNIT = r"°?[A-Za-z]+(?:[-·][A-Za-z]+)?(?:/[A-Za-z]+(?:\^?[23]|[²³])?)?|['\"′″°]"
_TERM = re.compile(rf"\s*(?P<sign>[+-])?\s*(?:{_FRACTION}|(?P<decimal>{_DECIMAL}))\s*(?P<unit>{_UNIT})")
_BARE = re.compile(rf"\s*[+-]?\s*(?:{_FRACTION}|{_DECIMAL})\s*")
_COMMA = re.compile(r"[0-9],[0-9]")
_LONGEST = 60  # characters of a quantity
_VULGAR = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
_AS_TYPED = str.maketrans({"−": "-", "⁄": "/", **{sign: f" {words}" for sign, words in _VULGAR.items()}})
_LONG_ROOM = 100  # a bare length from here on is taken to be meant in millimetres


@dataclass(frozen=True)
class Kind:
    """A kind of quantity: its SI unit, what people may write, and an example of each."""

    name: str
    si: str
    units: tuple[str, ...]
    examples: tuple[str, ...]
    aliases: tuple[tuple[str, str], ...] = ()

    def __str__(self) -> str:
        return f"{'an' if self.name[0] in 'aeiou' else 'a'} {self.name}"

    def unit(self, word: str) -> str | None:
        """The unit that a word means, or None."""
        word = dict(self.aliases).get(word, word)
        return word if word in self.units else None


KINDS = {
    kind.name: kind
    for kind in (
        Kind(
            "length",
            "m",
            ("m", "cm", "mm", "ft", "in"),
            ("4.2 m", "1350 mm", "13 ft 9 in", "53 1/2 in"),
            (
                ("'", "ft"), ("′", "ft"), ("feet", "ft"), ("foot", "ft"),
                ('"', "in"), ("″", "in"), ("inch", "in"), ("inches", "in"),
                ("metre", "m"), ("metres", "m"), ("meter", "m"), ("meters", "m"),
            ),
        ),
        Kind(
            "speed",
            "m/s",
            ("m/s", "mph", "km/h", "ft/s"),
            ("67 m/s", "150 mph", "240 km/h"),
            (("kph", "km/h"), ("kmh", "km/h")),
        ),
        Kind(
            "angle",
            "rad",
            ("deg", "rad"),
            ("12 deg", "-3.5 deg"),
            (("°", "deg"), ("degree", "deg"), ("degrees", "deg")),
        ),
        Kind("spin rate", "rad/s", ("rpm", "rad/s"), ("2700 rpm",)),
        Kind(
            "temperature",
            "K",
            ("degC", "degF", "K"),
            ("20 degC", "68 degF"),
            (("C", "degC"), ("F", "degF"), ("°C", "degC"), ("°F", "degF")),
        ),
        Kind("pressure", "Pa", ("Pa", "hPa", "kPa", "mbar", "inHg"), ("1013 hPa", "29.9 inHg")),
        Kind(
            "density",
            "kg/m^3",
            ("kg/m3", "lb/ft3"),
            ("1.2 kg/m3",),
            (("kg/m^3", "kg/m3"), ("kg/m³", "kg/m3"), ("lb/ft^3", "lb/ft3"), ("lb/ft³", "lb/ft3")),
        ),
        Kind("mass", "kg", ("g", "kg", "oz", "lb"), ("45.93 g",)),
        Kind(
            "energy",
            "J",
            ("J", "kJ", "ft-lb"),
            ("25 J", "11 ft-lb"),
            (("ft-lbf", "ft-lb"), ("ft·lb", "ft-lb"), ("ft·lbf", "ft-lb"), ("joule", "J"), ("joules", "J")),
        ),
        Kind(
            "areal mass",
            "kg/m^2",
            ("kg/m2", "g/m2", "oz/yd2", "lb/ft2"),
            ("350 g/m2", "0.35 kg/m2", "10 oz/yd2"),
            (
                ("kg/m^2", "kg/m2"), ("kg/m²", "kg/m2"), ("g/m^2", "g/m2"), ("g/m²", "g/m2"), ("gsm", "g/m2"),
                ("oz/yd^2", "oz/yd2"), ("oz/yd²", "oz/yd2"), ("lb/ft^2", "lb/ft2"), ("lb/ft²", "lb/ft2"),
            ),
        ),
        Kind("force", "N", ("N", "kN", "kgf", "lbf"), ("150 N", "0.5 kN", "30 lbf")),
        Kind("stiffness", "N/m", ("N/m", "kN/m", "N/mm", "lbf/in"), ("500 N/m", "200 kN/m")),
        Kind("tension", "N/m", ("N/m", "kN/m", "N/cm", "lbf/ft"), ("50 N/m", "3 lbf/ft")),
        Kind(
            "stress",
            "Pa",
            ("Pa", "kPa", "MPa", "GPa", "psi"),
            ("0.12 MPa", "120 kPa", "8 GPa"),
            (("N/mm2", "MPa"), ("N/mm^2", "MPa"), ("N/mm²", "MPa")),
        ),
    )
}  # fmt: skip


def parse(kind: Kind, text: object) -> float:
    """The value in SI units. Raises PydanticCustomError, with what was found, what is allowed, and a way out."""
    if not isinstance(text, str):
        raise _no_text(kind, text)
    if len(text) > _LONGEST:
        raise _wrong(kind, f"'{text[:20]}...' is too long for {kind}")
    terms = _terms(kind, text)
    signed = [term for term in terms[1:] if term[0]]
    if len(terms) > 1 and (kind.name != "length" or signed):
        raise _wrong(kind, f"'{text}' has more than one number")
    if len(terms) > 1:
        _check_compound(kind, text, terms)
    sign = -1.0 if terms[0][0] == "-" else 1.0
    if len(terms) == 1:  # the sign goes in before the conversion: -3 degC is not -(3 degC)
        total = in_si(sign * terms[0][1], terms[0][2])
    else:
        total = sign * sum(in_si(value, unit) for _, value, unit in terms)
    if not isfinite(total):
        raise _wrong(kind, f"'{text}' is not a finite number")
    return total


def _terms(kind: Kind, text: str) -> list[tuple[str, float, str]]:
    """Sign, value and unit of each number in the text, with units as this kind spells them."""
    terms, position, plain = [], 0, text.translate(_AS_TYPED).rstrip()
    while position < len(plain):
        term = _TERM.match(plain, position)
        if term is None:
            raise _unreadable(kind, text)
        unit = kind.unit(term["unit"])
        if unit is None:
            raise _unknown_unit(kind, text, term["unit"])
        terms.append((term["sign"] or "", _value(kind, term, text), unit))
        position = term.end()
    if not terms:
        raise _unreadable(kind, text)
    return terms


def _value(kind: Kind, term: re.Match[str], text: str) -> float:
    if term["decimal"]:
        return float(term["decimal"])
    if int(term["under"]) == 0:
        raise _wrong(kind, f"'{text}' divides by nought")
    return int(term["whole"] or 0) + int(term["over"]) / int(term["under"])


def _check_compound(kind: Kind, text: str, terms: list[tuple[str, float, str]]) -> None:
    """Feet and inches, or metres and centimetres: each unit smaller than the last, and less than one of it."""
    for (_, larger, above), (_, smaller, below) in pairwise(terms):
        one = in_si(1.0, above)
        if larger != int(larger) or in_si(smaller, below) >= one * (1.0 - 1e-12):
            allowed = f"whole {above}, then less than 1 {above} in {below}"
            raise refusal(f"'{text}' does not add up", allowed, f"{kind.examples[2]}, or one number with one unit")


def _no_text(kind: Kind, value: object) -> PydanticCustomError:
    if isinstance(value, (int, float)) and not isinstance(value, bool) and isfinite(value):
        return _no_unit(kind, f"{value!r}")
    words = str(value).lower() if isinstance(value, bool) else _short(value)
    return _wrong(kind, f"{words} is not {kind}")


def _short(value: object) -> str:
    return {dict: "a group of keys", list: "a list", type(None): "nothing"}.get(type(value), repr(value)[:60])


def _no_unit(kind: Kind, number: str) -> PydanticCustomError:
    bare = number.strip("' ")
    unit = kind.units[0]
    if kind.name == "length" and re.fullmatch(r"[+-]?[0-9.]+", bare) and abs(float(bare)) >= _LONG_ROOM:
        unit = "mm"
    return _wrong(kind, f"{number} has no unit", f"{bare} {unit}, if that is what you mean")


def _unreadable(kind: Kind, text: str) -> PydanticCustomError:
    if _BARE.fullmatch(text):
        return _no_unit(kind, f"'{text}'")
    if _COMMA.search(text):
        fix = text.strip().replace(",", ".")
        if re.search(r"[0-9],[0-9]{3}(?![0-9])", text):
            fix += f", or {text.strip().replace(',', '')}, whichever you mean"
        return refusal(f"'{text}' has a comma in its number", "a point for decimals, nothing for thousands", fix)
    return _wrong(kind, f"'{text}' cannot be read as {kind}")


def _unknown_unit(kind: Kind, text: str, unit: str) -> PydanticCustomError:
    by_lower = {name.lower(): name for name in (*(alias for alias, _ in kind.aliases), *kind.units)}
    close = get_close_matches(unit.lower(), by_lower, n=1, cutoff=0.6)
    fix = text.replace(unit, by_lower[close[0]], 1).strip() if close else ""
    return _wrong(kind, f"'{unit}' is not a unit of {kind.name} here", fix)


def _wrong(kind: Kind, found: str, fix: str = "") -> PydanticCustomError:
    return refusal(found, f"a number and a unit: {', '.join(kind.units)}", fix or " or ".join(kind.examples[:2]))


def refusal(found: str, allowed: str, fix: str = "") -> PydanticCustomError:
    """What any section's validator may raise, so that the message says what was found, what is allowed, and a fix."""
    return PydanticCustomError(
        "quantity", "{found}; allowed: {allowed}; try: {fix}", {"found": found, "allowed": allowed, "fix": fix}
    )


_PLAIN_UNIT = {"angle": "rad", "areal mass": "kg/m2", "density": "kg/m3", "spin rate": "rad/s"}


def _limit_words(kind: Kind, limit: float) -> str:
    """A limit for people, who write angles in degrees and spins in revolutions."""
    if kind.name == "spin rate":
        return f"{limit * 30.0 / pi:g} rpm"
    if kind.name == "angle":
        return f"{degrees(limit):g} deg"
    return f"{limit:g} {_PLAIN_UNIT.get(kind.name, kind.si)}"


def quantity(name: str, *, above: float | None = None, least: float | None = None, most: float | None = None) -> Any:
    """Annotation for a pydantic field of this kind: strings in, SI floats inside, strings out.

    above, least, most: limits in SI units.
    """
    kind = KINDS[name]
    plain = _PLAIN_UNIT.get(name, kind.si)

    def inside(example: str) -> bool:
        number = parse(kind, example)
        low = (above is None or number > above) and (least is None or number >= least)
        return low and (most is None or number <= most)

    def read(value: object) -> float:
        number = parse(kind, value)
        for limit, holds, words in (
            (above, above is None or number > above, "more than"),
            (least, least is None or number >= least, "at least"),
            (most, most is None or number <= most, "at most"),
        ):
            if limit is not None and not holds:
                bound = _limit_words(kind, limit)
                fix = next((example for example in kind.examples if inside(example)), bound)
                raise refusal(f"'{value}' is out of range", f"{words} {bound}", fix)
        return number

    def write(value: object) -> str:
        # A field may also take a word, a list or a group of keys: pydantic then tries the next writer.
        if not isinstance(value, float):
            raise PydanticSerializationUnexpectedValue("no number")
        return f"{value!r} {plain}"

    spellings = "|".join(re.escape(word) for word in (*kind.units, *(alias for alias, _ in kind.aliases)))
    schema = {
        "type": "string",
        "description": f"{kind.name} with its unit ({', '.join(kind.units)})",
        "examples": list(kind.examples),
        "pattern": rf"[0-9{''.join(_VULGAR)}]\s*({spellings})\s*$".replace(r"\ ", " "),
    }
    return Annotated[
        float,
        BeforeValidator(read),
        PlainSerializer(write, return_type=str),
        WithJsonSchema(schema),
    ]


if TYPE_CHECKING:
    Length: TypeAlias = float
    Distance: TypeAlias = float
    Size: TypeAlias = float
    Speed: TypeAlias = float
    Draught: TypeAlias = float
    HarmSpeed: TypeAlias = float
    HarmEnergy: TypeAlias = float
    Altitude: TypeAlias = float
    Angle: TypeAlias = float
    SpinRate: TypeAlias = float
    Temperature: TypeAlias = float
    Pressure: TypeAlias = float
    Density: TypeAlias = float
    Mass: TypeAlias = float
    Energy: TypeAlias = float
    ArealMass: TypeAlias = float
    Stored: TypeAlias = float
    Force: TypeAlias = float
    Stiffness: TypeAlias = float
    Tension: TypeAlias = float
    Stress: TypeAlias = float
else:
    Length = quantity("length")  # may be negative: an offset
    Distance = quantity("length", least=0.0, most=1000.0)  # from a wall or the floor
    Size = quantity("length", above=0.0, most=1000.0)  # of a thing
    Speed = quantity("speed", least=0.0, most=200.0)
    Draught = quantity("speed", least=-30.0, most=30.0)  # of moving air, either way
    HarmSpeed = quantity("speed", least=0.5, most=20.0)  # slower balls harm nobody; faster limits would hide harm
    HarmEnergy = quantity("energy", least=0.005, most=10.0)  # the same of a ball of 45.93 g
    Angle = quantity("angle")
    SpinRate = quantity("spin rate")
    Altitude = quantity("length", least=-500.0, most=11_000.0)  # where the standard atmosphere is known
    Temperature = quantity("temperature", least=200.0, most=350.0)
    Pressure = quantity("pressure", least=2.0e4, most=1.2e5)
    Density = quantity("density", above=0.0, most=10.0)
    Mass = quantity("mass", above=0.0, most=1.0)
    Energy = quantity("energy", above=0.0, most=1.0e5)
    ArealMass = quantity("areal mass", above=0.0, most=50.0)
    Stored = quantity("areal mass", least=0.0, most=500.0)  # of what lies on something
    Force = quantity("force", least=0.0, most=1.0e6)
    Stiffness = quantity("stiffness", above=0.0, most=1.0e8)  # of a spring, or of a sheet: force per width and strain
    Tension = quantity("tension", least=0.0, most=1.0e5)  # force per width
    Stress = quantity("stress", above=0.0, most=1.0e12)
