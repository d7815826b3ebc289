"""How large a fillet weld all round a tube is that carries whatever the tube does.

EN 1993-1-8:2005, 4.5.3.3 (simplified method), to what 7.3.1(4) asks: the weld is as strong as the wall that it joins.
From memory.
"""

from __future__ import annotations

from math import ceil, sqrt

from flightsim.making.structure import YIELD

ULTIMATE = {  # Pa: EN 1993-1-1:2005, table 3.1, hollow sections; ASTM A500, 58 and 62 ksi (from memory)
    "S235": 360.0e6, "S275": 430.0e6, "S355": 510.0e6, "A500B": 400.0e6, "A500C": 427.0e6,
}  # fmt: skip
CORRELATION = {"S235": 0.8, "S275": 0.85, "S355": 0.9}  # EN 1993-1-8:2005, table 4.1
OTHERS = 0.9  # of steels that the table does not have, as of the strongest that it has so far (judgement)
GAMMA = 1.25  # gamma M2
LEAST = 3.0e-3  # m: EN 1993-1-8:2005, 4.5.2(2)
ROUND = 0.5e-3  # m: as a weld is measured (judgement)
SOURCE = "EN 1993-1-8:2005, 4.5.3.3, as strong as the wall that it joins; from memory"


def throat(grade: str, wall: float) -> float:
    """Throat of the fillet all round a tube of that wall, m, in half millimetres upward; m."""
    shear = ULTIMATE[grade] / (sqrt(3.0) * CORRELATION.get(grade, OTHERS) * GAMMA)
    return _up(max(LEAST, wall * YIELD[grade] / shear))


def leg(of_throat: float) -> float:
    """Leg of an equal-legged fillet of this throat, m, in half millimetres upward; m."""
    return _up(sqrt(2.0) * of_throat)


def _up(size: float) -> float:
    return ceil(size / ROUND - 1.0e-9) * ROUND
