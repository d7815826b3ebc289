"""Any launch direction of one club, flown: what stops the ball first, and whether that does harm."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Role
from flightsim.contact.contacts import Contacts
from flightsim.contact.fates import Fates
from flightsim.contact.surroundings import Surroundings
from flightsim.engine.follow import first_contacts, follow
from flightsim.flight.integrator import Physics
from flightsim.flight.landing import landing_speed
from flightsim.flight.launches import Launches, launch

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Mask = NDArray[np.bool_]

NOT_FOLLOWED = "could not be followed"


class Meets(IntEnum):
    """What a ball meets first."""

    GUARD = 0
    UNPROTECTED = 1
    FLOOR = 2
    OUT = 3
    UNKNOWN = 4

    @property
    def key(self) -> str:
        """The name used in files."""
        return self.name.lower()


_OF_ROLE = {Role.GUARD: Meets.GUARD, Role.UNPROTECTED: Meets.UNPROTECTED, Role.FLOOR: Meets.FLOOR}


@dataclass(frozen=True)
class Region:
    """All directions in which a ball meets this first."""

    name: str
    meets: Meets


@dataclass(frozen=True)
class Shooter:
    """One ball speed and backspin from one place, launched in any direction.

    start `(3,)`, m; ball_speed m/s; spin_rate rad/s, about the level axis across the launch; own `(zones,)`: which
    zones of people there are for these shots.
    """

    physics: Physics
    around: Surroundings
    start: Array
    ball_speed: float
    spin_rate: float
    own: Mask

    def launches(self, elevation: Array, azimuth: Array, factor: Array | float = 1.0) -> Launches:
        """Launches in these directions `(n,)`, rad; factor: of the ball speed."""
        return launch(self.start[:, None], self.ball_speed * factor, elevation, azimuth, self.spin_rate, 0.0)

    def first(self, elevation: Array, azimuth: Array, factor: Array | float = 1.0) -> Contacts:
        """To the first contact."""
        launches = self.launches(elevation, azimuth, factor)
        return first_contacts(self.physics, launches, self.around.bay, self.around.tests)

    def follow(self, elevation: Array, azimuth: Array) -> tuple[Contacts, Fates]:
        """To the end, rebounds included."""
        own = np.repeat(self.own[:, None], elevation.size, axis=1)
        return follow(self.physics, self.launches(elevation, azimuth), self.around, own)

    @cached_property
    def regions(self) -> tuple[Region, ...]:
        """All that can be met first: parts by their names for people, openings, other gaps, and not followed."""
        bay = self.around.bay
        parts = [Region(part.label, _OF_ROLE[part.role]) for part in bay.parts]
        out = [Region(name, Meets.OUT) for name in bay.ways_out]
        return tuple(dict.fromkeys([*parts, *out, Region(NOT_FOLLOWED, Meets.UNKNOWN)]))

    @cached_property
    def _place(self) -> Array:
        """Region of each part, then of each opening, of other gaps, and of none."""
        bay, place = self.around.bay, {region: k for k, region in enumerate(self.regions)}
        parts = [place[Region(part.label, _OF_ROLE[part.role])] for part in bay.parts]
        out = [place[Region(o, Meets.OUT)] for o in bay.ways_out]
        return np.array([*parts, *out, len(self.regions) - 1])

    def region_of(self, contacts: Contacts) -> Index:
        """Index into `regions` `(n,)` of what was met first."""
        parts = len(self.around.bay.parts)
        none = len(self._place) - 1
        which = np.where(contacts.part >= 0, contacts.part, np.where(contacts.opening >= 0, parts + contacts.opening,
                                                                     none))  # fmt: skip
        return np.asarray(self._place[np.where(contacts.failed, none, which)], dtype=np.intp)

    @cached_property
    def meets(self) -> NDArray[np.int8]:
        """What kind of thing each region is."""
        return np.array([region.meets for region in self.regions], dtype=np.int8)

    def at_once(self, contacts: Contacts) -> Mask:
        """Which balls `(n,)` do harm at their first contact already, before any rebound.

        They meet something unprotected hard enough to damage it, or leave the room and land at or above the harm
        speed; a ball that cannot be followed counts as well.
        """
        damage = np.array([*self.around.damage, np.inf])  # the last: met no part
        inward = (contacts.velocity * contacts.normal).sum(axis=0)
        energy = 0.5 * self.physics.ball.mass * inward**2
        height = contacts.point[2] - self.around.bay.lower[2] - self.physics.ball.radius
        landing = landing_speed(contacts.speed_of(), height, self.physics.gravity)
        unprotected = np.array([*(part.role is Role.UNPROTECTED for part in self.around.bay.parts), False])
        with np.errstate(invalid="ignore"):
            hard = unprotected[contacts.part] & (energy >= damage[contacts.part])
            out = (contacts.opening >= 0) & (landing >= self.around.harm_speed)
        return np.asarray(hard | out | contacts.failed)
