"""Measures in sentences that were written in metric units, for a reader of feet and inches.

What is checked and listed is worked out in SI, and its reasons are written so; data files keep them. Only what is
told changes. Conversion factors: exact by the international yard and pound agreement of 1959; standard gravity
9.80665 m/s2 for the pound-force.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable

from flightsim.scenario.reading.display import FOOT, INCH, Display

POUND = 0.45359237  # kg
POUND_FORCE = POUND * 9.80665  # N
KSI = 1e3 * POUND_FORCE / INCH**2 / 1e6  # MPa
FEWEST = 3  # significant digits

# unit as it is written: by how much to divide, and the unit that is told; lengths alone are told as a tape reads
_PLAIN: dict[str, tuple[float, str]] = {
    "mm": (INCH * 1e3, "in"),
    "m": (FOOT, "ft"),
    "MPa": (KSI, "ksi"),
    "kN": (POUND_FORCE / 1e3, "lbf"),
    "N": (POUND_FORCE, "lbf"),
    "kg/m2": (POUND / FOOT**2, "lb/ft2"),
    "kg": (POUND, "lb"),
}
_NUMBER = r"\d+(?:\.\d+)?"
_UNITS = "|".join(re.escape(unit) for unit in sorted(_PLAIN, key=len, reverse=True))
_MEASURE = re.compile(rf"(?<![\w.])(?P<first>{_NUMBER})(?: (?P<join>of|x) (?P<second>{_NUMBER}))? (?P<unit>{_UNITS})\b"
                      r"(?!/)")  # fmt: skip


def value_in(value: float, unit: str, show: Display) -> str:
    """A value with its unit, to three digits: `15.2 mm`, or `0.598 in`. What has no imperial unit stays as it is."""
    if show.units == "imperial" and unit in _PLAIN:
        size, unit = _PLAIN[unit]
        value = value / size
    return f"{_digits(value)} {unit}".strip()


def told_in(text: str, show: Display, names: Iterable[str] = ()) -> str:
    """A sentence with its measures in the reader's units: `a board of 15 mm`, or `a board of 9/16 in`.

    names: of what is bought, such as `plywood 12 mm`: they stay as the order lists have them.
    """
    if show.units != "imperial":
        return text
    kept = "|".join(re.escape(name) for name in sorted(set(names), key=len, reverse=True))
    parts = re.split(f"({kept})", text) if kept else [text]
    return "".join(part if k % 2 else _MEASURE.sub(_turned(show), part) for k, part in enumerate(parts))


def _turned(show: Display) -> Callable[[re.Match[str]], str]:
    def turn(found: re.Match[str]) -> str:
        unit, second = found["unit"], found["second"]
        size, name = _PLAIN[unit]
        if second is None or found["join"] == "x":
            return f" {found['join']} ".join(_alone(each, unit, show) for each in (found["first"], second) if each)
        return f"{_digits(float(found['first']) / size)} of {_digits(float(second) / size)} {name}"

    return turn


def _alone(number: str, unit: str, show: Display) -> str:
    if unit in ("mm", "m"):
        return show.to_cut(float(number) * (1e-3 if unit == "mm" else 1.0))
    size, name = _PLAIN[unit]
    return f"{_digits(float(number) / size)} {name}"


def _digits(value: float) -> str:
    return f"{float(f'{value:.{FEWEST}g}'):g}"
