"""How the cloth of a screen may be had otherwise: heavier, slacker, tighter, on softer cords."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from flightsim.cloth.fabric import Cloth
from flightsim.scenario.reading.display import Display
from flightsim.scenario.reading.units import POUND, YARD

HEAVIER = (0.45, 0.6)  # kg/m2: screens are sold from .30 to .60 [cloth-values]
SLACK = 20.0  # N/m: as slack as still hangs without wrinkles, with some to spare (judgement)
TIGHT = 100.0  # N/m: the tightest that screens are drawn (common practice, no source)
SOFT_CORD = 200.0  # N/m: within what was read of cords, 93 to 344 N/m [cords]


def otherwise(cloth: Cloth, show: Display) -> Iterator[tuple[str, dict[str, Any], bool]]:
    """Words in the reader's units, what is written in its entry, and whether it is bought."""
    for mass in HEAVIER:
        if cloth.areal_mass < mass - 1e-9:
            yield f"of heavier cloth, {_weight(mass, show)}", {"areal_mass": f"{1000 * mass:g} g/m2"}, True
    if cloth.pretension > SLACK:
        yield f"drawn slacker, {show.tension(SLACK)}", {"pretension": f"{SLACK:g} N/m"}, False
    if cloth.pretension < TIGHT:
        yield f"drawn tighter, {show.tension(TIGHT)}", {"pretension": f"{TIGHT:g} N/m"}, False
    if cloth.cord_stiffness > SOFT_CORD:
        yield f"on softer cords, {show.tension(SOFT_CORD)} each", {"cord": {"stiffness": f"{SOFT_CORD:g} N/m"}}, True


def _weight(mass: float, show: Display) -> str:
    """600 g/m2, or 17.7 oz/yd2. mass: kg/m2."""
    return f"{mass / POUND * 16.0 * YARD**2:.1f} oz/yd2" if show.units == "imperial" else f"{1000 * mass:g} g/m2"
