"""Quantities as people write them: a number with its unit, read into SI (radians inside).

`4.2 m`, `1350 mm`, `13 ft 9 in`, `53.5in`, `150 mph`, `2700 rpm`, `-3 deg`, `20 degC`. A bare number where a
unit is due is an error that shows how to write it.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from math import isfinite
from typing import TYPE_CHECKING, Annotated, Any

from pydantic import BeforeValidator, PlainSerializer, WithJsonSchema
from pydantic_core import PydanticCustomError

if TYPE_CHECKING:
    import pint

_TERM = re.compile(r"\s*([+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?)\s*([^\s\d.+-][^\s\d]*(?:\d(?=\s|$))?)\s*")


@dataclass(frozen=True)
class Kind:
    """A kind of quantity: its SI unit as pint knows it, what people may write, and an example of each."""

    name: str
    si: str
    units: tuple[str, ...]
    examples: tuple[str, ...]
    aliases: tuple[tuple[str, str], ...] = ()


KINDS = {
    kind.name: kind
    for kind in (
        Kind(
            "length",
            "m",
            ("m", "cm", "mm", "ft", "in"),
            ("4.2 m", "1350 mm", "13 ft 9 in", "53.5 in"),
            (("'", "ft"), ('"', "in"), ("feet", "ft"), ("foot", "ft"), ("inch", "in"), ("inches", "in")),
        ),
        Kind(
            "speed",
            "m/s",
            ("m/s", "mph", "km/h", "ft/s"),
            ("67 m/s", "150 mph", "240 km/h"),
            (("kph", "km/h"), ("kmh", "km/h")),
        ),
        Kind("angle", "rad", ("deg", "rad"), ("12 deg", "-3.5 deg"), (("°", "deg"), ("degrees", "deg"))),
        Kind("spin rate", "rad/s", ("rpm", "rad/s"), ("2700 rpm",)),
        Kind(
            "temperature",
            "K",
            ("degC", "degF", "K"),
            ("20 degC", "68 degF"),
            (("C", "degC"), ("F", "degF"), ("°C", "degC"), ("°F", "degF")),
        ),
        Kind("pressure", "Pa", ("Pa", "hPa", "kPa", "mbar", "inHg"), ("1013 hPa", "29.9 inHg")),
        Kind("density", "kg/m^3", ("kg/m3", "lb/ft3"), ("1.2 kg/m3",)),
        Kind("mass", "kg", ("g", "kg", "oz", "lb"), ("45.93 g",)),
    )
}


@cache
def _registry() -> pint.UnitRegistry[float]:
    import pint

    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True, cache_folder=None)


@cache
def _pint_name(kind: Kind, unit: str) -> str | None:
    """The unit as pint writes it, or None when this kind does not take it."""
    unit = dict(kind.aliases).get(unit, unit)
    if unit not in kind.units:
        return None
    return {"inHg": "inch_Hg", "rpm": "revolutions_per_minute"}.get(unit, re.sub(r"3$", "^3", unit))


def parse(kind: Kind, text: object) -> float:
    """The value in SI units. Raises PydanticCustomError, with what was found, what is allowed, and a way out."""
    allowed = f"a number and a unit: {', '.join(kind.units)}"
    example = " or ".join(kind.examples[:2])
    if isinstance(text, bool) or not isinstance(text, str):
        if isinstance(text, (int, float)) and not isinstance(text, bool) and isfinite(text):
            raise _error(f"{text!r} has no unit", allowed, f"{text} {kind.units[0]}, if that is what you mean")
        raise _error(f"{text!r} is not a {kind.name}", allowed, example)
    terms, at = [], 0
    while at < len(text):
        term = _TERM.match(text, at)
        if term is None:
            break
        terms.append((float(term[1]), term[2]))
        at = term.end()
    if at < len(text) or not terms:
        bare = re.fullmatch(r"\s*[+-]?[\d.]+(?:[eE][+-]?\d+)?\s*", text)
        if bare:
            raise _error(f"'{text}' has no unit", allowed, f"{text.strip()} {kind.units[0]}, if that is what you mean")
        raise _error(f"'{text}' cannot be read as a {kind.name}", allowed, example)
    if len(terms) > 1 and (kind.name != "length" or any(value < 0 for value, _ in terms[1:])):
        raise _error(f"'{text}' has more than one number", allowed, example)
    total = 0.0
    for value, unit in terms:
        name = _pint_name(kind, unit)
        if name is None:
            raise _error(f"'{unit}' is not a unit of {kind.name} here", allowed, example)
        sign = -1.0 if terms[0][0] < 0 and total < 0 else 1.0
        total += sign * float(_registry().Quantity(value, name).to(kind.si).magnitude)
    if not isfinite(total):
        raise _error(f"'{text}' is not a finite number", allowed, example)
    return total


def _error(found: str, allowed: str, fix: str) -> PydanticCustomError:
    return PydanticCustomError(
        "quantity", "{found}; allowed: {allowed}", {"found": found, "allowed": allowed, "fix": fix}
    )


_PLAIN_UNIT = {"angle": "rad", "density": "kg/m3", "spin rate": "rad/s"}


def quantity(name: str, *, above: float | None = None, least: float | None = None, most: float | None = None) -> Any:
    """Annotation for a pydantic field of this kind: strings in, SI floats inside, strings out.

    above, least, most: limits in SI units.
    """
    kind = KINDS[name]
    plain = _PLAIN_UNIT.get(name, kind.si)

    def read(value: object) -> float:
        number = parse(kind, value)
        limits = (
            (above is not None and not number > above, f"more than {above:g} {plain}" if above is not None else ""),
            (least is not None and not number >= least, f"at least {least:g} {plain}" if least is not None else ""),
            (most is not None and not number <= most, f"at most {most:g} {plain}" if most is not None else ""),
        )
        for broken, words in limits:
            if broken:
                raise _error(f"{value!r} is out of range", words, kind.examples[0])
        return number

    schema = {
        "type": "string",
        "description": f"{kind.name} with its unit ({', '.join(kind.units)})",
        "examples": list(kind.examples),
    }
    return Annotated[
        float,
        BeforeValidator(read),
        PlainSerializer(lambda number: f"{number!r} {plain}", return_type=str),
        WithJsonSchema(schema),
    ]


if TYPE_CHECKING:
    Length = float
    Distance = float
    Size = float
    Speed = float
    Angle = float
    SpinRate = float
    Temperature = float
    Pressure = float
    Density = float
    Mass = float
else:
    Length = quantity("length")  # may be negative: an offset
    Distance = quantity("length", least=0.0, most=1000.0)  # from a wall or the floor
    Size = quantity("length", above=0.0, most=1000.0)  # of a thing
    Speed = quantity("speed", least=0.0, most=200.0)
    Angle = quantity("angle")
    SpinRate = quantity("spin rate")
    Temperature = quantity("temperature", least=200.0, most=350.0)
    Pressure = quantity("pressure", least=2.0e4, most=1.2e5)
    Density = quantity("density", above=0.0, most=10.0)
    Mass = quantity("mass", above=0.0, most=1.0)
