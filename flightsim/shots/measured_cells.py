"""One cell of a table to a number: with its unit in it, a letter for the side, or signs between thousands."""

from __future__ import annotations

import re
from dataclasses import dataclass

from flightsim.scenario.reading.quantities import KINDS
from flightsim.shots.measured_section import NumberColumn

SIDED = ("azimuth", "spin_tilt", "sidespin")  # which may say right or left by a letter
_NUMBER = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?")
_NOTHING = {"nan", "n/a", "na", "null", "none", "-", "--", "---", "#n/a", "inf", "-inf"}
_SIDE = r"(?P<side>right|left|r|l)"
_BEFORE = re.compile(rf"{_SIDE}\.?\s*(?P<rest>[0-9.,+-].*)", re.IGNORECASE)
_AFTER = re.compile(rf"(?P<rest>.*[0-9.°gm])\s*{_SIDE}\.?", re.IGNORECASE)
_WITH_UNIT = re.compile(r"(?P<number>[+-]?[0-9.,' ]*[0-9]\.?(?:[eE][+-]?[0-9]+)?)\s*(?P<unit>[^\d\s.,'+-].*)")
_PLAIN = re.compile(r"[+-]?[0-9.,' ]+(?:[eE][+-]?[0-9]+)?")
_SPACES = str.maketrans({"\u00a0": " ", "\u202f": " ", "\u2009": " ", "\u2212": "-", "\u2019": "'"})


@dataclass(frozen=True)
class Written:
    """What a cell holds, as text: the number; its unit; the side, +1 right, -1 left, 0 where no letter says."""

    number: str
    unit: str = ""
    side: int = 0


def written(cell: str, sided: bool) -> Written:
    """A cell's number, unit and side."""
    plain, side = cell.translate(_SPACES).strip(), 0
    found = (_BEFORE.fullmatch(plain) or _AFTER.fullmatch(plain)) if sided else None
    if found:
        plain, side = found["rest"].strip(), 1 if found["side"][0].casefold() == "r" else -1
    with_unit = None if _PLAIN.fullmatch(plain) else _WITH_UNIT.fullmatch(plain)
    if with_unit:
        return Written(with_unit["number"].strip(), with_unit["unit"].strip(), side)
    return Written(plain, "", side)


def unit_meant(words: str) -> str | None:
    """The unit of speed, angle or spin that words mean, in brackets or not; None where they mean none."""
    plain = words.strip().strip("[]()").strip().rstrip(".").replace("\\", "/")
    for kind in ("speed", "angle", "spin rate"):
        for word in (plain, plain.lower()):
            unit = KINDS[kind].unit(_SPELT.get(word, word))
            if unit:
                return unit
    return None


def header_unit(name: str) -> str | None:
    """The unit that a column's name gives in brackets, as in `Ball (mph)` or `Axis (deg R+)`, or None."""
    found = re.search(r"[(\[]([^()\[\]]+)[)\]]\s*$", name)
    return unit_meant(found[1]) or unit_meant(re.split(r"[\s,;]", found[1].strip())[0]) if found else None


_SPELT = {
    "mps": "m/s", "m s": "m/s", "m_s": "m/s", "fps": "ft/s", "ft s": "ft/s", "kmh": "km/h", "km h": "km/h",
    "miles/h": "mph", "mi/h": "mph", "m.p.h": "mph", "deg.": "deg", "r.p.m": "rpm", "u/min": "rpm", "1/min": "rpm",
    "rev/min": "rpm",
}  # fmt: skip


def cell_value(cell: str, name: str, column: NumberColumn, decimal: str, between: str | None) -> float | str:
    """The number in a cell, in the column's unit and on its side, or why there is none.

    name: of the number, ours; between: the sign that may stand between thousands.
    """
    parts = written(cell, name in SIDED)
    if parts.unit:
        unit = unit_meant(parts.unit)
        if unit is None:
            return "is no number"
        if unit != column.unit:
            return f"is in {unit}, and the column is said to be in {column.unit}"
    number = _ungrouped(parts.number, between) if between else parts.number
    value = read_number(number, decimal)
    if isinstance(value, str) or not parts.side:
        return value
    if number.startswith(("+", "-")):
        return "says its side twice, by a sign and by a letter"
    return value * parts.side * column.sign  # by the column's own counting, which is turned later


def _ungrouped(number: str, between: str) -> str:
    """The number without the signs between its thousands, where they stand at thousands only."""
    sign = re.escape(between)
    grouped = re.compile(rf"([+-]?[1-9][0-9]{{0,2}}(?:{sign}[0-9]{{3}})+)(?![0-9])(.*)")
    found = grouped.fullmatch(number)
    return found[1].replace(between, "") + found[2] if found else number


def read_number(text: str, decimal: str) -> float | str:
    """The number in a text, or why there is none."""
    plain = text.strip().replace("\u2212", "-")
    if not plain:
        return "is blank"
    if plain.casefold() in _NOTHING:
        return "is no number: nothing was measured"
    other = "," if decimal == "." else "."
    if other in plain:
        words = {",": "a decimal comma, or one between thousands", ".": "a decimal point, or one between thousands"}
        return f"is no number: {words[other]}? decimal is {decimal!r}"
    number = plain.replace(decimal, ".")
    if not _NUMBER.fullmatch(number):
        return "is no number"
    value = float(number)
    return value if abs(value) < 1e300 else "is no number that can be flown"
