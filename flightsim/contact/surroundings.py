"""All that a ball meets on its way: the bay with what its faces do, and the people in it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Bay, Role
from flightsim.contact.ends import BatchTest
from flightsim.contact.facings import Facing
from flightsim.contact.rebound import ReboundLaw, by_facing
from flightsim.flight.ball import Ball

HARM_SPEED = 5.0  # m/s: below it a ball is no danger to a person; project reference (bands at a person)
FRAGILE = 2.3  # J, 10 m/s: marks what is fragile, as annealed glass breaks (judgement)
MOST_GUARDS = 64  # that a ball's record of guards touched has room for


@dataclass(frozen=True)
class Surroundings:
    """A bay ready for balls.

    tests: one a plugin, together they cover all parts; facings and laws: one a part, in the order of bay.parts;
    harm_speed in m/s.
    """

    bay: Bay
    tests: Sequence[BatchTest]
    facings: tuple[Facing, ...]
    laws: tuple[ReboundLaw, ...]
    harm_speed: float = HARM_SPEED

    @property
    def damage(self) -> tuple[float, ...]:
        """Normal energy, J, from which each part is damaged."""
        pairs = zip(self.bay.parts, self.facings, strict=True)
        return tuple(min(facing.damage, FRAGILE) if part.fragile else facing.damage for part, facing in pairs)

    @property
    def guard_bits(self) -> NDArray[np.uint64]:
        """For each part, the bit of the guard that it belongs to; nought for all that is none, or past MOST_GUARDS."""
        bit = {label: 1 << k for k, label in enumerate(self.bay.guard_labels()[:MOST_GUARDS])}
        parts = self.bay.parts
        return np.array([bit.get(p.label, 0) if p.role is Role.GUARD else 0 for p in parts], dtype=np.uint64)

    def harmless_energy(self, ball: Ball) -> float:
        """Energy per mass, J/kg, over the lowest floor, below which a ball can do nothing any more that is counted.

        Energy never rises, so such a ball needs no following: it can reach neither the harm speed nor any energy that
        damages or breaks a part.
        """
        energies = [*self.damage, *(facing.broken for facing in self.facings)]
        return min(0.5 * self.harm_speed**2, min(energies, default=np.inf) / ball.mass)


def surround(
    bay: Bay,
    tests: Sequence[BatchTest],
    facings: Mapping[str, Facing],
    laws: Mapping[str, ReboundLaw],
    harm_speed: float = HARM_SPEED,
) -> Surroundings:
    """The bay with the facings of its parts, by the parts' words, and laws for parts by name.

    Raises KeyError for a facing that nobody knows.
    """
    return Surroundings(
        bay,
        tests,
        tuple(facings[part.facing] for part in bay.parts),
        tuple(laws.get(part.name, by_facing) for part in bay.parts),
        harm_speed,
    )
