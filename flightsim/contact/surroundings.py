"""All that a ball meets on its way: the bay with what its faces do, and the people in it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Bay
from flightsim.contact.arc_test import ArcTest
from flightsim.contact.facings import Facing
from flightsim.contact.rebound import Law, by_facing
from flightsim.flight.ball import Ball
from flightsim.scenario.reading.harm import HARM_SPEED, STRUCK_ENERGY, speed_at

FRAGILE = 2.3  # J, 10 m/s: marks what is fragile, as annealed glass breaks (judgement)


@dataclass(frozen=True)
class Surroundings:
    """A bay ready for balls.

    tests: of parts that a plugin tests arcs against itself; facings and laws: one a part, in the order of bay.parts;
    harm_speed in m/s, of the ball that flies: the speed at which it has the energy that harms a head or a small child,
    and counts as out; blunt_speed: the one that harms elsewhere, no lower; struck_speed: from which on it strikes what
    is behind cloth, unless less damages that.
    """

    bay: Bay
    tests: Sequence[ArcTest]
    facings: tuple[Facing, ...]
    laws: tuple[Law, ...]
    harm_speed: float = HARM_SPEED
    blunt_speed: float = HARM_SPEED
    struck_speed: float = speed_at(STRUCK_ENERGY)

    @property
    def zone_harm(self) -> NDArray[np.float64]:
        """The speed, m/s, from which on a ball harms in each of bay.zones `(zones,)`."""
        speeds = [self.harm_speed if zone.delicate else self.blunt_speed for zone in self.bay.zones]
        return np.array(speeds, dtype=np.float64)

    @property
    def damage(self) -> tuple[float, ...]:
        """Normal energy, J, from which each part is damaged."""
        pairs = zip(self.bay.parts, self.facings, strict=True)
        return tuple(min(facing.damage, FRAGILE) if part.fragile else facing.damage for part, facing in pairs)

    @property
    def least_speed(self) -> float:
        """The speed, m/s, below which a ball does nothing through cloth that is counted."""
        return min(self.harm_speed, self.struck_speed)

    def harmless_energy(self, ball: Ball) -> float:
        """Energy per mass, J/kg, over the lowest floor, below which a ball can do nothing any more that is counted.

        Energy never rises, so such a ball needs no following: it can reach neither the harm speed nor any energy that
        damages or breaks a part.
        """
        energies = [*self.damage, *(facing.broken for facing in self.facings)]
        return min(0.5 * self.harm_speed**2, 0.5 * self.struck_speed**2, min(energies, default=np.inf) / ball.mass)


def surround(
    bay: Bay,
    tests: Sequence[ArcTest],
    facings: Mapping[str, Facing],
    laws: Mapping[str, Law],
    harm_speed: float = HARM_SPEED,
    blunt_speed: float | None = None,
    struck_speed: float = speed_at(STRUCK_ENERGY),
) -> Surroundings:
    """The bay with the facings of its parts, by the parts' words, and laws for parts by name.

    blunt_speed: as harm_speed unless given.

    Raises KeyError for a facing that nobody knows.
    """
    return Surroundings(
        bay,
        tests,
        tuple(facings[part.facing] for part in bay.parts),
        tuple(laws.get(part.name, by_facing) for part in bay.parts),
        harm_speed,
        harm_speed if blunt_speed is None else blunt_speed,
        struck_speed,
    )
