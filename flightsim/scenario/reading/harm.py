"""From which energy on a ball counts as harm, and the speed that this is for a ball of any mass."""

from __future__ import annotations

from math import sqrt

LEGAL_MASS = 0.04593  # kg: the heaviest ball that the rules allow (USGA/R&A Equipment Rules)
HARM_SPEED = 5.0  # m/s of such a ball: our cut, by the .5 J of toys with a soft tip (EN 71, read in a summary)

# m/s of such a ball: rates at people are told at these, for heads are decided between
TOLD_SPEEDS = (5.0, 7.5, 9.7, 12.5, 25.5)


def energy_at(speed: float, mass: float = LEGAL_MASS) -> float:
    """Energy, J, of a ball of this mass, kg, at this speed, m/s. A speed given as a limit means a legal ball's."""
    return 0.5 * mass * speed * speed


def speed_at(energy: float, mass: float = LEGAL_MASS) -> float:
    """Speed, m/s, at which a ball of this mass, kg, has this energy, J."""
    return sqrt(2.0 * energy / mass)


HARM_ENERGY = energy_at(HARM_SPEED)  # J: .574
# J: 12.5 m/s of a legal ball, by the 2500 J/m2 of toys over its disc (ASTM F963, read in a summary); our cut.
BLUNT_ENERGY = 3.6
# J: 10 m/s, the least energy at which a facing that comes with flightsim is damaged: glass, and what is fragile
# (judgement, no source). No wall, post or cloth minds a softer touch of what is behind.
STRUCK_ENERGY = 2.3
